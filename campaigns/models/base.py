"""What every record has: a key for URLs that cannot be guessed or counted, and the time it was made."""

from __future__ import annotations

import uuid

from django.db import models


class Record(models.Model):
    """Base of all models that people see.

    The integer id stays inside the database (small keys for millions of readings); URLs and the API show ``key``,
    so that nobody learns from an address how many sites another organisation has.
    """

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    created_at = models.DateTimeField(auto_now_add=True, editable=False)

    class Meta:
        abstract = True
