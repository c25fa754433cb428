"""Limits for occupied time: which they are, what their data may say, and what they can be compared with."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from methods.limits.loader import load
from methods.limits.model import Averaging, Claim, LimitDefinition, Occupied
from methods.verdicts.comparability import ComparabilityState, Data, comparable
from methods.verdicts.in_use import TimeInUse
from methods.wording.limits import in_words
from tests.methods.limit_samples import a_limit
from tests.methods.test_limits_schema import ABSENT, changed, refusal

YES, INDICATIVE, NO = ComparabilityState.YES, ComparabilityState.INDICATIVE, ComparabilityState.NO
A_DAY = {"averaging": Averaging.SAMPLE_MEAN, "averaging_minutes": None, "occupied": Occupied.DAY}


def test_the_rows_whose_document_is_about_occupied_time() -> None:
    """Rows of the guidelines reference that say occupied, during occupancy, in use or design at steady state; and
    carbon dioxide in classrooms and work rooms without a stated time (project rule)."""
    marked = {limit.row for limit in load().values() if limit.occupied}
    assert marked == {
        "CO2-EN16798", "CO2-EN16798-R", "CO2-EN13779", "TRH-EN16798", "CO2-FI-S", "CO2-UK-BB101", "CO2-FI-545",
        "CO2-FR-800", "HCHO-FR-HCSP100", "CO2-BE", "CO2-DK", "CO2-JP-SCHOOL",
    }  # fmt: skip
    days = {limit.code for limit in load().values() if limit.occupied is Occupied.DAY}
    assert days == {"CO2-UK-BB101-MECH-DAY", "CO2-UK-BB101-NAT-DAY"}


def test_no_row_that_says_so_is_forgotten() -> None:
    said = {
        limit.code
        for limit in load().values()
        if any(words in limit.statistic for words in ("occupied day", "occupied time", "of occupancy", "in use"))
    }
    assert said <= {limit.code for limit in load().values() if limit.occupied}


@pytest.mark.parametrize(
    "changes",
    [
        {"occupied": "night"},
        {"occupied": True},
        {"occupied": "day"},
        {"occupied": "day", "averaging": "sample_mean"},
        {"occupied": "day", "averaging": "spot", "averaging_minutes": ABSENT},
        {"occupied": "time", "averaging": "ceiling", "averaging_minutes": ABSENT, "short_campaign": "indicative"},
        {"occupied": "time", "averaging": "shift_twa"},
        {"occupied": "time", "averaging": "day_readings", "averaging_minutes": ABSENT},
        {"occupied": "time", "averaging_minutes": 1441, "short_campaign": "indicative"},
        {"occupied": "time", "averaging": "long_term_mean", "averaging_minutes": ABSENT, "short_campaign": "context"},
        {"occupied": "time", "scopes": ["outdoor"]},
    ],
)
def test_what_cannot_be_meant_is_refused(tmp_path: Path, changes: dict[str, Any]) -> None:
    assert refusal(tmp_path, changed(**changes)).field == "occupied"


def measured(limit: LimitDefinition, in_use: TimeInUse | None, **more: Any) -> tuple[ComparabilityState, str]:
    told = comparable(limit, Data(interval_s=60, span_minutes=2880, covered_minutes=480, n=480, in_use=in_use, **more))
    return told.state, told.code


@pytest.mark.parametrize(
    ("in_use", "expected"),
    [
        (None, (NO, "no_timetable")),
        (TimeInUse(0.0, 0), (NO, "not_in_use")),
        (TimeInUse(300.0, 0), (NO, "occupied_day_short")),
        (TimeInUse(480.0, 1), (YES, "accepted")),
        (TimeInUse(480.0, 1, is_assumed=True), (YES, "accepted")),
    ],
)
def test_the_mean_of_an_occupied_day_needs_to_know_when_that_is(in_use: TimeInUse | None, expected: object) -> None:
    assert measured(a_limit(**A_DAY), in_use) == expected


def test_without_a_timetable_no_limit_for_occupied_time_is_compared_and_no_other_asks() -> None:
    for limit in load().values():
        state, code = measured(limit, None, has_outdoor_value=True)
        if limit.occupied:
            assert (state, code) == (NO, "no_timetable"), limit.code
        else:
            assert code != "no_timetable", limit.code


def test_an_assumed_timetable_is_said_with_the_result() -> None:
    told = comparable(
        a_limit(**A_DAY),
        Data(interval_s=60, span_minutes=2880, covered_minutes=480, n=480, in_use=TimeInUse(480, 1, is_assumed=True)),
    )
    assert "timetable_assumed" in {note.code for note in told.notes}


def test_part_of_a_day_is_enough_where_not_the_day_is_meant() -> None:
    limit = a_limit(averaging=Averaging.SPOT, averaging_minutes=None, occupied=Occupied.TIME)
    assert measured(limit, TimeInUse(30.0, 0)) == (YES, "accepted")


def test_a_laboratory_sample_is_taken_as_its_document_says() -> None:
    limit = a_limit(occupied=Occupied.TIME, laboratory=Claim.COMPARE)
    assert measured(limit, None, laboratory=True)[1] != "no_timetable"


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("CO2-UK-BB101-MECH-DAY", "The mean over the time of use of a day should stay below 1000 ppm."),
        ("CO2-FR-800", "Each momentary reading in the time of use should not be above 800 ppm."),
        ("HCHO-FR-HCSP100", "The mean of a sample of 60 min in the time of use should not be above 100 µg/m³."),
    ],
)
def test_the_sentence_of_the_limit_says_which_time_counts(code: str, words: str) -> None:
    assert in_words(load()[code]) == words
