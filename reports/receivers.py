"""Judging again when something a judgement rests on has changed."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.db.models.signals import post_delete, post_save

from campaigns.enqueue import enqueue
from campaigns.models import Campaign, Criterion, Limit, Site
from campaigns.signals import client_changes, inputs_changed
from reports.job_kinds import EVALUATE
from reports.models import ExposureGroup, ExposureSample, Report
from reports.services.readiness import RELEASED


def judge_again(campaign_ids: Iterable[int], **_: Any) -> None:
    for campaign in (
        Campaign.objects.filter(pk__in=set(campaign_ids), criteria__isnull=False)
        .distinct()
        .select_related("site")
        .order_by("pk")  # whoever asks for the same jobs asks in the same order
    ):
        enqueue(EVALUATE, campaign.pk, organisation_id=campaign.site.organisation_id, owner=None)


def criterion_changed(instance: Criterion, update_fields: frozenset[str] | None = None, **_: Any) -> None:
    """In which order criteria are shown is no matter of judging."""
    if update_fields != frozenset({"position"}):
        judge_again([instance.campaign_id])


def group_changed(instance: ExposureGroup, **_: Any) -> None:
    """Whether a person wore the instrument is a matter of judging."""
    judge_again([instance.campaign_id])


def sample_changed(instance: ExposureSample, **_: Any) -> None:
    judge_again([instance.group.campaign_id])


def limit_changed(instance: Limit, created: bool, **_: Any) -> None:
    """An organisation's own limit was edited, or a published one has a new value in the files."""
    if not created:
        judge_again(instance.criteria.values_list("campaign_id", flat=True))


def released_to_client(site: Site, **_: Any) -> str:
    """What a person has to know who gives the site another client; "" for nothing."""
    count = Report.objects.filter(RELEASED, campaign__site=site).count()
    if not count:
        return ""
    were = "1 report was" if count == 1 else f"{count} reports were"
    whom = f"released to {site.client}" if site.client else "released while the site had no client"
    return f"{were} {whom} and will still be read by them alone. Another client reads what is released from now on."


def connect() -> None:
    client_changes.connect(released_to_client, dispatch_uid="reports.released_to_client")
    inputs_changed.connect(judge_again, dispatch_uid="reports.judge_again")
    for signal in (post_save, post_delete):
        signal.connect(criterion_changed, sender=Criterion, dispatch_uid="reports.criterion_changed")
        signal.connect(group_changed, sender=ExposureGroup, dispatch_uid="reports.group_changed")
        signal.connect(sample_changed, sender=ExposureSample, dispatch_uid="reports.sample_changed")
    post_save.connect(limit_changed, sender=Limit, dispatch_uid="reports.limit_changed")
