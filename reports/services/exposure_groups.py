"""Which deployments belong to a group of similar exposure."""

from __future__ import annotations

from collections.abc import Iterable

from django.db import transaction

from campaigns.models import Campaign, Deployment
from reports.models import ExposureGroup, ExposureSample


def choose(group: ExposureGroup, deployments: Iterable[Deployment]) -> None:
    """Make these the samples of the group. One by one, so that each change is in the history and is judged."""
    wanted = {deployment.pk: deployment for deployment in deployments}
    with transaction.atomic():
        held = {sample.deployment_id: sample for sample in group.samples.select_for_update()}
        for pk, sample in held.items():
            if pk not in wanted:
                sample.delete()
        for pk, deployment in wanted.items():
            if pk not in held:
                ExposureSample.objects.create(group=group, deployment=deployment)


def personal_in(campaign: Campaign) -> frozenset[int]:
    """Deployments that a person wore, as their exposure groups say. One query."""
    personal = ExposureSample.objects.filter(group__campaign=campaign, group__sampling=ExposureGroup.Sampling.PERSONAL)
    return frozenset(personal.values_list("deployment_id", flat=True))
