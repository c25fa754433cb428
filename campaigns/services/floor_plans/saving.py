"""Saving what was drawn: all of it or nothing, and never over what somebody else has saved meanwhile."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from campaigns.models import Floor, FloorPlan
from campaigns.models.drawings import SCALE
from campaigns.services.floor_plans import cells
from campaigns.services.floor_plans.images import locked, raise_version
from campaigns.services.floor_plans.rows import Desk

Json = dict[str, Any]
MOST_ROWS = 1000


class Outdated(Exception):
    """Somebody else has saved since this was opened. ``plan`` is as it is now."""

    def __init__(self, plan: FloorPlan) -> None:
        super().__init__("Somebody else has saved this plan since you opened it.")
        self.plan = plan


@dataclass
class DrawingRefused(Exception):
    """Nothing was saved. problems: {id, field, message} of what is wrong; id "" for the plan as a whole."""

    problems: list[Json] = field(default_factory=list)


def save(floor: Floor, sent: Mapping[str, Any]) -> dict[str, str]:
    """Apply what was sent, in one transaction. Returns the keys that new rows got, by the id they were sent with.

    sent: version (as read) and any of: scale {x1, y1, x2, y2 in pixels, length_m} or None; origin {x_px, y_px};
    zones, rooms, points: lists of {id, new?, and the fields that changed}; removed: {rooms, points: lists of ids}.
    Raises Outdated when the version is not the one held, Refused with everything that is wrong.
    """
    try:
        with transaction.atomic():
            plan = locked(floor)
            if sent.get("version") != plan.version:
                raise Outdated(plan)
            desk = Desk(floor)
            problems = [*_plan_problems(plan, sent), *_rows(desk, sent)]
            if problems:
                raise DrawingRefused(problems)
            raise_version(plan)
    except IntegrityError as error:
        message = "Somebody else has changed rooms or points of this floor just now. Save once more."
        raise DrawingRefused([{"id": "", "field": "", "message": message}]) from error
    return desk.given


def _rows(desk: Desk, sent: Mapping[str, Any]) -> list[Json]:
    try:
        lists = {name: cells.rows(sent, name) for name in ("zones", "rooms", "points")}
    except ValidationError as error:
        return told("", error)
    removed = sent.get("removed")
    gone = removed if isinstance(removed, dict) else {}
    if sum(map(len, lists.values())) > MOST_ROWS:
        return [{"id": "", "field": "", "message": f"At most {MOST_ROWS} changes can be saved at once."}]
    # Free names first, so that a room may be drawn again under the name of one that goes.
    steps: list[tuple[Callable[[Any], None], Any]] = [
        *((desk.remove_point, key) for key in _ids(gone, "points")),
        *((desk.remove_room_if_free, key) for key in _ids(gone, "rooms")),
        *((desk.zone, row) for row in lists["zones"]),
        *((desk.room, row) for row in lists["rooms"]),
        *((desk.point, row) for row in lists["points"]),
        *((desk.remove_room, key) for key in _ids(gone, "rooms")),
    ]
    problems: list[Json] = []
    for step, subject in steps:
        try:
            step(subject)
        except ValidationError as error:
            problems += told(subject if isinstance(subject, str) else subject["id"], error)
    return problems


def _plan_problems(plan: FloorPlan, sent: Mapping[str, Any]) -> list[Json]:
    try:
        if "scale" in sent:
            _put_scale(plan, sent["scale"])
        if isinstance(sent.get("origin"), dict):
            plan.origin_x_px = cells.needed(sent["origin"], "x_px")
            plan.origin_y_px = cells.needed(sent["origin"], "y_px")
        plan.full_clean()
    except ValidationError as error:
        return told("", error)
    return []


def _put_scale(plan: FloorPlan, scale: Any) -> None:
    if scale is None:
        values: list[float | None] = [None] * len(SCALE)
    elif not isinstance(scale, dict):
        raise ValidationError({"scale": "A scale is two places and a length."})
    elif not plan.image:
        raise ValidationError({"scale": "There is no plan image to scale."})
    else:
        values = [cells.needed(scale, name) for name in ("x1", "y1", "x2", "y2", "length_m")]
    for name, value in zip(SCALE, values, strict=True):
        setattr(plan, name, value)


def _ids(removed: Mapping[str, Any], name: str) -> list[str]:
    keys_sent = removed.get(name, [])
    return [key for key in keys_sent if isinstance(key, str)] if isinstance(keys_sent, list) else []


def told(row_id: str, error: ValidationError) -> list[Json]:
    """Each message of ``error`` with the row and the field it is about."""
    by_field = error.message_dict if hasattr(error, "error_dict") else {"": error.messages}
    return [
        {"id": row_id, "field": "" if name == "__all__" else name, "message": message}
        for name, messages in by_field.items()
        for message in messages
    ]
