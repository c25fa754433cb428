"""Forms for instrument types, channels, instruments, and what is checked on them."""

from __future__ import annotations

import zoneinfo
from datetime import datetime
from typing import Any, TypeVar

from django import forms
from django.core.exceptions import ValidationError
from django.db.models import Model
from django.utils import timezone

from campaigns import access
from campaigns.forms.base import OwnForm, RowForm
from campaigns.forms.times import LocalTimeField, LocalTimeInput
from campaigns.models import (
    Calibration,
    Channel,
    ChannelSpec,
    ClockCheck,
    FieldCheck,
    Instrument,
    InstrumentType,
    Site,
    User,
)
from campaigns.services import clock_checks, field_checks, instruments
from campaigns.services.instrument_state import zone_of
from methods.quantities.moments import EPOCH, stamp_ms, stamp_text

M = TypeVar("M", bound=Model)
SHOWN_FORMATS = ("%Y-%m-%d %H:%M:%S", "%Y-%m-%d %H:%M:%S.%f", "%Y-%m-%d %H:%M")


class InstrumentTypeForm(OwnForm[InstrumentType]):
    class Meta:
        model = InstrumentType
        fields = (
            "organisation",
            "name",
            "warm_up_s",
            "represents",
            "temperature_low_c",
            "temperature_high_c",
            "interference",
        )


class ChannelForm(RowForm[ChannelSpec]):
    fieldsets = (
        (
            "What it measures",
            "",
            ("parameter", "unit", "probe", "resolution", "range_low", "range_high", "detection_limit", "t90_s"),
        ),
        (
            "How sure it is",
            "Standard uncertainties, from the data sheet or your own checks: half of a figure given as ±, if it is a "
            "95 % figure. What is left empty is named as missing in every result.",
            ("u_zero", "u_span", "u_drift", "u_span_drift", "u_temperature", "u_interference", "repeatability"),
        ),
        ("Air pressure", "", ("answers_to",)),
        (
            "When a field check has failed",
            "A check within its tolerance still moves the zero or the span; one beyond it is said against every "
            "reading that rests on it.",
            ("zero_tolerance", "span_tolerance"),
        ),
        (
            "Reference conditions",
            "Only for channels that show mg/m³ or µg/m³ of a gas.",
            ("reference_temperature_c", "reference_pressure_kpa"),
        ),
    )

    class Meta:
        model = ChannelSpec
        fields = (
            "parameter",
            "unit",
            "probe",
            "resolution",
            "range_low",
            "range_high",
            "detection_limit",
            "t90_s",
            "u_zero",
            "u_span",
            "u_drift",
            "u_span_drift",
            "u_temperature",
            "u_interference",
            "repeatability",
            "answers_to",
            "zero_tolerance",
            "span_tolerance",
            "reference_temperature_c",
            "reference_pressure_kpa",
        )
        labels = {
            "reference_temperature_c": "Reference temperature, °C",
            "reference_pressure_kpa": "Reference pressure, kPa",
        }


class InstrumentForm(OwnForm[Instrument]):
    class Meta:
        model = Instrument
        fields = ("organisation", "type", "name", "serial", "clock_basis", "clock_offset_min")

    def __init__(self, *args: Any, person: User, **kwargs: Any) -> None:
        super().__init__(*args, person=person, **kwargs)
        if self.instance.pk is not None:
            del self.fields["type"]  # it stays as it is

    def keep(self) -> Instrument:
        entered = self.values("type", "name", "serial", "clock_basis", "clock_offset_min")
        if self.adding:
            return instruments.make(self.instance.organisation, **entered)
        return instruments.change(self.instance, **entered)


class CalibrationForm(RowForm[Calibration]):
    class Meta:
        model = Calibration
        fields = ("channel", "date", "due", "slope", "intercept", "u_reference", "certificate")

    def __init__(self, *args: Any, person: User, instrument: Instrument, **kwargs: Any) -> None:
        super().__init__(*args, person=person, **kwargs)
        choose_channel(self, instrument)
        self.fields["slope"].help_text = "True value = slope × shown value + intercept."
        self.fields["intercept"].help_text = "In the channel's unit."


class ZonedForm(RowForm[M]):
    """Times without a site: the form says on which clock they are. Several instruments travel."""

    def __init__(self, *args: Any, person: User, instrument: Instrument, **kwargs: Any) -> None:
        super().__init__(*args, person=person, **kwargs)
        sites = access.visible(person, Site).filter(organisation=instrument.organisation_id)
        names = sorted({*sites.values_list("time_zone", flat=True), "UTC"})
        first = zone_of(instrument)
        zone = forms.ChoiceField(
            choices=[(name, name) for name in names],
            initial=first,
            label="Time zone",
            help_text="On which clock the true time below is.",
        )
        self.fields = {"zone": zone, **self.fields}
        asked = self.data.get(self.add_prefix("zone"), first)
        self.zoned(zoneinfo.ZoneInfo(asked if asked in names else first))


class FieldCheckForm(ZonedForm[FieldCheck]):
    at = LocalTimeField(label="True time", help_text="Not the instrument's.")

    class Meta:
        model = FieldCheck
        fields = ("channel", "kind", "at", "reference", "u_reference", "observed", "notes")

    def __init__(self, *args: Any, person: User, instrument: Instrument, **kwargs: Any) -> None:
        super().__init__(*args, person=person, instrument=instrument, **kwargs)
        choose_channel(self, instrument)

    def keep(self) -> FieldCheck:
        return super().keep() if self.adding else field_checks.change(self.instance, **self.changed())


class FieldCheckAcceptForm(RowForm[FieldCheck]):
    class Meta:
        model = FieldCheck
        fields = ("accepted_reason",)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["accepted_reason"].help_text += " Left empty, it is not accepted."

    def clean(self) -> dict[str, Any]:
        entered: dict[str, Any] = super().clean() or {}
        self.instance.accepted_at = timezone.now() if entered.get("accepted_reason") else None
        return entered

    def keep(self) -> FieldCheck:
        return field_checks.accept(self.instance, self.cleaned_data["accepted_reason"], self.person)


class ClockCheckForm(ZonedForm[ClockCheck]):
    at = LocalTimeField(
        label="True time",
        widget=LocalTimeInput(attrs={"step": "1"}),
        help_text="From a clock you trust, to the second.",
    )
    shown = forms.CharField(
        label="Shown time",
        max_length=30,
        help_text="What the instrument showed at that moment, unconverted: YYYY-MM-DD hh:mm:ss. "
        "If it shows no seconds, say so below; or wait for the minute to turn, and write :00.",
    )

    field_order = ("at", "shown", "to_minute")

    class Meta:
        model = ClockCheck
        fields = ("at", "to_minute")

    def __init__(self, *args: Any, person: User, instrument: Instrument, **kwargs: Any) -> None:
        super().__init__(*args, person=person, instrument=instrument, **kwargs)
        if self.instance.pk is not None:
            text = stamp_text(self.instance.shown_ms)
            self.initial["shown"] = text.removesuffix(":00") if self.instance.to_minute else text

    def keep(self) -> ClockCheck:
        entered = self.values("at", "to_minute") | {"shown_ms": self.instance.shown_ms}
        if self.adding:
            return clock_checks.make(self.instance.instrument, **entered)
        return clock_checks.change(self.instance, **entered)

    def clean_shown(self) -> str:
        self.instance.shown_ms = stamp_ms(read_shown(self.cleaned_data["shown"]))
        return str(self.cleaned_data["shown"])


def read_shown(text: str) -> datetime:
    """The wall-clock time an instrument showed. Raises ValidationError with the way to write it."""
    for pattern in SHOWN_FORMATS:
        try:
            wall = datetime.strptime(text.strip(), pattern)  # noqa: DTZ007 - a stamp has no zone
        except ValueError:
            continue
        if wall >= EPOCH:
            return wall
    raise ValidationError("Write it as YYYY-MM-DD hh:mm:ss, for example 2026-09-15 08:00:00.")


def choose_channel(form: RowForm[Any], instrument: Instrument) -> None:
    """Offer the channels of this instrument only; a single one is chosen already."""
    field = form.fields["channel"]
    assert isinstance(field, forms.ModelChoiceField)
    assert field.queryset is not None
    channels: Any = access.visible(form.person, Channel).filter(instrument=instrument).select_related("spec")
    field.queryset = channels
    field.label_from_instance = lambda obj: str(obj.spec)  # type: ignore[method-assign]
    if form.instance.channel_id is None and len(channels) == 1:
        form.initial["channel"] = channels[0].pk
