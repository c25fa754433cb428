"""Forms in which a password is entered that somebody might be guessing."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.forms import AuthenticationForm, PasswordChangeForm
from django.core.exceptions import ValidationError

from campaigns.models import User
from campaigns.services import password_tries


class LoginForm(AuthenticationForm):
    """Django's, with a brake on guessing."""

    def clean(self) -> dict[str, Any]:
        entered = self.cleaned_data
        if not entered.get("username") or not entered.get("password"):
            return entered
        host = self.request.META.get("REMOTE_ADDR", "") if self.request else ""
        begun = password_tries.begin(entered["username"], host)
        cleaned = super().clean()
        password_tries.was_right(begun)
        return cleaned


class OwnPasswordForm(PasswordChangeForm):
    """Another password, by somebody who knows the old one."""

    def __init__(self, user: User, *args: Any, host: str, **kwargs: Any) -> None:
        super().__init__(user, *args, **kwargs)
        self.host = host

    def clean_old_password(self) -> str:
        old: str = self.cleaned_data["old_password"]
        try:
            password_tries.prove(self.user, old, self.host)
        except ValidationError as refused:
            if refused.code != password_tries.WRONG:
                raise
            raise ValidationError(self.error_messages["password_incorrect"], code="password_incorrect") from refused
        return old
