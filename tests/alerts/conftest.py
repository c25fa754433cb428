from __future__ import annotations

from dataclasses import dataclass

import pytest
from django.core import mail

from campaigns.models import AlertLevel, Campaign, Channel, Instrument, Job, Membership, Organisation, Site, User
from campaigns.services import alert_levels
from campaigns.tasks import run_job
from readings.models import Alert, Upload
from tests import factories as make
from tests.readings.doing import a_log, hand_in

HEAD = "time,CO [ppm]"


@dataclass
class Round:
    """A meter for carbon monoxide on a round, and a level of 300 ppm at which its consultant is told."""

    campaign: Campaign
    meter: Instrument
    consultant: User
    level: AlertLevel

    @property
    def channel(self) -> Channel:
        return self.meter.channels.get()

    def take(self, values: list[object], name: str = "round.csv", **more: object) -> Upload:
        """Hand in a log of a reading a minute and do all that follows from it."""
        log = a_log(values, head=HEAD, every_s=60, **more)  # type: ignore[arg-type]
        upload = hand_in(self.campaign, log, name, self.meter, self.consultant)
        work()
        upload.refresh_from_db()
        return upload

    def alerts(self) -> list[Alert]:
        return list(self.campaign.alerts.order_by("pk"))


def work() -> None:
    """Everything that waits, as a worker would; what asks a person ends in attention."""
    while waiting := Job.objects.filter(state=Job.State.QUEUED).order_by("pk").first():
        run_job(waiting.pk)
        waiting.refresh_from_db()
        assert waiting.state in (Job.State.DONE, Job.State.ATTENTION), f"{waiting.kind}: {waiting.message}"


def member_of(person: User, organisation: Organisation) -> Membership:
    return Membership.objects.get(user=person, organisation=organisation)


@pytest.fixture
def on_round(site: Site, consultant: User) -> Round:
    campaign = make.CampaignFactory.create(site=site, name="Boiler room round")
    meter = make.InstrumentFactory.create(
        organisation=site.organisation, name="meter K", serial="FL-8001", channel__parameter="co",
        channel__range_high=2000.0, channel__resolution=1.0, channel__detection_limit=1.0,
    )  # fmt: skip
    level = alert_levels.choose(campaign, "CO-ALARM-300", consultant)
    work()
    mail.outbox.clear()
    return Round(campaign, meter, consultant, level)
