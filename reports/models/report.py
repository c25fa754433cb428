"""A report: frozen, signed, released. What a client reads comes from here and from nowhere else."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import Q

from campaigns.models import Campaign, Record, User
from reports.content.record import SignedContent
from reports.content.stored import from_store


def pdf_path(report: Report, filename: str) -> str:
    return f"reports/{report.campaign.key}/{report.revision}-{report.key.hex[:12]}.pdf"


class Report(Record):
    """One revision. ``content`` holds every sentence, number and digest that was signed; it never changes.

    ``content`` is what the database keeps and the digest covers; whatever is told of a report is read from ``record``.
    """

    campaign = models.ForeignKey(Campaign, on_delete=models.PROTECT, related_name="reports")
    revision = models.PositiveSmallIntegerField()
    content: models.JSONField[Any, Any] = models.JSONField()
    digest = models.CharField(max_length=64, help_text="SHA-256 of the content.")
    changes = models.TextField(blank=True, help_text="What is different from the revision before.")
    signed_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="signed_reports")
    signed_name = models.CharField(max_length=200)
    signed_at = models.DateTimeField()
    released_at = models.DateTimeField(null=True)
    withdrawn_at = models.DateTimeField(null=True)
    pdf = models.FileField(upload_to=pdf_path, max_length=200, blank=True)

    #: A content that was read, and what it is.
    _read: tuple[Any, SignedContent] | None = None

    class Meta:
        ordering = ("campaign", "-revision")
        constraints = (
            models.UniqueConstraint(
                fields=("campaign", "revision"),
                name="report_revision_once",
                violation_error_message="Somebody else has just made this revision.",
            ),
            models.CheckConstraint(
                condition=Q(withdrawn_at__isnull=True) | Q(released_at__isnull=False),
                name="report_withdrawn_after_release",
                violation_error_message="Only a released report can be withdrawn.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.campaign}, revision {self.revision}"

    @property
    def record(self) -> SignedContent:
        """The content, typed, read once. Raises UnreadableFormat, or RecordError with the place of what is wrong."""
        if self._read is None or self._read[0] is not self.content:
            self._read = self.content, from_store(self.content)
        return self._read[1]

    @property
    def released(self) -> bool:
        return self.released_at is not None and self.withdrawn_at is None
