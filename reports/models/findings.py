"""Results and findings: derived, re-derivable, each with the digest of what went into it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import cached_property
from math import inf
from typing import Any, TypeVar

from django.db import models
from django.db.models import Q

from campaigns.models import Campaign, Deployment, Record, SamplingPoint, Zone
from campaigns.models.limits import Criterion
from methods.uncertainty.budget import expanded
from methods.verdicts.comparability import CHECK_ACCEPTED, CHECK_FAILED, TYPE_DATA_ONLY, Reason
from reports.trace import BudgetPart, ResultTrace
from reports.trace.quality import without_quality
from reports.trace.rooms import ZoneRooms, read_rooms, without_rooms
from reports.trace.stored import BUDGET, REASONS, read_trace, upgraded, without_value
from reports.trace.upgrades import Part

T = TypeVar("T")
#: For queries: the path to ``ResultTrace.deployments``, keys of the deployments taken together.
TOGETHER = "trace__deployments"


def concern(rank: int, p_not_met: float | None, reach: float) -> tuple[int, float, float]:
    """Order of concern, worst first: whether the limit is met, how likely it is not, how far the value reaches.

    For a lower limit, and the lower end of a range, the lowest value concerns most. Probabilities are as well known
    as they are printed, so beyond 0.1 % the value decides. What cannot be compared hides nothing that can.
    """
    return rank, -round(p_not_met or 0.0, 3), -reach


class Result(Record):
    """One statistic at one point in the terms of one criterion, with its uncertainty.

    origin: what it was taken with; each names the row it came from, the others stay empty. A deployment is the first of
    those that were judged together; a sample has none (its own row will stand beside ``deployment``). value, u: in the
    limit's unit and reference. rank, p_not_met, reach: how much it concerns, see ``concern``.
    reasons, budget, trace: JSON, of which everybody reads the records ``stated_reasons``, ``budget_parts``, ``traced``.
    """

    class Origin(models.TextChoices):
        DEPLOYMENT = "deployment", "Instrument at the point"
        SAMPLE = "sample", "Sample, analysed in a laboratory"

    class Evidence(models.TextChoices):
        FAILED = CHECK_FAILED, "rests on a failed check"
        ACCEPTED = CHECK_ACCEPTED, "rests on a failed check that was accepted"
        TYPE_DATA = TYPE_DATA_ONLY, "rests on data of the type alone"

    criterion = models.ForeignKey(Criterion, on_delete=models.CASCADE, related_name="results")
    origin = models.CharField(max_length=10, choices=Origin.choices, default=Origin.DEPLOYMENT)
    deployment = models.ForeignKey(Deployment, on_delete=models.CASCADE, null=True, blank=True, related_name="results")
    point = models.ForeignKey(SamplingPoint, on_delete=models.CASCADE, related_name="results")
    verdict = models.CharField(max_length=20)
    value = models.FloatField(null=True)
    u = models.FloatField("standard uncertainty", null=True)
    dof = models.FloatField("effective degrees of freedom", null=True, help_text="Empty where u is well known.")
    excess = models.FloatField(default=0, help_text="How much of the value the worst of many is expected to exceed by.")
    p_above = models.FloatField(null=True)
    rank = models.PositiveSmallIntegerField(default=3)
    p_not_met = models.FloatField(null=True)
    reach = models.FloatField(default=0)
    unit = models.CharField(max_length=10)
    reading_count = models.IntegerField(default=0)
    coverage = models.FloatField(null=True)
    window_start = models.DateTimeField(null=True)
    window_end = models.DateTimeField(null=True)
    comparability = models.CharField(max_length=20)
    evidence = models.CharField(
        max_length=20,
        choices=Evidence.choices,
        blank=True,
        help_text="What is said of the meter behind it, if anything.",
    )
    reasons: models.JSONField[Any, Any] = models.JSONField(default=list)
    budget: models.JSONField[Any, Any] = models.JSONField(default=list)
    trace: models.JSONField[Any, Any] = models.JSONField(default=without_value)
    method = models.CharField(max_length=20)
    digest = models.CharField(max_length=64)

    class Meta:
        ordering = ("criterion", "deployment")
        constraints = (
            # rows without a deployment are never equal in it, so this binds those that have one
            models.UniqueConstraint(fields=("criterion", "deployment"), name="result_once"),
            models.CheckConstraint(
                condition=Q(origin="deployment", deployment__isnull=False)
                | Q(origin="sample", deployment__isnull=True),
                name="result_names_its_origin",
                violation_error_message="A result of an instrument names its deployment; one of a sample has none.",
            ),
        )

    def __str__(self) -> str:
        return f"{self.value} {self.unit}"

    @property
    def freedom(self) -> float:
        """Effective degrees of freedom of ``u``."""
        return inf if self.dof is None else self.dof

    @property
    def expanded(self) -> float | None:
        """U, which covers 95 %, in the unit of the value; None without a value."""
        return None if self.u is None else expanded(self.u, self.freedom, self.excess)

    @property
    def taken_with(self) -> str:
        """The instrument, or what it was instead."""
        return str(self.deployment.instrument) if self.deployment else self.get_origin_display()

    @property
    def taken_over(self) -> tuple[datetime, datetime | None] | None:
        """From when to when it was taken: the deployment (an open one has no end), else the window; None if unknown."""
        if self.deployment:
            return self.deployment.starts_at, self.deployment.ends_at
        return (self.window_start, self.window_end) if self.window_start else None

    @property
    def concern(self) -> tuple[int, float, float]:
        return concern(self.rank, self.p_not_met, self.reach)

    @property
    def traced(self) -> ResultTrace:
        """What it is traced by. Raises as ``in_current_format``, and RecordError where it is no such record."""
        return self._record("trace", read_trace)

    @property
    def budget_parts(self) -> tuple[BudgetPart, ...]:
        """The budget of its uncertainty, largest share first. Raises as ``traced``."""
        return self._record("budget", BUDGET.read)

    @property
    def stated_reasons(self) -> tuple[Reason, ...]:
        """Why it is as it is, the one that governs first. Raises as ``traced``."""
        return self._record("reasons", REASONS.read)

    def in_current_format(self, part: Part) -> Any:
        """The JSON of one part in today's format. Raises UnknownFormatError where nothing here reads it."""
        return upgraded(part, getattr(self, part), self.trace)

    def _record(self, part: Part, read: Callable[[Any], T]) -> T:
        """Read once, and anew where something else is stored since."""
        stored = getattr(self, part)
        kept: tuple[Any, T] | None = self.__dict__.get(f"_{part}_read")
        if kept is None or kept[0] is not stored:
            kept = self.__dict__[f"_{part}_read"] = stored, read(self.in_current_format(part))
        return kept[1]


class Finding(Record):
    """A zone against a criterion: the governing result and the verdict, and those of its rooms. Unmeasured zones have
    none.

    rooms: JSON, of which everybody reads the record ``by_room``.
    """

    criterion = models.ForeignKey(Criterion, on_delete=models.CASCADE, related_name="findings")
    zone = models.ForeignKey(Zone, on_delete=models.CASCADE, related_name="findings")
    governing = models.ForeignKey(Result, on_delete=models.CASCADE, related_name="governs")
    verdict = models.CharField(max_length=20)
    fraction = models.FloatField("fraction of the limit", null=True)
    statement = models.TextField()
    advice = models.TextField(blank=True, help_text="What would decide it.")
    rooms: models.JSONField[Any, Any] = models.JSONField(default=without_rooms)
    method = models.CharField(max_length=20)
    digest = models.CharField(max_length=64)

    class Meta:
        ordering = ("criterion", "zone")
        constraints = (models.UniqueConstraint(fields=("criterion", "zone"), name="finding_once"),)

    def __str__(self) -> str:
        return self.statement

    @cached_property
    def by_room(self) -> ZoneRooms:
        """Raises RecordError where something else is stored."""
        return read_rooms(self.rooms)


class Evaluation(models.Model):
    """When a campaign was last judged, from which inputs, and what quality control measured in it.

    quality: JSON, which ``reports.trace.quality.read_quality`` reads.
    """

    campaign = models.OneToOneField(Campaign, on_delete=models.CASCADE, related_name="evaluation")
    at = models.DateTimeField()
    method = models.CharField(max_length=20)
    digest = models.CharField(max_length=64)
    quality: models.JSONField[Any, Any] = models.JSONField(default=without_quality)

    def __str__(self) -> str:
        return f"{self.campaign}, judged {self.at:%Y-%m-%d %H:%M}"
