"""API tokens: a secret shown once, kept as a hash; scopes say what it may read."""

from __future__ import annotations

import hashlib
import secrets
from typing import ClassVar

from django.db import models
from django.utils import timezone

from campaigns.models.base import Record
from campaigns.models.people import Organisation, User


class TokenScope(models.TextChoices):
    PLACES = "places", "sites to sampling points"
    CAMPAIGNS = "campaigns", "campaigns, deployments and uploads"
    READINGS = "readings", "readings"
    FINDINGS = "findings", "results and findings"


class ApiToken(Record):
    """What a program shows instead of a password: an organisation, and scopes that say what it may read."""

    list_route: ClassVar[str | None] = "tokens"
    route_word: ClassVar[str] = "token"
    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="tokens")
    made_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+")
    name = models.CharField(max_length=100, help_text="Which program uses it.")
    digest = models.CharField(max_length=64, unique=True, editable=False)
    scopes = models.JSONField(default=list)
    expires_at = models.DateTimeField("expires", null=True, blank=True)
    last_used_at = models.DateTimeField(null=True, editable=False)

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name

    def get_additional_data(self) -> dict[str, int]:
        """For the history, which is asked by organisation when the row is gone."""
        return {"organisation": self.organisation_id}

    def new_secret(self) -> str:
        """Give the token a secret. This is the only moment at which it can be read."""
        secret = "fl_" + secrets.token_urlsafe(32)
        self.digest = self.digest_of(secret)
        return secret

    @staticmethod
    def digest_of(secret: str) -> str:
        # The secret has 256 random bits, so a plain hash cannot be guessed back.
        return hashlib.sha256(secret.encode()).hexdigest()

    @property
    def expired(self) -> bool:
        return self.expires_at is not None and self.expires_at <= timezone.now()
