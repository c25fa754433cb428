"""What measures: instrument types with their channels, instruments, calibrations, field checks."""

from __future__ import annotations

from typing import ClassVar

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from campaigns.models.base import Record
from campaigns.models.parameters import NamesParameter
from campaigns.models.people import Organisation, User
from methods.quantities.pressure import AnswersTo
from methods.quantities.stamp_convention import StampConvention
from methods.quantities.substances import SUBSTANCES

STAMP_CONVENTION_CHOICES = [(convention.value, convention.label) for convention in StampConvention]


class InstrumentType(Record):
    """A make of instrument, as its manual describes it: its channels, its warm-up, what it stores."""

    list_route: ClassVar[str | None] = "instrument-types"
    page_route: ClassVar[str | None] = "instrument-type"

    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="instrument_types")
    name = models.CharField(max_length=100)
    warm_up_s = models.PositiveIntegerField(
        "warm-up", default=60, help_text="Seconds after switching on that do not count. One minute is common practice."
    )
    represents = models.CharField(
        "a stored value is",
        max_length=10,
        choices=STAMP_CONVENTION_CHOICES,
        default=StampConvention.SPOT.value,
        help_text="What the logger stores each time: see its manual. A mean belongs where more than half of its "
        "interval lies.",
    )
    temperature_low_c = models.FloatField("lowest temperature", null=True, blank=True, help_text="°C")
    temperature_high_c = models.FloatField("highest temperature", null=True, blank=True, help_text="°C")
    interference = models.TextField(
        blank=True, help_text="What else it responds to: alcohols, other aldehydes, humidity."
    )

    class Meta:
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=("organisation", "name"),
                name="instrument_type_name_once",
                violation_error_message="There is already an instrument type of this name.",
            ),
        )

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        low, high = self.temperature_low_c, self.temperature_high_c
        if low is not None and high is not None and low >= high:
            raise ValidationError({"temperature_high_c": "The highest temperature is above the lowest."})


class ChannelSpec(NamesParameter, Record):
    """One parameter in one unit, as every instrument of the type measures it.

    Uncertainty figures are standard uncertainties (docs/methods/uncertainty.md); an empty one is named as missing in
    every budget.
    """

    lies_in_field: ClassVar[str | None] = "instrument_type"
    route_word: ClassVar[str] = "channel"

    instrument_type = models.ForeignKey(InstrumentType, on_delete=models.CASCADE, related_name="channel_specs")
    probe = models.CharField(
        max_length=40,
        blank=True,
        help_text="Only where the instrument measures the parameter more than once: which of its probes or inlets this "
        "is, as its logs name it. For example “left”.",
    )
    resolution = models.FloatField(help_text="Smallest step shown, in the unit.")
    range_low = models.FloatField("range from", default=0)
    range_high = models.FloatField("range to")
    detection_limit = models.FloatField(null=True, blank=True)
    t90_s = models.PositiveIntegerField("response time", default=60, help_text="T90 in seconds.")
    u_zero = models.FloatField(
        "zero uncertainty", null=True, blank=True, help_text="Standard uncertainty, in the unit."
    )
    u_span = models.FloatField(
        "span uncertainty", null=True, blank=True, help_text="Relative: 0.05 is 5 % of the value."
    )
    u_drift = models.FloatField(
        "drift between checks",
        null=True,
        blank=True,
        help_text="Standard uncertainty per day since the last check, in the unit.",
    )
    u_span_drift = models.FloatField(
        "drift of the span",
        null=True,
        blank=True,
        help_text="Relative standard uncertainty per day since the last span check: 0.001 is 0.1 % of the value a day.",
    )
    u_temperature = models.FloatField("temperature effect", null=True, blank=True, help_text="In the unit.")
    u_interference = models.FloatField("interference", null=True, blank=True, help_text="In the unit.")
    repeatability = models.FloatField(
        null=True,
        blank=True,
        help_text="Standard deviation of single readings in air that does not change, in the unit. Left empty: worked "
        "out from the readings themselves.",
    )
    zero_tolerance = models.FloatField(
        null=True,
        blank=True,
        help_text="In the unit: a zero further off has failed. Left empty: twice the zero uncertainty, at least one "
        "step of the resolution.",
    )
    span_tolerance = models.FloatField(
        null=True,
        blank=True,
        help_text="Relative: 0.1 is 10 %. A span further off has failed. Left empty: twice the span uncertainty; 10 % "
        "where that is empty, too.",
    )
    reference_temperature_c = models.FloatField(
        null=True, blank=True, help_text="For mass units: at which temperature the instrument converts. Many use 25 °C."
    )
    reference_pressure_kpa = models.FloatField(null=True, blank=True, help_text="101.325 kPa if nothing else is said.")

    answers_to = models.CharField(
        max_length=20,
        blank=True,
        choices=[(answer.value, answer.label) for answer in AnswersTo],
        help_text="Of a gas: what its sensor answers to, as the manual says. Infrared, photoionisation and membrane "
        "cells mostly count molecules in a volume; a cell behind a capillary answers to the fraction. Left empty: "
        "taken as the fraction, and above 300 m the possible error is named beside each result.",
    )

    class Meta:
        ordering = ("parameter", "probe")
        constraints = (
            models.UniqueConstraint(
                fields=("instrument_type", "parameter", "unit", "probe"),
                name="channel_spec_once",
                violation_error_message="This type already has a channel for the parameter in this unit. Where it has "
                "several probes, name them.",
            ),
            models.CheckConstraint(
                condition=Q(range_high__gt=F("range_low")),
                name="channel_spec_range_ordered",
                violation_error_message="The range ends above where it starts.",
            ),
            models.CheckConstraint(
                condition=Q(resolution__gt=0),
                name="channel_spec_resolution_positive",
                violation_error_message="The resolution is above zero.",
            ),
            models.CheckConstraint(
                condition=Q(zero_tolerance__isnull=True) | Q(zero_tolerance__gt=0),
                name="channel_spec_zero_tolerance_positive",
                violation_error_message="A tolerance is above zero. Leave it empty for the usual one.",
            ),
            models.CheckConstraint(
                condition=Q(span_tolerance__isnull=True) | Q(span_tolerance__gt=0),
                name="channel_spec_span_tolerance_positive",
                violation_error_message="A tolerance is above zero. Leave it empty for the usual one.",
            ),
        )

    def __str__(self) -> str:
        return self.with_probe(f"{self.parameter_name} in {self.unit}")

    def with_probe(self, name: str) -> str:
        """``name`` of the parameter, the instrument or a place, and of which of several probes it is said."""
        return f"{name}, {self.probe}" if self.probe else name

    def clean(self) -> None:
        parameter = SUBSTANCES.get(self.parameter)
        if parameter and self.unit not in parameter.units:
            raise ValidationError({"unit": f"{parameter.name} is measured in {' or '.join(parameter.units)}."})

    def save(self, *args: object, **kwargs: object) -> None:
        super().save(*args, **kwargs)  # type: ignore[arg-type]
        for instrument in self.instrument_type.instruments.all():
            Channel.objects.get_or_create(instrument=instrument, spec=self)


class Instrument(Record):
    """One meter or logger, with its serial number, its clock and its papers."""

    list_route: ClassVar[str | None] = "instruments"
    page_route: ClassVar[str | None] = "instrument"

    class ClockBasis(models.TextChoices):
        SITE = "site", "Local time of the site, with daylight saving"
        UTC = "utc", "UTC"
        FIXED = "fixed", "Fixed offset from UTC"

    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="instruments")
    type = models.ForeignKey(InstrumentType, on_delete=models.PROTECT, related_name="instruments")
    name = models.CharField(max_length=100, help_text="What it is called in the house, for example “meter A”.")
    serial = models.CharField("serial number", max_length=100)
    clock_basis = models.CharField("clock", max_length=10, choices=ClockBasis.choices, default=ClockBasis.SITE)
    clock_offset_min = models.SmallIntegerField(
        "clock offset", default=0, help_text="Minutes ahead of UTC, for a clock with a fixed offset."
    )

    class Meta:
        ordering = ("name",)
        constraints = (
            models.UniqueConstraint(
                fields=("organisation", "serial"),
                name="instrument_serial_once",
                violation_error_message="There is already an instrument with this serial number.",
            ),
            models.CheckConstraint(
                condition=Q(clock_offset_min__gte=-1440) & Q(clock_offset_min__lte=1440),
                name="instrument_clock_offset_sensible",
                violation_error_message="The clock offset is within a day.",
            ),
        )

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        errors: dict[str, str] = {}
        if self.type_id and self.type.organisation_id != self.organisation_id:
            errors["type"] = "This instrument type belongs to another organisation."
        if self.clock_basis != self.ClockBasis.FIXED and self.clock_offset_min:
            errors["clock_offset_min"] = "Only a clock with a fixed offset has one. Leave it at 0."
        if errors:
            raise ValidationError(errors)

    def save(self, *args: object, **kwargs: object) -> None:
        super().save(*args, **kwargs)  # type: ignore[arg-type]
        for spec in self.type.channel_specs.all():
            Channel.objects.get_or_create(instrument=self, spec=spec)


class Channel(models.Model):
    """One instrument's channel: what a stored reading belongs to. Made with the instrument."""

    instrument = models.ForeignKey(Instrument, on_delete=models.CASCADE, related_name="channels")
    spec = models.ForeignKey(ChannelSpec, on_delete=models.PROTECT, related_name="channels")

    class Meta:
        ordering = ("instrument", "spec__parameter", "spec__probe")
        constraints = (models.UniqueConstraint(fields=("instrument", "spec"), name="channel_once"),)

    def __str__(self) -> str:
        return f"{self.instrument}: {self.spec}"


class Calibration(Record):
    """Laboratory calibration: true value = slope · shown value + intercept, in the channel's unit."""

    channel = models.ForeignKey(Channel, on_delete=models.PROTECT, related_name="calibrations")
    date = models.DateField()
    due = models.DateField(help_text="Yearly is common practice.")
    slope = models.FloatField(default=1)
    intercept = models.FloatField(default=0)
    u_reference = models.FloatField(
        "reference uncertainty", null=True, blank=True, help_text="Relative standard uncertainty of the reference."
    )
    certificate = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("-date",)
        constraints = (
            models.CheckConstraint(
                condition=Q(due__gt=F("date")),
                name="calibration_due_after_date",
                violation_error_message="The due date follows the calibration date.",
            ),
            models.CheckConstraint(
                condition=Q(slope__gt=0),
                name="calibration_slope_positive",
                violation_error_message="The slope is above zero.",
            ),
            models.UniqueConstraint(
                fields=("channel", "date"),
                name="calibration_once_a_day",
                violation_error_message="This channel already has a calibration of this date.",
            ),
        )

    @property
    def lies_in(self) -> Record:
        return self.channel.instrument

    def __str__(self) -> str:
        return f"{self.channel}, calibrated {self.date}"


class FieldCheck(Record):
    """A zero or span reading taken with a known reference.

    Should it lie outside its tolerance, results that rest on it are an indication until a person accepts it.
    """

    class Kind(models.TextChoices):
        ZERO = "zero", "Zero"
        SPAN = "span", "Span"

    channel = models.ForeignKey(Channel, on_delete=models.PROTECT, related_name="field_checks")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    at = models.DateTimeField("time", help_text="True time, not the instrument's.")
    reference = models.FloatField(default=0, help_text="True value of the gas, in the channel's unit. Zero air: 0.")
    observed = models.FloatField(help_text="What the instrument showed.")
    u_reference = models.FloatField(
        "reference uncertainty",
        null=True,
        blank=True,
        help_text="Standard uncertainty of the gas, in the channel's unit. Of zero air that is surely clean: 0.",
    )
    notes = models.CharField(max_length=200, blank=True)
    accepted_reason = models.CharField(
        "why it may count", max_length=300, blank=True, help_text="Printed with every result that rests on this check."
    )
    accepted_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, blank=True, related_name="+")
    accepted_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("-at",)
        constraints = (
            models.UniqueConstraint(
                fields=("channel", "kind", "at"),
                name="field_check_once",
                violation_error_message="This check is already entered.",
            ),
            models.CheckConstraint(
                condition=Q(kind="zero") | Q(reference__gt=0),
                name="field_check_span_reference_positive",
                violation_error_message="A span check has a reference above zero.",
            ),
            models.CheckConstraint(
                condition=Q(u_reference__isnull=True) | Q(u_reference__gte=0),
                name="field_check_reference_uncertainty_not_negative",
                violation_error_message="An uncertainty is zero or more. Leave it empty where nobody knows it.",
            ),
            models.CheckConstraint(
                condition=Q(accepted_at__isnull=True, accepted_reason="")
                | (Q(accepted_at__isnull=False) & ~Q(accepted_reason="")),
                name="field_check_accepted_with_a_reason",
                violation_error_message="A failed check is accepted with a reason.",
            ),
        )

    @property
    def lies_in(self) -> Record:
        return self.channel.instrument

    def __str__(self) -> str:
        return f"{self.get_kind_display()} check of {self.channel}"

    @property
    def is_accepted(self) -> bool:
        return self.accepted_at is not None

    @property
    def acceptance(self) -> str:
        """Who accepted it, when and why; empty where nobody has."""
        if self.accepted_at is None:
            return ""
        return f"accepted by {self.accepted_by or 'a person'} on {self.accepted_at:%Y-%m-%d}: {self.accepted_reason}"
