"""Air pressure in results: corrected where the channel answers to it, named where nobody said (docs/methods)."""

from __future__ import annotations

import pytest
from django.urls import reverse

from campaigns import models as m
from reports.models import Result
from reports.services.digests import of_channel
from tests.reports.judging import result_at
from tests.reports.measured import House, house, judge
from tests.reports.pages import Browse, text_of
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


def told(found: House, *, altitude: float, answers: str = "", entered: float | None = None) -> Result:
    """The judged result of the attic at that altitude."""
    m.Site.objects.update(altitude_m=altitude)
    m.Campaign.objects.update(station_pressure_kpa=entered)
    m.ChannelSpec.objects.update(answers_to=answers)
    judge(m.Campaign.objects.get(pk=found.campaign.pk))
    return result_at(found.high)


def reasons(result: Result) -> list[str]:
    return [reason.words for reason in result.stated_reasons if reason.code == "pressure_unsaid"]


def test_a_channel_that_counts_molecules_is_corrected(measured: House) -> None:
    """1,500 m: 84.556 kPa, × 1.1983 (ISO 2533, from memory)."""
    before = told(measured, altitude=1500, answers="fraction")
    after = told(measured, altitude=1500, answers="number_density")
    assert before.value is not None
    assert after.value == pytest.approx(1.1983 * before.value, rel=1e-4)
    assert any("taken from the altitude of 1500 m by the ISO 2533 atmosphere" in said for said in after.traced.said)
    assert (reasons(before), reasons(after)) == ([], [])
    entered = told(measured, altitude=1500, answers="number_density", entered=101.325)
    assert entered.value == pytest.approx(before.value)


@pytest.mark.parametrize(("altitude", "named"), [(0, False), (299, False), (301, True), (1500, True)])
def test_what_nobody_said_is_named_where_the_air_is_thin(measured: House, altitude: float, *, named: bool) -> None:
    unsaid = told(measured, altitude=altitude)
    assert bool(reasons(unsaid)) is named
    assert not named or "times this one" in reasons(unsaid)[0]
    assert reasons(told(measured, altitude=altitude, answers="compensated")) == []


def test_the_altitude_changes_only_what_rests_on_it(measured: House) -> None:
    low, high = (told(measured, altitude=altitude, answers="fraction").digest for altitude in (0, 1500))
    assert low == high
    low, lower, high = (told(measured, altitude=altitude).digest for altitude in (0, 200, 1500))
    assert low == lower != high
    low, high = (told(measured, altitude=altitude, answers="number_density").digest for altitude in (0, 200))
    assert low != high


def test_an_unsaid_channel_is_digested_as_before(measured: House) -> None:
    assert "answers_to" not in of_channel(m.Channel.objects.get(spec__parameter="formaldehyde"))


def test_the_way_back_to_the_file_shows_the_step(measured: House, consultant: m.User, browse: Browse) -> None:
    result = told(measured, altitude=1500, answers="number_density")
    page = text_of(browse(consultant).get(reverse("result", args=[result.key])))
    assert "Air pressure" in page
    assert "times 1.198" in page
