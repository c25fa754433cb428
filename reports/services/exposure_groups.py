"""Which deployments belong to a group of similar exposure."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.core.exceptions import ValidationError

from campaigns.models import Campaign, Deployment
from campaigns.services.records import all_or_nothing, save_changed, save_new
from reports.models import ExposureGroup, ExposureSample

ELSEWHERE = "A sample is a deployment of the same campaign."


def make(group: ExposureGroup, deployments: Iterable[Deployment]) -> ExposureGroup:
    """Save a group that is not there yet, with its samples. Raises ValidationError; then nothing was saved."""
    with all_or_nothing(ExposureGroup):
        save_new(group)
        choose(group, deployments)
    return group


def change(group: ExposureGroup, deployments: Iterable[Deployment], **changes: Any) -> ExposureGroup:
    """Set what is given of a group, and make these its samples. Raises ValidationError; then nothing was saved."""
    with all_or_nothing(ExposureGroup):
        stands = save_changed(group, **changes)
        choose(stands, deployments)
    return stands


def choose(group: ExposureGroup, deployments: Iterable[Deployment]) -> None:
    """Make these the samples of the group. One by one, so that each change is in the history and is judged.

    Raises ValidationError for a deployment of another campaign.
    """
    wanted = {deployment.pk: deployment for deployment in deployments}
    if any(deployment.campaign_id != group.campaign_id for deployment in wanted.values()):
        raise ValidationError({"samples": ELSEWHERE})
    with all_or_nothing(ExposureSample):
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
