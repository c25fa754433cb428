"""A consultancy with one row of everything that belongs to it, written without a look at what guards say."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.db.models import Model

from campaigns import models as m
from methods.quality.acceptance import MEASURES
from readings import models as r
from reports import models as rep
from tests import factories as make

Rows = dict[type[Model], Any]
STAMPS = (1_000, 2_000, 3_000)


def a_house() -> Rows:
    """Model → its row. What several rows were made of has the one that others point at."""
    deployment = make.DeploymentFactory.create()
    campaign, instrument, point = deployment.campaign, deployment.instrument, deployment.point
    rows: list[Any] = [deployment, campaign, instrument, instrument.type, point, point.room, *_above(point.room)]
    rows += [campaign.site, campaign.site.client, campaign.site.organisation, *_planned(deployment)]
    found: Rows = {type(row): row for row in rows}
    for more in (_checked, _collected, _judged):
        found |= {type(row): row for row in more(found)}
    return found


def _above(room: Any) -> list[Any]:
    return [room.zone, room.zone.floor, room.zone.floor.building]


def _planned(deployment: m.Deployment) -> list[Any]:
    campaign, zone = deployment.campaign, deployment.point.room.zone  # type: ignore[union-attr]
    house, person = campaign.site.organisation, make.UserFactory.create()
    limit = m.Limit.objects.create(
        organisation=house, code="OWN-1", body="the client", document="specification", parameter="formaldehyde",
        value="0.05", unit="ppm", averaging=m.Limit.Averaging.ROLLING, averaging_minutes=30,
    )  # fmt: skip
    return [
        limit,
        m.Criterion.objects.create(campaign=campaign, limit=limit),
        m.LimitCheck.objects.create(organisation=house, limit=limit, at=make.START),
        m.PlannedPoint.objects.create(campaign=campaign, point=deployment.point),
        m.UseTimetable.objects.create(zone=zone, hours="Mon-Fri 08:00-16:00"),
        m.FloorPlan.objects.create(floor=zone.floor),
        *_told(campaign, person),
        m.ApiToken.objects.create(organisation=house, name="a program", digest=str(house.pk)),
        m.Job.objects.create(organisation=house, kind="read-upload", subject_id=house.pk),
    ]


def _told(campaign: m.Campaign, person: m.User) -> list[Any]:
    """What a level of alert, an agreement and quality control are made of."""
    house, client = campaign.site.organisation, campaign.site.client
    member = m.Membership.objects.create(user=person, organisation=house, role="client", client=client)
    level = m.AlertLevel.objects.create(campaign=campaign, parameter="co", unit="ppm", value=30)
    level.people.add(member)
    offered = m.Agreement.objects.create(
        campaign=campaign, version=1, state="offered", question="?", decision="!", undecided=".", content={"said": 1},
        digest="0" * 64, client=client, offered_at=make.START, offered_by=person,
    )  # fmt: skip
    run = m.QualityRun.objects.create(
        campaign=campaign, starts_at=make.START - timedelta(days=3), ends_at=make.START - timedelta(days=2)
    )
    accepted = m.AcceptanceLimit.objects.create(
        campaign=campaign, measure=next(iter(MEASURES)), percent=20, set_at=make.START
    )
    return [member, level, level.people.through.objects.get(alertlevel=level), offered, run, accepted]


def _checked(found: Rows) -> list[Any]:
    instrument = found[m.Instrument]
    channel = instrument.channels.get()
    return [
        channel,
        channel.spec,
        m.Calibration.objects.create(channel=channel, date=date(2026, 1, 5), due=date(2027, 1, 5)),
        m.FieldCheck.objects.create(channel=channel, kind="zero", at=make.START, observed=0.001),
        m.ClockCheck.objects.create(instrument=instrument, at=make.START, shown_ms=0),
        m.ClockReset.objects.create(instrument=instrument, kind="jump", before_ms=2, after_ms=1, answer="set"),
        m.RunInstrument.objects.create(run=found[m.QualityRun], instrument=instrument),
    ]


def _collected(found: Rows) -> list[Any]:
    """Three readings; nothing of them stands aside, but for one of a file that was withdrawn."""
    instrument, channel = found[m.Instrument], found[m.Channel]
    house = found[m.Organisation]
    of_both = {"campaign": found[m.Campaign], "instrument": instrument}
    layout = r.SavedLayout.objects.create(organisation=house, name="a", content={}, seen={})
    withdrawn = r.Upload.objects.create(**of_both, filename="a.csv", size=1, sha256="a" * 64, state="withdrawn")
    upload = r.Upload.objects.create(
        **of_both, filename="b.csv", size=1, sha256="b" * 64, kept_layout=layout, reads_anew=withdrawn,
        archive=withdrawn, state="read",
    )  # fmt: skip
    decided = r.SettingAside.objects.create(organisation=house, upload=withdrawn, reason="covered")
    rows = [
        r.Reading.objects.create(channel=channel, stamp=stamp, nth=0, raw=0.01, upload=upload, line=line)
        for line, stamp in enumerate(STAMPS, 2)
    ]
    return [
        layout,
        upload,
        decided,
        rows[0],
        r.AsideReading.objects.create(
            setting_aside=decided, channel=channel, stamp=9_000, nth=0, raw=0.02, upload=withdrawn, line=2
        ),
        r.Envelope.objects.create(channel=channel, upload=upload, first_stamp=1, last_stamp=2, count=1, parts=b""),
        r.Problem.objects.create(upload=upload, code="text", message="not a number"),
        r.LookFirst.objects.create(organisation=house),
        r.ClockLag.objects.create(**of_both, parameter="co2", lag_min=60, against="B", confidence=0.5),
        r.ClockQuestionLeft.objects.create(**of_both, question="?", reason="!", by=make.UserFactory.create()),
        r.TimelineStep.objects.create(**of_both, kind="move", said="moved", changes=[]),
        *_alerted(found, upload),
    ]


def _alerted(found: Rows, upload: r.Upload) -> list[Any]:
    alert = r.Alert.objects.create(
        campaign=found[m.Campaign], level=found[m.AlertLevel], level_words="30 ppm", value=40, unit="ppm",
        basis="stored", reached_at=make.START, until_at=make.START, channel=found[m.Channel], first_stamp_ms=1_000,
        last_stamp_ms=2_000, upload=upload, point=found[m.SamplingPoint], due_at=make.START,
    )  # fmt: skip
    return [alert, r.AlertNotice.objects.create(alert=alert, name="S. Mullion", address="s.mullion@example.org")]


def _judged(found: Rows) -> list[Any]:
    criterion, campaign = found[m.Criterion], found[m.Campaign]
    said = {"verdict": "below", "method": "1", "digest": "0" * 64}
    result = rep.Result.objects.create(
        criterion=criterion, deployment=found[m.Deployment], point=found[m.SamplingPoint], unit="ppm",
        comparability="yes", **said,
    )  # fmt: skip
    group = rep.ExposureGroup.objects.create(campaign=campaign, name="Painters", criterion=criterion)
    return [
        result,
        rep.Finding.objects.create(criterion=criterion, zone=found[m.Zone], governing=result, statement=".", **said),
        rep.Evaluation.objects.create(campaign=campaign, at=make.START, method="1", digest="0" * 64),
        group,
        rep.AgreementDeparture.objects.create(
            campaign=campaign, departures=".", reason="!", by=make.UserFactory.create()
        ),
        rep.ExposureSample.objects.create(group=group, deployment=found[m.Deployment]),
        rep.Report.objects.create(
            campaign=campaign,
            client=found[m.Client],
            revision=1,
            content={"said": 1},
            digest="0" * 64,
            signed_by=make.UserFactory.create(),
            signed_name="C. Lintel",
            signed_at=make.START,
            released_at=make.START,
        ),
    ]
