"""How the bench house is drawn: rooms in rows along corridors, a plan image under the ground floor."""

from __future__ import annotations

from django.core.files.base import ContentFile

from campaigns.models import Floor, Room, SamplingPoint, Zone
from campaigns.services.floor_plans.images import put_image

A_ROW = 10
WIDTH, DEPTH, CORRIDOR = 5.0, 4.0, 1.8  # metres
PX_A_METRE = 20
Corners = list[list[float]]


def outline(n: int) -> Corners:
    """Of the ``n``th room of a floor: two rows of rooms, a corridor, two rows; each third room has a niche."""
    row, column = divmod(n, A_ROW)
    x, y = column * WIDTH, row * DEPTH + (row + 1) // 2 * CORRIDOR
    right, low = x + WIDTH, y + DEPTH
    if n % 3:
        return [[x, y], [right, y], [right, low], [x, low]]
    return [[x, y], [right, y], [right, low], [x + 1.2, low], [x + 1.2, low - 0.8], [x, low - 0.8]]


def draw(floor: Floor, rooms: list[Room]) -> None:
    """Every room, every fifth zone by an outline of its own, every fourth point placed."""
    for n, room in enumerate(rooms):
        room.outline = outline(n)
        (x, y), (right, low) = room.outline[0], room.outline[2]
        if n % 10 == 0:
            Zone.objects.filter(pk=room.zone_id).update(outline=[[x, y], [right, y], [right, low], [x, low]])
        if n % 4 == 0:
            SamplingPoint.objects.filter(room=room).update(x_m=(x + right) / 2, y_m=(y + low) / 2)
    Room.objects.bulk_update(rooms, ["outline"])
    if floor.level == 0:
        _image(floor)


def _image(floor: Floor) -> None:
    width, height = 60 * PX_A_METRE, 40 * PX_A_METRE
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}">'
        f'<rect width="{width}" height="{height}" fill="none" stroke="black"/></svg>'
    )
    plan, _ = put_image(floor, ContentFile(svg.encode(), name="ground floor.svg"))
    plan.scale_x1_px = plan.scale_y1_px = plan.scale_y2_px = 0
    plan.scale_x2_px, plan.scale_length_m = 10 * PX_A_METRE, 10
    plan.save()
