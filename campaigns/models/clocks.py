"""What people know of an instrument's clock: what it showed when, and where it was set anew."""

from __future__ import annotations

from typing import ClassVar

from django.db import models
from django.db.models import F, Q
from django.db.models.lookups import Exact

from campaigns.models.base import Record
from campaigns.models.instruments import Instrument
from methods.quantities.durations import MINUTE_MS
from methods.quantities.moments import stamp_text
from methods.wording.numbers import clock_face


class ClockCheck(Record):
    """The instrument's clock showed ``shown`` when it was truly ``at``.

    A display without seconds cuts them off (common practice, no source), so its minute stands for the middle of it.
    """

    lies_in_field: ClassVar[str | None] = "instrument"

    class Origin(models.TextChoices):
        SEEN = "seen", "read off the instrument"
        BURSTS = "bursts", "from bursts laid on deployments"

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="clock_checks")
    at = models.DateTimeField("true time")
    shown_ms = models.BigIntegerField(
        "shown time", help_text="What the instrument showed, unconverted: YYYY-MM-DD hh:mm:ss."
    )
    to_minute = models.BooleanField(
        "the display shows no seconds",
        default=False,
        help_text="Then the minute it showed is taken at its middle: 30 s later, give or take 30 s.",
    )
    origin = models.CharField(max_length=10, choices=Origin.choices, default=Origin.SEEN)
    note = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ("at",)
        constraints = (
            models.UniqueConstraint(
                fields=("instrument", "at"),
                name="clock_check_once",
                violation_error_message="There is already a clock check at this time.",
            ),
            models.CheckConstraint(
                condition=Q(to_minute=False) | Q(Exact(F("shown_ms") % MINUTE_MS, 0)),
                name="clock_check_to_minute",
                violation_error_message="A display without seconds shows whole minutes: leave the seconds out.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.instrument} showed {self.shown}"

    @property
    def shown(self) -> str:
        """As a person reads it off the instrument."""
        return clock_face(self.shown_ms, to_minute=self.to_minute)

    @property
    def taken_ms(self) -> int:
        """What the clock stood at, as far as the display tells."""
        return self.shown_ms + (MINUTE_MS // 2 if self.to_minute else 0)


class ClockReset(Record):
    """A person's answer to what the stamps or two clock checks suggest: was the clock set anew here?

    For a step back, ``before_ms`` and ``after_ms`` are the two neighbouring stamps; for a jump, what the clock showed
    at the two checks that no drift explains, and ``place_ms`` is the last time shown before it was set, where known.
    """

    lies_in_field: ClassVar[str | None] = "instrument"

    class Kind(models.TextChoices):
        BACKWARD = "backward", "stamps step back"
        JUMP = "jump", "two clock checks disagree"

    class Answer(models.TextChoices):
        RIGHT_AFTER = "right-after", "It was set to the true time: right from here on"
        RIGHT_BEFORE = "right-before", "It was right up to here, and put back"
        SET = "set", "It was set; clock checks say how far off it is on each side"
        NOT_SET = "not-set", "It was not set: the lines are in no order of time"

    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, related_name="clock_resets")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    before_ms = models.BigIntegerField("last stamp before")
    after_ms = models.BigIntegerField("first stamp after")
    answer = models.CharField(max_length=12, choices=Answer.choices)
    by_ms = models.BigIntegerField("put back by", null=True, blank=True, help_text="Negative: put forward.")
    place_ms = models.BigIntegerField("last time shown before", null=True, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("before_ms",)
        constraints = (
            models.UniqueConstraint(
                fields=("instrument", "before_ms", "after_ms"),
                name="clock_reset_once",
                violation_error_message="This is answered already. Withdraw the answer first.",
            ),
            models.CheckConstraint(
                condition=Q(by_ms__isnull=False) | Q(answer__in=("set", "not-set")),
                name="clock_reset_by_how_much",
                violation_error_message="Say by how much the clock was put back.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.instrument} after {stamp_text(self.before_ms)}"
