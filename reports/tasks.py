"""The jobs of judging and telling."""

from __future__ import annotations

from collections.abc import Iterable

from django.urls import reverse

from campaigns.enqueue import Outcome, handles
from campaigns.job_subjects import Subject, subjects_of
from campaigns.models import Campaign, Job
from reports.job_kinds import EVALUATE, MAKE_PDF
from reports.models import Report
from reports.services.evaluate import evaluate_campaign
from reports.services.release import make_pdf


@handles(EVALUATE, "Judge the campaign")
def evaluate(job: Job) -> Outcome:
    return evaluate_campaign(job)


@handles(MAKE_PDF, "Set the report")
def pdf(job: Job) -> Outcome:
    return make_pdf(job)


@subjects_of(EVALUATE)
def campaigns(ids: Iterable[int]) -> dict[int, Subject]:
    rows = Campaign.objects.filter(pk__in=list(ids)).values_list("pk", "name", "key", "site__time_zone")
    return {pk: Subject(name, reverse("campaign", args=[key]), zone) for pk, name, key, zone in rows}


@subjects_of(MAKE_PDF)
def reports(ids: Iterable[int]) -> dict[int, Subject]:
    rows = Report.objects.filter(pk__in=list(ids)).select_related("campaign__site")
    return {r.pk: Subject(str(r), reverse("released-report", args=[r.key]), r.campaign.site.time_zone) for r in rows}
