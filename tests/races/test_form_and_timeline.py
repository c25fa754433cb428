"""One person moves deployments with the form while another does so on the timeline, of the same instruments."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from campaigns.enqueue import enqueue
from campaigns.models import Campaign, ClockCheck, Deployment, Instrument, Job, Role, SamplingPoint, User
from campaigns.services import deployments
from campaigns.services.locks import instruments_held
from readings.forms.timeline import seen_text
from readings.models import TimelineStep, Upload
from readings.services import clock_review
from readings.services.timeline import touching
from reports import receivers
from tests import factories as make
from tests.races.meeting import Meeting, at_once
from tests.worlds import member

pytestmark = pytest.mark.django_db(transaction=True)

START, HOUR = make.START, timedelta(hours=1)
Doing = Callable[[], Any]


@pytest.fixture(autouse=True)
def _unsent(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("campaigns.enqueue.send", lambda job_id: None)


@pytest.fixture
def campaign(transactional_db: None) -> Campaign:
    return make.CampaignFactory.create()


@pytest.fixture
def meters(campaign: Campaign) -> list[Instrument]:
    return make.InstrumentFactory.create_batch(2, organisation=campaign.site.organisation)


@pytest.fixture
def people(campaign: Campaign) -> list[User]:
    return [member(campaign.site.organisation, Role.FIELD, f"field-{n}@fanlight.example") for n in range(3)]


@pytest.fixture
def _come_together(monkeypatch: pytest.MonkeyPatch) -> None:
    """Both have been let through to where the instruments are held, and neither holds them yet."""
    meeting = Meeting()
    for service in (deployments, touching):
        monkeypatch.setattr(service, "instruments_held", meeting.before(instruments_held))


def stay(campaign: Campaign, meter: Instrument, starts_at: datetime) -> Deployment:
    point: SamplingPoint = make.PointFactory.create(room__zone__floor__building__site=campaign.site)
    return make.DeploymentFactory.create(
        campaign=campaign, instrument=meter, point=point, starts_at=starts_at, ends_at=starts_at + HOUR
    )


def browser(person: User) -> Client:
    client = Client()
    client.force_login(person)
    return client


def by_form(person: User, row: Deployment, starts_at: datetime, meter: Instrument | None = None) -> Doing:
    zone, client, address = row.campaign.site.zone_info, browser(person), reverse("deployment-edit", args=[row.key])
    start, end = (at.astimezone(zone).strftime("%Y-%m-%dT%H:%M") for at in (starts_at, starts_at + HOUR))
    sent = {
        "point": row.point_id, "instrument": (meter or row.instrument).pk, "starts_at": start, "ends_at": end,
        "switched_on_at": "", "notes": "",
    }  # fmt: skip
    return lambda: client.post(address, sent)


def by_timeline(person: User, row: Deployment, starts_at: datetime) -> Doing:
    client, address = browser(person), reverse("timeline-move", args=[row.campaign.key, row.instrument.key])
    sent = {
        "deployment": row.key, "seen": seen_text(row), "starts_at": starts_at.isoformat(),
        "ends_at": (starts_at + HOUR).isoformat(),
    }  # fmt: skip
    return lambda: client.post(address, sent)


@pytest.mark.usefixtures("_come_together")
def test_into_each_other(campaign: Campaign, meters: list[Instrument], people: list[User]) -> None:
    """One of them is told that the instrument is elsewhere; nobody meets an error."""
    early, late = stay(campaign, meters[0], START), stay(campaign, meters[0], START + 6 * HOUR)
    form, _ = at_once(
        by_form(people[0], early, START + 3 * HOUR), by_timeline(people[1], late, START + 3 * HOUR + HOUR / 2)
    )
    by_form_done = form.status_code == 302
    if not by_form_done:
        assert form.context["form"].errors["instrument"][0].startswith(Deployment.ONE_PLACE_MESSAGE)
    early.refresh_from_db()
    late.refresh_from_db()
    assert (early.starts_at == START + 3 * HOUR) is by_form_done
    assert (late.starts_at == START + 3 * HOUR + HOUR / 2) is not by_form_done
    assert TimelineStep.objects.count() == (not by_form_done)


@pytest.mark.usefixtures("_come_together")
def test_the_form_takes_it_to_the_instrument_of_the_timeline(
    campaign: Campaign, meters: list[Instrument], people: list[User]
) -> None:
    """Two at the same hour of one instrument, one of which comes from another instrument."""
    coming, staying = stay(campaign, meters[0], START), stay(campaign, meters[1], START + 6 * HOUR)
    form, _ = at_once(
        by_form(people[0], coming, START + 3 * HOUR, meters[1]), by_timeline(people[1], staying, START + 3 * HOUR)
    )
    rows = Deployment.objects.filter(instrument=meters[1], starts_at=START + 3 * HOUR)
    assert rows.get() == (coming if form.status_code == 302 else staying)


def test_across_each_other(
    campaign: Campaign, meters: list[Instrument], people: list[User], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two forms exchange two instruments while the timeline is at work on one of them. Nobody is in another's way."""
    meeting = Meeting(3)
    for service in (deployments, touching):
        monkeypatch.setattr(service, "instruments_held", meeting.before(instruments_held))
    first, second = stay(campaign, meters[0], START), stay(campaign, meters[1], START)
    third = stay(campaign, meters[0], START + 6 * HOUR)
    answers = at_once(
        by_form(people[0], first, START + 2 * HOUR, meters[1]),
        by_form(people[1], second, START + 4 * HOUR, meters[0]),
        by_timeline(people[2], third, START + 8 * HOUR),
    )
    assert [answer.status_code for answer in answers] == [302, 302, 302]
    wanted = [(first, meters[1], 2), (second, meters[0], 4), (third, meters[0], 8)]
    for row, meter, hours in wanted:
        row.refresh_from_db()
        assert (row.instrument, row.starts_at) == (meter, START + hours * HOUR)


def test_jobs_are_asked_for_in_one_order(
    campaign: Campaign, meters: list[Instrument], people: list[User], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A clock check and a deployment ask for the same two jobs: that the log be looked at, and the campaign be judged.

    Each asking one and waiting for the other would end with an error for one of them.
    """
    meeting = Meeting(patience_s=0.5)  # where one waits for the other's instrument, it does not come
    monkeypatch.setattr(receivers, "enqueue", meeting.after(enqueue))
    monkeypatch.setattr(clock_review, "enqueue", meeting.after(enqueue))
    row = stay(campaign, meters[0], START)
    make.CriterionFactory.create(campaign=campaign)
    Upload.objects.create(
        campaign=campaign, instrument=meters[0], filename="a.csv", size=1, sha256="0" * 64, bursts=[[0, 60_000]]
    )
    Job.objects.all().delete()
    client, address = browser(people[0]), reverse("clock-check-add", args=[meters[0].key])
    sent = {"zone": "UTC", "at": "2026-09-15T08:00:00", "shown": "2026-09-15 08:01:00"}
    answers = at_once(lambda: client.post(address, sent), by_timeline(people[1], row, START + HOUR))
    assert [answer.status_code for answer in answers] == [302, 302]
    assert ClockCheck.objects.filter(instrument=meters[0]).count() == 1
    assert TimelineStep.objects.count() == 1
    assert sorted(Job.objects.values_list("kind", flat=True)) == ["evaluate", "review-clock"]
