"""Several rooms from lines of text, as people copy them from a list of rooms."""

from __future__ import annotations

import math

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from campaigns.models import Room, SamplingPoint, Zone
from campaigns.services.records import all_or_nothing

MOST = 200


def read_rooms(zone: Zone, text: str) -> tuple[list[Room], list[str]]:
    """Rooms of ``zone`` from lines ``name; area in m²; height in m``, not yet saved, and what is wrong, by line."""
    rooms: list[Room] = []
    problems: list[str] = []
    seen: dict[str, int] = {}
    lines = [(number, line) for number, line in enumerate(text.splitlines(), start=1) if line.strip()]
    if len(lines) > MOST:
        return [], [f"These are {len(lines)} rooms; at most {MOST} can be added at once."]
    for number, line in lines:
        try:
            room = _room(zone, line)
            if room.name in seen:
                raise ValidationError(f"“{room.name}” is already on line {seen[room.name]}.")
            room.full_clean()
        except ValidationError as error:
            problems += [f"Line {number}: {message}" for message in error.messages]
        else:
            seen[room.name] = number
            rooms.append(room)
    return rooms, problems


def add_rooms(rooms: list[Room], *, with_points: bool) -> None:
    """Save rooms that were read and found in order, one by one, so that each has its history: all of them or none.

    Raises ValidationError where somebody else was faster.
    """
    with all_or_nothing(Room):
        for room in rooms:
            try:
                with transaction.atomic():
                    room.save()
            except IntegrityError as error:
                raise ValidationError(f"Somebody else has just added a room “{room.name}”.") from error
            if with_points:
                SamplingPoint.objects.create(room=room, name="P1")


def _room(zone: Zone, line: str) -> Room:
    cells = [cell.strip() for cell in line.split(";")]
    if len(cells) > 3:
        raise ValidationError("there are more than three parts; write name; area; height.")
    name, area, height = (*cells, "", "")[:3]
    return Room(zone=zone, name=name, area_m2=_number(area, "area"), height_m=_number(height, "height"))


def _number(text: str, what: str) -> float | None:
    if not text:
        return None
    try:
        number = float(text.replace(",", "."))
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        raise ValidationError(f"the {what} “{text}” is not a number.")
    return number
