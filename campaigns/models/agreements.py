"""What consultant and client agree on before a visit: question, limits, rule, and what follows from "undecided"."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q

from campaigns.frozen.agreement import AgreedContent, digest_of, from_store
from campaigns.models.base import Record
from campaigns.models.campaigns import Campaign
from campaigns.models.people import Client, User


class Agreement(Record):
    """One version of what is agreed with a client about a campaign before the visit.

    Words can be changed while it is a draft. When it is offered, ``content`` freezes everything it says with the
    campaign's limits, rule and scope as they stand; it never changes afterwards. Whatever is told of an offered version
    is read from ``record``.
    """

    lies_in_field: ClassVar[str | None] = "campaign"

    class State(models.TextChoices):
        DRAFT = "draft", "being written"
        OFFERED = "offered", "with the client"
        ACCEPTED = "accepted", "accepted"
        DECLINED = "declined", "declined"
        OVERTAKEN = "overtaken", "overtaken by a later version"

    campaign = models.ForeignKey(Campaign, on_delete=models.PROTECT, related_name="agreements")
    version = models.PositiveSmallIntegerField(editable=False)
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFT, editable=False)
    question = models.TextField(
        "the question",
        help_text="Whose air, where and when: the people, the places and the time the answer is to hold for.",
    )
    decision = models.TextField(
        "the decision to be taken", help_text="What will be done, or left, depending on the answer, and by whom."
    )
    undecided = models.TextField(
        "what “undecided” leads to", help_text="What follows where the uncertainty reaches across the limit."
    )
    content: models.JSONField[Any, Any] = models.JSONField(null=True, editable=False)
    digest = models.CharField(max_length=64, blank=True, editable=False, help_text="SHA-256 of the content.")
    client = models.ForeignKey(
        Client, on_delete=models.PROTECT, null=True, related_name="agreements", editable=False, help_text="Offered to."
    )
    offered_at = models.DateTimeField(null=True, editable=False)
    offered_by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+", editable=False)
    answered_at = models.DateTimeField(
        "answer given", null=True, editable=False, help_text="When it was accepted or declined."
    )
    answered_name = models.CharField("answered by", max_length=200, blank=True, editable=False)
    answered_by = models.ForeignKey(
        User,
        on_delete=models.PROTECT,
        null=True,
        related_name="+",
        editable=False,
        verbose_name="account of the answer",
        help_text="Of the client; of a consultant where the answer was given otherwise and recorded.",
    )
    answered_how = models.CharField(
        "how it was given", max_length=200, blank=True, editable=False, help_text="Empty: by the account, on its page."
    )
    recorded_at = models.DateTimeField(
        "recorded", null=True, editable=False, help_text="When a consultant recorded an answer given otherwise."
    )
    comment = models.TextField(blank=True, editable=False)

    #: A content that was read, and what it is.
    _read: tuple[Any, AgreedContent] | None = None

    class Meta:
        ordering = ("campaign", "-version")
        constraints = (
            models.UniqueConstraint(
                fields=("campaign", "version"),
                name="agreement_version_once",
                violation_error_message="Somebody else has just begun this version. Look at it first.",
            ),
            models.UniqueConstraint(
                fields=("campaign",),
                condition=Q(state="draft"),
                name="agreement_one_draft",
                violation_error_message="A version is being written already: change that one.",
            ),
            models.UniqueConstraint(
                fields=("campaign",),
                condition=Q(state="offered"),
                name="agreement_one_offer",
                violation_error_message="Another version is with the client already.",
            ),
            models.CheckConstraint(
                condition=Q(state="draft", content__isnull=True, offered_at__isnull=True, digest="")
                | (
                    ~Q(state="draft")
                    & Q(content__isnull=False, client__isnull=False, offered_at__isnull=False)
                    & ~Q(digest="")
                ),
                name="agreement_frozen_when_offered",
                violation_error_message="What was offered is frozen, and a draft is not.",
            ),
            models.CheckConstraint(
                condition=~Q(state__in=("accepted", "declined"))
                | (Q(answered_at__isnull=False, answered_by__isnull=False) & ~Q(answered_name="")),
                name="agreement_answer_has_a_name",
                violation_error_message="An answer has a name and a time.",
            ),
            models.CheckConstraint(
                condition=~Q(state="declined") | ~Q(comment=""),
                name="agreement_declined_with_comment",
                violation_error_message="Say what should be different.",
            ),
        )

    def __str__(self) -> str:
        return f"Version {self.version}"

    @property
    def record(self) -> AgreedContent:
        """The frozen content, typed, read once. Raises UnreadableAgreement, or RecordError; also for a draft."""
        if self._read is None or self._read[0] is not self.content:
            self._read = self.content, from_store(self.content)
        return self._read[1]

    @property
    def is_whole(self) -> bool:
        """Whether the stored content is the one that was offered."""
        return self.content is not None and digest_of(self.content) == self.digest
