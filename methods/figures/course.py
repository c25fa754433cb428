"""The frozen course of readings as an SVG drawing: one panel for each stay, side by side on one scale of values.

Made by the server, so that it needs no script and prints. Colours are those of paper; the stylesheet of the page
(``static/css/course.css``) puts its own in their place.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from html import escape
from itertools import pairwise
from typing import Protocol

LEFT, RIGHT, TOP, BOTTOM, HEIGHT = 58, 12, 16, 62, 190  # px around the plot, and how high it is
WIDTH, NARROWEST, BETWEEN = 720, 128, 10  # px: of all at least, of one panel at least, between two
#: A limit further above the readings than this many times is named and not drawn.
FAR_ABOVE = 4.0
TICK_PX, MARK_PX, LABEL_PX = 52, 7, 13  # nearer to each other they would touch
LEAST_PX = 5  # of a bar, to be seen
STEPS_S = [60 * m for m in (1, 2, 5, 10, 15, 30, 60, 120, 180, 360, 720, 1440, 2880, 10080)]
EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 - wall-clock time has no zone
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


class DrawnStay(Protocol):
    """One instrument at one point. start: second of the wall clock; length: s. t: s after ``start``, v: the value then;
    below, over, breaks: places in both, of readings below detection, over range, and after a gap."""

    @property
    def where(self) -> str: ...
    @property
    def start(self) -> int: ...
    @property
    def length(self) -> int: ...
    @property
    def t(self) -> Sequence[int]: ...
    @property
    def v(self) -> Sequence[float]: ...
    @property
    def below(self) -> Sequence[int]: ...
    @property
    def over(self) -> Sequence[int]: ...
    @property
    def breaks(self) -> Sequence[int]: ...


class DrawnLimit(Protocol):
    """A line across, ``at`` a value, with its name."""

    @property
    def at(self) -> float: ...
    @property
    def label(self) -> str: ...


class DrawnResult(Protocol):
    """A bar from second to second of the wall clock, ``at`` a value."""

    @property
    def begin(self) -> int: ...
    @property
    def end(self) -> int: ...
    @property
    def at(self) -> float: ...


class DrawnCourse(Protocol):
    """What is drawn: at least one stay, values of all in ``unit``."""

    @property
    def unit(self) -> str: ...
    @property
    def limits(self) -> Sequence[DrawnLimit]: ...
    @property
    def result(self) -> DrawnResult | None: ...
    @property
    def stays(self) -> Sequence[DrawnStay]: ...


@dataclass(frozen=True)
class Panel:
    """A stay from ``left`` to ``left + width`` px."""

    stay: DrawnStay
    left: float
    width: float

    @property
    def start(self) -> int:
        return self.stay.start

    @property
    def end(self) -> int:
        return self.start + self.stay.length

    def x(self, second: float) -> float:
        """Of a second of the wall clock."""
        return self.left + self.width * (second - self.start) / (self.stay.length or 1)


@dataclass(frozen=True)
class Scale:
    low: float
    high: float
    ticks: tuple[float, ...]

    def y(self, value: float) -> float:
        return TOP + HEIGHT * (self.high - value) / (self.high - self.low)


def course_svg(course: DrawnCourse, *, title: str, from_zero: bool) -> str:
    """``title``: for those who do not see it."""
    panels = panels_of(course.stays)
    scale = scale_of(course, from_zero=from_zero)
    width = round(panels[-1].left + panels[-1].width + RIGHT)
    head = (
        f'<svg class="course" viewBox="0 0 {width} {TOP + HEIGHT + BOTTOM}" width="{width}" role="img" '
        f'aria-label="{escape(title)}" font-family="sans-serif" font-size="11">'
    )
    inside = [_grid(scale, panels, course.unit), *map(_panel, panels), *_limits(course, scale, panels)]
    inside += [part for panel in panels for part in (*_line(panel, scale), *_marks(panel, scale))]
    if course.result:
        inside += [_result(course.result, panel, scale) for panel in panels]
    return f"{head}{''.join(inside)}</svg>"


def panels_of(stays: Sequence[DrawnStay]) -> list[Panel]:
    """As wide as they are long, but none too narrow to be read."""
    free = WIDTH - LEFT - RIGHT - BETWEEN * (len(stays) - 1)
    whole = sum(stay.length for stay in stays) or 1
    panels, left = [], float(LEFT)
    for stay in stays:
        width = max(NARROWEST, free * stay.length / whole)
        panels.append(Panel(stay, round(left, 1), round(width, 1)))
        left += width + BETWEEN
    return panels


def drawn_limits(course: DrawnCourse) -> list[DrawnLimit]:
    """The lines near enough to the readings to be drawn with them."""
    highest = max(max(stay.v) for stay in course.stays)
    return [line for line in course.limits if highest <= 0 or line.at <= FAR_ABOVE * highest]


def scale_of(course: DrawnCourse, *, from_zero: bool) -> Scale:
    values = [value for stay in course.stays for value in (min(stay.v), max(stay.v))]
    values += [line.at for line in drawn_limits(course)]
    values += [course.result.at] if course.result else []
    low, high = min(values), max(values)
    low = min(0.0, low) if from_zero else low
    if high == low:
        low, high = low - 0.5 * (abs(low) or 1), high + 0.5 * (abs(high) or 1)
    step = _nice((high - low) / 5)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step + 0.15)
    return Scale(first * step, last * step, tuple(n * step for n in range(first, last + 1)))


def _nice(rough: float) -> float:
    """The next of 1, 2, 5 times a power of ten."""
    power = 10.0 ** math.floor(math.log10(rough))
    return next(m * power for m in (1, 2, 5, 10) if m * power >= rough * 0.999)


# --- the ground -------------------------------------------------------------------------------------------------------


def _grid(scale: Scale, panels: Sequence[Panel], unit: str) -> str:
    decimals = max(0, -math.floor(math.log10(scale.ticks[1] - scale.ticks[0]) + 1e-9))
    rules, words = [], []
    for tick in scale.ticks:
        y = scale.y(tick)
        rules += [f"M{panel.left:g} {y:.1f}h{panel.width:g}" for panel in panels]
        words.append(f'<text x="{LEFT - 6}" y="{y + 4:.1f}">{tick:.{decimals}f}</text>'.replace(">-", ">−"))
    unit_word = f'<text x="{LEFT - 6}" y="{TOP - 5}">{escape(unit)}</text>'
    return (
        f'<path class="course-grid" d="{"".join(rules)}" fill="none" stroke="#d5cbb9"/>'
        f'<g class="course-words" fill="#5d5548" text-anchor="end">{unit_word}{"".join(words[:-1])}</g>'
    )


def _panel(panel: Panel) -> str:
    """Its frame, its hours, and under it where and when."""
    low = TOP + HEIGHT
    ticks = [(panel.x(second), text) for second, text in _hours(panel)]
    strokes = "".join(f"M{x:.1f} {low}v4" for x, _ in ticks)
    hours = "".join(f'<text x="{x:.1f}" y="{low + 15}">{text}</text>' for x, text in ticks)
    middle, most = panel.left + panel.width / 2, int(panel.width / 6)
    lines = [_short(panel.stay.where, most), *_when(_moment(panel.start), _moment(panel.end))]
    words = "".join(f'<text x="{middle:.1f}" y="{low + 32 + 14 * n}">{line}</text>' for n, line in enumerate(lines))
    return (
        f'<path class="course-frame" d="M{panel.left:g} {TOP}v{HEIGHT}h{panel.width:g}{strokes}" fill="none" '
        f'stroke="#7d7262"/><g class="course-words" fill="#5d5548" text-anchor="middle">{hours}{words}</g>'
    )


def _when(begin: datetime, end: datetime) -> list[str]:
    """In a line, or in two where another day has come."""
    if begin.date() == end.date():
        return [f"{_day_and_hour(begin)}–{end:%H:%M}"]
    return [_day_and_hour(begin), f"to {_day_and_hour(end)}"]


def _hours(panel: Panel) -> Iterator[tuple[int, str]]:
    """Round seconds of the wall clock inside, far enough from each other and from the edges to be named."""
    step = next((s for s in STEPS_S if panel.width * s / (panel.end - panel.start or 1) >= TICK_PX), STEPS_S[-1])
    for second in range(-(-panel.start // step) * step, panel.end + 1, step):
        if panel.left + 16 <= panel.x(second) <= panel.left + panel.width - 16:
            moment = _moment(second)
            yield second, _day(moment) if step >= 86400 else f"{moment:%H:%M}"


def _moment(second: int) -> datetime:
    return EPOCH + timedelta(seconds=second)


def _day(moment: datetime) -> str:
    return f"{moment.day} {MONTHS[moment.month - 1]}"


def _day_and_hour(moment: datetime) -> str:
    return f"{_day(moment)} {moment:%H:%M}"


def _short(text: str, most: int) -> str:
    return escape(text if len(text) <= most else f"{text[: most - 1]}…")


# --- what was measured ------------------------------------------------------------------------------------------------


def _line(panel: Panel, scale: Scale) -> Iterator[str]:
    """The readings, joined where nothing is missing between them."""
    stay = panel.stay
    at = [(panel.x(panel.start + t), scale.y(v)) for t, v in zip(stay.t, stay.v, strict=True)]
    edges = [0, *stay.breaks, len(at)]
    pieces = [at[begin:end] for begin, end in pairwise(edges) if end > begin]
    path = "".join(f"M{'L'.join(f'{x:.1f} {y:.1f}' for x, y in piece)}" for piece in pieces if len(piece) > 1)
    if path:
        yield f'<path class="course-line" d="{path}" fill="none" stroke="#17456b" stroke-width="1.5"/>'
    for x, y in (piece[0] for piece in pieces if len(piece) == 1):
        yield f'<circle class="course-dot" cx="{x:.1f}" cy="{y:.1f}" r="2" fill="#17456b"/>'


def _marks(panel: Panel, scale: Scale) -> Iterator[str]:
    """Arrows: the true value lies below the detection limit, or above the end of the range."""
    stay = panel.stay
    for places, shape in ((stay.below, "v9m-3-3l3 3l3-3"), (stay.over, "v-9m-3 3l3-3l3 3")):
        xs = ((panel.x(panel.start + stay.t[n]), scale.y(stay.v[n])) for n in places)
        path = "".join(f"M{x:.1f} {y:.1f}{shape}" for x, y in _apart(xs))
        if path:
            yield f'<path class="course-mark" d="{path}" fill="none" stroke="#1f1b16" stroke-width="1.2"/>'


def _apart(points: Iterable[tuple[float, float]]) -> Iterator[tuple[float, float]]:
    last = -math.inf
    for x, y in points:
        if x - last >= MARK_PX:
            last = x
            yield x, y


def _limits(course: DrawnCourse, scale: Scale, panels: Sequence[Panel]) -> Iterator[str]:
    """Lines across all panels, each named at the right above it; names that would touch are moved up."""
    right, last = panels[-1].left + panels[-1].width, math.inf
    named: dict[float, list[str]] = {}
    for line in drawn_limits(course):
        named.setdefault(line.at, []).append(line.label)
    for at in sorted(named):
        y = scale.y(at)
        label_y = min(y - 4, last - LABEL_PX)
        last = label_y
        path = "".join(f"M{panel.left:g} {y:.1f}h{panel.width:g}" for panel in panels)
        text = escape("; ".join(dict.fromkeys(named[at])))
        yield (
            f'<path class="course-limit" d="{path}" fill="none" stroke="#1f1b16" stroke-width="1.2" '
            f'stroke-dasharray="6 3"/><text class="course-name" x="{right - 4:.1f}" y="{label_y:.1f}" '
            f'text-anchor="end" fill="#1f1b16">{text}</text>'
        )


def _result(result: DrawnResult, panel: Panel, scale: Scale) -> str:
    """The part of its window that lies in the panel."""
    begin, end = max(result.begin, panel.start), min(result.end, panel.end)
    if begin > end:
        return ""
    y, x = scale.y(result.at), panel.x(begin)
    path = f"M{x:.1f} {y:.1f}H{max(panel.x(end), x + LEAST_PX):.1f}"
    return f'<path class="course-result" d="{path}" fill="none" stroke="#1f1b16" stroke-width="4"/>'
