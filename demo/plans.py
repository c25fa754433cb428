"""Plan sheets of the invented house, drawn as an architect's office would hand them over: walls, corridor, stairs.

Pure. The sheet is an SVG in centimetres with a margin; two ends of the south wall are known, which is what a
consultant clicks at to set the scale.
"""

from __future__ import annotations

from dataclasses import dataclass

from demo.shapes import DemoFloor

MARGIN_CM, CM = 200, 100
SHEET_PX = 2400  # what the longer side of an SVG plan becomes


@dataclass(frozen=True)
class PlanSheet:
    """svg: the file. origin_px: the north-west corner of the house on it. length_m: of the south wall, whose ends are
    first_px and second_px."""

    svg: bytes
    origin_px: tuple[float, float]
    first_px: tuple[float, float]
    second_px: tuple[float, float]
    length_m: float


def sheet(floor: DemoFloor) -> PlanSheet:
    """The sheet of ``floor``, north on top."""
    corners = [corner for zone in floor.zones for room in zone.rooms for corner in room.outline]
    east, north = max(x for x, _ in corners), max(y for _, y in corners)
    width, height = east * CM + 2 * MARGIN_CM, north * CM + 2 * MARGIN_CM
    px = SHEET_PX / max(width, height)
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}">',
        f"<title>{floor.name}</title>",
        f'<g transform="translate({MARGIN_CM} {MARGIN_CM})" fill="none" stroke="#333333" stroke-width="6">',
        *(_walls(room.outline, north) for zone in floor.zones for room in zone.rooms),
        f'<rect width="{east * CM:g}" height="{north * CM:g}" stroke-width="24"/>',
        *_stairs(floor, east, north),
        "</g>",
        f'<text x="{MARGIN_CM}" y="{height - 60:g}" font-size="70" fill="#333333">{floor.name}, 1:100</text>',
        "</svg>",
    ]
    origin = (MARGIN_CM * px, MARGIN_CM * px)
    south = (MARGIN_CM + north * CM) * px
    second = ((MARGIN_CM + east * CM) * px, south)
    return PlanSheet("\n".join(lines).encode(), origin, (origin[0], south), second, east)


def _walls(outline: tuple[tuple[float, float], ...], north: float) -> str:
    points = " ".join(f"{x * CM:g},{(north - y) * CM:g}" for x, y in outline)
    return f'<polygon points="{points}"/>'


def _stairs(floor: DemoFloor, east: float, north: float) -> list[str]:
    """Steps in what the south row leaves free at its east end."""
    south = [room for zone in floor.zones for room in zone.rooms if room.y_m == 0]
    start = max((room.x_m + room.width_m for room in south), default=east) + 1
    top, bottom = (north - 5) * CM, (north - 1) * CM
    return [f'<path d="M{x * CM:g} {top:g}V{bottom:g}"/>' for x in (start + n * 0.3 for n in range(14)) if x < east - 1]
