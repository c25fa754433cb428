"""What a person says about a clock and about a file that looks like another one."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from campaigns.forms.instruments import read_shown
from campaigns.forms.texts import SeenText
from campaigns.models import ClockReset
from methods.quantities.moments import stamp_ms
from readings.models import Upload

DAY_MINUTES = 26 * 60


class ConfirmForm(forms.Form):
    """Which offset of which stretch of which log."""

    log = forms.UUIDField()
    stretch = forms.IntegerField(min_value=0)
    offset = forms.IntegerField()


class ResetForm(SeenText, forms.Form):
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

    @property
    def told(self) -> dict[str, Any]:
        """What was said, for ``clock_resets.answer``."""
        said = self.cleaned_data
        return {name: said[name] for name in ("answer", "minutes", "note")} | {"last_shown_ms": said["last_shown"]}


class TwinForm(forms.Form):
    twin = forms.ChoiceField(choices=Upload.Twin.choices)


def first_message(error: Any) -> str:
    """The first sentence of a form's errors or of a ValidationError."""
    if isinstance(error, ValidationError):
        return error.messages[0]
    return next((str(message) for messages in error.values() for message in messages), "This could not be kept.")
