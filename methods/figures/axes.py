"""What time figures share: the axis in the site's own time, limit lines, deployment bands."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import Any

import numpy as np

from methods.figures.text import escaped
from methods.quantities.durations import MINUTE_MS

#: A stretch without any deployment longer than this is left out of the axis.
SQUEEZED_MS = 45 * MINUTE_MS
#: Room on the axis before and after a stretch that is drawn.
MARGIN_MS = 4 * MINUTE_MS
MOST_TICKS = 16
EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 - wall-clock time has no zone
#: (from, to) in wall-clock ms of the site.
Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class DeploymentBar:
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


def wall(ms: Iterable[int | None]) -> list[str | None]:
    """Wall-clock milliseconds as plotly takes dates; None stays None and breaks the line."""
    return [None if m is None else str(np.datetime64(m, "ms")).replace("T", " ") for m in ms]


def limit_shapes(limits: Sequence[LimitLine], top: float) -> list[dict[str, Any]]:
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


def limit_labels(limits: Sequence[LimitLine], top: float) -> list[dict[str, Any]]:
    inside = [line for line in limits if line.at <= top]
    above = [line for line in limits if line.at > top]
    out = [label_at(escaped(line.label), line.at, "bottom") for line in inside]
    if above:
        text = "↑ above this drawing: " + "; ".join(escaped(line.label) for line in above)
        out.append({**label_at(text, 1.0, "top"), "yref": "y domain"})
    return out


def label_at(text: str, y: float, yanchor: str) -> dict[str, Any]:
    return {
        "xref": "paper", "x": 1, "xanchor": "right", "y": y, "yanchor": yanchor, "text": text, "showarrow": False,
        "font": {"size": 11, "color": "ink"}, "bgcolor": "paper/0.75",
    }  # fmt: skip


def upright(line: LimitLine) -> dict[str, Any]:
    """A limit on an axis of values that lies flat."""
    dash = {"color": "limit", "width": 1.5, "dash": "dash"}
    return {"type": "line", "yref": "paper", "y0": 0, "y1": 1, "x0": line.at, "x1": line.at, "line": dash}


def upright_label(line: LimitLine, *, is_log: bool = False) -> dict[str, Any]:
    return {
        "yref": "paper", "y": 1, "yanchor": "top", "x": float(np.log10(line.at)) if is_log else line.at,
        "text": escaped(line.label), "textangle": -90, "xanchor": "right", "showarrow": False,
        "font": {"size": 11, "color": "ink"}, "bgcolor": "paper/0.75",
    }  # fmt: skip


def bands(stays: Sequence[DeploymentBar]) -> list[dict[str, Any]]:
    return [
        {
            "type": "rect", "xref": "x", "yref": "paper", "x0": start, "x1": end, "y0": 0, "y1": 1, "layer": "below",
            "fillcolor": "band/0.3", "line": {"width": 0},
        }
        for start, end in ((wall([s.start_ms])[0], wall([s.end_ms])[0]) for s in stays)
    ]  # fmt: skip


def stretches(stays: Sequence[DeploymentBar]) -> list[Span]:
    """Wall-time stretches in which something stood somewhere, with a margin, short pauses bridged."""
    out: list[tuple[int, int]] = []
    for start, end in sorted((s.start_ms, s.end_ms) for s in stays):
        if out and start - out[-1][1] <= SQUEEZED_MS:
            out[-1] = (out[-1][0], max(out[-1][1], end))
        else:
            out.append((start, end))
    return [(start - MARGIN_MS, end + MARGIN_MS) for start, end in out]


def breaks(stays: Sequence[DeploymentBar]) -> list[dict[str, Any]]:
    return [{"bounds": wall([before[1], after[0]])} for before, after in pairwise(stretches(stays))]


def time_axis(stays: Sequence[DeploymentBar], span: Span | None = None, **more: Any) -> dict[str, Any]:
    """The time axis over all ``stays``, or over ``span`` of it; what nobody measured in is left out either way."""
    parts = stretches(stays)
    reach = span or ((parts[0][0], parts[-1][1]) if parts else None)
    shown = {"range": wall(reach)} if reach else {}
    return {"type": "date", "rangebreaks": breaks(stays), **shown, **_ticks(stays, parts, reach), **more}


def along(stays: Sequence[DeploymentBar], span: Span | None, at: int) -> float:
    """How far along the axis a time lies, 0 to 1; stretches that are left out take no room."""
    parts = stretches(stays)
    reach = span or (parts[0][0], parts[-1][1])
    seen = [(max(start, reach[0]), min(end, reach[1])) for start, end in parts]
    total = sum(max(0, end - start) for start, end in seen)
    before = sum(max(0, min(end, at) - start) for start, end in seen)
    return min(1.0, before / total) if total else 0.5


def _ticks(stays: Sequence[DeploymentBar], parts: Sequence[Span], reach: Span | None) -> dict[str, Any]:
    """On an axis with stretches left out: when each visit began, with its day where that is another one.

    The library would put its ticks at full hours, most of which nobody measured in. Inside one stretch it may.
    """
    seen = [part for part in parts if reach and part[0] < reach[1] and part[1] > reach[0]]
    if not reach or len(seen) < 2:
        return {}
    starts = sorted({stay.start_ms for stay in stays if reach[0] <= stay.start_ms < reach[1]})
    spaced = [start for n, start in enumerate(starts) if n == 0 or start - starts[n - 1] > MARGIN_MS]
    shown = spaced[:: -(-len(spaced) // MOST_TICKS)] if spaced else []
    texts, day = [], ""
    for start in shown:
        moment = EPOCH + timedelta(milliseconds=start)
        today = f"{moment.day} {moment:%b}"
        texts.append(f"{moment:%H:%M}" + (f"<br>{today}" if today != day else ""))
        day = today
    return {"tickmode": "array", "tickvals": wall(shown), "ticktext": texts}
