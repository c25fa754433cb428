"""How often passwords were tried: counted here, so that every web process knows, with or without Redis."""

from __future__ import annotations

from django.db import models


class PasswordTry(models.Model):
    """One try of a password that has not been right, kept for a quarter of an hour. ``account``: a keyed hash of the
    address that was entered; ``host``: where the try came from."""

    account = models.CharField(max_length=64)
    host = models.CharField(max_length=64)
    at = models.DateTimeField()

    class Meta:
        ordering = ("at",)
        indexes = (
            models.Index(fields=("account", "at"), name="try_of_account"),
            models.Index(fields=("host", "at"), name="try_of_host"),
            models.Index(fields=("at",), name="try_at"),
        )

    def __str__(self) -> str:
        return f"{self.host}, {self.at}"
