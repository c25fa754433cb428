"""Two quantities against each other: one mark for each block of time both were measured in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from methods.figures.series import SHADES
from methods.figures.text import escaped
from methods.quantities.arrays import Floats

MOST_MARKS = 1500
SYMBOLS = ("circle-open", "square-open", "triangle-up-open", "diamond-open", "x-thin-open")


@dataclass(frozen=True, eq=False)
class Cloud:
    """Pairs of one place: ``x`` [n], ``y`` [n], both finite, in order of time, and each block's time in words [n]."""

    label: str
    x: Floats
    y: Floats
    when: Sequence[str]


def scatter(clouds: Sequence[Cloud], x_title: str, y_title: str, *, y_limit: float | None = None) -> dict[str, Any]:
    """The figure. Where there are more pairs than marks can be told apart, every so-manieth is drawn."""
    most = max(50, MOST_MARKS // max(len(clouds), 1))
    data = [_cloud(cloud, n, most, x_title, y_title) for n, cloud in enumerate(clouds)]
    top = max(float(c.y.max()) for c in clouds)
    shown = y_limit is not None and y_limit <= 2 * top
    line = {"color": "limit", "width": 1.5, "dash": "dash"}
    return {
        "data": data,
        "layout": {
            "showlegend": len(clouds) > 1,
            "hovermode": "closest",
            "xaxis": {"title": {"text": x_title}, "showgrid": True},
            "yaxis": {"title": {"text": y_title}, "range": _room(clouds, y_limit if shown else None)},
            "shapes": [{"type": "line", "xref": "paper", "x0": 0, "x1": 1, "y0": y_limit, "y1": y_limit, "line": line}]
            if shown
            else [],
        },
    }


def _room(clouds: Sequence[Cloud], limit: float | None) -> list[float]:
    known = np.concatenate([cloud.y for cloud in clouds] + ([] if limit is None else [np.array([limit])]))
    low, high = float(known.min()), float(known.max())
    room = 0.07 * (high - low) or 0.1 * abs(high) or 1.0
    return [low - room, high + room]


def drawn_count(n: int, clouds: int = 1) -> int:
    """How many of ``n`` pairs of one of ``clouds`` places are drawn."""
    most = max(50, MOST_MARKS // max(clouds, 1))
    return n if n <= most else -(-n // -(-n // most))


def _cloud(cloud: Cloud, n: int, most: int, x_title: str, y_title: str) -> dict[str, Any]:
    kept = slice(None, None, max(1, -(-len(cloud.x) // most)))
    return {
        "type": "scatter",
        "mode": "markers",
        "name": escaped(cloud.label),
        "x": _short(cloud.x[kept]),
        "y": _short(cloud.y[kept]),
        "text": [escaped(text) for text in cloud.when[kept]],
        "marker": {
            "symbol": SYMBOLS[n % len(SYMBOLS)],
            "size": 6,
            "color": "series-1" if n == 0 else SHADES[n % len(SHADES)],
        },
        "hovertemplate": f"%{{y}} – {y_title}<br>%{{x}} – {x_title}<br>%{{text}}<extra>%{{fullData.name}}</extra>",
    }


def _short(values: Any) -> list[float]:
    return [float(f"{value:.5g}") for value in np.asarray(values).tolist()]
