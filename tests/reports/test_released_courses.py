"""The course of the readings in a released report: few points of what speaks for a zone, and they stay as signed."""

from __future__ import annotations

import json
from dataclasses import asdict
from datetime import timedelta
from typing import Any
from unittest.mock import patch

import numpy as np
import pytest
from django.urls import reverse

from campaigns import models as m
from campaigns.models import Limit
from methods.quantities import substances
from methods.quantities.moments import utc_ms
from readings.store import Batch, write
from reports.content.canonical import canonical, digest
from reports.content.courses import ReportedCourse, ReportedStay
from reports.content.record import ReportContent
from reports.models import Report
from reports.services.freeze import freeze
from reports.services.freezing.courses import MOST_POINTS
from reports.services.release import sign_and_release
from tests import factories as make
from tests.reports.judging import FACTOR_AT_ZERO
from tests.reports.measured import HIGH, MINUTES, House, house, judge, measure
from tests.reports.pages import Browse, text_of
from tests.worlds import World

#: mg/m³ per ppm at 25 °C and 101.325 kPa: 30.026 g/mol (IUPAC atomic weights of C, H, O) over 24.465 l/mol (ideal gas,
#: CODATA gas constant). ATSDR's profile of formaldehyde prints 1.23.
A_PPM = 30.026 / 24.465


pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site, limits=("HCHO-WHO10-30M", "HCHO-HC-8H"))


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def released(measured: House, consultant: m.User) -> Report:
    return sign_and_release(measured.campaign, consultant)


def courses_in(content: ReportContent, name: str) -> tuple[ReportedCourse, ...]:
    return next(zone for zone in content.zones if zone.name == name).courses


def stay_in(content: ReportContent, name: str) -> ReportedStay:
    """The only one of the only course."""
    ((stay,),) = [course.stays for course in courses_in(content, name)]
    return stay


def page(browse: Browse, who: m.User, report: Report, zone: m.Zone) -> Any:
    return browse(who).get(reverse("released-zone", args=[report.key, zone.key]))


def test_it_is_in_the_terms_of_the_first_limit(measured: House) -> None:
    (course,) = courses_in(freeze(measured.campaign), "Attic studio")
    assert (course.unit, course.criteria) == ("mg/m³", ("C1", "C2"))
    assert [(line.ref, line.at) for line in course.limits] == [("C1", 0.1)]  # the other is in µg/m³
    (stay,) = course.stays
    assert stay.where == "Attic studio room, centre"
    assert stay.v == pytest.approx([HIGH * A_PPM] * len(stay.v), rel=0.006)  # the meter's noise is 0.4 %
    assert course.result is not None
    assert course.result.at == pytest.approx(HIGH * A_PPM, rel=0.004)


def test_times_are_those_of_the_clock_on_the_wall(measured: House) -> None:
    """Lisbon in September is an hour ahead of UTC (IANA tz database). The warm-up of a minute does not count."""
    stay = stay_in(freeze(measured.campaign), "Attic studio")
    assert stay.start == utc_ms(make.START + timedelta(hours=1)) // 1000
    assert stay.length == 60 * MINUTES
    assert stay.readings in (MINUTES - 1, MINUTES)
    assert stay.t[0] >= 60
    assert list(stay.t) == sorted(stay.t)


def test_a_zone_has_only_what_speaks_for_it(measured: House) -> None:
    content = freeze(measured.campaign)
    assert [s.where for c in courses_in(content, "Library") for s in c.stays] == ["Library room, centre"]
    assert courses_in(content, "Cellar") == ()


def test_of_many_readings_the_extremes_are_kept(measured: House) -> None:
    """A day at one reading every ten seconds, with one peak and one dip of one reading each."""
    begin = make.START + timedelta(days=3)
    point = measured.empty.rooms.get().points.get()
    n = 8640
    make.DeploymentFactory(
        campaign=measured.campaign, instrument=measured.instrument, point=point,
        starts_at=begin, ends_at=begin + timedelta(days=1),
    )  # fmt: skip
    raw, zeros = np.full(n, 0.05), np.zeros(n, dtype=np.int64)
    raw[4000], raw[6000] = 0.5, 0.01
    stamp = utc_ms(begin) + 10_000 * np.arange(n, dtype=np.int64)
    write([Batch(measured.channel.pk, measured.upload.pk, stamp, zeros, raw, zeros, np.arange(n) + 9000)])
    judge(measured.campaign)
    stay = stay_in(freeze(measured.campaign), "Cellar")
    assert len(stay.v) <= MOST_POINTS < stay.readings
    assert (max(stay.v), min(stay.v)) == pytest.approx((0.5 * A_PPM, 0.01 * A_PPM), rel=0.004)
    assert abs(stay.t[stay.v.index(max(stay.v))] - 40_000) <= 1


def test_readings_below_detection_are_marked_at_their_limit(
    measured: House, consultant: m.User, client_person: m.User, browse: Browse
) -> None:
    point = measured.empty.rooms.get().points.get()
    measure(measured, point, make.START + timedelta(days=2), 0.002, line=2000)
    judge(measured.campaign)
    report = sign_and_release(measured.campaign, consultant)
    stay = stay_in(report.record, "Cellar")
    assert list(stay.below) == list(range(len(stay.v)))
    assert stay.v == pytest.approx([0.005 * A_PPM] * len(stay.v), rel=0.004)  # the channel's detection limit
    told = page(browse, client_person, report, measured.empty)
    assert "An arrow down stands at the detection limit" in text_of(told)
    assert 'class="course-mark"' in told.content.decode()


def test_a_later_calibration_moves_nothing_that_was_signed(
    browse: Browse, client_person: m.User, released: Report, measured: House
) -> None:
    before = page(browse, client_person, released, measured.high).context["measured"][0].course
    m.Calibration.objects.filter(channel=measured.channel).update(slope=0.2)
    judge(measured.campaign)
    after = page(browse, client_person, released, measured.high).context["measured"][0].course
    assert after == before
    now = stay_in(freeze(measured.campaign), "Attic studio").v
    assert max(now) < 0.5 * max(stay_in(released.record, "Attic studio").v)


def test_a_limit_for_the_value_less_the_outdoor_air_is_no_line_among_readings(
    measured: House, consultant: m.User, client_person: m.User, browse: Browse
) -> None:
    lawn = make.PointFactory(room=None, site=measured.campaign.site, name="lawn", kind="outdoor")
    measure(measured, lawn, make.START + timedelta(minutes=MINUTES), 0.01, line=3000)
    measured.campaign.criteria.all().delete()
    make.CriterionFactory(campaign=measured.campaign, limit=Limit.objects.get(code="HCHO-CN-50325-I"))
    judge(measured.campaign)
    report = sign_and_release(measured.campaign, consultant)
    (course,) = courses_in(report.record, "Attic studio")
    assert course.limits == ()
    assert course.result is not None
    assert course.result.at == pytest.approx(HIGH * FACTOR_AT_ZERO, rel=0.01)  # where the readings lie
    told = text_of(page(browse, client_person, report, measured.high))
    assert "before the outdoor value was taken off" in told
    assert "or for the value less the outdoor air, are not drawn." in told


def test_every_point_is_in_the_digest(released: Report) -> None:
    content = json.loads(json.dumps(released.content))
    assert digest(content) == released.digest
    attic = next(
        z for b in content["buildings"] for f in b["floors"] for z in f["zones"] if z["name"] == "Attic studio"
    )
    attic["courses"][0]["stays"][0]["v"][3] += 0.001
    assert digest(content) != released.digest


def test_it_says_neither_files_nor_serial_numbers(released: Report, measured: House) -> None:
    for zone in released.record.zones:
        kept = canonical([asdict(course) for course in zone.courses]).decode()
        for internal in (measured.upload.filename, measured.upload.sha256, "TST-0001", str(measured.instrument.key)):
            assert internal not in kept


def test_the_client_sees_it_drawn_once_a_parameter(
    browse: Browse, client_person: m.User, released: Report, measured: House
) -> None:
    told = page(browse, client_person, released, measured.high)
    assert told.content.decode().count('<svg class="course"') == 1
    assert "The course of formaldehyde at the points that speak for Attic studio, corrected." in text_of(told)
    assert "The course of the readings is drawn above" in text_of(told)
    assert "The thick bar is the result that speaks for the zone: 0.30" in text_of(told)


def test_a_substance_that_is_gone_from_the_table_is_still_drawn(
    released: Report, measured: House, client_person: m.User, browse: Browse
) -> None:
    before = page(browse, client_person, released, measured.high)
    with patch.dict(substances._ROWS):  # which puts it back where it was
        del substances._ROWS["formaldehyde"]
        after = page(browse, client_person, released, measured.high)
    assert (after.status_code, text_of(after)) == (200, text_of(before))


def test_a_room_of_a_strange_name_is_text(
    browse: Browse, client_person: m.User, consultant: m.User, measured: House
) -> None:
    m.Room.objects.filter(zone=measured.high).update(name='"><script>alert(1)</script>')
    report = sign_and_release(measured.campaign, consultant)
    assert "<script>alert" not in page(browse, client_person, report, measured.high).content.decode()
