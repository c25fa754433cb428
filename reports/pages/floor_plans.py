"""Floors as drawn, each zone filled by its governing result or hatched because nothing is known of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from campaigns.models import Floor
from campaigns.services.drawings import drawings_of
from methods.floorplans.drawing import FloorDrawing, dress
from reports.pages import rooms
from reports.pages.zone_ranking import Standing, zone_cell


def floor_plans(standing: Standing) -> list[dict[str, Any]]:
    """Floors, the top one first, as ``reports/parts/plans.html`` takes them; empty when none is drawn. One query.

    {name, drawing, title, undrawn, by_room}: ``undrawn`` are zones without an outline, as cells of
    ``parts/zone_cell.html``; ``by_room`` those that are painted by their rooms.
    """
    floors = [floor for building in standing.buildings for floor in building.floors.all() if floor.zones.all()]
    drawings = drawings_of(floors)
    if not any(drawing.zones for drawing in drawings.values()):
        return []
    many = len(standing.buildings) > 1
    return [_plan(standing, floor, drawings[floor.pk], many) for floor in floors]


def _plan(standing: Standing, floor: Floor, drawing: FloorDrawing, many: bool) -> dict[str, Any]:
    zones = list(floor.zones.all())
    looks = {str(zone.key): zone_cell(standing, zone) for zone in zones}
    by_room = {
        str(zone.key): rooms.looks(finding, f"{standing.page_of(zone)}#rooms")
        for zone in zones
        if (finding := standing.findings.get(zone.pk)) is not None
    }
    dressed = dress(drawing, looks, by_room) if drawing.zones else None
    name = f"{floor.building.name}, {floor.name}" if many else floor.name
    return {
        "name": name,
        "drawing": dressed,
        "title": f"{name}: {_said(list(looks.values()))}",
        "undrawn": [looks[key] for key, _ in drawing.undrawn],
        "by_room": [looks[zone.key] for zone in dressed.zones if zone.by_room] if dressed else [],
    }


def _said(cells: Sequence[dict[str, Any]]) -> str:
    measured = sum(cell["measured"] for cell in cells)
    return f"{measured} of {len(cells)} zones measured" if measured < len(cells) else f"all {measured} zones measured"
