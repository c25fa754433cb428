"""Groups of similar exposure: people whose exposures are alike, judged together (docs/methods/exposure.md)."""

from __future__ import annotations

from typing import ClassVar

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Q

from campaigns.models import Campaign, Deployment, Record
from campaigns.models.limits import Criterion


class ExposureGroup(Record):
    """Some deployments of a campaign held against one criterion as one group.

    sampling_error: sampling and analytical error of the method as a share of the limit, one-sided 95 %, for the
    decision on single shifts; empty: 1.645 u of each result is taken.
    """

    lies_in_field: ClassVar[str | None] = "campaign"
    page_route: ClassVar[str | None] = "exposure-group"

    class Sampling(models.TextChoices):
        PERSONAL = "personal", "Personal: worn in the breathing zone"
        AREA = "area", "Area: stood in the room"

    campaign = models.ForeignKey(Campaign, on_delete=models.CASCADE, related_name="exposure_groups")
    name = models.CharField(max_length=200)
    likeness = models.TextField(
        "why exposures are alike", blank=True, help_text="Who they are, their task, their days and places of work."
    )
    criterion = models.ForeignKey(Criterion, on_delete=models.CASCADE, related_name="exposure_groups")
    sampling = models.CharField(
        max_length=10,
        choices=Sampling.choices,
        default=Sampling.AREA,
        help_text="All of one kind: a room reading only indicates what a person breathes.",
    )
    sampling_error = models.FloatField(
        "sampling and analytical error",
        null=True,
        blank=True,
        help_text="As a share (0.25 is 25 %), at one-sided 95 %. Empty: taken from the uncertainty of each result.",
    )

    class Meta:
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=("campaign", "name"),
                name="exposure_group_name_once",
                violation_error_message="This campaign already has a group of this name.",
            ),
            models.CheckConstraint(
                condition=Q(sampling_error__isnull=True) | Q(sampling_error__gt=0, sampling_error__lt=1),
                name="exposure_group_error_sensible",
                violation_error_message="The sampling error is a share between 0 and 1.",
            ),
        )

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        if self.criterion_id and self.criterion.campaign_id != self.campaign_id:
            raise ValidationError({"criterion": "This criterion belongs to another campaign."})


class ExposureSample(models.Model):
    """A deployment that is a sample of a group."""

    group = models.ForeignKey(ExposureGroup, on_delete=models.CASCADE, related_name="samples")
    deployment = models.ForeignKey(Deployment, on_delete=models.CASCADE, related_name="exposure_samples")

    class Meta:
        ordering = ("deployment__starts_at",)
        constraints = (
            models.UniqueConstraint(
                fields=("group", "deployment"),
                name="exposure_sample_once",
                violation_error_message="This deployment is already in the group.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.deployment} in {self.group}"
