"""The plan of a floor: the image lying under the drawing, its scale, and the number of the last change."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import F, Q

from campaigns.models.base import Record
from campaigns.models.places import Floor
from methods.floorplans import OutlineError, metres_per_pixel

SCALE = ("scale_x1_px", "scale_y1_px", "scale_x2_px", "scale_y2_px", "scale_length_m")


def image_path(plan: FloorPlan, filename: str) -> str:
    """Where a plan image is kept. The sender's file name plays no part: it may hold slashes or worse."""
    return f"plans/{plan.sha256[:2]}/{plan.sha256}-{plan.key.hex[:12]}"


class FloorPlan(Record):
    """What belongs to the floor's drawing as a whole; the outlines are with the rooms, zones and points.

    Both clicks of the scale and the length between them are kept, so that the scale can be retraced. ``version`` is
    raised by every change made on the plan, to tell one who saves that somebody else has saved before.
    """

    class Kind(models.TextChoices):
        PNG = "png", "PNG"
        JPEG = "jpeg", "JPEG"
        SVG = "svg", "SVG"

    floor = models.OneToOneField(Floor, on_delete=models.CASCADE, related_name="plan")
    image = models.FileField(upload_to=image_path, max_length=200, blank=True, editable=False)
    image_kind = models.CharField(max_length=4, choices=Kind.choices, blank=True, editable=False)
    image_name = models.CharField(max_length=255, blank=True, editable=False, help_text="As the file was called.")
    sha256 = models.CharField("SHA-256", max_length=64, blank=True, editable=False)
    width_px = models.PositiveIntegerField(null=True, blank=True, editable=False)
    height_px = models.PositiveIntegerField(null=True, blank=True, editable=False)
    scale_x1_px = models.FloatField(null=True, blank=True)
    scale_y1_px = models.FloatField(null=True, blank=True)
    scale_x2_px = models.FloatField(null=True, blank=True)
    scale_y2_px = models.FloatField(null=True, blank=True)
    scale_length_m = models.FloatField(null=True, blank=True)
    origin_x_px = models.FloatField(default=0, help_text="Where on the image the floor's 0, 0 lies.")
    origin_y_px = models.FloatField(default=0)
    version = models.PositiveIntegerField(default=1, editable=False)
    updated_at = models.DateTimeField(auto_now=True, editable=False)

    class Meta:
        constraints = (
            models.CheckConstraint(
                condition=Q(image="", width_px__isnull=True, height_px__isnull=True)
                | (~Q(image="") & Q(width_px__gt=0, height_px__gt=0)),
                name="floor_plan_image_has_size",
                violation_error_message="A plan image has a width and a height.",
            ),
            models.CheckConstraint(
                condition=Q(**{f"{name}__isnull": True for name in SCALE})
                | (
                    Q(**{f"{name}__isnull": False for name in SCALE})
                    & Q(scale_length_m__gt=0)
                    & (~Q(scale_x1_px=F("scale_x2_px")) | ~Q(scale_y1_px=F("scale_y2_px")))
                ),
                name="floor_plan_scale_whole",
                violation_error_message="A scale is two different places on the image and the length between them.",
            ),
        )

    def __str__(self) -> str:
        return f"Plan of {self.floor}"

    def clean(self) -> None:
        if self.scale_length_m is not None:
            try:
                _ = self.metres_per_px
            except OutlineError as error:
                raise ValidationError({"scale_length_m": str(error)}) from error

    @property
    def metres_per_px(self) -> float | None:
        """Metres one pixel of the image stands for; None until two places and a length are given."""
        x1, y1, x2, y2 = self.scale_x1_px, self.scale_y1_px, self.scale_x2_px, self.scale_y2_px
        if x1 is None or y1 is None or x2 is None or y2 is None or self.scale_length_m is None:
            return None
        return metres_per_pixel((x1, y1), (x2, y2), self.scale_length_m)
