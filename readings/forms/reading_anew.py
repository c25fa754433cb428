"""What a person says when a file is read another way or withdrawn, or a stretch of it set aside."""

from __future__ import annotations

from typing import Any, cast

from django import forms

from campaigns import access
from campaigns.forms.instruments import read_shown
from campaigns.forms.texts import SeenText
from campaigns.models import Channel, Instrument
from methods.quantities.moments import stamp_ms
from readings.models import Upload

LONGEST_REASON = 300


class ReasonForm(SeenText, forms.Form):
    reason = forms.CharField(
        label="What was wrong",
        max_length=LONGEST_REASON,
        help_text="Kept with your name and the time, for those who look at it later.",
    )


class InstrumentAgainForm(ReasonForm):
    """Another of the house's own instruments."""

    instrument = forms.ModelChoiceField(Instrument.objects.none(), label="It was stored by", empty_label="Choose")
    field_order = ("instrument", "reason")

    def __init__(self, *args: Any, upload: Upload, person: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        field = cast("forms.ModelChoiceField[Instrument]", self.fields["instrument"])
        own = access.visible(person, Instrument).filter(organisation=upload.campaign.site.organisation_id)
        field.queryset = own.exclude(pk=upload.instrument_id) if upload.instrument_id else own
        field.error_messages["required"] = "Choose the instrument that stored it."
        field.error_messages["invalid_choice"] = "Choose one of your own instruments."


class StampField(forms.CharField):
    """A time as the logger shows it → milliseconds of its own clock."""

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        return stamp_ms(read_shown(text)) if text else None


class StretchForm(ReasonForm):
    """From one stamp to another, of one channel or of all."""

    channel = forms.ModelChoiceField(
        Channel.objects.none(), required=False, label="Channel", empty_label="All of the instrument"
    )
    first = StampField(
        max_length=30,
        label="From",
        help_text="As the logger shows it: YYYY-MM-DD hh:mm:ss. For a single reading, its stamp twice.",
    )
    last = StampField(max_length=30, label="To", help_text="The reading at this stamp is set aside, too.")
    field_order = ("channel", "first", "last", "reason")

    def __init__(self, *args: Any, upload: Upload, **more: Any) -> None:
        super().__init__(*args, **more)
        field = cast("forms.ModelChoiceField[Channel]", self.fields["channel"])
        field.queryset = Channel.objects.filter(instrument=upload.instrument_id).select_related("spec").order_by("pk")
        field.label_from_instance = lambda obj: str(obj.spec)  # type: ignore[method-assign]

    @property
    def channels(self) -> list[Channel]:
        """Those that are meant."""
        chosen = self.cleaned_data["channel"]
        field = cast("forms.ModelChoiceField[Channel]", self.fields["channel"])
        return [chosen] if chosen else list(field.queryset or ())
