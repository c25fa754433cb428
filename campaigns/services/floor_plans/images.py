"""Putting an image under a floor's drawing, and taking it away."""

from __future__ import annotations

import hashlib

from django.core.files.base import ContentFile, File
from django.db import transaction

from campaigns.models import Floor, FloorPlan
from campaigns.models.drawings import SCALE
from methods.floorplans.images import MOST_BYTES, ImageRefused, PlanImage, understand

TOO_LARGE = f"The file is larger than {MOST_BYTES // 1024 // 1024} MB. Save the plan smaller."


def put_image(floor: Floor, file: File[bytes]) -> tuple[FloorPlan, PlanImage]:
    """Make ``file`` the floor's plan image; outlines stay where they are. Raises ImageRefused.

    The scale stays only if the new image is as large as the old one to the pixel: a corrected sheet of the same plan.
    """
    if file.size > MOST_BYTES:
        raise ImageRefused(TOO_LARGE)
    understood = understand(file.read())  # outside the transaction: it may take seconds
    with transaction.atomic():
        plan = locked(floor)
        before = plan.image.name
        if (plan.width_px, plan.height_px) != (understood.width_px, understood.height_px):
            _forget_scale(plan)
        plan.image_kind, plan.image_name = understood.kind, (file.name or "")[-255:]
        plan.width_px, plan.height_px = understood.width_px, understood.height_px
        plan.sha256 = hashlib.sha256(understood.content).hexdigest()
        plan.image.save("plan", ContentFile(understood.content), save=False)
        raise_version(plan)
        if before and before != plan.image.name:
            _delete_later(plan, before)
    return plan, understood


def drop_image(floor: Floor) -> None:
    """Take the plan image and its scale away; outlines and points stay."""
    with transaction.atomic():
        plan = locked(floor)
        before = plan.image.name
        plan.image, plan.image_kind, plan.image_name, plan.sha256 = "", "", "", ""
        plan.width_px = plan.height_px = None
        _forget_scale(plan)
        raise_version(plan)
        if before:
            _delete_later(plan, before)


def locked(floor: Floor) -> FloorPlan:
    """The floor's plan, made when there is none, held until the transaction ends."""
    FloorPlan.objects.get_or_create(floor=floor, defaults={"version": 0})
    return FloorPlan.objects.select_for_update().get(floor=floor)


def raise_version(plan: FloorPlan) -> None:
    plan.version += 1
    plan.full_clean()
    plan.save()


def _forget_scale(plan: FloorPlan) -> None:
    for name in SCALE:
        setattr(plan, name, None)
    plan.origin_x_px = plan.origin_y_px = 0


def _delete_later(plan: FloorPlan, name: str) -> None:
    storage = plan.image.storage
    transaction.on_commit(lambda: storage.delete(name))
