"""What was done on the timeline, step by step, so that each step can be taken back."""

from __future__ import annotations

from typing import Any

from django.db import models
from django.db.models import F, Q

from campaigns.models import Campaign, Instrument, Record, User


class TimelineStep(Record):
    """One thing a person did to the deployments of one instrument in a campaign.

    changes: one entry per deployment touched, ``{"id", "before", "after"}``, each a snapshot of its fields; None where
    it was not there. Taking the step back restores every "before", and is refused where "after" is no longer what
    stands there.
    """

    class Kind(models.TextChoices):
        MOVE = "move", "moved an edge"
        SPLIT = "split", "split"
        MERGE = "merge", "merged"
        CREATE = "create", "created"
        REMOVE = "remove", "removed"
        ACCEPT = "accept", "accepted proposals"

    campaign = models.ForeignKey(Campaign, on_delete=models.CASCADE, related_name="timeline_steps")
    instrument = models.ForeignKey(Instrument, on_delete=models.CASCADE, related_name="timeline_steps")
    by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, related_name="timeline_steps")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    said = models.TextField("what was done")
    changes: models.JSONField[Any, Any] = models.JSONField(editable=False)
    undone_at = models.DateTimeField("taken back", null=True, blank=True)
    undone_by = models.ForeignKey(
        User, on_delete=models.SET_NULL, null=True, blank=True, related_name="timeline_steps_undone"
    )

    class Meta:
        ordering = ("-pk",)
        constraints = (
            models.CheckConstraint(
                condition=Q(kind__in=["move", "split", "merge", "create", "remove", "accept"]),
                name="timeline_step_kind_known",
                violation_error_message="There is no such step.",
            ),
            models.CheckConstraint(
                condition=Q(undone_at__isnull=True) | Q(undone_at__gte=F("created_at")),
                name="timeline_step_undone_after_done",
                violation_error_message="A step is taken back after it was done.",
            ),
            models.CheckConstraint(
                condition=Q(undone_at__isnull=False) | Q(undone_by__isnull=True),
                name="timeline_step_undone_by_with_time",
                violation_error_message="Who took a step back is kept with the time.",
            ),
        )
        indexes = (models.Index(fields=("campaign", "instrument"), name="timeline_steps_of"),)

    def __str__(self) -> str:
        return self.said
