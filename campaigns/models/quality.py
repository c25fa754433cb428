"""Quality control of a campaign: runs that are no deployments, and what measurements have to keep to."""

from __future__ import annotations

from typing import ClassVar

from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.db.models import F, Q

from campaigns.models.base import Record
from campaigns.models.campaigns import Campaign
from campaigns.models.instruments import Instrument
from campaigns.models.people import User
from methods.quality.acceptance import MEASURES
from methods.quantities.substances import SUBSTANCES, Kind

FEWEST_BESIDE = 2


class QualityRun(Record):
    """A stretch of time in which instruments stood side by side in one air, or one of them drew zero air.

    Its readings come from the logs like any other, through the clock of each instrument, but count into no room: a run
    is no deployment, and no instrument is in both at once.
    """

    lies_in_field: ClassVar[str | None] = "campaign"

    class Kind(models.TextChoices):
        SIDE_BY_SIDE = "side-by-side", "side by side"
        ZERO = "zero", "zero air"

    campaign = models.ForeignKey(Campaign, on_delete=models.PROTECT, related_name="quality_runs", editable=False)
    kind = models.CharField(max_length=12, choices=Kind.choices, default=Kind.SIDE_BY_SIDE)
    place = models.CharField(
        "where",
        max_length=200,
        blank=True,
        help_text="Where all of them stood, or the source of the zero air.",
    )
    starts_at = models.DateTimeField("start")
    ends_at = models.DateTimeField("end")
    free_of = models.CharField(
        "zero air is free of",
        max_length=300,
        blank=True,
        help_text="Air behind a particle filter still holds its gases. Nothing chosen: of all gases and particles.",
    )
    note = models.TextField(blank=True)
    instruments = models.ManyToManyField(Instrument, through="RunInstrument", related_name="quality_runs")

    class Meta:
        ordering = ("starts_at", "id")
        constraints = (
            models.CheckConstraint(
                condition=Q(ends_at__gt=F("starts_at")),
                name="quality_run_ends_after_start",
                violation_error_message="A run ends after it starts.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display().capitalize()}{f', {self.place}' if self.place else ''}"

    @property
    def is_zero(self) -> bool:
        return self.kind == self.Kind.ZERO

    @property
    def free_of_codes(self) -> list[str]:
        return self.free_of.split()

    def tells_of(self, parameter: str) -> bool:
        """Whether it says anything of a channel: side by side of each, zero air of what it is free of."""
        if not self.is_zero:
            return True
        substance = SUBSTANCES[parameter]
        is_there = not substance.is_climate and substance.kind is not Kind.RADIOACTIVITY
        return is_there and (not self.free_of or parameter in self.free_of_codes)

    def clean(self) -> None:
        if unknown := [code for code in self.free_of_codes if code not in SUBSTANCES]:
            raise ValidationError({"free_of": f"Nothing of this name is measured: {', '.join(unknown)}."})
        if not self.is_zero:
            self.free_of = ""


class RunInstrument(models.Model):
    """An instrument that took part in a quality run."""

    run = models.ForeignKey(QualityRun, on_delete=models.CASCADE, related_name="members")
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="run_members")

    class Meta:
        ordering = ("instrument__name", "id")
        verbose_name = "instrument in a run"
        verbose_name_plural = "instruments in runs"
        constraints = (
            models.UniqueConstraint(
                fields=("run", "instrument"),
                name="run_instrument_once",
                violation_error_message="This instrument is in the run already.",
            ),
        )

    def __str__(self) -> str:
        return str(self.instrument)

    def clean(self) -> None:
        if self.instrument.organisation_id != self.run.campaign.site.organisation_id:
            raise ValidationError("This instrument belongs to another organisation.")


class AcceptanceLimit(Record):
    """What one measure of quality control has to keep to in a campaign, from when on. Never changed: a new row takes
    its place, and the old ones tell what was agreed before."""

    lies_in_field: ClassVar[str | None] = "campaign"

    campaign = models.ForeignKey(Campaign, on_delete=models.CASCADE, related_name="acceptance_limits")
    measure = models.CharField(max_length=12, choices=[(code, measure.name) for code, measure in MEASURES.items()])
    percent = models.FloatField(
        "acceptance limit",
        null=True,
        blank=True,
        validators=[MinValueValidator(0.1), MaxValueValidator(1000)],
        help_text="Per cent. Empty: from now on there is none.",
    )
    is_usual = models.BooleanField("common practice, no source", default=False)
    set_at = models.DateTimeField("set at")
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+", editable=False)

    class Meta:
        ordering = ("set_at", "id")
        verbose_name = "acceptance limit"

    def __str__(self) -> str:
        return MEASURES[self.measure].name if self.measure in MEASURES else self.measure
