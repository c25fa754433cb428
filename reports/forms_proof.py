"""A form that asks for the password once more: a browser left open signs nothing, and withdraws nothing."""

from __future__ import annotations

from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from campaigns.forms.texts import SeenText
from campaigns.models import User
from campaigns.services import password_tries


class ProvenForm(SeenText, forms.Form):
    """Whoever sends it proves that it is they."""

    password = forms.CharField(
        label="Your password",
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
        error_messages={"required": "This is done with your password."},
    )

    def __init__(self, *args: Any, person: User, host: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.person, self.host = person, host

    def clean(self) -> dict[str, Any]:
        """The password last, and only where nothing else is wrong: each try counts."""
        cleaned = super().clean() or self.cleaned_data
        if not self.errors:
            try:
                password_tries.prove(self.person, cleaned["password"], self.host)
            except ValidationError as refused:
                self.add_error("password", refused)
        return cleaned
