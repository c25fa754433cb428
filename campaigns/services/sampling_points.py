"""Making sampling points: one in a room is on the room's site, one without a room is outdoors.

Changing one is ``records.save_changed``: a point in a room stays in a room, as the model says.
"""

from __future__ import annotations

from campaigns.models import Room, SamplingPoint, Site
from campaigns.services.records import save_new

HEIGHT_M: float = SamplingPoint._meta.get_field("height_m").default


def make_in_room(
    room: Room,
    *,
    name: str,
    kind: str = SamplingPoint.Kind.ROOM_AIR,
    height_m: float = HEIGHT_M,
    place: str = "",
) -> SamplingPoint:
    """A point in ``room``, ``height_m`` metres above its floor. Raises ValidationError."""
    return save_new(SamplingPoint(room=room, name=name, kind=kind, height_m=height_m, place=place))


def make_outdoors(site: Site, *, name: str, height_m: float = HEIGHT_M, place: str = "") -> SamplingPoint:
    """A point outdoors, ``height_m`` metres above the ground. Raises ValidationError."""
    kind = SamplingPoint.Kind.OUTDOOR
    return save_new(SamplingPoint(site=site, name=name, kind=kind, height_m=height_m, place=place))
