"""Layouts that are kept for files of their shape, and when people look at a file first, as forms."""

from __future__ import annotations

from typing import Any

from django import forms

from campaigns.forms.base import RowForm
from campaigns.forms.texts import SeenText
from campaigns.models import User
from readings.models import LookFirst, SavedLayout
from readings.services import look_first, stored_value


class KeepForm(SeenText, forms.Form):
    """Whether the layout is kept for the next files, and under which name."""

    keep = forms.BooleanField(required=False, label="Keep this as a layout for files of this shape")
    name = forms.CharField(required=False, max_length=100, label="Name of the layout")
    represents = forms.ChoiceField(
        required=False,
        choices=stored_value.CHOICES,
        label="A stored value is",
        help_text="Said in a layout that is kept, for every file read with it.",
    )

    def __init__(self, *args: Any, is_read: bool = False, **kwargs: Any) -> None:
        """``is_read``: of a file that is read there is nothing to do but keep its layout."""
        super().__init__(*args, **kwargs)
        self.fields["name"].required = is_read

    def clean(self) -> dict[str, Any]:
        said = self.cleaned_data
        if said.get("keep") and not said.get("name") and "name" not in self.errors:
            self.add_error("name", "Give the layout a name by which it is found again.")
        if said.get("represents") and not said.get("keep"):
            self.add_error("represents", "Only a layout that is kept says this: keep it, or leave it to the type.")
        return said


class SavedLayoutForm(RowForm[SavedLayout]):
    class Meta:
        model = SavedLayout
        fields = ("name", "represents")

    def __init__(self, *args: Any, person: User, **kwargs: Any) -> None:
        super().__init__(*args, person=person, **kwargs)
        self.fields["represents"].choices = stored_value.CHOICES  # type: ignore[attr-defined]


class LookFirstForm(RowForm[LookFirst]):
    class Meta:
        model = LookFirst
        fields = ("when",)
        widgets = {"when": forms.RadioSelect}
        labels = {"when": "Before anything of a file is stored, somebody looks at how it would be read"}

    def __init__(self, *args: Any, person: User, **kwargs: Any) -> None:
        super().__init__(*args, person=person, **kwargs)
        self.fields["when"].choices = LookFirst.When.choices  # type: ignore[attr-defined]

    def keep(self) -> LookFirst:
        return look_first.set_rule(self.instance.organisation, self.cleaned_data["when"])
