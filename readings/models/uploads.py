"""An upload: one original log file, kept as it came, and what was understood of it."""

from __future__ import annotations

from typing import Any

from django.db import models

from campaigns.models import Campaign, Channel, Instrument, Record, User
from readings.models.layouts import SavedLayout


def original_path(upload: Upload, filename: str) -> str:
    """Where an original is kept. The sender's file name plays no part: it may hold slashes or worse."""
    return f"originals/{upload.sha256[:2]}/{upload.sha256}-{upload.key.hex[:12]}"


class Upload(Record):
    """One original log file, as it was read in. The file is never altered or deleted by Fanlight; the same again is
    already held.

    A file that is read another way is another upload of the same bytes, which ``reads_anew`` the earlier one; the
    earlier one is withdrawn then, with all that was stored from it. A log that came in an ``archive`` is an upload of
    its own; the archive is one, too, of which nothing is stored.
    """

    class State(models.TextChoices):
        RECEIVED = "received", "received"
        READ = "read", "read"
        ATTENTION = "attention", "needs attention"
        UNREADABLE = "unreadable", "cannot be read"
        WITHDRAWN = "withdrawn", "withdrawn"
        UNPACKED = "unpacked", "unpacked"

    class Twin(models.TextChoices):
        SAME = "same", "the same memory again"
        APART = "apart", "another memory"

    class Outside(models.TextChoices):
        LEFT = "left", "left where they are"

    campaign = models.ForeignKey(Campaign, on_delete=models.PROTECT, related_name="uploads")
    instrument = models.ForeignKey(
        Instrument,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="uploads",
        help_text="Left empty: found by the serial number in the file.",
    )
    uploaded_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="uploads")
    original = models.FileField(upload_to=original_path, max_length=200, editable=False)
    filename = models.CharField(max_length=255)
    size = models.BigIntegerField()
    sha256 = models.CharField("SHA-256", max_length=64)
    state = models.CharField(max_length=12, choices=State.choices, default=State.RECEIVED)
    layout: models.JSONField[Any, Any] = models.JSONField(null=True, editable=False)
    understood: models.JSONField[Any, Any] = models.JSONField(
        null=True,
        editable=False,
        help_text="What was made of the file, for the page that asks about it.",
    )
    settled: models.JSONField[Any, Any] = models.JSONField(
        null=True, editable=False, help_text="The layout a person confirmed, or the one its readings were stored with."
    )
    kept_layout = models.ForeignKey(
        SavedLayout,
        on_delete=models.SET_NULL,
        null=True,
        editable=False,
        related_name="uploads",
        verbose_name="kept layout it was read with",
    )
    sheet = models.CharField(
        max_length=255, blank=True, editable=False, help_text="The sheet of a workbook that a person chose."
    )
    lines = models.BigIntegerField(default=0, help_text="Lines that held readings.")
    stored = models.BigIntegerField(default=0, help_text="Readings stored from this file.")
    held = models.BigIntegerField(default=0, help_text="Readings that were already held from another file.")
    problem_count = models.BigIntegerField(default=0)
    bursts: models.JSONField[Any, Any] = models.JSONField(
        null=True,
        editable=False,
        help_text="Stretches of unbroken logging: [first stamp, last stamp] in file order; null: not known.",
    )
    interval_ms = models.BigIntegerField(null=True, editable=False, help_text="Between neighbouring stamps, typically.")
    twin = models.CharField(
        "same memory",
        max_length=8,
        blank=True,
        choices=Twin.choices,
        help_text="What a person said of a file that holds the values of another one under other stamps.",
    )
    accepted: models.JSONField[Any, Any] = models.JSONField(
        default=list, editable=False, help_text="Codes of doubts about the file that a person has decided are none."
    )
    outside = models.CharField("readings outside every deployment", max_length=8, blank=True, choices=Outside.choices)
    first_stamp_ms = models.BigIntegerField(null=True)
    last_stamp_ms = models.BigIntegerField(null=True)
    reads_anew = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, editable=False, related_name="read_anew_as"
    )
    archive = models.ForeignKey("self", on_delete=models.PROTECT, null=True, editable=False, related_name="logs_inside")
    member = models.CharField(
        max_length=255, blank=True, editable=False, help_text="Its name in the archive, with folders."
    )
    asides = models.PositiveIntegerField(
        default=0, editable=False, help_text="How often readings of it were set aside or came back."
    )

    class Meta:
        ordering = ("-created_at", "-id")
        constraints = (
            models.UniqueConstraint(
                fields=("campaign", "instrument", "sha256"),
                condition=~models.Q(state="withdrawn"),
                name="upload_once",
                violation_error_message="This file is already here, as one of this instrument.",
            ),
            models.UniqueConstraint(
                fields=("campaign", "sha256"),
                condition=models.Q(instrument__isnull=True) & ~models.Q(state="withdrawn"),
                name="upload_once_without_instrument",
                violation_error_message="This file is already here.",
            ),
        )

    def __str__(self) -> str:
        return self.filename

    @property
    def withdrawn(self) -> bool:
        """Whether what was read of it does not count any more."""
        return self.state == self.State.WITHDRAWN

    @property
    def layout_is_open(self) -> bool:
        """Whether a person has to say, or to confirm, how the file is to be read."""
        waits = bool((self.understood or {}).get("waits"))
        return self.state == self.State.ATTENTION and waits and self.settled is None


class Problem(models.Model):
    """Something wrong at a line: shown with the file, never silently repaired."""

    upload = models.ForeignKey(Upload, on_delete=models.CASCADE, related_name="problems")
    line = models.BigIntegerField(default=0, help_text="1 is the first line; 0 concerns the whole file.")
    column = models.CharField(max_length=100, blank=True)
    value = models.CharField(max_length=200, blank=True)
    code = models.CharField(max_length=40)
    message = models.TextField()

    class Meta:
        ordering = ("upload", "line", "id")

    def __str__(self) -> str:
        return f"line {self.line}: {self.message}"


class Reading(models.Model):
    """One value as the logger stored it. Immutable; everything else is derived from it.

    stamp: the logger's own clock, milliseconds (methods.quantities.moments); nth: counts equal stamps in the order of
    the memory, below 0 where an earlier part of it was handed in later.
    raw: NULL where the logger stored an error; flag: the stored bits of methods.quantities.flags.Flag.
    The table is made by hand in migration 0001: hash-partitioned by channel on PostgreSQL, without rowid on SQLite.
    Foreign keys are not checked row by row: readings come by the million, and neither a channel that has readings
    nor an upload can be deleted (PROTECT on what owns them).
    """

    pk = models.CompositePrimaryKey("channel_id", "stamp", "nth")
    channel = models.ForeignKey(
        Channel, on_delete=models.DO_NOTHING, db_index=False, db_constraint=False, related_name="readings"
    )
    stamp = models.BigIntegerField()
    nth = models.SmallIntegerField()
    raw = models.FloatField(null=True)
    flag = models.SmallIntegerField(default=0)
    upload = models.ForeignKey(
        Upload, on_delete=models.DO_NOTHING, db_index=False, db_constraint=False, related_name="readings"
    )
    line = models.IntegerField()

    def __str__(self) -> str:
        return f"{self.raw} ({self.upload_id}:{self.line})"
