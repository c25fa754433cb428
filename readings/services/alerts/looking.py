"""The job that looks whether a level was reached: when a log was read, and whenever its readings count differently."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import transaction
from django.db.models import Q

from campaigns.enqueue import Outcome, enqueue
from campaigns.models import Campaign, Job
from campaigns.services.locks import hold_campaign
from readings.job_kinds import LOOK_FOR_ALERTS
from readings.services.alerts.found import events_in
from readings.services.alerts.raising import keep


def ask_to_look(campaign_ids: Iterable[int]) -> None:
    """Campaigns with a level that is on, or with alerts that may have to be marked."""
    wanted = Q(alert_levels__is_on=True) | Q(alerts__isnull=False)
    rows = Campaign.objects.filter(wanted, pk__in=set(campaign_ids)).distinct()
    for campaign in rows.select_related("site").order_by("pk"):  # whoever asks for the same jobs asks in this order
        enqueue(LOOK_FOR_ALERTS, campaign.pk, organisation_id=campaign.site.organisation_id, owner=None)


def look_for_alerts(job: Job) -> Outcome:
    """The job "look-for-alerts". All is found before anything is written."""
    campaign = Campaign.objects.select_related("site__organisation").get(pk=job.subject_id)
    levels = list(campaign.alert_levels.filter(is_on=True))
    found = []
    for event in events_in(campaign, levels):
        found.append(event)
        if job.is_due:
            job.beat()
    with transaction.atomic():
        hold_campaign(campaign)
        raised = keep(campaign, levels, found)
        job.beat()  # no longer ours: nothing above is kept
    words = f"{len(raised):,} alert{'s' * (len(raised) != 1)} raised." if raised else "No new alert."
    return Job.State.DONE, "looked", words
