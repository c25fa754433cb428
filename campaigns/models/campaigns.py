"""A campaign: a question asked of a site, and where instruments stood to answer it."""

from __future__ import annotations

from datetime import datetime
from typing import ClassVar

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from campaigns.models.base import Record
from campaigns.models.instruments import Instrument
from campaigns.models.places import SamplingPoint, Site


class Campaign(Record):
    """A question asked of a site: what is measured, against which criteria, and how sure one wants to be."""

    list_route: ClassVar[str | None] = "campaigns"
    page_route: ClassVar[str | None] = "campaign"

    class Unsampled(models.TextChoices):
        """What is assumed for the part of a work shift nobody measured (named beside every such result)."""

        AS_SAMPLED = "as_sampled", "like the part that was measured"
        ZERO = "zero", "free of exposure"

    site = models.ForeignKey(Site, on_delete=models.PROTECT, related_name="campaigns")
    name = models.CharField(max_length=200)
    objective = models.TextField(blank=True, help_text="The question the client asked.")
    protocol = models.CharField(
        max_length=300, blank=True, help_text="The sampling rules followed: document, airing and closing, duration."
    )
    starts_on = models.DateField()
    ends_on = models.DateField()
    level_above = models.FloatField(
        "called above from",
        default=0.95,
        help_text="“Above limit” needs at least this probability that the true value is above (JCGM 106).",
    )
    level_below = models.FloatField(
        "called below up to",
        default=0.05,
        help_text="“Below limit” needs at most this probability that the true value is above.",
    )
    shift_hours = models.FloatField(
        "length of a shift",
        default=8,
        help_text="Hours. Limits for shifts are weighted over it; for other limits it means nothing.",
    )
    unsampled = models.CharField(
        "part of a shift not measured",
        max_length=20,
        choices=Unsampled.choices,
        default=Unsampled.AS_SAMPLED,
        help_text="What is assumed for it. Three quarters of the shift must be measured in either case.",
    )

    station_pressure_kpa = models.FloatField(
        "air pressure at the site",
        null=True,
        blank=True,
        validators=[MinValueValidator(40), MaxValueValidator(110)],
        help_text="kPa, as measured there and not reduced to sea level. Left empty: that of the ISO 2533 standard "
        "atmosphere at the altitude of the site. Only for channels that answer to it.",
    )

    class Meta:
        ordering = ("-starts_on", "name")
        constraints = (
            models.UniqueConstraint(
                fields=("site", "name"),
                name="campaign_name_once",
                violation_error_message="This site already has a campaign of this name.",
            ),
            models.CheckConstraint(
                condition=Q(ends_on__gte=F("starts_on")),
                name="campaign_ends_after_start",
                violation_error_message="The campaign ends on or after the day it starts.",
            ),
            models.CheckConstraint(
                condition=Q(level_below__gt=0, level_below__lt=F("level_above"), level_above__lt=1),
                name="campaign_levels_ordered",
                violation_error_message="The two levels lie between 0 and 1, “below” under “above”.",
            ),
            models.CheckConstraint(
                condition=Q(shift_hours__gt=0, shift_hours__lt=24),
                name="campaign_shift_sensible",
                violation_error_message="A shift lasts more than 0 and less than 24 hours.",
            ),
        )

    def __str__(self) -> str:
        return self.name


class PlannedPoint(models.Model):
    """A point the campaign means to measure. What is planned and not measured is shown as missing."""

    campaign = models.ForeignKey(Campaign, on_delete=models.CASCADE, related_name="planned_points")
    point = models.ForeignKey(SamplingPoint, on_delete=models.PROTECT, related_name="planned_in")
    position = models.PositiveIntegerField(
        "place in the order", default=0, help_text="In which order the points are visited; equal numbers as they came."
    )

    class Meta:
        ordering = ("position", "id")
        constraints = (
            models.UniqueConstraint(
                fields=("campaign", "point"),
                name="planned_point_once",
                violation_error_message="This point is already in the plan.",
            ),
        )

    def __str__(self) -> str:
        return str(self.point)


class Deployment(Record):
    """One instrument at one point from start to end. No end yet: it is still there.

    That an instrument is never at two points at once is also kept by the database, under two people saving at the
    same moment: an exclusion constraint on PostgreSQL, a guard on SQLite.
    """

    lies_in_field: ClassVar[str | None] = "campaign"

    ONE_PLACE = "deployment_one_place"  # name of the database's constraint
    ONE_PLACE_MESSAGE = "This instrument is at another point at that time. An instrument is at one place at a time."
    #: What only the database can know under two who save at once: name of the constraint → (field, message).
    database_only: ClassVar[dict[str, tuple[str, str]]] = {ONE_PLACE: ("instrument", ONE_PLACE_MESSAGE)}

    campaign = models.ForeignKey(Campaign, on_delete=models.PROTECT, related_name="deployments")
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="deployments")
    point = models.ForeignKey(SamplingPoint, on_delete=models.PROTECT, related_name="deployments")
    starts_at = models.DateTimeField("start")
    ends_at = models.DateTimeField("end", null=True, blank=True)
    switched_on_at = models.DateTimeField(
        "switched on",
        null=True,
        blank=True,
        help_text="If it was switched on for this visit: warm-up counts from then.",
    )
    notes = models.TextField(blank=True, help_text="Windows, doors, ventilation, people, hours since airing.")

    class Meta:
        ordering = ("starts_at",)
        constraints = (
            models.CheckConstraint(
                condition=Q(ends_at__isnull=True) | Q(ends_at__gt=F("starts_at")),
                name="deployment_ends_after_start",
                violation_error_message="A deployment ends after it starts.",
            ),
        )
        indexes = (models.Index(fields=("instrument", "starts_at"), name="deployment_by_instrument"),)

    def __str__(self) -> str:
        return f"{self.instrument} at {self.point}"

    def clean(self) -> None:
        errors: dict[str, str] = {}
        if self.point_id and self.campaign_id and self.point.site_id != self.campaign.site_id:
            errors["point"] = "This point is on another site than the campaign."
        if self.instrument_id and self.campaign_id:
            if self.instrument.organisation_id != self.campaign.site.organisation_id:
                errors["instrument"] = "This instrument belongs to another organisation."
            elif self.starts_at and (other := self.clash()):
                errors["instrument"] = f"{self.ONE_PLACE_MESSAGE} It is at {other.point} then."
            elif self.starts_at and (run := self.run_meanwhile()):
                errors["instrument"] = f"This instrument is in a quality run then: {run}."
        if errors:
            raise ValidationError(errors)

    def clash(self) -> Deployment | None:
        """Another deployment of the same instrument that overlaps this one in time."""
        others = Deployment.objects.filter(instrument=self.instrument_id).exclude(pk=self.pk)
        return others.filter(overlapping(self.starts_at, self.ends_at)).select_related("point__room").first()

    def run_meanwhile(self) -> Record | None:
        """A quality run of the same instrument that overlaps this deployment in time."""
        run: Record | None = self.instrument.quality_runs.filter(overlapping(self.starts_at, self.ends_at)).first()
        return run


def overlapping(start: datetime, end: datetime | None) -> Q:
    """Deployments that share any moment with [start, end); no end means for ever."""
    after_start = Q(ends_at__isnull=True) | Q(ends_at__gt=start)
    return after_start if end is None else after_start & Q(starts_at__lt=end)
