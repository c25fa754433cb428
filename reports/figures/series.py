"""Readings over time: lines against the limit, and beneath them which point was measured when.

Times are wall-clock milliseconds of the site (``campaigns.stamps``), so that the axis reads as the people there do.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

import numpy as np

from reports.figures.decimate import MOST_POINTS, Floats, Ints, extremes, with_gaps
from reports.figures.text import escaped

#: A stretch without any deployment longer than this is left out of the axis.
SQUEEZED_MS = 45 * 60_000
#: Room on the axis before and after a stretch that is drawn.
MARGIN_MS = 4 * 60_000
#: A limit further above the readings than this many times is named at the edge instead of drawn.
FAR_ABOVE = 4.0
#: All points of a drawing together; each line gets its part of them.
ALL_POINTS = 24_000
MOST_TICKS = 16
EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 - wall-clock time has no zone
DASHES = ("solid", "dot", "dash", "dashdot", "longdash")
SHADES = ("series-2", "series-3", "series-4")


@dataclass(frozen=True, eq=False)
class Course:
    """Readings of one deployment: wall time ms [n] ascending, values [n] in the figure's unit, which count [n] bool,
    and for those that do not the reason in words [n]."""

    label: str
    instrument: str
    wall_ms: Ints
    value: Floats
    counts: Any
    why_not: Sequence[str]
    gap_ms: int
    governs: bool = False


@dataclass(frozen=True, slots=True)
class Stay:
    """One deployment as a bar: at which point, from when to when."""

    label: str
    start_ms: int
    end_ms: int
    instrument: str
    governs: bool = False


@dataclass(frozen=True, slots=True)
class LimitLine:
    at: float
    label: str


@dataclass(frozen=True, slots=True)
class Worst:
    """The window a result rests on, drawn at its mean."""

    start_ms: int
    end_ms: int
    mean: float
    label: str


def time_series(
    courses: Sequence[Course],
    stays: Sequence[Stay],
    *,
    unit: str,
    limits: Sequence[LimitLine] = (),
    worst: Sequence[Worst] = (),
    from_zero: bool = True,
) -> dict[str, Any]:
    """The figure. Stretches in which nothing was measured are left out of the time axis."""
    labels = list(dict.fromkeys(stay.label for stay in stays))
    share = max(60, min(MOST_POINTS, ALL_POINTS // max(len(courses), 1)))
    data = [trace for trace in (_line(c, labels, share, unit) for c in courses) if trace]
    data += _left_out(courses, unit)
    data += [_worst(window, unit) for window in worst]
    data += [_bars(label, [s for s in stays if s.label == label], labels) for label in labels]
    split = min(0.45, 0.05 * len(labels) + 0.02)
    low, high = _range(courses, limits, from_zero)
    return {
        "data": data,
        "layout": {
            "showlegend": False,
            "hovermode": "closest",
            "xaxis": {"type": "date", "anchor": "y2", "rangebreaks": _breaks(stays), **_reach(stays), **_ticks(stays)},
            "yaxis": {"domain": [split + 0.03, 1], "title": {"text": unit}, "range": [low, high]},
            "yaxis2": {
                "domain": [0, split],
                "type": "category",
                "categoryorder": "array",
                "categoryarray": [escaped(label) for label in labels[::-1]],
                "range": [-0.6, len(labels) - 0.4],
                "showgrid": False,
                "ticks": "",
                "tickfont": {"size": 11},
                "fixedrange": True,
            },
            "shapes": [*_bands(stays), *_limit_shapes(limits, high)],
            "annotations": [*_limit_labels(limits, high), *(_worst_label(window) for window in worst)],
        },
    }


def wall(ms: Iterable[int | None]) -> list[str | None]:
    """Wall-clock milliseconds as plotly takes dates; None stays None and breaks the line."""
    return [None if m is None else str(np.datetime64(m, "ms")).replace("T", " ") for m in ms]


def look(label: str, labels: Sequence[str], *, governs: bool) -> dict[str, Any]:
    """The governing point in the accent; the others told apart by dash first and by shade second."""
    if governs:
        return {"color": "series-1", "width": 2.25, "dash": "solid"}
    n = labels.index(label) if label in labels else 0
    return {"color": SHADES[n % len(SHADES)], "width": 1.25, "dash": DASHES[n % len(DASHES)]}


def _line(course: Course, labels: Sequence[str], most: int, unit: str) -> dict[str, Any] | None:
    counted = np.flatnonzero(np.asarray(course.counts) & np.isfinite(course.value))
    if not len(counted):
        return None
    times, values = course.wall_ms[counted], course.value[counted]
    kept = with_gaps(times, extremes(values, most), course.gap_ms)
    return {
        "type": "scatter",
        "mode": "lines" if len(counted) > 1 else "markers",
        "name": escaped(course.label),
        "x": wall(None if k is None else int(times[k]) for k in kept),
        "y": [None if k is None else _short(values[k]) for k in kept],
        "connectgaps": False,
        "line": look(course.label, labels, governs=course.governs),
        "hovertemplate": f"%{{y}} {unit}<br>{_who(course)}<br>%{{x|%-d %b %H:%M:%S}}<extra></extra>",
    }


def _left_out(courses: Sequence[Course], unit: str) -> list[dict[str, Any]]:
    """Readings that do not count, faint, one trace for all of them."""
    x: list[str | None] = []
    y: list[float | None] = []
    text: list[str] = []
    for course in courses:
        out = np.flatnonzero(~np.asarray(course.counts) & np.isfinite(course.value))
        kept = out[extremes(course.value[out], max(40, MOST_POINTS // max(len(courses), 1)))]
        x += wall(int(course.wall_ms[k]) for k in kept)
        y += [_short(course.value[k]) for k in kept]
        text += [f"{_who(course)}: {course.why_not[k]}" for k in kept]
    if not x:
        return []
    return [
        {
            "type": "scatter",
            "mode": "markers",
            "name": "does not count",
            "x": x,
            "y": y,
            "text": text,
            "marker": {"symbol": "circle-open", "size": 4, "color": "faint/0.55", "line": {"width": 1}},
            "hovertemplate": f"%{{y}} {unit}, does not count<br>%{{text}}<br>%{{x|%-d %b %H:%M:%S}}<extra></extra>",
        }
    ]


def _worst(window: Worst, unit: str) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "lines",
        "name": window.label,
        "x": wall([window.start_ms, window.end_ms]),
        "y": [window.mean, window.mean],
        "line": {"color": "ink", "width": 5},
        "hovertemplate": f"{window.label}: %{{y:.3g}} {unit}<extra></extra>",
    }


def _worst_label(window: Worst) -> dict[str, Any]:
    middle = (window.start_ms + window.end_ms) // 2
    return {**_label(f"{window.label}: {window.mean:.3g}", window.mean, "bottom"), "xref": "x", "xanchor": "center",
            "x": wall([middle])[0], "yshift": 6}  # fmt: skip


def _bars(label: str, stays: Sequence[Stay], labels: Sequence[str]) -> dict[str, Any]:
    x: list[int | None] = []
    for stay in stays:
        x += [stay.start_ms, stay.end_ms, None]
    governs = any(stay.governs for stay in stays)
    line = look(label, labels, governs=governs) | {"width": 8, "dash": "solid"}
    return {
        "type": "scatter",
        "mode": "lines",
        "name": escaped(label),
        "yaxis": "y2",
        "x": wall(x),
        "y": [None if ms is None else escaped(label) for ms in x],
        "text": [text for stay in stays for text in (_who(stay), _who(stay), "")],
        "connectgaps": False,
        "line": line,
        "hovertemplate": "%{text}<br>%{x|%-d %b %H:%M}<extra></extra>",
    }


def _who(place: Course | Stay) -> str:
    return f"{escaped(place.label)} · {escaped(place.instrument)}"


def _short(value: float) -> float:
    return float(f"{value:.4g}")


def _range(courses: Sequence[Course], limits: Sequence[LimitLine], from_zero: bool) -> tuple[float, float]:
    seen = [c.value[np.asarray(c.counts) & np.isfinite(c.value)] for c in courses]
    known = np.concatenate(seen) if seen else np.zeros(0)
    low, high = (float(known.min()), float(known.max())) if len(known) else (0.0, 1.0)
    if from_zero:
        low = min(low, 0.0)
    drawn = [line.at for line in limits if not _far(line, high)]
    high, low = max([high, *drawn]), min([low, *drawn])
    room = 0.1 * (high - low) or 1.0
    return (low if from_zero and low == 0 else low - room), high + room


def _far(line: LimitLine, high: float) -> bool:
    return line.at > FAR_ABOVE * max(high, 0.0)


def _limit_shapes(limits: Sequence[LimitLine], top: float) -> list[dict[str, Any]]:
    return [
        {
            "type": "line",
            "xref": "paper",
            "x0": 0,
            "x1": 1,
            "y0": line.at,
            "y1": line.at,
            "line": {"color": "limit", "width": 1.5, "dash": "dash"},
        }
        for line in limits
        if line.at <= top
    ]


def _limit_labels(limits: Sequence[LimitLine], top: float) -> list[dict[str, Any]]:
    inside = [line for line in limits if line.at <= top]
    above = [line for line in limits if line.at > top]
    out = [_label(line.label, line.at, "bottom") for line in inside]
    if above:
        text = "↑ above this drawing: " + "; ".join(line.label for line in above)
        out.append({**_label(text, 1.0, "top"), "yref": "y domain"})
    return out


def _label(text: str, y: float, yanchor: str) -> dict[str, Any]:
    return {
        "xref": "paper", "x": 1, "xanchor": "right", "y": y, "yanchor": yanchor, "text": text, "showarrow": False,
        "font": {"size": 11, "color": "ink"}, "bgcolor": "paper/0.75",
    }  # fmt: skip


def _bands(stays: Sequence[Stay]) -> list[dict[str, Any]]:
    return [
        {
            "type": "rect", "xref": "x", "yref": "paper", "x0": start, "x1": end, "y0": 0, "y1": 1, "layer": "below",
            "fillcolor": "band/0.3", "line": {"width": 0},
        }
        for start, end in ((wall([s.start_ms])[0], wall([s.end_ms])[0]) for s in stays)
    ]  # fmt: skip


def stretches(stays: Sequence[Stay]) -> list[tuple[int, int]]:
    """Wall-time stretches in which something stood somewhere, with a margin, short pauses bridged."""
    out: list[tuple[int, int]] = []
    for start, end in sorted((s.start_ms, s.end_ms) for s in stays):
        if out and start - out[-1][1] <= SQUEEZED_MS:
            out[-1] = (out[-1][0], max(out[-1][1], end))
        else:
            out.append((start, end))
    return [(start - MARGIN_MS, end + MARGIN_MS) for start, end in out]


def _breaks(stays: Sequence[Stay]) -> list[dict[str, Any]]:
    return [{"bounds": wall([before[1], after[0]])} for before, after in pairwise(stretches(stays))]


def _reach(stays: Sequence[Stay]) -> dict[str, Any]:
    parts = stretches(stays)
    return {"range": wall([parts[0][0], parts[-1][1]])} if parts else {}


def _ticks(stays: Sequence[Stay]) -> dict[str, Any]:
    """On an axis with stretches left out: when each visit began, with its day where that is another one.

    The library would put its ticks at full hours, most of which nobody measured in.
    """
    if len(stretches(stays)) < 2:
        return {}
    starts = sorted({stay.start_ms for stay in stays})
    spaced = [start for n, start in enumerate(starts) if n == 0 or start - starts[n - 1] > MARGIN_MS]
    shown = spaced[:: -(-len(spaced) // MOST_TICKS)]
    texts, day = [], ""
    for start in shown:
        moment = EPOCH + timedelta(milliseconds=start)
        today = f"{moment.day} {moment:%b}"
        texts.append(f"{moment:%H:%M}" + (f"<br>{today}" if today != day else ""))
        day = today
    return {"tickmode": "array", "tickvals": wall(shown), "ticktext": texts}
