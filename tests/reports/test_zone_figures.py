"""The views of the zone page, any part of their time in more detail, and the readings behind them as CSV."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from django.urls import reverse

from campaigns import models as m
from methods.quantities.flags import EXCLUDES
from methods.quantities.moments import utc_ms
from readings.queries import placed_in
from readings.store import Batch, write
from reports.models import Finding
from tests import factories as make
from tests.reports.judging import outdoor_of
from tests.reports.measured import House, house, judge, measure
from tests.reports.pages import Browse, figures_in, text_of, zone_url
from tests.worlds import World

VIEWS = ("series", "spread", "outdoor", "conditions", "together", "points")
DAY_MINUTES = 1440


pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


def url_of(found: House, view: str, parameter: str = "formaldehyde", zone: m.Zone | None = None) -> str:
    return reverse(f"zone-{view}", args=[found.campaign.key, (zone or found.high).key, parameter])


def range_url(found: House, figure: str, **asked: Any) -> str:
    query = "&".join(f"{name.rstrip('_')}={value}" for name, value in asked.items())
    return reverse("zone-range", args=[found.campaign.key, found.high.key, figure, "formaldehyde"]) + f"?{query}"


def csv_rows(response: Any) -> list[dict[str, str]]:
    return list(csv.DictReader(b"".join(response.streaming_content).decode().splitlines()))


def long_log(found: House, *, days: int = 20) -> m.Deployment:
    """A logger beside the meter: one reading a minute for ``days``, with one spike of a single reading and one gap."""
    kind = make.InstrumentTypeFactory(organisation=found.instrument.organisation, warm_up_s=0)
    logger = make.InstrumentFactory(
        organisation=found.instrument.organisation, type=kind, name="logger L", serial="TST-L", clock_basis="utc"
    )
    point = make.PointFactory(room=found.high.rooms.get(), name="shelf")
    deployment = make.DeploymentFactory(
        campaign=found.campaign, instrument=logger, point=point,
        starts_at=make.START, ends_at=make.START + timedelta(days=days),
    )  # fmt: skip
    n = days * DAY_MINUTES
    stamp = utc_ms(make.START) + 60_000 * np.arange(n, dtype=np.int64)
    raw = np.round(0.05 + 0.01 * np.sin(np.arange(n) / 200), 3)
    raw[n // 2] = 0.4
    kept = np.ones(n, dtype=bool)
    kept[n // 4 : n // 4 + 300] = False
    zeros = np.zeros(int(kept.sum()), dtype=np.int64)
    lines = np.arange(5000, 5000 + len(zeros))
    write([Batch(logger.channels.get().pk, found.upload.pk, stamp[kept], zeros, raw[kept], zeros, lines)])
    return deployment


def beside(found: House, parameter: str, unit: str, raw: Iterable[float]) -> m.Channel:
    """Another channel of the meter, with values for its visit in the high zone."""
    make.ChannelSpecFactory(
        instrument_type=found.instrument.type, parameter=parameter, unit=unit, range_low=-20, range_high=5000,
        detection_limit=None,
    )  # fmt: skip
    channel = found.instrument.channels.get(spec__parameter=parameter)
    values = np.array(list(raw), dtype=np.float64)
    stamp = utc_ms(make.START) + 60_000 * np.arange(1, len(values) + 1, dtype=np.int64)
    zeros = np.zeros(len(values), dtype=np.int64)
    write([Batch(channel.pk, found.upload.pk, stamp, zeros, values, zeros, np.arange(9000, 9000 + len(values)))])
    return channel


# --- any part of the time in more detail ------------------------------------------------------------------------------


def test_a_narrower_part_shows_more_of_it_and_never_more_than_its_width(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    long_log(measured)
    person = browse(consultant)
    _, whole = figures_in(person.get(url_of(measured, "series")))
    line = whole["data"][0]
    assert max(y for y in line["y"] if y is not None) == pytest.approx(0.4 * 1.2273, rel=1e-3)  # the spike, in mg/m³
    assert None in line["y"]  # the gap
    day = {"from": "2026-09-22T00:00:00", "to": "2026-09-23T00:00:00", "width": 300}
    part = person.get(range_url(measured, "always", **day)).json()
    inside = [x for x in line["x"] if x is not None and "2026-09-22" <= str(np.datetime64(x, "ms")) < "2026-09-23"]
    shown = part["figure"]["data"][0]["x"]
    assert len(inside) < len(shown) <= 4 * 300
    assert part["figure"]["layout"]["xaxis"]["range"] == ["2026-09-22 00:00:00.000", "2026-09-23 00:00:00.000"]
    assert part["said"] == "1,441 readings in this part, from 1 deployment."
    assert "logger L" in part["numbers"]
    assert "1,441" in part["numbers"]
    hour = {"from": "2026-09-22T10:00:00", "to": "2026-09-22T11:00:00", "width": 900}
    closest = person.get(range_url(measured, "always", **hour)).json()["figure"]
    assert len(closest["data"][0]["x"]) == 61  # every reading


def test_a_part_is_no_larger_however_wide_the_screen_says_it_is(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    long_log(measured)
    asked = {"from": "2026-09-15T00:00:00", "to": "2026-10-05T00:00:00", "width": 999_999_999}
    answer = browse(consultant).get(range_url(measured, "always", **asked))
    assert len(answer.content) < 120_000


@pytest.mark.parametrize(
    "asked",
    [{}, {"from": "2026-09-22T00:00:00"}, {"from": "yesterday", "to": "today"},
     {"from": "2026-09-23T00:00:00", "to": "2026-09-22T00:00:00"}],
)  # fmt: skip
def test_a_part_that_is_none_is_a_bad_request(
    measured: House, consultant: m.User, browse: Browse, asked: dict[str, str]
) -> None:
    assert browse(consultant).get(range_url(measured, "visits", **asked)).status_code == 400


def test_an_empty_part_says_so_and_an_unknown_figure_is_not_there(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    asked = {"from": "2026-09-15T11:30:00", "to": "2026-09-15T11:40:00"}
    answer = browse(consultant).get(range_url(measured, "visits", **asked)).json()
    assert answer["said"] == "Nothing was measured here in this time."
    assert browse(consultant).get(range_url(measured, "smear", **asked)).status_code == 404


def test_every_view_answers_and_strangers_get_none(
    measured: House, consultant: m.User, stranger: m.User, browse: Browse
) -> None:
    for view in VIEWS:
        assert browse(consultant).get(url_of(measured, view)).status_code == 200
        assert browse(stranger).get(url_of(measured, view)).status_code == 404
    assert browse(consultant).get(zone_url(measured.campaign, measured.high) + "?view=smear").status_code == 404


def test_an_unmeasured_zone_is_unmeasured_in_every_view(measured: House, consultant: m.User, browse: Browse) -> None:
    for view in VIEWS:
        piece = browse(consultant).get(url_of(measured, view, zone=measured.empty))
        assert figures_in(piece) == []
        assert 'class="empty"' in piece.content.decode()


# --- distribution and points ------------------------------------------------------------------------------------------


def test_the_distribution_is_of_counted_readings_in_the_unit_of_the_limit(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    piece = browse(consultant).get(url_of(measured, "spread"))
    (figure,) = figures_in(piece)
    (placed,) = placed_in(
        measured.campaign, deployments=measured.campaign.deployments.filter(point__room__zone=measured.high)
    )
    counted = placed.value[(placed.flags & int(EXCLUDES)) == 0] * 30.026 / 24.4654  # mg/m³ at 25 °C
    text = text_of(piece)
    assert f"{len(counted)} 0 {np.median(counted):.3f} mg/m³ {np.quantile(counted, 0.95):.3f} mg/m³" in text
    governing = Finding.objects.get(zone=measured.high).governing
    assert reverse("result", args=[governing.key]) in piece.content.decode()
    assert "100 %" in text  # all of them above the limit's number
    assert "says nothing about a limit that holds for a mean" in text
    assert figure["layout"]["shapes"][0]["x0"] == 0.1


def test_readings_below_detection_are_counted_and_given_no_value(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    spec = measured.channel.spec
    spec.detection_limit = 0.5
    spec.save()
    piece = browse(consultant).get(url_of(measured, "spread"))
    (figure,) = figures_in(piece)
    assert "below detection" in {trace["name"] for trace in figure["data"]}
    assert "< 0.614" in text_of(piece)  # 0.5 ppm
    assert figures_in(browse(consultant).get(url_of(measured, "spread") + "?axis=log"))


def test_a_cabinet_against_its_room_has_a_ratio_with_uncertainty(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    cabinet = make.PointFactory(room=measured.high.rooms.get(), name="tall cabinet", kind="enclosed")
    measure(measured, cabinet, make.START + timedelta(hours=24), 1.0, line=500)
    judge(measured.campaign)
    piece = browse(consultant).get(url_of(measured, "points"))
    (figure,) = figures_in(piece)
    assert figure["layout"]["yaxis"]["categoryarray"][0] == "Attic studio room, tall cabinet (enclosed space)"
    results = measured.campaign.criteria.get().results.filter(point__room__zone=measured.high)
    inside, room = (results.get(point__kind=kind) for kind in ("enclosed", "room_air"))
    assert inside.value is not None
    assert inside.u is not None
    assert room.value is not None
    assert room.u is not None
    ratio = inside.value / room.value
    expanded = 2 * ratio * np.hypot(inside.u / inside.value, room.u / room.value)
    assert f"{ratio:.2f} ± {expanded:.2f}" in text_of(piece).replace("\N{NO-BREAK SPACE}", " ")
    assert "22.5 h apart" in text_of(piece)


def test_without_a_cabinet_it_says_what_one_would_show(measured: House, consultant: m.User, browse: Browse) -> None:
    assert "shows whether the source is near" in text_of(browse(consultant).get(url_of(measured, "points")))


# --- outdoor air ------------------------------------------------------------------------------------------------------


def test_each_reason_for_no_outdoor_air_has_its_words(measured: House, consultant: m.User, browse: Browse) -> None:
    person, site = browse(consultant), measured.campaign.site
    assert "The site has no outdoor point" in text_of(person.get(url_of(measured, "outdoor")))
    lawn = make.PointFactory(room=None, site=site, name="lawn", kind="outdoor")
    assert "Nothing has stood at the outdoor point" in text_of(person.get(url_of(measured, "outdoor")))
    kind = make.InstrumentTypeFactory(organisation=site.organisation)
    other = make.InstrumentFactory(organisation=site.organisation, type=kind, channel=False)
    make.DeploymentFactory(campaign=measured.campaign, instrument=other, point=lawn)
    assert "but nothing that measures formaldehyde" in text_of(person.get(url_of(measured, "outdoor")))


def test_outdoor_air_of_another_time_is_compared_by_visits_and_says_so(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    lawn = make.PointFactory(room=None, site=measured.campaign.site, name="lawn", kind="outdoor")
    measure(measured, lawn, make.START + timedelta(hours=6), 0.05, line=700)
    judge(measured.campaign)
    piece = browse(consultant).get(url_of(measured, "outdoor"))
    (figure,) = figures_in(piece)
    assert figure["layout"]["yaxis2"]["categoryarray"] == ["lawn (outdoor)", "Attic studio room, centre"]
    text = text_of(piece).replace("\N{NO-BREAK SPACE}", " ")
    assert "whole visits, not at the same time: 4.5 h apart" in text
    told = outdoor_of(Finding.objects.get(zone=measured.high).governing)
    assert told.difference_text in text
    assert told.ratio_text in text


def test_outdoor_air_of_the_same_time_is_compared_block_by_block(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    house_meter, instrument = (
        measured.instrument,
        make.InstrumentFactory(
            organisation=measured.instrument.organisation,
            type=measured.instrument.type,
            clock_basis="utc",
            channel=False,
        ),
    )
    lawn = make.PointFactory(room=None, site=measured.campaign.site, name="lawn", kind="outdoor")
    measured.instrument = instrument
    measure(measured, lawn, make.START, 0.05, line=700)
    measured.instrument = house_meter
    text = text_of(browse(consultant).get(url_of(measured, "outdoor")))
    assert "the same 1-minute blocks" in text
    rows = [
        p.value[(p.flags & int(EXCLUDES)) == 0]
        for p in placed_in(measured.campaign, start=make.START, end=make.START + timedelta(minutes=91))
    ]
    ratio = max(np.mean(rows[0]), np.mean(rows[1])) / min(np.mean(rows[0]), np.mean(rows[1]))
    assert f" {ratio:.2f} " in text


# --- conditions and correlation ---------------------------------------------------------------------------------------


def test_temperature_lies_under_it_on_the_same_axis(measured: House, consultant: m.User, browse: Browse) -> None:
    beside(measured, "temperature", "°C", 20 + np.arange(90) / 30)
    piece = browse(consultant).get(url_of(measured, "conditions"))
    (figure,) = figures_in(piece)
    assert figure["layout"]["yaxis2"]["title"]["text"] == "Temperature<br>°C"
    lines = {t.get("yaxis"): t for t in figure["data"] if t["mode"] == "lines" and "connectgaps" in t}
    assert lines["y"]["x"] == lines["y2"]["x"]
    part = {"from": "2026-09-15T09:30:00", "to": "2026-09-15T09:40:00"}
    closer = browse(consultant).get(range_url(measured, "conditions", **part)).json()["figure"]
    assert {t.get("yaxis") for t in closer["data"]} == {"y", "y2", "y3"}


def test_without_conditions_it_says_what_they_need(measured: House, consultant: m.User, browse: Browse) -> None:
    assert "were not measured here" in text_of(browse(consultant).get(url_of(measured, "conditions")))


def test_correlation_pairs_the_same_minutes_and_says_what_they_are_worth(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    from scipy import stats

    temperature = np.round(20 + np.sin(np.arange(90) / 9), 1)
    beside(measured, "temperature", "°C", temperature)
    piece = browse(consultant).get(url_of(measured, "together"))
    (figure,) = figures_in(piece)
    y, x = np.array(figure["data"][0]["y"]), np.array(figure["data"][0]["x"])
    text = text_of(piece)
    assert f"n {len(x)}" in text
    assert f"Pearson r {stats.pearsonr(x, y).statistic:.2f}".replace("-", "−") in text
    assert f"Spearman ρ {stats.spearmanr(x, y).statistic:.2f}".replace("-", "−") in text
    assert "Neighbouring readings are alike" in text
    assert set(x) <= set(temperature)


def test_with_nothing_to_hold_it_against_it_says_so(measured: House, consultant: m.User, browse: Browse) -> None:
    assert "Nothing else was measured" in text_of(browse(consultant).get(url_of(measured, "together")))


# --- the readings behind it -------------------------------------------------------------------------------------------


def csv_url(found: House, query: str = "parameter=formaldehyde") -> str:
    return reverse("zone-readings", args=[found.campaign.key, found.high.key]) + f"?{query}"


def test_the_csv_is_the_placed_readings_in_the_figures_unit(
    measured: House, consultant: m.User, browse: Browse
) -> None:
    response = browse(consultant).get(csv_url(measured))
    assert response["Content-Disposition"] == 'attachment; filename="attic-studio-formaldehyde.csv"'
    assert response["X-Content-Type-Options"] == "nosniff"
    rows = csv_rows(response)
    here = measured.campaign.deployments.filter(point__room__zone=measured.high)
    (placed,) = placed_in(measured.campaign, deployments=here)
    assert [float(row["corrected"]) for row in rows] == placed.value.tolist()
    assert [float(row["stored"]) for row in rows] == placed.raw.tolist()
    assert [int(row["line"]) for row in rows] == placed.line.tolist()
    assert [row["counts"] == "yes" for row in rows] == ((placed.flags & int(EXCLUDES)) == 0).tolist()
    (figure,) = figures_in(browse(consultant).get(url_of(measured, "series")))
    shown = [y for y in figure["data"][0]["y"] if y is not None]
    assert [float(row["value"]) for row in rows if row["counts"] == "yes"] == pytest.approx(shown, rel=1e-3)
    assert (rows[0]["unit"], rows[0]["reference"]) == ("mg/m³", "25 °C, 101.325 kPa")
    assert (rows[0]["utc"], rows[0]["local_time"]) == ("2026-09-15T08:01:00Z", "2026-09-15T09:01:00+01:00")
    assert rows[0]["file"] == "attic and library.csv"


def test_the_csv_of_a_part_holds_what_the_part_shows(measured: House, consultant: m.User, browse: Browse) -> None:
    asked = "from=2026-09-15T09:30:00&to=2026-09-15T09:40:00"
    rows = csv_rows(browse(consultant).get(csv_url(measured, f"parameter=formaldehyde&{asked}")))
    assert [row["local_time"][11:16] for row in rows] == [f"09:{minute}" for minute in range(30, 41)]
    assert csv_rows(browse(consultant).get(csv_url(measured, "parameter=formaldehyde&long=1"))) == []


def test_a_name_in_the_csv_runs_nothing(measured: House, consultant: m.User, browse: Browse) -> None:
    measured.instrument.name = '=HYPERLINK("x")'
    measured.instrument.save()
    measured.upload.filename = "@log.csv"
    measured.upload.save()
    rows = csv_rows(browse(consultant).get(csv_url(measured)))
    assert rows[0]["instrument"] == '\'=HYPERLINK("x")'
    assert rows[0]["file"] == "'@log.csv"
