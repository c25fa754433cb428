"""Which sheet of a workbook is the log."""

from __future__ import annotations

from typing import Any

from django import forms

from readings.forms.reading_anew import ReasonForm
from readings.models import Upload
from readings.services.sheet_choice import NO_SHEET, sheets_of


class SheetForm(forms.Form):
    """One of those that look like logs; none is chosen beforehand unless it was read."""

    sheet = forms.ChoiceField(label="The sheet with the readings", widget=forms.RadioSelect)

    def __init__(self, *args: Any, upload: Upload, **more: Any) -> None:
        read = (upload.layout or {}).get("sheet", "")
        super().__init__(*args, **{"initial": {"sheet": read}, **more})
        field = self.fields["sheet"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = sheets_of(upload)
        field.error_messages = {"required": NO_SHEET, "invalid_choice": NO_SHEET}


class SheetAgainForm(ReasonForm, SheetForm):
    """Another sheet than the one whose readings are stored."""

    field_order = ("sheet", "reason")
