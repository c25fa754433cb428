"""What a person says about a clock and about a file that looks like another one."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from campaigns.forms.instruments import read_shown
from campaigns.models import ClockReset, Instrument
from methods.clock import Reset
from methods.quantities.durations import MINUTE_MS
from methods.quantities.moments import stamp_ms
from readings.models import Upload

DAY_MINUTES = 26 * 60


class ConfirmForm(forms.Form):
    """Which offset of which stretch of which log."""

    log = forms.UUIDField()
    stretch = forms.IntegerField(min_value=0)
    offset = forms.IntegerField()


class ResetForm(forms.Form):
    """An answer to one of the places ``found`` in the log."""

    log = forms.UUIDField()
    before = forms.IntegerField()
    after = forms.IntegerField()
    answer = forms.ChoiceField(choices=ClockReset.Answer.choices, required=False)
    minutes = forms.FloatField(required=False, min_value=-DAY_MINUTES, max_value=DAY_MINUTES)
    last_shown = forms.CharField(required=False, max_length=30)
    note = forms.CharField(required=False, max_length=200)

    def clean_last_shown(self) -> int | None:
        text = self.cleaned_data["last_shown"]
        return stamp_ms(read_shown(text)) if text else None

    def row(self, instrument: Instrument, reset: Reset) -> ClockReset:
        """The answer, checked and not yet stored. Raises ValidationError."""
        said = self.cleaned_data
        if reset.kind == "jump":
            answer, by_ms, place = ClockReset.Answer.SET, None, said["last_shown"]
            if place is not None and not min(reset.place) <= place <= max(reset.place):
                raise ValidationError("The last time it showed lies between the two clock checks.")
        else:
            answer = ClockReset.Answer(said["answer"] or ClockReset.Answer.SET)
            minutes, place = said["minutes"], None
            by_ms = None if minutes is None or answer == ClockReset.Answer.NOT_SET else round(minutes * MINUTE_MS)
        made = ClockReset(
            instrument=instrument, kind=reset.kind, before_ms=reset.place[0], after_ms=reset.place[1], answer=answer,
            by_ms=by_ms, place_ms=place, note=said["note"],
        )  # fmt: skip
        made.full_clean()
        return made


class TwinForm(forms.Form):
    twin = forms.ChoiceField(choices=Upload.Twin.choices)


def first_message(error: Any) -> str:
    """The first sentence of a form's errors or of a ValidationError."""
    if isinstance(error, ValidationError):
        return error.messages[0]
    return next((str(message) for messages in error.values() for message in messages), "This could not be kept.")
