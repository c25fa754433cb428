"""How files of one shape are read, kept for the next one; and when a person looks before anything is stored."""

from __future__ import annotations

from typing import Any, ClassVar

from django.db import models
from django.db.models import Q

from campaigns.models import Organisation, Record, User
from campaigns.models.instruments import STAMP_CONVENTION_CHOICES


class SavedLayout(Record):
    """What a person settled about one shape of file.

    ``seen`` is the layout as it was sniffed, ``content`` as it was settled (both ``Layout.to_json()``): what differs
    between them is the person's doing, and only that is carried over to the next file, whose own facts stay its own.
    ``shape_key`` is that of ``seen``: it is what the next file will show. ``represents`` is no matter of reading, so it
    also holds for files that were read before it was said.
    """

    list_route: ClassVar[str | None] = "layouts"

    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="layouts")
    name = models.CharField(max_length=100)
    shape_key = models.CharField(max_length=64, editable=False)
    content: models.JSONField[Any, Any] = models.JSONField(editable=False)
    seen: models.JSONField[Any, Any] = models.JSONField(editable=False)
    reads = models.TextField(editable=False, help_text="What it makes of a file, in words.")
    represents = models.CharField(
        "a stored value is",
        max_length=10,
        blank=True,
        choices=STAMP_CONVENTION_CHOICES,
        help_text="What the files themselves store, where it is not what the instrument type says. It holds for every "
        "file read with this layout, also for those that are read already.",
    )
    made_by = models.ForeignKey(User, on_delete=models.SET_NULL, null=True, editable=False, related_name="layouts")

    class Meta:
        verbose_name = "layout"
        ordering = ("name", "id")
        constraints = (
            models.UniqueConstraint(
                fields=("organisation", "shape_key"),
                name="layout_shape_once",
                violation_error_message="There is already a layout for files of this shape.",
            ),
            models.CheckConstraint(
                condition=Q(represents__in=["", *(value for value, _ in STAMP_CONVENTION_CHOICES)]),
                name="layout_represents_known",
                violation_error_message="A stored value is momentary, or a mean stamped at its end, start or middle.",
            ),
        )

    def __str__(self) -> str:
        return self.name


class LookFirst(Record):
    """When a file of a shape that has no saved layout waits until a person has looked at how it was understood.

    A file about which something has to be asked always waits; an organisation without this row has DOUBTFUL.
    """

    class When(models.TextChoices):
        NEVER = "never", "never, unless something has to be asked"
        DOUBTFUL = "doubtful", "when much of the file was not understood"
        NEW = "new", "at the first file of every shape"

    organisation = models.OneToOneField(Organisation, on_delete=models.CASCADE, related_name="look_first")
    when = models.CharField("people look first", max_length=10, choices=When.choices, default=When.DOUBTFUL)

    class Meta:
        verbose_name = "look-first rule"

    def __str__(self) -> str:
        return self.get_when_display()

    @classmethod
    def rule_of(cls, organisation_id: int) -> str:
        rule = cls.objects.filter(organisation=organisation_id).values_list("when", flat=True).first()
        return str(rule or cls.When.DOUBTFUL)
