"""Questions about clocks that stand in no single log, and what people say about questions they leave open."""

from __future__ import annotations

from django.db import models
from django.db.models import F, Q

from campaigns.models import Campaign, Instrument, Record, User
from methods.quantities.substances import name_of


class ClockLag(Record):
    """A suggestion that logs of several instruments make: one of them lags the others, on one day or on all of them.

    It is a question until a clock check makes it go, or a person says why it is not the clock (``reason``). Nothing is
    moved by it. ``lag_min`` above 0: what happened stands later in this log, so its clock runs ahead. ``against``: the
    names of the others; ``either``: it may as well be these that are off.
    """

    campaign = models.ForeignKey(Campaign, on_delete=models.CASCADE, related_name="clock_lags")
    instrument = models.ForeignKey(Instrument, on_delete=models.CASCADE, related_name="clock_lags")
    parameter = models.CharField(max_length=20)
    day = models.DateField(null=True, blank=True, help_text="At the site; empty: on all days.")
    lag_min = models.SmallIntegerField("runs ahead by, minutes")
    against = models.CharField(max_length=200)
    confidence = models.FloatField()
    either = models.BooleanField(default=False)
    reason = models.CharField("why it is not the clock", max_length=300, blank=True)
    settled_at = models.DateTimeField(null=True, blank=True)
    settled_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, blank=True, related_name="clock_lags")

    class Meta:
        ordering = ("instrument", F("day").asc(nulls_first=True))
        constraints = (
            models.UniqueConstraint(
                fields=("campaign", "instrument", "day"),
                name="clock_lag_once_a_day",
                violation_error_message="This is asked already.",
            ),
            models.UniqueConstraint(
                fields=("campaign", "instrument"),
                condition=Q(day__isnull=True),
                name="clock_lag_once_for_all_days",
                violation_error_message="This is asked already.",
            ),
            models.CheckConstraint(
                condition=Q(settled_at__isnull=True) | ~Q(reason=""),
                name="clock_lag_settled_with_reason",
                violation_error_message="Say why it is not the clock.",
            ),
        )

    def __str__(self) -> str:
        return self.words

    @property
    def confidence_text(self) -> str:
        return f"{self.confidence:.2f}"

    @property
    def words(self) -> str:
        """The question, as pages and the report put it."""
        when = "On all days" if self.day is None else f"{self.day:%Y-%m-%d}"
        way = "ahead of" if self.lag_min > 0 else "behind"
        both = " It may as well be the other that is off." if self.either else ""
        return (
            f"{when}: the log of {self.instrument} runs {abs(self.lag_min)} min {way} that of {self.against}, by "
            f"where {name_of(self.parameter).lower()} rises and falls.{both}"
        )


class ClockQuestionLeft(Record):
    """What a person says who releases a report although a question about a clock is open: why it does not matter.

    It holds for ``question`` as it was put; another one is asked about anew. The report prints it.
    """

    campaign = models.ForeignKey(Campaign, on_delete=models.CASCADE, related_name="clock_questions_left")
    instrument = models.ForeignKey(Instrument, on_delete=models.CASCADE, related_name="clock_questions_left")
    question = models.TextField()
    reason = models.CharField("why it can be released all the same", max_length=300)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="clock_questions_left")

    class Meta:
        verbose_name_plural = "clock questions left"
        ordering = ("pk",)

    def __str__(self) -> str:
        return self.reason
