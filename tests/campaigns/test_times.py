"""Times on the clock of a place.

Summer time in the European Union begins and ends at 01:00 UTC on the last Sundays of March and October (Directive
2000/84/EC, from memory): in Lisbon, on UTC in winter, clocks skip 01:00-02:00 on 2026-03-29 and show it twice on
2026-10-25.
"""

from __future__ import annotations

from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import ValidationError
from hypothesis import given
from hypothesis import strategies as st

from campaigns.forms.times import LocalTimeField, moment
from methods.quantities.moments import local_text

LISBON = ZoneInfo("Europe/Lisbon")


def wall(text: str) -> datetime:
    return datetime.fromisoformat(text)


def test_summer_and_winter() -> None:
    assert moment(wall("2026-07-01T12:00"), LISBON) == datetime(2026, 7, 1, 11, tzinfo=UTC)
    assert moment(wall("2026-12-01T12:00"), LISBON) == datetime(2026, 12, 1, 12, tzinfo=UTC)


@pytest.mark.parametrize("skipped", ["2026-03-29T01:00", "2026-03-29T01:59"])
def test_a_time_that_did_not_happen(skipped: str) -> None:
    with pytest.raises(ValidationError, match="did not happen there: the clocks were put forward"):
        moment(wall(skipped), LISBON)


@pytest.mark.parametrize("twice", ["2026-10-25T01:00", "2026-10-25T01:59"])
def test_a_time_that_happened_twice(twice: str) -> None:
    with pytest.raises(ValidationError, match="happened twice there: the clocks were put back"):
        moment(wall(twice), LISBON)


@pytest.mark.parametrize("edge", ["2026-03-29T00:59", "2026-03-29T02:00", "2026-10-25T00:59", "2026-10-25T02:00"])
def test_the_edges_are_plain_times(edge: str) -> None:
    assert local_text(moment(wall(edge), LISBON), LISBON) == edge.replace("T", " ")


@given(st.datetimes(wall("1990-01-01"), wall("2037-01-01")), st.sampled_from(["Asia/Kathmandu", "America/St_Johns"]))
def test_what_is_accepted_is_shown_again_as_it_was_typed(typed: datetime, name: str) -> None:
    zone = ZoneInfo(name)
    try:
        found = moment(typed, zone)
    except ValidationError:
        return
    assert found.astimezone(zone).replace(tzinfo=None) == typed


def field(kept: datetime | None = None) -> LocalTimeField:
    made = LocalTimeField(required=False)
    made.zone, made.kept = LISBON, kept
    return made


def test_a_stored_time_in_the_repeated_hour_survives() -> None:
    second = datetime(2026, 10, 25, 1, 30, 0, 250_000, tzinfo=UTC)  # 01:30 for the second time
    form_field = field(kept=second)
    assert form_field.clean("2026-10-25T01:30") == second
    with pytest.raises(ValidationError):
        form_field.clean("2026-10-25T01:31")


def test_a_time_with_an_offset_is_not_doubtful() -> None:
    assert field().clean("2026-10-25T01:30+01:00") == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)


@pytest.mark.parametrize("typed", ["yesterday", "2026-02-30T10:00", "2026-09-15"])
def test_what_is_no_time(typed: str) -> None:
    with pytest.raises(ValidationError, match="Enter a valid date/time"):
        field().clean(typed)


def test_nothing_is_no_time() -> None:
    assert field().clean("") is None
