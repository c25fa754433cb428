"""Who logs in: an e-mail address and a password, in whichever house the account is."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.backends import ModelBackend
from django.http import HttpRequest

from campaigns.models import User


class AddressAndPassword(ModelBackend):
    """Several houses may each have an account for one address: the password says which. Where two have the same, it
    is the older account."""

    def authenticate(
        self, request: HttpRequest | None, username: str | None = None, password: str | None = None, **more: Any
    ) -> User | None:
        if not username or password is None:
            return None
        accounts = list(User.objects.filter(email=username).order_by("pk"))
        if not accounts:
            User().set_password(password)  # that nobody is there takes as long to say
        fit = [account for account in accounts if account.check_password(password)]
        return next((account for account in fit if self.user_can_authenticate(account)), None)
