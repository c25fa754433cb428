"""The form for a list of rooms: a file, or lines to type and to mend."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from campaigns.forms.texts import SeenText
from campaigns.models import Floor, Zone
from methods.floorplans.room_lists import COLUMNS, MOST_BYTES, RoomList, decoded, read

EXAMPLE = "room; zone; width; length; height\n1.01; Offices north; 4,5; 6; 2,7\n1.02; Offices north; 3; 6; 2,7"
TOO_LONG = f"The list is larger than {MOST_BYTES // 1000} kB. Take it in parts."


class RoomListForm(SeenText, forms.Form):
    file = forms.FileField(
        label="File",
        required=False,
        help_text="CSV or other delimited text. Its content then stands below, to be looked at and mended.",
        widget=forms.FileInput(attrs={"accept": ".csv,.txt,.tsv"}),
    )
    text = forms.CharField(
        label="Lines",
        required=False,
        widget=forms.Textarea(attrs={"rows": 10, "placeholder": EXAMPLE, "spellcheck": "false"}),
        help_text=f"The first line names the columns; “room” is needed, the others are not: {COLUMNS}. Metres and m². "
        "An outline is its corners, x and y from the top left: 0 0, 4 0, 4 3, 0 3. Rooms with only width and length "
        "are laid out in rows, to be moved on the plan.",
    )
    zone = forms.ModelChoiceField(
        Zone.objects.none(), label="Zone of rooms that name none", required=False, empty_label="None"
    )

    def __init__(self, *args: Any, floor: Floor, zones: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.floor = floor
        field = self.fields["zone"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = zones.filter(floor=floor)

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or self.cleaned_data
        file = data.get("file")
        if file is not None:
            if file.size > MOST_BYTES:
                raise ValidationError({"file": TOO_LONG})
            try:
                data["text"] = decoded(file.read())
            except ValueError as error:
                raise ValidationError({"file": str(error)}) from error
        elif len(data.get("text", "")) > MOST_BYTES:
            raise ValidationError({"text": TOO_LONG})
        if not data.get("text", "").strip() and not self.errors:
            raise ValidationError({"file": "Choose a file or type some lines."})
        return data

    @property
    def found(self) -> RoomList:
        return read(self.cleaned_data["text"])

    def again(self) -> RoomListForm:
        """The same with the file's content in the text field, so that it can be mended and sent once more."""
        chosen = self.cleaned_data["zone"]
        field = self.fields["zone"]
        assert isinstance(field, forms.ModelChoiceField)
        return RoomListForm(
            initial={"text": self.cleaned_data["text"], "zone": chosen}, floor=self.floor, zones=field.queryset
        )
