from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client

from campaigns.models import Campaign, Deployment, Instrument, SamplingPoint, Site, User
from campaigns.services.integrity import constraint_name
from tests import factories as make
from tests.campaigns.pages import Browse, errors, get, post, text


@pytest.fixture
def owner(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


@pytest.fixture
def campaign(site: Site) -> Campaign:
    return make.CampaignFactory(site=site)


@pytest.fixture
def point(site: Site) -> SamplingPoint:
    return make.PointFactory(room__zone__floor__building__site=site, room__name="Ash", name="P1")


@pytest.fixture
def instrument(site: Site) -> Instrument:
    return make.InstrumentFactory(organisation=site.organisation)


def visit(point: SamplingPoint, instrument: Instrument, **change: Any) -> dict[str, Any]:
    times = {"starts_at": "2026-09-15T09:00", "ends_at": "2026-09-15T11:00"}
    return {"point": point.pk, "instrument": instrument.pk} | times | change


def test_times_are_on_the_clock_of_the_site(
    owner: Client, campaign: Campaign, point: SamplingPoint, instrument: Instrument
) -> None:
    # Lisbon is an hour ahead of UTC in summer (IANA time zone database).
    answer = post(owner, "deployment-add", campaign, **visit(point, instrument, switched_on_at="2026-09-15T08:58"))
    made = Deployment.objects.get()
    assert made.starts_at == datetime(2026, 9, 15, 8, 0, tzinfo=UTC)
    assert made.ends_at == datetime(2026, 9, 15, 10, 0, tzinfo=UTC)
    assert made.switched_on_at == datetime(2026, 9, 15, 7, 58, tzinfo=UTC)
    assert answer.url == f"/campaigns/{campaign.key}/deployments/#at-{made.key}"
    page = text(get(owner, "deployments", campaign))
    assert "2026-09-15 09:00" in page
    assert "2026-09-15 11:00" in page


@pytest.mark.parametrize(
    ("change", "field", "message"),
    [
        ({"ends_at": "2026-09-15T09:00"}, "ends_at", "A deployment ends after it starts."),
        (
            # clocks in Portugal go back on the last Sunday of October (Directive 2000/84/EC, from memory)
            {"starts_at": "2026-10-25T01:30", "ends_at": ""},
            "starts_at",
            "01:30 happened twice there: the clocks were put back over it. Choose a time outside that hour.",
        ),
        (
            {"starts_at": "2026-03-29T01:30"},
            "starts_at",
            "01:30 did not happen there: the clocks were put forward over it.",
        ),
    ],
)
def test_what_is_wrong_with_a_deployment(
    owner: Client,
    campaign: Campaign,
    point: SamplingPoint,
    instrument: Instrument,
    change: dict[str, str],
    field: str,
    message: str,
) -> None:
    assert errors(post(owner, "deployment-add", campaign, **visit(point, instrument, **change))) == {field: [message]}


def test_points_and_instruments_of_others_are_neither_offered_nor_taken(
    owner: Client, campaign: Campaign, point: SamplingPoint, instrument: Instrument
) -> None:
    theirs = make.InstrumentFactory(name="their meter")
    there = campaign.site.organisation
    elsewhere = make.PointFactory(room__zone__floor__building__site__organisation=there, name="point elsewhere")
    page = text(get(owner, "deployment-add", campaign))
    assert "their meter" not in page
    assert "point elsewhere" not in page
    assert list(errors(post(owner, "deployment-add", campaign, **visit(elsewhere, theirs)))) == ["point", "instrument"]
    assert not Deployment.objects.exists()


def test_an_instrument_is_at_one_place_at_a_time(
    owner: Client, campaign: Campaign, point: SamplingPoint, instrument: Instrument
) -> None:
    make.DeploymentFactory(campaign=campaign, point=point, instrument=instrument)  # 08:00 to 10:00 UTC
    told = errors(post(owner, "deployment-add", campaign, **visit(point, instrument, starts_at="2026-09-15T10:59")))
    assert told == {"instrument": [f"{Deployment.ONE_PLACE_MESSAGE} It is at Ash, P1 then."]}
    following = visit(point, instrument, starts_at="2026-09-15T11:00", ends_at="")
    assert post(owner, "deployment-add", campaign, **following).status_code == 302


def test_the_same_said_when_only_the_database_sees_it(
    owner: Client, campaign: Campaign, point: SamplingPoint, instrument: Instrument, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two people save at the same moment: neither form sees the other's row, the database does."""
    make.DeploymentFactory(campaign=campaign, point=point, instrument=instrument)
    monkeypatch.setattr(Deployment, "clash", lambda self: None)
    told = errors(post(owner, "deployment-add", campaign, **visit(point, instrument)))
    assert told == {"instrument": [Deployment.ONE_PLACE_MESSAGE]}
    assert Deployment.objects.count() == 1


@pytest.mark.parametrize(
    ("start", "end", "taken"),
    [(-1, 1, True), (0, 2, True), (1, None, True), (-1, None, True), (2, 3, False), (-2, 0, False)],
)
def test_the_database_keeps_one_place(
    campaign: Campaign, instrument: Instrument, start: int, end: int | None, taken: bool
) -> None:
    """Rows made past the model's own look. Hours from the start of a deployment of two hours."""
    held = make.DeploymentFactory(campaign=campaign, instrument=instrument)
    starts = held.starts_at + timedelta(hours=start)
    ends = None if end is None else held.starts_at + timedelta(hours=end)
    row = Deployment(campaign=campaign, instrument=instrument, point=held.point, starts_at=starts, ends_at=ends)
    if not taken:
        Deployment.objects.bulk_create([row])
        return
    with pytest.raises(IntegrityError) as caught, transaction.atomic():
        Deployment.objects.bulk_create([row])
    assert constraint_name(caught.value) == "deployment_one_place"


def test_the_database_minds_an_end_moved_over_the_next_start(campaign: Campaign, instrument: Instrument) -> None:
    first = make.DeploymentFactory(campaign=campaign, instrument=instrument)
    later = first.starts_at + timedelta(hours=3)
    make.DeploymentFactory(campaign=campaign, instrument=instrument, starts_at=later, ends_at=None)
    with pytest.raises(IntegrityError, match="deployment_one_place"), transaction.atomic():
        Deployment.objects.filter(pk=first.pk).update(ends_at=None)


def test_field_staff_place_and_move_and_a_consultant_takes_away(
    browse: Browse, field_staff: User, consultant: User, campaign: Campaign, point: SamplingPoint,
    instrument: Instrument,
) -> None:  # fmt: skip
    field = browse(field_staff)
    post(field, "deployment-add", campaign, **visit(point, instrument, ends_at=""))
    made = Deployment.objects.get()
    post(field, "deployment-edit", made, **visit(point, instrument, notes="windows shut"))
    made.refresh_from_db()
    assert (made.ends_at, made.notes) == (datetime(2026, 9, 15, 10, 0, tzinfo=UTC), "windows shut")
    assert "Delete" not in text(get(field, "deployments", campaign))
    assert "Delete" not in text(get(field, "deployment-edit", made))
    assert post(field, "deployment-delete", made).status_code == 404
    assert Deployment.objects.exists()
    planner = browse(consultant)
    assert "Delete" in text(get(planner, "deployments", campaign))
    post(planner, "deployment-delete", made)
    assert not Deployment.objects.exists()


def test_strangers_do_not(
    browse: Browse, stranger: User, campaign: Campaign, point: SamplingPoint, instrument: Instrument
) -> None:
    made = make.DeploymentFactory(campaign=campaign, point=point, instrument=instrument)
    theirs = browse(stranger)
    assert post(theirs, "deployment-edit", made, **visit(point, instrument, notes="mine")).status_code == 404
    assert post(theirs, "deployment-delete", made).status_code == 404
    assert Deployment.objects.get().notes == ""


def test_what_is_planned_and_not_measured_is_shown(owner: Client, campaign: Campaign, point: SamplingPoint) -> None:
    campaign.planned_points.create(point=point)
    page = text(get(owner, "deployments", campaign))
    assert "Planned and not measured" in page
    assert f"?point={point.key}" in page
    form = get(owner, "deployment-add", campaign, f"?point={point.key}").context["form"]
    assert form["point"].value() == point.pk


@pytest.mark.parametrize("asked", ["nonsense", "00000000-0000-4000-8000-000000000000"])
def test_a_point_that_is_not_there_is_not_chosen(owner: Client, campaign: Campaign, asked: str) -> None:
    assert get(owner, "deployment-add", campaign, f"?point={asked}").context["form"]["point"].value() is None


def test_seconds_of_a_stored_time_survive_another_change(
    owner: Client, campaign: Campaign, point: SamplingPoint
) -> None:
    start = datetime(2026, 9, 15, 8, 0, 7, 500_000, tzinfo=UTC)
    made = make.DeploymentFactory(campaign=campaign, point=point, starts_at=start, ends_at=None)
    shown = get(owner, "deployment-edit", made).context["form"]["starts_at"]
    assert 'value="2026-09-15T09:00:07"' in str(shown)
    data = visit(point, made.instrument, starts_at="2026-09-15T09:00:07", ends_at="", notes="n")
    post(owner, "deployment-edit", made, **data)
    made.refresh_from_db()
    assert (made.starts_at, made.notes) == (start, "n")
