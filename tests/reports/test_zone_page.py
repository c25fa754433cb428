"""The zone page and its figures over time."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from campaigns import models as m
from campaigns.models import Criterion
from methods.quantities.moments import utc_ms
from readings.store import Batch, write
from reports.models import Finding
from tests import factories as make
from tests.reports.measured import House, against, house, judge, measure
from tests.reports.pages import Browse, crowd, figures_in, text_of, zone_url
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site, limits=("HCHO-WHO10-30M", "HCHO-HC-1H", "HCHO-NIOSH-C"))


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


def series_url(found: House, zone: m.Zone, parameter: str = "formaldehyde", criterion: Criterion | None = None) -> str:
    url = reverse("zone-series", args=[found.campaign.key, zone.key, parameter])
    return url + (f"?criterion={criterion.key}" if criterion else "")


def test_every_criterion_has_its_finding_with_verdict_probability_and_reason(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    page = browse(consultant).get(zone_url(measured.campaign, measured.high))
    rows = page.context["findings"]
    assert len(rows) == 3
    finding = Finding.objects.get(zone=measured.high, criterion__position=0)
    assert finding.statement in text_of(page)
    assert rows[0][2]["verdict"] == "above"
    assert rows[0][3] == "over 99.9 %"
    assert rows[0][1]["url"] == reverse("result", args=[finding.governing.key])
    assert rows[2][5].startswith("An indication only: A reading in a room")
    assert "Check against the document" in text_of(page).replace("check", "Check")


def test_points_beside_the_room_air_are_shown_and_govern_nothing(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    room = measured.low.rooms.get()
    cabinet = make.PointFactory(room=room, name="tall cabinet", kind="enclosed")
    measure(measured, cabinet, make.START + timedelta(hours=24), 1.0, line=500)
    outdoor = make.PointFactory(room=None, site=measured.campaign.site, name="north lawn", kind="outdoor")
    measure(measured, outdoor, make.START + timedelta(hours=28), 0.01, line=700)
    judge(measured.campaign)
    page = browse(consultant).get(zone_url(measured.campaign, measured.low))
    assert [row[0]["text"] for row in page.context["points"]] == ["Library room, centre"]
    assert [row[0]["text"] for row in page.context["beside"]] == ["Library room, tall cabinet", "north lawn"]
    assert page.context["finding"].verdict == "below"
    assert "they govern nothing" in text_of(page)


def test_an_unmeasured_zone_says_so_and_what_to_do(measured: House, consultant: m.User, browse: Browse) -> None:
    page = browse(consultant).get(zone_url(measured.campaign, measured.empty))
    assert "Nothing stood in this zone yet" in text_of(page)
    assert page.context["series"] == ""
    assert all(row[2] == {"verdict": "unmeasured"} for row in page.context["findings"])


def test_a_zone_of_another_site_is_not_there(measured: House, consultant: m.User, browse: Browse) -> None:
    elsewhere = make.ZoneFactory(floor__building__site__organisation=measured.campaign.site.organisation)
    for url in (zone_url(measured.campaign, elsewhere), series_url(measured, elsewhere)):
        assert browse(consultant).get(url).status_code == 404


def test_strangers_get_neither_page_nor_figures(
    measured: House, stranger: m.User, client_person: m.User, browse: Browse
) -> None:
    for person in (stranger, client_person):
        assert browse(person).get(zone_url(measured.campaign, measured.high)).status_code == 404
        assert browse(person).get(series_url(measured, measured.high)).status_code == 404


# --- figures ----------------------------------------------------------------------------------------------------------


def test_readings_are_drawn_in_the_unit_of_the_limit_with_the_worst_window(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    page = browse(consultant).get(series_url(measured, measured.high))
    (figure,) = figures_in(page)
    line, left_out, worst, bar = figure["data"]
    governing = Finding.objects.get(zone=measured.high, criterion__position=0).governing
    # 0.25 ppm is 0.307 mg/m³ at 25 °C (30.026 g/mol; U-07)
    assert max(y for y in line["y"] if y is not None) == pytest.approx(0.307, abs=0.003)
    assert len(left_out["y"]) == 2
    assert "settling" in left_out["text"][0]
    assert worst["y"][0] == pytest.approx(governing.value)
    assert bar["name"] == "Attic studio room, centre"
    # 08:00 UTC is nine o'clock in Lisbon
    assert figure["layout"]["xaxis"]["range"][0] == "2026-09-15 08:56:00.000"
    assert figure["layout"]["yaxis"]["title"]["text"] == "mg/m³"
    assert "In mg/m³ at 25 °C, 101.325 kPa." in text_of(page)


def test_limits_stated_in_another_unit_are_not_recomputed(measured: House, consultant: m.User, browse: Browse) -> None:
    (figure,) = figures_in(browse(consultant).get(series_url(measured, measured.high)))
    lines = [shape["y0"] for shape in figure["layout"]["shapes"] if shape["type"] == "line"]
    assert lines == [0.1]
    ppm = Criterion.objects.get(limit__code="HCHO-NIOSH-C")
    (figure,) = figures_in(browse(consultant).get(series_url(measured, measured.high, criterion=ppm)))
    lines = [shape["y0"] for shape in figure["layout"]["shapes"] if shape["type"] == "line"]
    assert lines == [0.1]
    assert figure["layout"]["yaxis"]["title"]["text"] == "ppm"


def test_a_limit_in_the_same_unit_is_drawn_too(measured: House, consultant: m.User, browse: Browse) -> None:
    found = against(measured, "HCHO-HC-1H", "HCHO-HC-8H")
    (figure,) = figures_in(browse(consultant).get(series_url(found, found.high)))
    lines = [shape["y0"] for shape in figure["layout"]["shapes"] if shape["type"] == "line"]
    assert sorted(lines) == [50.0, 123.0]


def test_a_long_deployment_has_an_axis_of_its_own_and_is_seen_during_the_visits(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    meter = measured.instrument
    logger = make.InstrumentFactory(organisation=meter.organisation, type=meter.type, clock_basis="utc", channel=False)
    shelf = make.PointFactory(room=measured.high.rooms.get(), name="shelf")
    make.DeploymentFactory(
        campaign=measured.campaign, instrument=logger, point=shelf,
        starts_at=make.START - timedelta(hours=2), ends_at=make.START + timedelta(hours=12),
    )  # fmt: skip
    stamp = utc_ms(make.START) + 60_000 * np.arange(-120, 720, dtype=np.int64)
    zeros = np.zeros(840, dtype=np.int64)
    channel = logger.channels.get()
    write([Batch(channel.pk, measured.upload.pk, stamp, zeros, np.full(840, 0.2), zeros, np.arange(3000, 3840))])
    visits, always = figures_in(browse(consultant).get(series_url(measured, measured.high)))
    assert visits["layout"]["yaxis2"]["categoryarray"] == ["Attic studio room, centre"]
    assert always["layout"]["yaxis2"]["categoryarray"] == ["Attic studio room, shelf"]
    beside = next(trace for trace in visits["data"] if trace["name"] == "Attic studio room, shelf")
    assert len(beside["x"]) == 90  # the logger's minutes within the visit
    assert "ink" not in [trace["line"].get("color") for trace in always["data"] if trace["name"].startswith("worst")]


def test_conditions_come_in_their_own_unit(measured: House, consultant: m.User, browse: Browse) -> None:
    make.ChannelSpecFactory(
        instrument_type=measured.instrument.type, parameter="temperature", unit="°C", range_low=-20, range_high=60
    )
    page = browse(consultant).get(zone_url(measured.campaign, measured.high))
    assert [label for label, _, _ in page.context["parameter_options"]] == ["Formaldehyde", "Temperature"]
    piece = browse(consultant).get(series_url(measured, measured.high, "temperature"))
    assert "No reading of temperature from this zone is held. Hand in the logs" in text_of(piece)
    assert reverse("uploads", args=[measured.campaign.key]) in piece.content.decode()


def test_an_unknown_parameter_is_not_there(measured: House, consultant: m.User, browse: Browse) -> None:
    assert browse(consultant).get(series_url(measured, measured.high, "phlogiston")).status_code == 404


def test_what_cannot_be_converted_is_said_and_not_drawn(measured: House, consultant: m.User, browse: Browse) -> None:
    make.ChannelSpecFactory(instrument_type=measured.instrument.type, parameter="pm25", unit="µg/m³", range_high=5000)
    page = browse(consultant).get(series_url(measured, measured.high, "pm25"))
    assert page.status_code == 200
    assert figures_in(page) == []


@pytest.mark.parametrize("what", ["page", "figures"])
def test_more_rooms_take_no_more_queries(
    measured: House, consultant: m.User, browse: Browse, django_assert_max_num_queries: Any, what: str
) -> None:
    url = (zone_url if what == "page" else lambda c, z: series_url(measured, z))(measured.campaign, measured.low)
    crowd(measured, measured.low, 2)  # three rooms
    person = browse(consultant)
    person.get(url)
    with CaptureQueriesContext(connection) as small:
        person.get(url)
    crowd(measured, measured.low, 9, first_hour=48)  # twelve
    with django_assert_max_num_queries(len(small)):
        answer = person.get(url)
    if what == "page":
        assert len(answer.context["points"]) == 12
    else:
        (figure,) = figures_in(answer)
        assert len(figure["layout"]["yaxis2"]["categoryarray"]) == 12
    assert len(small) <= 25
