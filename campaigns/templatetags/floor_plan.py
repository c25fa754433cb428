"""A drawn floor as SVG: hundreds of shapes and words, written without a template for each.

``templates/parts/floor_plan.html`` says what it takes. Numbers are metres on the floor, to the millimetre, with a point
as the decimal sign whatever the language of the page.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape  # Django's, without its way through lazy words

from django import template
from django.utils.safestring import SafeString

from campaigns.templatetags.cells import fraction_class, rounded, verdict_text
from campaigns.templatetags.painted_rooms import STIFF, ground_of_room, words_of_room
from methods.floorplans.drawing import FloorDrawing, ImageIn, Label, PointIn, RoomShape, ZoneShape
from methods.quantities.digits import as_entered

register = template.Library()


@register.simple_tag
def floor_plan(drawing: FloorDrawing, title: str = "", points: bool = False, rooms: bool = False) -> SafeString:
    return SafeString("".join(_lines(drawing, escape(title or drawing.name), points=points, rooms=rooms)))


def _lines(drawing: FloorDrawing, title: str, *, points: bool, rooms: bool) -> Iterator[str]:
    hatch = f"hatch-{escape(drawing.key)}"
    side = f"{drawing.letter:.3f}"
    yield (
        f'<div class="floor-plan" tabindex="0" role="group" aria-label="{title}">\n'
        f'<svg viewBox="{drawing.view_box}" role="group" aria-label="{title}" preserveAspectRatio="xMidYMid meet">\n'
        f'<defs><pattern id="{hatch}" width="{side}" height="{side}" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate(45)"><path class="plan-hatch" d="M0 0V{drawing.width:.3f}" {STIFF}/></pattern>'
        f"</defs>\n"
    )
    if drawing.image:
        yield _image(drawing.image)
    for zone in drawing.zones:
        yield _ground(zone, hatch)
    for room in drawing.rooms:
        yield ground_of_room(room, room.look, hatch) if room.look else _room(room, named=rooms, aside=points)
    edges = "".join(zone.path for zone in drawing.zones)
    yield f'<path class="plan-edge" d="{edges}" fill="none" {STIFF}/>\n'
    yield from _words(drawing, rooms=rooms)
    if points:
        for point in drawing.points:
            yield _point(point, drawing.dot)
    yield "</svg>\n</div>\n"


def _words(drawing: FloorDrawing, *, rooms: bool) -> Iterator[str]:
    """What rooms and zones say; ``rooms``: their names are there already."""
    for room in drawing.rooms:
        if room.look:
            yield words_of_room(room, room.look, drawing.width)
    for zone in drawing.zones:
        if zone.look and not zone.by_room:
            yield _dressed(zone)
        elif not zone.look and not rooms:
            yield _named(zone)


def _image(image: ImageIn) -> str:
    return (
        f'<image href="{escape(image.url)}" x="{image.x:.3f}" y="{image.y:.3f}" width="{image.width:.3f}" '
        f'height="{image.height:.3f}" preserveAspectRatio="none"/>\n'
    )


def _ground(zone: ZoneShape, hatch: str) -> str:
    if not zone.look or zone.by_room:
        kind, fill = "", ' fill="none"'
    elif zone.look["measured"]:
        kind, fill = f" plan-tint {fraction_class(zone.look['fraction'])}", ""
    else:
        kind, fill = "", f' fill="url(#{hatch})"'
    return f'<path class="plan-zone{kind}" d="{zone.path}" fill-rule="evenodd"{fill}/>\n'


def _room(room: RoomShape, *, named: bool, aside: bool) -> str:
    name = escape(room.name)
    title = f"<title>{name}, {rounded(room.area_m2, 1)} m²</title>"
    wall = f'<polygon class="plan-wall" points="{room.points}" {STIFF}>{title}</polygon>\n'
    if not named:
        return wall
    at = _at(room.aside if aside and room.aside else room.label)
    words = "".join(f'<text {at} dy="{line.dy:.3f}em">{escape(line.text)}</text>' for line in room.lines)
    return f'{wall}<g class="plan-name" font-size="{room.label.size:.3f}">{words}</g>\n'


def _named(zone: ZoneShape) -> str:
    at, size = _at(zone.label), zone.label.size
    return f'<text class="plan-name" {at} font-size="{size:.3f}">{escape(zone.name)}</text>\n'


def _dressed(zone: ZoneShape) -> str:
    """What the zone says of itself, and the way to its page."""
    look, name, at = zone.look or {}, escape(zone.name), _at(zone.label)
    if look["measured"]:
        value, unit = escape(str(look["value"])), escape(look["unit"])
        kind, said = (
            f"plan-tint {fraction_class(look['fraction'])}",
            f"{value} {unit}, {verdict_text(look, glyph=False)}",
        )
        words = (
            f'<text {at} dy="0.45em"><tspan class="plan-value">{value}</tspan> {unit}</text>'
            f'<text {at} dy="1.65em">{verdict_text(look)}</text>'
        )
    else:
        kind, said = "plan-unmeasured", "not measured"
        words = f'<text {at} dy="0.45em">not measured</text>'
    drawn = (
        f'<path class="plan-target" d="{zone.path}"/><g class="plan-words {kind}" font-size="{zone.label.size:.3f}">'
        f'<text {at} dy="-0.75em">{name}</text>{words}</g>'
    )
    url = look.get("url")
    return f'<a href="{escape(url)}" aria-label="{name}: {said}">{drawn}</a>\n' if url else f"{drawn}\n"


def _point(point: PointIn, radius: float) -> str:
    return (
        f'<g class="plan-point {escape(point.kind)}"><circle cx="{point.x_m:.3f}" cy="{point.y_m:.3f}" '
        f'r="{radius:.3f}" {STIFF}/><title>{escape(point.name)}, {as_entered(round(point.height_m, 2))} m</title></g>\n'
    )


def _at(label: Label) -> str:
    return f'x="{label.x:.3f}" y="{label.y:.3f}"'
