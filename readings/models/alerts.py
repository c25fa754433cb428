"""Alerts: a level of a campaign was reached, who was told, and what was done about it."""

from __future__ import annotations

from datetime import datetime
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.utils import timezone

from campaigns.models import AlertLevel, Campaign, Channel, Record, SamplingPoint, User
from readings.models.uploads import Upload


class Alert(Record):
    """An alert level was reached: by readings of a channel, or by a value that somebody typed. It is kept whatever
    becomes of the readings; somebody acknowledges it, notes what was done, and closes it with a reason."""

    list_route: ClassVar[str | None] = None
    page_route: ClassVar[str | None] = "alert"
    lies_in_field: ClassVar[str | None] = "campaign"

    class Basis(models.TextChoices):
        STORED = "stored", "as stored by the logger"
        CORRECTED = "corrected", "corrected"
        TYPED = "typed", "typed by a person"

    class Standing(models.TextChoices):
        """What the readings say of it now."""

        STANDS = "stands", "the readings say so"
        ASKED = "asked", "as the file was understood so far; a question about it is open"
        ASIDE = "aside", "its log was set aside"
        GONE = "gone", "the readings as they are understood now do not reach the level"

    campaign = models.ForeignKey(Campaign, on_delete=models.PROTECT, related_name="alerts", editable=False)
    level = models.ForeignKey(AlertLevel, on_delete=models.PROTECT, related_name="alerts", editable=False)
    level_words = models.CharField(
        "level", max_length=300, editable=False, help_text="As it was when the alert was raised."
    )
    parameter = models.CharField(max_length=40, default="", editable=False, help_text="As it was then.")
    advice = models.CharField(max_length=300, blank=True, editable=False)
    value = models.FloatField(help_text="The highest, in the unit of the level.", editable=False)
    unit = models.CharField(max_length=40, editable=False)
    is_at_least = models.BooleanField("over range", default=False, editable=False)
    is_partial = models.BooleanField("not fully covered", default=False, editable=False)
    minutes = models.FloatField("minutes above", default=0, editable=False)
    basis = models.CharField(max_length=10, choices=Basis.choices, editable=False)
    standing = models.CharField(max_length=10, choices=Standing.choices, default=Standing.STANDS, editable=False)
    reached_at = models.DateTimeField("reached", editable=False)
    until_at = models.DateTimeField("until", editable=False)
    channel = models.ForeignKey(Channel, on_delete=models.PROTECT, null=True, related_name="alerts", editable=False)
    first_stamp_ms = models.BigIntegerField(null=True, editable=False)
    last_stamp_ms = models.BigIntegerField(null=True, editable=False)
    upload = models.ForeignKey(Upload, on_delete=models.PROTECT, null=True, related_name="alerts", editable=False)
    line = models.IntegerField(default=0, editable=False)
    point = models.ForeignKey(
        SamplingPoint, on_delete=models.SET_NULL, null=True, related_name="alerts", editable=False
    )
    place = models.CharField(max_length=300, blank=True, editable=False)
    told_value = models.FloatField("told as", null=True, editable=False, help_text="The highest when people were told.")
    typed_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+", editable=False)
    due_at = models.DateTimeField("to be answered by", editable=False)
    acknowledged_at = models.DateTimeField("acknowledged", null=True, editable=False)
    acknowledged_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+", editable=False)
    done = models.TextField("what was done", blank=True)
    closed_at = models.DateTimeField("closed", null=True, editable=False)
    closed_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="+", editable=False)
    reason = models.CharField("why it is closed", max_length=300, blank=True)

    class Meta:
        ordering = ("-reached_at", "-id")
        constraints = (
            models.CheckConstraint(
                condition=Q(channel__isnull=False, first_stamp_ms__isnull=False, last_stamp_ms__isnull=False)
                | Q(channel__isnull=True, basis="typed"),
                name="alert_of_a_channel_or_typed",
                violation_error_message="An alert is of a channel's readings, or of a value that was typed.",
            ),
            models.UniqueConstraint(
                fields=("level", "level_words", "channel", "first_stamp_ms"),
                condition=Q(closed_at__isnull=True, channel__isnull=False),
                name="alert_event_once",
                violation_error_message="There is an alert for this already.",
            ),
            models.CheckConstraint(
                condition=Q(closed_at__isnull=True) | Q(acknowledged_at__isnull=False) & ~Q(reason=""),
                name="alert_closed_with_reason",
                violation_error_message="Say why it is closed.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.level_words} at {self.where}"

    @property
    def where(self) -> str:
        return self.place or "a place not known yet"

    @property
    def is_open(self) -> bool:
        return self.closed_at is None

    def is_overdue(self, now: datetime | None = None) -> bool:
        """Whether nobody acknowledged it within the time that its level allows."""
        return self.is_open and self.acknowledged_at is None and (now or timezone.now()) > self.due_at


class AlertNotice(Record):
    """That one person is told of one alert: by mail, once; and once more each time it turns out much higher."""

    alert = models.ForeignKey(Alert, on_delete=models.PROTECT, related_name="notices")
    name = models.CharField(max_length=300)
    address = models.EmailField(max_length=254)
    is_staff = models.BooleanField("works here", default=False)
    turn = models.PositiveSmallIntegerField(default=0, help_text="How often it had risen since it was raised.")
    told_at = models.DateTimeField("told", null=True)
    failed = models.CharField("why not", max_length=300, blank=True)

    class Meta:
        ordering = ("id",)
        verbose_name = "notice of an alert"
        verbose_name_plural = "notices of alerts"
        constraints = (
            models.UniqueConstraint(
                fields=("alert", "address", "turn"),
                name="alert_notice_once",
                violation_error_message="This address is told already.",
            ),
        )

    def __str__(self) -> str:
        return self.name
