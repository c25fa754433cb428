"""What a painted room says of itself as far as it fits between its walls: its name, its number and glyph. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from methods.floorplans.drawing import GLYPH, LARGEST, SPARE_M, Label, RoomShape
from methods.floorplans.shape import Point

#: Letter heights of a name as shares of the drawing's width, tried in this order; below them nobody reads it.
NAMES = (1 / 50, 1 / 58)
#: More lines than this are no name at a glance.
NAME_LINES = 3
#: From one line's middle to the next, in letter heights.
APART = 1.2


@dataclass(frozen=True, slots=True)
class RoomLine:
    """A line of words: x, y of its middle and size of its letters, in metres."""

    text: str
    x: float
    y: float
    size: float
    is_number: bool = False

    @property
    def width(self) -> float:
        return GLYPH * self.size * len(self.text)


def room_lines(room: RoomShape, width: float, number: str, glyph: str) -> tuple[RoomLine, ...]:
    """``width``: of the drawing, metres; ``number``, ``glyph``: both empty for a room that was not measured. Where both
    do not fit side by side the glyph stands alone, and a name that does not fit is left to the room's title."""
    return _lines(room.name, room.points, room.label, width, f"{number} {glyph}".strip(), glyph)


@lru_cache(maxsize=4096)
def _lines(name: str, points: str, label: Label, width: float, said: str, glyph: str) -> tuple[RoomLine, ...]:
    """Of a page that is asked for again and again the words were fitted before."""
    free = label.free
    number_size = min(width * LARGEST, free / (GLYPH * max(len(said), 1)))
    if number_size < width * NAMES[-1]:
        said, number_size = glyph, width * NAMES[0]
    for share in NAMES:
        name_size = width * share
        names = list(_broken(name, free / (GLYPH * name_size)))
        if names and (placed := _placed(points, label, list(_stacked(names, name_size, said, number_size)))):
            return tuple(placed)
    alone = list(_stacked([], 0.0, said, number_size))
    return tuple(_placed(points, label, alone) or _moved(alone, label.x, label.y))


def _stacked(names: list[str], name_size: float, said: str, number_size: float) -> Iterator[RoomLine]:
    """Around (0, 0)."""
    lines = [(name, name_size, False) for name in names] + ([(said, number_size, True)] if said else [])
    top = -sum(APART * size for _, size, _ in lines) / 2
    for text, size, is_number in lines:
        yield RoomLine(text, 0.0, top + APART * size / 2, size, is_number)
        top += APART * size


def _broken(name: str, letters: float) -> Iterator[str]:
    """``name`` in lines of at most so many letters; nothing where a word is longer, or there are too many lines."""
    lines: list[str] = []
    for word in name.split():
        if lines and len(lines[-1]) + 1 + len(word) <= letters:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    if len(lines) <= NAME_LINES and all(len(line) <= letters for line in lines):
        yield from lines


def _placed(points: str, label: Label, lines: list[RoomLine]) -> list[RoomLine]:
    """``lines`` where all of them lie between the walls: at the room's label, else just above or below its level, where
    a room with a step is wider; none where they do not fit."""
    corners = [(float(x), float(y)) for x, _, y in (pair.partition(",") for pair in points.split())]
    tall = APART * sum(line.size for line in lines)
    for lift in (0.0, -tall / 2, tall / 2):
        y = label.y + lift
        spans = [_widest(corners, y + part * tall) for part in (-0.5, -0.25, 0.0, 0.25, 0.5)]
        left, right = max(span[0] for span in spans), min(span[1] for span in spans)
        if all(line.width <= right - left - SPARE_M + 1e-6 for line in lines):
            return _moved(lines, (left + right) / 2, y)
    return []


def _moved(lines: list[RoomLine], x: float, y: float) -> list[RoomLine]:
    return [replace(line, x=round(x, 3), y=round(line.y + y, 3), size=round(line.size, 3)) for line in lines]


def _widest(corners: Sequence[Point], y: float) -> tuple[float, float]:
    """The widest stretch inside the outline at height ``y``; one of no width above and below it."""
    crossed = []
    for (x1, y1), (x2, y2) in zip(corners, (*corners[1:], corners[0]), strict=True):
        if (y1 <= y) != (y2 <= y):
            crossed.append(x1 + (y - y1) * (x2 - x1) / (y2 - y1))
    crossed.sort()
    spans = list(zip(crossed[::2], crossed[1::2], strict=True))
    return max(spans, key=lambda span: span[1] - span[0], default=(0.0, 0.0))
