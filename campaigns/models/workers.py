"""Processes that do background work: each says again and again that it is there, also when it has nothing to do."""

from __future__ import annotations

from django.db import models


class Worker(models.Model):
    """A process that does background work, and when it last said that it is there. Nobody's, and shown to nobody."""

    name = models.CharField(max_length=200, unique=True, help_text="What it is called, on which host, its process id.")
    beat_at = models.DateTimeField(help_text="By the clock of the database.")

    class Meta:
        ordering = ("name",)

    def __str__(self) -> str:
        return self.name
