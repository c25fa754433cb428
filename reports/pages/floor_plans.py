"""Floors as drawn, each zone filled by its governing result or hatched because nothing is known of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from campaigns.models import Floor
from campaigns.services.drawings import drawings_of
from methods.floorplans.drawing import FloorDrawing, dress
from reports.pages.zone_ranking import Standing, zone_cell


def floor_plans(standing: Standing) -> list[dict[str, Any]]:
    """Floors, the top one first, as ``reports/parts/plans.html`` takes them; empty when none is drawn. One query.

    {name, drawing, title, undrawn}: ``undrawn`` are zones without an outline, as cells of ``parts/zone_cell.html``.
    """
    floors = [floor for building in standing.buildings for floor in building.floors.all() if floor.zones.all()]
    drawings = drawings_of(floors)
    if not any(drawing.zones for drawing in drawings.values()):
        return []
    many = len(standing.buildings) > 1
    return [_plan(standing, floor, drawings[floor.pk], many) for floor in floors]


def _plan(standing: Standing, floor: Floor, drawing: FloorDrawing, many: bool) -> dict[str, Any]:
    looks = {str(zone.key): zone_cell(standing, zone) for zone in floor.zones.all()}
    name = f"{floor.building.name}, {floor.name}" if many else floor.name
    return {
        "name": name,
        "drawing": dress(drawing, looks) if drawing.zones else None,
        "title": f"{name}: {_said(list(looks.values()))}",
        "undrawn": [looks[key] for key, _ in drawing.undrawn],
    }


def _said(cells: Sequence[dict[str, Any]]) -> str:
    measured = sum(cell["measured"] for cell in cells)
    return f"{measured} of {len(cells)} zones measured" if measured < len(cells) else f"all {measured} zones measured"
