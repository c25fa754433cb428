"""Limits for occupied time: the mean of the occupied day of a class room, by a timetable of use (BB 101, 1000 ppm)."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest
from django.test import Client
from django.urls import reverse

from campaigns import models as m
from campaigns.models import PlaceKind, UseTimetable
from campaigns.services import use_timetables
from reports.content.stored import to_store
from reports.models import Result
from reports.services.freeze import freeze
from reports.services.time_of_use import SHARE_ABOVE, TIME_OF_USE
from tests import factories as make
from tests.campaigns.pages import Browse, get, text
from tests.reports.judging import store
from tests.reports.measured import House, house, judge
from tests.reports.signing import signed_content

DAY = "CO2-UK-BB101-MECH-DAY"
LIMITS = (DAY, "CO2-UK-BB101-MECH-20M", "CO2-FR-800", "CO2-DE-1000")
#: A Monday, midnight in Lisbon.
MONDAY = datetime(2026, 9, 20, 23, 0, tzinfo=UTC)
TIMES = "Mon-Fri 08:00-16:00"


@pytest.fixture
def found(site: m.Site) -> House:
    found = house(site, limits=LIMITS)
    measures_co2(found.instrument)
    return found


def measures_co2(instrument: m.Instrument) -> None:
    make.ChannelSpecFactory(
        instrument_type=instrument.type, parameter="co2", unit="ppm", resolution=1.0, range_low=0,
        range_high=5000, detection_limit=None, u_zero=20.0, u_span=0.02, u_drift=0.0, u_temperature=0.0,
        u_interference=0.0, t90_s=60.0,
    )  # fmt: skip


def log(found: House, values: np.ndarray, start: datetime = MONDAY) -> m.Deployment:
    """A reading a minute from ``start`` on, in the room of the zone that is not measured yet."""
    point = make.PointFactory(room=found.empty.rooms.get(), name="middle")
    deployment = make.DeploymentFactory(
        campaign=found.campaign, instrument=found.instrument, point=point, starts_at=start,
        ends_at=start + timedelta(minutes=len(values)),
    )  # fmt: skip
    # stamped in the middle of its minute, for which it stands
    channel = found.instrument.channels.get(spec__parameter="co2")
    store(found, channel, start - timedelta(seconds=30), values.tolist())
    return deployment


def three_days(high: float = 1370.0, night: float = 450.0) -> np.ndarray:
    hour = np.arange(3 * 1440) / 60 % 24
    return np.where((hour >= 8) & (hour < 16), high, night)


def result_of(found: House, code: str = DAY) -> Result:
    judge(found.campaign)
    return Result.objects.get(criterion__limit__code=code, criterion__campaign=found.campaign)


def in_use(place: Any, hours: str = TIMES, **more: Any) -> UseTimetable:
    return use_timetables.make(place, None, hours=hours, **more)


def detail(result: Result, name: str) -> str:
    return dict(result.traced.details).get(name, "")


def codes(result: Result) -> list[str]:
    return [reason.code for reason in result.stated_reasons]


def test_without_a_timetable_nothing_is_compared_and_the_page_says_what_is_missing(found: House) -> None:
    log(found, three_days())
    result = result_of(found)
    assert (result.verdict, result.comparability) == ("not_comparable", "no")
    assert codes(result)[0] == "no_timetable"
    assert result.traced.is_context
    assert result.value == pytest.approx(756.67, abs=1)  # through three nights: what was called "below" 1000


def test_nights_are_no_part_of_the_mean_of_the_occupied_day(found: House) -> None:
    """1370 ppm in class, 450 at night: the mean of the occupied day is 1370, and above 1000."""
    log(found, three_days())
    in_use(found.empty)
    result = result_of(found)
    assert (result.verdict, result.value, result.coverage) == ("above", 1370.0, 1.0)
    assert (result.window_start, result.window_end) == (MONDAY + timedelta(hours=8), MONDAY + timedelta(hours=16))
    assert result.reading_count == 480
    assert TIMES in detail(result, TIME_OF_USE)
    assert detail(result, "Covered") == "8 h of 8 h in use, by 480 readings"
    assert detail(result, "Days in use") == "3 days with a mean: 1370 ppm"


def test_the_worst_occupied_day_counts(found: House) -> None:
    values = three_days(800.0)
    values[1440 + 480 : 1440 + 960] = 1200.0
    log(found, values)
    in_use(found.empty)
    result = result_of(found)
    assert result.value == 1200.0
    assert result.window_start == MONDAY + timedelta(days=1, hours=8)
    assert detail(result, "Days in use") == "3 days with a mean: 800 to 1200 ppm"


@pytest.mark.parametrize(("days", "is_expected"), [(1, False), (3, True)])
def test_the_worst_of_several_days_is_held_against_the_limit_less_what_chance_makes_of_it(
    found: House, days: int, is_expected: bool
) -> None:
    log(found, three_days()[: days * 1440])
    in_use(found.empty)
    result = result_of(found)
    assert (result.excess > 0) is is_expected
    assert ("worst_of_many" in codes(result)) is is_expected


@pytest.mark.parametrize(("minutes", "expected"), [(364, "above"), (362, "not_comparable")])
def test_three_quarters_of_the_time_of_use_must_be_measured(found: House, minutes: int, expected: str) -> None:
    """R-01: 360 of 480 minutes; the first three of a visit settle."""
    log(found, np.full(minutes, 1370.0), MONDAY + timedelta(hours=8))
    in_use(found.empty)
    result = result_of(found)
    assert result.verdict == expected
    if expected == "not_comparable":
        assert codes(result)[0] == "occupied_day_short"
        assert "1 with less than three quarters" in detail(result, "Days in use")


def test_out_of_use_is_said(found: House) -> None:
    log(found, np.full(300, 500.0), MONDAY + timedelta(hours=18))
    in_use(found.empty)
    assert codes(result_of(found))[0] == "not_in_use"


def test_closed_days_are_no_part_of_it(found: House) -> None:
    log(found, three_days())
    in_use(found.empty, f"{TIMES}; closed 2026-09-21 to 2026-09-22")
    result = result_of(found)
    assert result.window_start == MONDAY + timedelta(days=2, hours=8)
    assert detail(result, "Days in use") == "1 day with a mean: 1370 ppm"


def test_single_readings_count_only_in_the_time_of_use(found: House) -> None:
    """900 ppm in the evening is nothing to a limit for an occupied room, and everything to one that asks no time."""
    values = three_days(600.0)
    values[20 * 60 : 20 * 60 + 30] = 1500.0
    log(found, values)
    in_use(found.empty)
    assert result_of(found, "CO2-FR-800").value == 600.0
    assert result_of(found, "CO2-DE-1000").value == 1500.0
    assert result_of(found, "CO2-UK-BB101-MECH-20M").value == 600.0


def test_the_zone_counts_before_the_building_and_that_before_the_campaign(found: House) -> None:
    log(found, three_days())
    values = {}
    for place, hours in (
        (found.campaign, "Mon-Fri 00:00-08:00"),
        (found.empty.floor.building, "Mon-Fri 06:00-10:00"),
        (found.empty, TIMES),
    ):
        in_use(place, hours)
        values[type(place).__name__] = result_of(found).value
    assert values == {"Campaign": 450.0, "Building": (450 + 1370) / 2, "Zone": 1370.0}


def test_an_assumed_timetable_is_named_as_such(found: House) -> None:
    log(found, three_days())
    use_timetables.assume([(found.empty, PlaceKind.SCHOOL)], None)
    result = result_of(found)
    assert result.verdict == "above"
    assert "timetable_assumed" in codes(result)
    assert "assumed: usual for such a place" in detail(result, TIME_OF_USE)


def test_the_share_of_the_time_of_use_above_is_told_with_its_interval(found: House) -> None:
    """Two of 24 hours in use above 1000 ppm: 8.3 %."""
    values = three_days(900.0)
    values[9 * 60 : 11 * 60] = 1100.0
    values[20 * 60 : 23 * 60] = 3000.0  # nobody is there
    log(found, values)
    in_use(found.empty)
    told = detail(result_of(found), SHARE_ABOVE)
    assert told.startswith("2 h of 24 h (8.3 %); over a longer time of such use ")
    assert "independent reading" in told


def test_a_change_of_the_timetable_is_judged_again_and_one_of_its_note_is_not(found: House) -> None:
    log(found, three_days())
    row = in_use(found.empty)
    before = result_of(found)
    other = result_of(found, "CO2-DE-1000")
    row = use_timetables.change(row, None, note="said the caretaker")
    assert result_of(found).digest == before.digest
    use_timetables.change(row, None, hours="Mon-Fri 00:00-08:00")
    assert result_of(found).value == 450.0
    assert result_of(found, "CO2-DE-1000").digest == other.digest, "it asks for no time of use"


def test_readings_of_the_night_are_no_scatter_of_the_day(found: House) -> None:
    """u of a day measured whole: zero 20, span 2 % of 1370, resolution 1/√12; and next to no noise."""
    log(found, three_days())
    in_use(found.empty)
    result = result_of(found)
    assert result.u == pytest.approx((20**2 + (0.02 * 1370) ** 2 + 1 / 12) ** 0.5, rel=1e-3)


def test_the_time_of_use_is_on_the_clock_of_the_site(found: House, site: m.Site) -> None:
    log(found, three_days())
    in_use(found.empty)
    site.time_zone = "Asia/Tokyo"
    site.save()
    found.campaign.refresh_from_db()
    assert result_of(found).value == 450.0


def test_outdoor_air_of_several_days_is_that_of_their_time_of_use(found: House, site: m.Site) -> None:
    """1000 ppm above outdoors (EN 13779): indoors 1370, outdoors 400 in use and 520 at night. 970, and not 901."""
    limit = m.Limit.objects.get(code="CO2-EN13779-OUT-3")
    m.Criterion.objects.create(campaign=found.campaign, limit=limit)
    log(found, three_days())
    in_use(found.empty)
    outside = make.InstrumentFactory(organisation=site.organisation, clock_basis="utc")
    measures_co2(outside)
    values = three_days(400.0, 520.0)
    point = make.PointFactory(room=None, site=site, kind=m.SamplingPoint.Kind.OUTDOOR, name="yard")
    make.DeploymentFactory(
        campaign=found.campaign, instrument=outside, point=point, starts_at=MONDAY,
        ends_at=MONDAY + timedelta(minutes=len(values)),
    )  # fmt: skip
    channel = outside.channels.get(spec__parameter="co2")
    store(replace(found, instrument=outside), channel, MONDAY - timedelta(seconds=30), values.tolist())
    judge(found.campaign)
    result = Result.objects.get(criterion__limit=limit, point__room__isnull=False)
    assert result.value == pytest.approx(970.0)
    # above outdoors as above the limit: 1370 is not above 1400
    assert detail(result, SHARE_ABOVE).startswith("none of 24 h (0 %)")


# --- on the pages -----------------------------------------------------------------------------------------------------


def zone_page(browser: Client, found: House, result: Result) -> str:
    address = reverse("zone", args=[found.campaign.key, found.empty.key])
    return text(browser.get(f"{address}?criterion={result.criterion.key}"))


def test_zone_and_result_page_tell_the_time_of_use_and_the_share(
    found: House, browse: Browse, consultant: m.User
) -> None:
    log(found, three_days())
    in_use(found.empty)
    result, browser = result_of(found), browse(consultant)
    for page in (zone_page(browser, found, result), text(get(browser, "result", result))):
        assert "Mon-Fri 08:00-16:00 (told by those who use the place; of the zone Cellar)" in page
        assert "24 h of 24 h (100 %)" in page
        assert "Assume" not in page


def test_zone_and_result_page_offer_the_usual_hours_with_one_click(
    found: House, browse: Browse, consultant: m.User, field_staff: m.User
) -> None:
    found.empty.floor.building.place_kind = PlaceKind.SCHOOL
    found.empty.floor.building.save()
    log(found, three_days())
    result = result_of(found)
    assert "Assume" not in zone_page(browse(field_staff), found, result)
    browser = browse(consultant)
    for page in (zone_page(browser, found, result), text(get(browser, "result", result))):
        assert "no timetable of use says when this place is in use" in page
        assert "Assume: Mon-Fri 08:00-16:00" in page
    assume = reverse("building-use-assume", args=[found.empty.floor.building.key])
    assert assume in page
    browser.post(assume, {"kind": "school"})
    assert result_of(found).verdict == "above"


def test_the_frozen_record_carries_what_was_said_of_the_time_of_use(found: House) -> None:
    log(found, three_days())
    in_use(found.empty)
    judge(found.campaign)
    frozen = json.dumps(to_store(signed_content(freeze(found.campaign))), ensure_ascii=False)
    assert "Mon-Fri 08:00-16:00 (told by those who use the place" in frozen
    assert SHARE_ABOVE in frozen


def test_design_values_say_what_is_often_allowed_above_them(found: House) -> None:
    limit = m.Limit.objects.get(code="CO2-EN13779-2")
    m.Criterion.objects.create(campaign=found.campaign, limit=limit)
    log(found, three_days())
    in_use(found.empty)
    result = result_of(found, "CO2-EN13779-2")
    assert result.value == pytest.approx(1370.0)
    assert (result.coverage, result.reading_count) == (1.0, 1440)
    assert "here 43 min to 72 min" in detail(result, "Often allowed above")
