"""Zones, rooms and points of one floor, changed by what the drawing page sent."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.core.exceptions import ValidationError

from campaigns.models import Floor, Room, SamplingPoint, Zone
from campaigns.services.floor_plans import cells
from campaigns.services.floor_plans.state import points_on
from campaigns.services.records import current
from campaigns.services.removal import Blocked, remove, weigh
from methods.floorplans import OutlineError, area_m2, corners

Sent = Mapping[str, Any]
GONE = "This is no longer on the floor: somebody else has deleted or moved it."
#: What is kept of a coordinate: a tenth of a millimetre.
DIGITS = 4


class Desk:
    """The rows of one floor by their keys. Every method raises ValidationError and leaves the row unsaved.

    given: the key each new row got, by the id it was sent with.
    """

    def __init__(self, floor: Floor) -> None:
        self.floor = floor
        self.zones = {str(zone.key): zone for zone in Zone.objects.filter(floor=floor)}
        self.rooms = {str(r.key): r for r in Room.objects.filter(zone__floor=floor).select_related("zone")}
        self.points = {str(point.key): point for point in points_on(floor).select_related("room")}
        self.given: dict[str, str] = {}

    def zone(self, sent: Sent) -> None:
        zone = self._row(self.zones, sent, Zone(floor=self.floor))
        if "name" in sent:
            zone.name = cells.text(sent, "name")
        if "outline" in sent:
            zone.outline = outline_of(sent)
        self._keep(self.zones, sent, zone)

    def room(self, sent: Sent) -> None:
        room = self._row(self.rooms, sent, Room())
        if "zone" in sent:
            room.zone = self._found(self.zones, sent["zone"], "zone", "Choose a zone of this floor.")
        elif room.zone_id is None:
            raise ValidationError({"zone": "Choose a zone of this floor."})
        if "name" in sent:
            room.name = cells.text(sent, "name")
        if "height_m" in sent:
            room.height_m = cells.number(sent, "height_m")
        if "area_m2" in sent:
            room.area_m2 = cells.number(sent, "area_m2")
        if "outline" in sent:
            follow(room, outline_of(sent))
        self._keep(self.rooms, sent, room)

    def point(self, sent: Sent) -> None:
        point = self._row(self.points, sent, SamplingPoint(site=self.floor.building.site))
        new = point.pk is None
        for name in ("name", "kind", "place"):
            if name in sent and (new or name != "kind"):
                setattr(point, name, cells.text(sent, name))
        if new and sent.get("room") is not None:
            point.room = self._found(self.rooms, sent["room"], "room", "Choose a room of this floor.")
        if not new and "kind" in sent:
            self._change_kind(point, cells.text(sent, "kind"))
        if "height_m" in sent:
            point.height_m = cells.needed(sent, "height_m")
        if "x_m" in sent or "y_m" in sent:
            self._put(point, sent)
        self._keep(self.points, sent, point)

    def remove_point(self, key: str) -> None:
        self._remove(self.points, key)

    def remove_room(self, key: str) -> None:
        if key in self.rooms:
            self._remove(self.rooms, key)

    def remove_room_if_free(self, key: str) -> None:
        if key in self.rooms and not weigh(self.rooms[key]).blocked:
            self._remove(self.rooms, key)

    def _change_kind(self, point: SamplingPoint, kind: str) -> None:
        if (kind == SamplingPoint.Kind.OUTDOOR) != (point.room_id is None):
            raise ValidationError({"kind": "A point in a room stays in a room, and an outdoor point outdoors."})
        point.kind = kind

    def _put(self, point: SamplingPoint, sent: Sent) -> None:
        if sent.get("x_m") is None and sent.get("y_m") is None:
            point.x_m = point.y_m = point.beside = None
            return
        point.x_m = round(cells.needed(sent, "x_m"), DIGITS)
        point.y_m = round(cells.needed(sent, "y_m"), DIGITS)
        point.beside = self.floor if point.room_id is None else None

    def _row(self, held: Mapping[str, Any], sent: Sent, fresh: Any) -> Any:
        """A new row, or one as it stands now, held: what is not sent of it stays as others have set it meanwhile."""
        return fresh if sent.get("new") is True else current(self._found(held, sent["id"], "", GONE))

    def _found(self, held: Mapping[str, Any], named: Any, field: str, message: str) -> Any:
        key = self.given.get(named, named) if isinstance(named, str) else ""
        if key not in held:
            raise ValidationError({field: message} if field else message)
        return held[key]

    def _keep(self, held: dict[str, Any], sent: Sent, row: Any) -> None:
        new = row.pk is None
        row.full_clean()
        row.save(force_insert=new, force_update=not new)
        held[str(row.key)] = row
        if new:
            self.given[sent["id"]] = str(row.key)

    def _remove(self, held: dict[str, Any], key: str) -> None:
        row = held.get(key)
        if row is None:
            return  # somebody else was faster, and the wish is fulfilled
        try:
            remove(row)
        except Blocked as blocked:
            raise ValidationError([f"{row} stays. {sentence}" for sentence in blocked.removal.blocked]) from blocked
        del held[key]


def outline_of(sent: Sent) -> list[list[float]] | None:
    """The outline as it is stored; None takes the drawing away."""
    outline = sent["outline"]
    if outline is None:
        return None
    try:
        return [[round(x, DIGITS), round(y, DIGITS)] for x, y in corners(outline)]
    except OutlineError as error:
        raise ValidationError({"outline": str(error)}) from error


def follow(room: Room, outline: list[list[float]] | None) -> None:
    """Give the room this outline. An area that came from the former outline follows it; one somebody typed stays.

    Whoever typed another area than is drawn sees both on the drawing page and can take the drawn one.
    """
    followed = room.area_m2 is None or (room.outline and abs(room.area_m2 - area_m2(room.outline)) < 0.01)
    room.outline = outline
    if followed and outline:
        try:
            room.area_m2 = round(area_m2(outline), 2)
        except OutlineError as error:
            raise ValidationError({"outline": str(error)}) from error
