"""Adding an aldehyde is one row: chosen in forms, accepted, read from logs, converted and judged."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from campaigns import models as m
from campaigns.models import Criterion, Limit
from methods.logs.words.vocabulary import heading
from methods.quantities.moments import utc_ms
from methods.quantities.substances import SUBSTANCES
from methods.quantities.units import Reference, convert
from readings.store import Batch, write
from reports.models import Finding, Result
from tests import factories as make
from tests.methods.substance_rows import OCTANAL, add_row, forget_words
from tests.reports.measured import MINUTES, House, house, judge
from tests.reports.pages import Browse, text_of, zone_url
from tests.worlds import World

CHANNEL = {
    "parameter": "octanal", "unit": "ppb", "resolution": "0.1", "range_low": "0", "range_high": "500", "t90_s": "30",
    "detection_limit": "1", "u_zero": "1", "u_span": "0.05", "u_drift": "0.1",
}  # fmt: skip
LIMIT = {
    "parameter": "octanal", "value": "0.05", "unit": "mg/m³", "averaging": "rolling_mean", "averaging_minutes": "30",
    "body": "Client’s specification", "document": "Fit-out brief, page 4",
}  # fmt: skip
#: mg/m³ per ppb at 25 °C and 101.325 kPa: 8·12.011 + 16·1.008 + 15.999 g/mol (CIAAW) by 24.4654 L/mol (SI of 2019).
FACTOR = (8 * 12.011 + 16 * 1.008 + 15.999) / (8.314462618 * 298.15 / 101.325) / 1000


@pytest.fixture
def _one_more(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    add_row(OCTANAL, tmp_path, monkeypatch)
    yield
    monkeypatch.undo()
    forget_words()


pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


def offered(page: Any, field: str) -> set[str]:
    """The values of a select box, out of its groups."""
    return set(str(page.context["form"][field]).split('"')[1::2])


def enter(found: House, consultant: m.User, browse: Browse) -> m.Channel:
    """A channel and a limit for octanal, by the pages on which people enter them."""
    browser = browse(consultant)
    answer = browser.post(reverse("channel-add", args=[found.instrument.type.key]), CHANNEL)
    assert answer.status_code == 302, answer.context["form"].errors
    answer = browser.post(reverse("limit-add"), LIMIT)
    assert answer.status_code == 302, answer.context["form"].errors
    Criterion.objects.create(campaign=found.campaign, limit=Limit.objects.get(parameter="octanal"), position=1)
    return m.Channel.objects.get(instrument=found.instrument, spec__parameter="octanal")


@pytest.mark.usefixtures("_one_more")
def test_it_is_offered_where_people_choose(measured: House, consultant: m.User, browse: Browse) -> None:
    browser = browse(consultant)
    for url in (reverse("channel-add", args=[measured.instrument.type.key]), reverse("limit-add"), reverse("limits")):
        assert {"octanal", "formaldehyde", "acetone"} <= offered(browser.get(url), "parameter")
    assert 'optgroup label="Aldehydes"' in browser.get(reverse("limit-add")).content.decode()


@pytest.mark.usefixtures("_one_more")
def test_it_is_converted_and_named_in_a_header() -> None:
    at_25 = Reference(25.0, 101.325)
    assert convert(20.0, "octanal", "ppb", "mg/m³", None, at_25) == pytest.approx(20 * FACTOR)
    assert convert(20 * FACTOR, "octanal", "mg/m³", "ppb", at_25) == pytest.approx(20.0)
    assert (heading("Octanal [ppb]").parameter, heading("Octanal [ppb]").unit) == ("octanal", "ppb")


@pytest.mark.usefixtures("_one_more")
def test_it_is_measured_and_judged_like_any_other(measured: House, consultant: m.User, browse: Browse) -> None:
    channel = enter(measured, consultant, browse)
    deployment = make.DeploymentFactory(
        campaign=measured.campaign, instrument=measured.instrument,
        point=m.SamplingPoint.objects.get(room__zone=measured.empty),
        starts_at=make.START + timedelta(hours=24), ends_at=make.START + timedelta(hours=24, minutes=MINUTES),
    )  # fmt: skip
    stamp = utc_ms(deployment.starts_at) + 60_000 * np.arange(1, MINUTES + 1, dtype=np.int64)
    zeros = np.zeros(MINUTES, dtype=np.int64)
    lines = np.arange(2, 2 + MINUTES)
    write([Batch(channel.pk, measured.upload.pk, stamp, zeros, np.full(MINUTES, 20.0), zeros, lines)])
    judge(measured.campaign)
    result = Result.objects.get(criterion__limit__parameter="octanal")
    assert result.value == pytest.approx(20 * FACTOR)
    assert (result.verdict, result.unit) == ("above", "mg/m³")
    finding = Finding.objects.get(criterion=result.criterion, zone=measured.empty)
    assert finding.statement.startswith("Octanal, worst 30 min mean: ")
    page = browse(consultant).get(zone_url(measured.campaign, measured.empty, result.criterion))
    assert finding.statement in text_of(page)


def test_without_its_row_it_is_refused(measured: House, consultant: m.User, browse: Browse) -> None:
    """The same row is no parameter of the table as it stands, for models and forms alike."""
    assert "octanal" not in SUBSTANCES
    spec = m.ChannelSpec(
        instrument_type=measured.instrument.type, parameter="octanal", unit="ppb", resolution=0.1, range_high=5
    )
    with pytest.raises(ValidationError) as caught:
        spec.full_clean()
    assert set(caught.value.message_dict) == {"parameter"}
    spec.parameter, spec.unit = "toluene", "furlongs"
    with pytest.raises(ValidationError) as caught:
        spec.full_clean()
    assert set(caught.value.message_dict) == {"unit"}
    assert browse(consultant).post(reverse("limit-add"), LIMIT).context["form"].errors.keys() == {"parameter"}
    assert not Limit.objects.filter(parameter="octanal").exists()


def test_a_row_that_is_gone_leaves_its_code_as_a_name(measured: House) -> None:
    spec = m.ChannelSpec(instrument_type=measured.instrument.type, parameter="octanal", unit="ppb")
    assert (str(spec), spec.parameter_name) == ("octanal in ppb", "octanal")
