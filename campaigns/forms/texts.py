"""Text that people enter holds nothing that cannot be seen."""

from __future__ import annotations

from django import forms
from django.core.exceptions import ValidationError

from methods.wording.plain_text import refusal


class SeenText(forms.BaseForm):
    """A form whose text fields refuse characters that nobody sees and that break what the text is put into."""

    def _clean_fields(self) -> None:
        for field in self.fields.values():
            if isinstance(field, forms.CharField) and not isinstance(field.widget, forms.PasswordInput):
                field.validators.append(many_lines if isinstance(field.widget, forms.Textarea) else one_line)
        super()._clean_fields()  # type: ignore[misc]


def one_line(entered: object) -> None:
    """Raises ValidationError. ``entered``: of some fields it is no text any more."""
    _refuse(refusal(str(entered), one_line=True))


def many_lines(entered: object) -> None:
    """Raises ValidationError."""
    _refuse(refusal(str(entered), one_line=False))


def _refuse(why: str) -> None:
    if why:
        raise ValidationError(why, code="unseen")
