"""Rooms of a drawn floor that are painted by what was measured in them, as pieces of its SVG."""

from __future__ import annotations

from collections.abc import Mapping
from html import escape  # Django's, without its way through lazy words
from typing import Any

from campaigns.templatetags.cells import fraction_class, rounded, verdict_sign
from methods.floorplans.drawing import RoomShape
from methods.floorplans.room_words import room_lines

STIFF = 'vector-effect="non-scaling-stroke"'  # lines keep their width on the screen
VALUE = ' class="plan-value"'


def ground_of_room(room: RoomShape, look: Mapping[str, Any], hatch: str) -> str:
    """Its floor, tinted or hatched; ``hatch``: id of the pattern."""
    kind, fill = f" plan-tint {fraction_class(look['fraction'])}", ""
    if not look["measured"]:
        kind, fill = "", f' fill="url(#{hatch})"'
    return f'<polygon class="plan-room{kind}" points="{room.points}" {STIFF}{fill}/>\n'


def words_of_room(room: RoomShape, look: Mapping[str, Any], width: float) -> str:
    """What it says of itself as far as that fits between its walls, and the way to it; ``width``: of the drawing."""
    is_measured, fraction = look["measured"], look["fraction"]
    number = look["number"] if fraction is None else rounded(fraction, 2)
    said = (number, verdict_sign(look)) if is_measured else ("", "")
    words = "".join(
        f'<text x="{line.x:.3f}" y="{line.y:.3f}" font-size="{line.size:.3f}"{VALUE if line.is_number else ""}>'
        f"{escape(line.text)}</text>"
        for line in room_lines(room, width, *said)
    )
    kind = f"plan-tint {fraction_class(fraction)}" if is_measured else "plan-unmeasured"
    sentence = escape(look["sentence"])
    return (
        f'<a href="{escape(look["url"])}" aria-label="{sentence}"><title>{sentence}</title>'
        f'<polygon class="plan-target" points="{room.points}"/><g class="plan-words of-room {kind}">{words}</g></a>\n'
    )
