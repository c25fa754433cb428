"""One organisation with one of everything, for asking of every address who gets what."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import Any

import pytest
from django.core.files.base import ContentFile
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils.http import urlsafe_base64_encode

from campaigns import models as m
from campaigns.enqueue import enqueue
from campaigns.models import Limit
from campaigns.services import agreements, alert_levels
from campaigns.services.floor_plans import put_image
from campaigns.services.quality_runs import make as make_run
from campaigns.services.use_timetables import make as make_use
from readings.models import ClockLag, SavedLayout, SettingAside
from readings.services.alerts.typed import look_at_typed
from readings.services.receive import receive
from reports.content.stored import to_store
from reports.models import ExposureGroup, Finding, Result
from reports.services.evaluate import evaluate_campaign
from reports.services.freeze import freeze
from tests import factories as make
from tests.agreeing import WORDS, offered
from tests.api.making import report_on, store
from tests.reports.signing import signed_content

World = dict[str, Any]
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
OWN_LIMIT: dict[str, Any] = {
    "body": "the client",
    "document": "specification",
    "parameter": "formaldehyde",
    "value": "0.05",
    "unit": "ppm",
    "averaging": Limit.Averaging.ROLLING,
    "averaging_minutes": 30,
}
PLAN = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><path d="M0 0L9 9" stroke="black"/></svg>'


@pytest.fixture
def world(
    organisation: m.Organisation,
    site: m.Site,
    consultant: m.User,
    field_staff: m.User,
    client_person: m.User,
    stranger: m.User,
    token: m.ApiToken,
) -> World:
    """Names → rows. The cast is in it under the names of the columns of the table."""
    room = make.RoomFactory(zone__floor__building__site=site)
    point = make.PointFactory(room=room)
    campaign = make.CampaignFactory(site=site)
    deployment = make.DeploymentFactory(campaign=campaign, point=point)
    return {
        "anonymous": None,
        "stranger": stranger,
        "client": site.client,
        "client_person": client_person,
        "field_staff": field_staff,
        "consultant": consultant,
        "organisation": organisation,
        "saved_layout": SavedLayout.objects.create(organisation=organisation, name="a", content={}, seen={}),
        "uid": urlsafe_base64_encode(consultant.key.bytes),
        "figure": "visits",
        "wrong_token": "not-a-token",
        **_places(site, room, point),
        "campaign": campaign,
        "deployment": deployment,
        **_instruments(deployment.instrument),
        "quality_run": _zero_run(campaign, deployment),
        "use_timetable": make_use(room.zone, consultant, hours="Mon-Fri 08:00-16:00"),
        **_judged(campaign, deployment, consultant),
        **_agreed(campaign, point, consultant),
        "membership": field_staff.memberships.get(),
        "reader": client_person.memberships.get(),
        "token": token,
        **_alerted(campaign, deployment, consultant),
        "job": m.Job.objects.create(kind="read-upload", subject_id=0, organisation=organisation, owner=consultant),
    }


def _zero_run(campaign: m.Campaign, deployment: m.Deployment) -> m.QualityRun:
    tomorrow = make.START + DAY
    return make_run(campaign, [deployment.instrument], kind="zero", starts_at=tomorrow, ends_at=tomorrow + HOUR)


def _places(site: m.Site, room: m.Room, point: m.SamplingPoint) -> World:
    zone = room.zone
    floor = zone.floor
    put_image(floor, SimpleUploadedFile("plan.svg", PLAN))
    return {
        "site": site, "building": floor.building, "floor": floor, "zone": zone, "room": room,
        "point": point,
    }  # fmt: skip


def _judged(campaign: m.Campaign, deployment: m.Deployment, consultant: m.User) -> World:
    file = SimpleUploadedFile("meter.csv", b"time,ppm\n2026-09-15 09:00:00,0.012\n")
    criterion = make.CriterionFactory(campaign=campaign)
    logged = datetime(2026, 9, 15, 9, 0)  # noqa: DTZ001 - the logger's own clock, on Lisbon summer time
    store(deployment, [0.012] * 700, first=logged)
    judge(campaign)
    report = report_on(
        campaign, content=to_store(signed_content(freeze(campaign))), signed_by=consultant, released_at=make.START
    )
    report.pdf.save("report.pdf", ContentFile(b"%PDF-1.7"))
    return {
        "upload": receive(file, campaign, deployment.instrument, consultant).upload,
        "line": 2,
        "parameter": "formaldehyde",
        "criterion": criterion,
        "exposure_group": ExposureGroup.objects.create(campaign=campaign, name="Painters", criterion=criterion),
        "result": Result.objects.get(),
        "finding": Finding.objects.get(),
        "report": report,
        "clock_lag": ClockLag.objects.create(
            campaign=campaign,
            instrument=deployment.instrument,
            parameter="co2",
            lag_min=60,
            against="B",
            confidence=0.5,
        ),
        "published_limit": criterion.limit,
        "own_limit": Limit.objects.create(organisation=campaign.site.organisation, code="OWN-1", **OWN_LIMIT),
    }


def _agreed(campaign: m.Campaign, point: m.SamplingPoint, consultant: m.User) -> World:
    """A version with the client, and the next one being written."""
    m.PlannedPoint.objects.create(campaign=campaign, point=point)
    with_client = offered(campaign)
    return {"agreement": with_client, "agreement_draft": agreements.draft(campaign, consultant, **WORDS)}


def _alerted(campaign: m.Campaign, deployment: m.Deployment, consultant: m.User) -> World:
    level = alert_levels.choose(campaign, "HCHO-STEL-2", consultant)
    (alert,) = look_at_typed(campaign, "formaldehyde", 3.0, "ppm", at=make.START, by=consultant, point=deployment.point)
    return {"alert_level": level, "alert": alert}


def judge(campaign: m.Campaign) -> None:
    """As a worker would."""
    asked = enqueue("evaluate", campaign.pk, organisation_id=campaign.site.organisation_id, owner=None)
    job = m.Job.take(asked.pk)
    assert job is not None
    evaluate_campaign(job)


def _instruments(instrument: m.Instrument) -> World:
    channel = instrument.channels.get()
    return {
        "instrument": instrument,
        "instrument_type": instrument.type,
        "channel_spec": channel.spec,
        "setting_aside": SettingAside.objects.create(
            organisation=instrument.organisation, channel=channel, first_stamp_ms=1, last_stamp_ms=2, reason="covered"
        ),
        "calibration": m.Calibration.objects.create(channel=channel, date=date(2026, 1, 5), due=date(2027, 1, 5)),
        "field_check": m.FieldCheck.objects.create(channel=channel, kind="zero", at=make.START, observed=0.001),
        "clock_reset": m.ClockReset.objects.create(
            instrument=instrument, kind="backward", before_ms=2, after_ms=1, answer="set"
        ),
        "clock_check": m.ClockCheck.objects.create(instrument=instrument, at=make.START, shown_ms=1_789_459_200_000),
    }
