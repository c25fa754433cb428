"""A report: frozen, signed, released. What a client reads comes from here and from nowhere else."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import Q

from campaigns.models import Campaign, Client, Record, User
from campaigns.services.digests import NotAsStored
from reports.content.canonical import digest
from reports.content.record import SignedContent
from reports.content.stored import from_store


def pdf_path(report: Report, filename: str) -> str:
    return f"reports/{report.campaign.key}/{report.revision}-{report.key.hex[:12]}.pdf"


class ContentAltered(NotAsStored):
    """The content is another than the one that was signed."""

    def __init__(self, report: Report) -> None:
        super().__init__(
            "The stored content of this report is not what was signed: its digest is another.",
            f"The content of report {report.key} is not what was signed, with SHA-256 {report.digest}.",
        )


class Report(Record):
    """One revision. ``content`` holds every sentence, number and digest that was signed; it never changes.

    ``content`` is what the database keeps and the digest covers; whatever is told of a report is read from ``record``.
    """

    campaign = models.ForeignKey(Campaign, on_delete=models.PROTECT, related_name="reports")
    client = models.ForeignKey(
        Client,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="reports",
        help_text="Whom it was released to. It stays theirs when the site gets another client.",
    )
    revision = models.PositiveSmallIntegerField()
    content: models.JSONField[Any, Any] = models.JSONField()
    digest = models.CharField(max_length=64, help_text="SHA-256 of the content.")
    changes = models.TextField(blank=True, help_text="What is different from the revision before.")
    signed_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="signed_reports")
    signed_name = models.CharField(max_length=310, help_text="The name of the account that signed.")
    signed_qualification = models.CharField(
        "qualification", max_length=200, blank=True, help_text="As the person states it; stands behind the name."
    )
    signed_at = models.DateTimeField()
    released_at = models.DateTimeField(null=True)
    withdrawn_at = models.DateTimeField(null=True)
    withdrawal_reason = models.CharField("why it was withdrawn", max_length=300, blank=True)
    pdf = models.FileField(upload_to=pdf_path, max_length=200, blank=True)
    pdf_sha256 = models.CharField("SHA-256 of the PDF", max_length=64, blank=True)

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
        """The content, typed, read once. Raises ContentAltered, UnreadableFormat, or RecordError with the place of what
        is wrong."""
        if self._read is None or self._read[0] is not self.content:
            self.prove()
            self._read = self.content, from_store(self.content)
        return self._read[1]

    def prove(self) -> None:
        """Raises ContentAltered unless the content has the digest that was signed."""
        if digest(self.content) != self.digest:
            raise ContentAltered(self)

    @property
    def released(self) -> bool:
        return self.released_at is not None and self.withdrawn_at is None
