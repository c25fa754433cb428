"""Values at which somebody is told at once, chosen for a campaign."""

from __future__ import annotations

from typing import Any, ClassVar

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import models
from django.db.models import Q

from campaigns.models.base import Record
from campaigns.models.campaigns import Campaign
from campaigns.models.parameters import NamesParameter
from campaigns.models.people import Membership
from methods.alerts import AlertAveraging, AlertRule
from methods.quantities.digits import as_entered
from methods.quantities.substances import SUBSTANCES
from methods.quantities.unit_names import MASSES


class AlertLevel(NamesParameter, Record):
    """A value at which people are told at once, with how readings are averaged for it, whom to tell, and within what
    time somebody has to have answered. Off is as good as not chosen; it is never deleted."""

    lies_in_field: ClassVar[str | None] = "campaign"
    route_word: ClassVar[str] = "alert-level"

    class Averaging(models.TextChoices):
        ANY = AlertAveraging.ANY.value, "one reading is enough"
        SUSTAINED = AlertAveraging.SUSTAINED.value, "above it without a break for"
        MEAN = AlertAveraging.MEAN.value, "mean over"

    campaign = models.ForeignKey(Campaign, on_delete=models.CASCADE, related_name="alert_levels", editable=False)
    code = models.CharField(max_length=40, blank=True, editable=False, help_text="Of the level it was taken from.")
    value = models.FloatField()
    averaging = models.CharField("taken as", max_length=10, choices=Averaging.choices, default=Averaging.ANY)
    minutes = models.PositiveIntegerField(
        default=0, help_text="How long; 0 where one reading is enough. What a log does not cover errs to the safe side."
    )
    reference_temperature_c = models.FloatField(
        "temperature of the air",
        null=True,
        blank=True,
        help_text="°C, for a mass of gas per volume. Empty: 25 °C.",
    )
    advice = models.CharField(
        "what to do", max_length=300, blank=True, help_text="One sentence for those who are told, under local rules."
    )
    source = models.CharField("where it comes from", max_length=300, blank=True)
    confidence = models.CharField(max_length=2, blank=True, editable=False)
    people = models.ManyToManyField(Membership, blank=True, related_name="alert_levels", verbose_name="whom to tell")
    addresses = models.TextField(
        "other addresses", blank=True, help_text="E-mail addresses of others who are told, one a line."
    )
    told = models.TextField("who is told", blank=True, editable=False)
    within_minutes = models.PositiveIntegerField(
        "answered within", default=60, help_text="Minutes after which an alert that nobody acknowledged is overdue."
    )
    is_on = models.BooleanField("on", default=True, editable=False)

    class Meta:
        ordering = ("parameter", "-is_on", "value", "id")
        verbose_name = "alert level"
        constraints = (
            models.UniqueConstraint(
                fields=("campaign", "parameter", "value", "unit", "averaging", "minutes"),
                name="alert_level_once",
                violation_error_message="This level is chosen already: change that one, or switch it on.",
            ),
            models.CheckConstraint(
                condition=Q(value__gt=0),
                name="alert_level_above_nothing",
                violation_error_message="A level is a number above 0.",
            ),
            models.CheckConstraint(
                condition=Q(averaging="any", minutes=0) | (~Q(averaging="any") & Q(minutes__gt=0)),
                name="alert_level_has_its_minutes",
                violation_error_message="Say over how many minutes; 0 where one reading is enough, and only there.",
            ),
            models.CheckConstraint(
                condition=Q(within_minutes__gt=0),
                name="alert_level_answered_within",
                violation_error_message="Leave at least a minute for an answer.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.parameter_name} {self.words}"

    @property
    def rule(self) -> AlertRule:
        """In the level's own unit. ValueError where the fields make none."""
        return AlertRule(self.value, AlertAveraging(self.averaging), float(self.minutes))

    @property
    def words(self) -> str:
        return self.rule.words(self.unit_text)

    @property
    def unit_text(self) -> str:
        """The unit, with the temperature of the air that a mass of gas is counted in."""
        substance = SUBSTANCES.get(self.parameter)
        if self.unit not in MASSES or substance is None or not substance.is_gas:
            return self.unit
        temperature = self.reference_temperature_c
        return f"{self.unit} (at {as_entered(25.0 if temperature is None else temperature)} °C)"

    def clean(self) -> None:
        errors: dict[str, Any] = {}
        substance = SUBSTANCES.get(self.parameter)
        if substance and self.unit not in substance.units:
            errors["unit"] = f"{substance.name} is measured in {' or '.join(substance.units)}."
        lines = [line.strip() for line in self.addresses.splitlines() if line.strip()]
        for line in lines:
            try:
                validate_email(line)
            except ValidationError:
                errors["addresses"] = f"“{line[:60]}” is no e-mail address."
        self.addresses = "\n".join(dict.fromkeys(line.lower() for line in lines))
        if errors:
            raise ValidationError(errors)
        try:
            _ = self.rule
        except (ValueError, TypeError) as problem:
            field = "value" if not (self.value or 0) > 0 else "minutes"
            raise ValidationError({field: str(problem)}) from problem
