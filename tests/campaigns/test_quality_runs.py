"""Quality runs and acceptance limits: who may enter what, and what is refused."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from auditlog.models import LogEntry
from django.core.exceptions import ValidationError
from django.urls import reverse
from django.utils import timezone

from campaigns import models as m
from campaigns.models import AcceptanceLimit, QualityRun, RunInstrument
from campaigns.services import acceptance_limits, deployments, quality_runs
from methods.quality.acceptance import MEASURES
from tests import factories as make

HOUR = timedelta(hours=1)
ZERO, BESIDE = QualityRun.Kind.ZERO, QualityRun.Kind.SIDE_BY_SIDE


@pytest.fixture
def campaign(site: m.Site) -> m.Campaign:
    return make.CampaignFactory(site=site)


@pytest.fixture
def meters(site: m.Site) -> list[m.Instrument]:
    return [make.InstrumentFactory(organisation=site.organisation, name=f"meter {name}") for name in "ABC"]


def beside(campaign: m.Campaign, meters: list[m.Instrument], hours: float = 0) -> QualityRun:
    start = make.START + hours * HOUR
    return quality_runs.make(campaign, meters, kind=BESIDE, starts_at=start, ends_at=start + HOUR, place="the van")


def test_a_run_keeps_its_instruments(campaign: m.Campaign, meters: list[m.Instrument]) -> None:
    run = beside(campaign, meters)
    assert [str(member) for member in RunInstrument.objects.filter(run=run)] == ["meter A", "meter B", "meter C"]
    changed = quality_runs.change(run, meters[:2], place="the office")
    assert changed.place == "the office"
    assert set(changed.instruments.all()) == set(meters[:2])
    quality_runs.remove(changed)
    assert not QualityRun.objects.exists()
    assert not RunInstrument.objects.exists()


def test_how_many_instruments_a_run_has(campaign: m.Campaign, meters: list[m.Instrument]) -> None:
    with pytest.raises(ValidationError, match="at least two"):
        beside(campaign, meters[:1])
    with pytest.raises(ValidationError, match="of one instrument"):
        quality_runs.make(campaign, meters, kind=ZERO, starts_at=make.START, ends_at=make.START + HOUR)
    with pytest.raises(ValidationError, match="ends after it starts"):
        quality_runs.make(campaign, meters[:1], kind=ZERO, starts_at=make.START, ends_at=make.START)
    assert not QualityRun.objects.exists()


def test_an_instrument_is_in_a_run_or_at_a_point(campaign: m.Campaign, meters: list[m.Instrument]) -> None:
    stay = make.DeploymentFactory(campaign=campaign, instrument=meters[0])  # two hours from the start
    with pytest.raises(ValidationError, match=r"meter A is at .* at that time"):
        beside(campaign, meters[:2], hours=1)
    run = beside(campaign, meters[:2], hours=2)  # it begins where the deployment ends
    with pytest.raises(ValidationError, match="in a quality run then"):
        deployments.change(stay, ends_at=make.START + 3 * HOUR)
    with pytest.raises(ValidationError, match="in another run at that time"):
        beside(campaign, meters[1:], hours=2.5)
    quality_runs.change(run, starts_at=make.START + 3 * HOUR, ends_at=make.START + 4 * HOUR)
    deployments.change(stay, ends_at=make.START + 3 * HOUR)
    with pytest.raises(ValidationError, match="is at"):
        quality_runs.change(run, starts_at=make.START)


def test_an_instrument_of_another_house_is_refused(campaign: m.Campaign, meters: list[m.Instrument]) -> None:
    with pytest.raises(ValidationError, match="another organisation"):
        beside(campaign, [meters[0], make.InstrumentFactory()])
    assert not QualityRun.objects.exists()


def test_of_what_zero_air_is_free(campaign: m.Campaign, meters: list[m.Instrument]) -> None:
    run = QualityRun(campaign=campaign, kind=ZERO, free_of="pm2_5 formaldehyde")
    assert run.tells_of("formaldehyde")
    assert not run.tells_of("co2")
    assert QualityRun(kind=ZERO).tells_of("co2")
    assert not QualityRun(kind=ZERO).tells_of("temperature")
    assert QualityRun(kind=BESIDE).tells_of("temperature")
    with pytest.raises(ValidationError, match="Nothing of this name"):
        quality_runs.make(
            campaign, meters[:1], kind=ZERO, starts_at=make.START, ends_at=make.START + HOUR, free_of="moonlight"
        )


@pytest.mark.history
def test_a_run_has_a_history(campaign: m.Campaign, meters: list[m.Instrument], consultant: m.User, browse: Any) -> None:
    run = beside(campaign, meters)
    quality_runs.change(run, meters[:2], place="the office")
    entries = LogEntry.objects.get_for_object(run)
    assert any("place" in (entry.changes_dict or {}) for entry in entries)
    page = browse(consultant).get(reverse("quality-run-history", args=[run.key])).content.decode()
    assert "the office" in page
    assert "meter C" in page  # it was taken out


def test_field_staff_enter_a_run_through_the_form(
    campaign: m.Campaign, meters: list[m.Instrument], field_staff: m.User, consultant: m.User, browse: Any
) -> None:
    client, url = browse(field_staff), reverse("quality-run-add", args=[campaign.key])
    shown = client.get(f"{url}?kind=zero").content.decode()
    assert 'value="zero" selected' in shown
    sent = {
        "kind": "side-by-side", "instruments": [meters[0].pk], "starts_at": "2026-09-16T08:00",
        "ends_at": "2026-09-16T09:00", "place": "the van", "note": "",
    }  # fmt: skip
    refused = client.post(url, sent)
    assert refused.status_code == 422
    assert "at least two instruments" in refused.content.decode()
    assert client.post(url, sent | {"instruments": [meter.pk for meter in meters[:2]]}).status_code == 302
    run = QualityRun.objects.get()
    assert run.members.count() == 2
    edit = reverse("quality-run-edit", args=[run.key])
    assert client.get(edit).content.decode().count("checked") == 2
    zero = sent | {"kind": "zero", "free_of": ["formaldehyde"]}
    assert client.post(edit, zero).status_code == 302
    run.refresh_from_db()
    assert (run.kind, run.free_of, run.members.count()) == ("zero", "formaldehyde", 1)
    delete = reverse("quality-run-delete", args=[run.key])
    assert client.post(delete).status_code == 404, "field staff add, and delete nothing"
    assert browse(consultant).post(delete).status_code == 302
    assert not QualityRun.objects.exists()


def test_strangers_and_clients_enter_nothing(
    campaign: m.Campaign, meters: list[m.Instrument], stranger: m.User, client_person: m.User, browse: Any
) -> None:
    run = beside(campaign, meters)
    for person in (stranger, client_person):
        client = browse(person)
        assert client.post(reverse("quality-run-delete", args=[run.key])).status_code == 404
        assert client.get(reverse("quality-run-add", args=[campaign.key])).status_code == 404
    assert QualityRun.objects.count() == 1


# --- acceptance limits ------------------------------------------------------------------------------------------------


def test_a_limit_set_before_the_visit_is_agreed(campaign: m.Campaign, consultant: m.User) -> None:
    assert acceptance_limits.put(campaign, {"bias": 8.0}, consultant) == 1
    assert acceptance_limits.put(campaign, {"bias": 8.0}, consultant) == 0
    start = timezone.now() + HOUR
    make.DeploymentFactory(campaign=campaign, starts_at=start, ends_at=start + HOUR)
    held = acceptance_limits.in_force(campaign)["bias"]
    assert (held.percent, held.late, held.agreed) == (8.0, False, None)


def test_a_limit_set_after_measuring_began_says_so_and_what_was_agreed(
    campaign: m.Campaign, consultant: m.User
) -> None:
    early = AcceptanceLimit.objects.create(
        campaign=campaign, measure="bias", percent=5.0, set_at=make.START - HOUR, by=consultant
    )
    make.DeploymentFactory(campaign=campaign)
    assert not acceptance_limits.in_force(campaign)["bias"].late
    acceptance_limits.put(campaign, {"bias": 25.0, "points": 80.0}, consultant)
    held = acceptance_limits.in_force(campaign)
    assert (held["bias"].percent, held["bias"].late, held["bias"].agreed) == (25.0, True, early)
    assert (held["points"].late, held["points"].agreed) == (True, None)
    assert AcceptanceLimit.objects.filter(campaign=campaign, measure="bias").count() == 2  # what was agreed is kept


def test_a_run_is_measuring_too(campaign: m.Campaign, meters: list[m.Instrument]) -> None:
    assert acceptance_limits.measuring_began(campaign) is None
    beside(campaign, meters)
    assert acceptance_limits.measuring_began(campaign) == make.START


def test_common_practice_is_taken_with_one_click_where_there_is_nothing(
    campaign: m.Campaign, consultant: m.User, browse: Any
) -> None:
    client = browse(consultant)
    acceptance_limits.put(campaign, {"bias": 3.0}, consultant)
    assert client.post(reverse("acceptance-usual", args=[campaign.key])).status_code == 302
    held = acceptance_limits.in_force(campaign)
    assert held["bias"].percent == 3.0
    assert not held["bias"].row.is_usual
    others = {code for code in MEASURES if code != "bias"}
    assert all(held[code].percent == MEASURES[code].usual and held[code].row.is_usual for code in others)
    page = client.get(reverse("acceptance", args=[campaign.key])).content.decode()
    assert "common practice, no source" in page


def test_a_limit_is_taken_back_through_the_form(campaign: m.Campaign, consultant: m.User, browse: Any) -> None:
    client, url = browse(consultant), reverse("acceptance", args=[campaign.key])
    assert client.post(url, {"bias": "7.5", "points": "90"}).status_code == 302
    assert client.post(url, {"bias": "", "points": "90"}).status_code == 302
    held = acceptance_limits.in_force(campaign)
    assert held["bias"].percent is None
    assert held["points"].percent == 90
    assert "none from then on" in client.get(url).content.decode()
    wrong = client.post(url, {"bias": "-3"})
    assert wrong.status_code == 422
    assert AcceptanceLimit.objects.count() == 3
