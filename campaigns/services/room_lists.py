"""A list of rooms onto a floor: what would happen, and doing it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import QuerySet

from campaigns.models import Floor, Room, Zone
from campaigns.services.floor_plans.images import locked, raise_version
from campaigns.services.floor_plans.state import MOST_TOLD
from methods.floorplans import Outline, area_m2, corners, lay_out, overlaps
from methods.floorplans.room_lists import ListedRoom, RoomList, RoomListProblem

BELOW_M = 1.0  # between what is drawn and rooms laid out in rows


@dataclass
class RoomListEntry:
    """What becomes of one line. what: "new", "filled" (empty fields of a room that is there), "same"."""

    listed: ListedRoom
    room: Room
    what: str
    outline: list[list[float]] | None = None


@dataclass
class Preview:
    entries: list[RoomListEntry] = field(default_factory=list)
    zones: list[Zone] = field(default_factory=list)  # not saved yet
    problems: list[RoomListProblem] = field(default_factory=list)
    notes: list[RoomListProblem] = field(default_factory=list)

    @property
    def counts(self) -> dict[str, int]:
        return {what: sum(entry.what == what for entry in self.entries) for what in ("new", "filled", "same")}


def preview(floor: Floor, room_list: RoomList, zone: Zone | None) -> Preview:
    """What ``room_list`` would do to the floor. ``zone``: for rooms that name none. Nothing is saved.

    A room that is there already keeps what it has; only what is empty is filled in. Rooms with a width and a length
    and no place are laid out in rows below what is drawn.
    """
    return _become(floor, room_list, zone, _rooms_of(floor))


def _rooms_of(floor: Floor) -> QuerySet[Room]:
    return Room.objects.filter(zone__floor=floor).select_related("zone")


def _become(floor: Floor, room_list: RoomList, zone: Zone | None, held: QuerySet[Room]) -> Preview:
    shown = Preview(problems=list(room_list.problems), notes=list(room_list.notes))
    zones = {z.name.casefold(): z for z in Zone.objects.filter(floor=floor)}
    rooms = {(room.zone.name.casefold(), room.name.casefold()): room for room in held}
    for listed in room_list.rooms:
        its_zone = _zone(floor, listed, zones, zone, shown)
        if its_zone is not None:
            known = rooms.get((its_zone.name.casefold(), listed.name.casefold()))
            shown.entries.append(_entry(listed, known, its_zone))
    _lay_out(shown.entries, [room.outline for room in held if room.outline])
    _note_overlaps(shown, held)
    for entry in shown.entries:
        _check(entry, shown)
    return shown


def apply(floor: Floor, room_list: RoomList, zone: Zone | None) -> Preview:
    """Do what ``preview`` shows, all of it or, with ``problems``, nothing."""
    with transaction.atomic():
        plan = locked(floor)
        # Held, so that what others change of them meanwhile is not undone, and a room they delete does not come back.
        shown = _become(floor, room_list, zone, _rooms_of(floor).select_for_update(of=("self",), no_key=True))
        if shown.problems:
            return shown
        try:
            with transaction.atomic():
                for fresh in shown.zones:
                    fresh.save()
                for entry in shown.entries:
                    if entry.what != "same":
                        entry.room.zone = entry.room.zone  # its id is known by now
                        entry.room.save(force_insert=entry.what == "new", force_update=entry.what == "filled")
        except IntegrityError:
            shown.problems.append(
                RoomListProblem(0, "", "Somebody else has just added one of these rooms. Look once more.")
            )
            return shown
        raise_version(plan)
    return shown


def _zone(
    floor: Floor, listed: ListedRoom, zones: dict[str, Zone], default: Zone | None, shown: Preview
) -> Zone | None:
    if not listed.zone:
        if default is None:
            shown.problems.append(
                RoomListProblem(listed.line, "zone", "No zone is named: choose one for such rooms above.")
            )
        return default
    zone = zones.get(listed.zone.casefold())
    if zone is None:
        zone = zones[listed.zone.casefold()] = Zone(floor=floor, name=listed.zone)
        shown.zones.append(zone)
    return zone


def _entry(listed: ListedRoom, known: Room | None, zone: Zone) -> RoomListEntry:
    room = known or Room(zone=zone, name=listed.name)
    product = listed.width_m * listed.length_m if listed.width_m and listed.length_m else None
    area = listed.area_m2 or (area_m2(listed.outline) if listed.outline else product)
    filled = False
    for name, value in (("area_m2", round(area, 2) if area else None), ("height_m", listed.height_m)):
        if getattr(room, name) is None and value is not None:
            setattr(room, name, value)
            filled = True
    outline = [list(corner) for corner in listed.outline] if listed.outline and not room.outline else None
    if outline:
        room.outline, filled = outline, True
    sized = not room.outline and product is not None
    what = "new" if known is None else "filled" if filled or sized else "same"
    return RoomListEntry(listed, room, what, outline)


def _lay_out(entries: Iterable[RoomListEntry], drawn: list[Outline]) -> None:
    waiting = [e for e in entries if not e.room.outline and e.listed.width_m and e.listed.length_m]
    placed = [*drawn, *(entry.outline for entry in entries if entry.outline)]
    lowest = max((y for outline in placed for _, y in corners(outline)), default=-BELOW_M)
    left = min((x for outline in placed for x, _ in corners(outline)), default=0.0)
    sizes = [(e.listed.width_m or 0.0, e.listed.length_m or 0.0) for e in waiting]
    for entry, outline in zip(waiting, lay_out(sizes, (left, lowest + BELOW_M)), strict=True):
        entry.room.outline = entry.outline = [[round(x, 4), round(y, 4)] for x, y in outline]


def _note_overlaps(shown: Preview, held: Iterable[Room]) -> None:
    outlines = {room.name: room.outline for room in held if room.outline}
    outlines |= {entry.room.name: entry.outline for entry in shown.entries if entry.outline}
    lines = {entry.room.name: entry.listed.line for entry in shown.entries}
    found = overlaps(outlines)
    for first, second, area in found[:MOST_TOLD]:
        at = lines.get(second) or lines.get(first) or 0
        shown.notes.append(RoomListProblem(at, "outline", f"{first} and {second} overlap by {area:.1f} m²."))
    if (more := len(found) - MOST_TOLD) > 0:
        words = f"At least {more:,} more pairs of rooms overlap: are they listed twice?"
        shown.notes.append(RoomListProblem(0, "outline", words))


def _check(entry: RoomListEntry, shown: Preview) -> None:
    try:
        if entry.room.zone.pk is None:
            entry.room.zone.full_clean()
        entry.room.full_clean(exclude=["zone"] if entry.room.zone.pk is None else None)
    except ValidationError as error:
        shown.problems += [RoomListProblem(entry.listed.line, "", message) for message in error.messages]
