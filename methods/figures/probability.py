"""A lognormal probability plot: on a line if the results are lognormal."""

from __future__ import annotations

from collections.abc import Sequence
from math import exp
from statistics import NormalDist
from typing import Any

import numpy as np

from methods.figures.text import escaped
from methods.quantities.arrays import Floats

#: Shares named on the axis of normal scores, in per cent.
SHARES = (1, 5, 10, 25, 50, 75, 90, 95, 99)
#: Results of one group often span less than a power of ten, where ticks at 1, 2 and 5 would be too few.
AXIS = {"type": "log", "nticks": 6, "tickformat": "~g"}
_NORMAL = NormalDist()


def probability_figure(
    scores: Floats,
    values: Floats,
    labels: Sequence[str],
    line: tuple[float, float],
    limit: float | None,
    unit: str,
) -> dict[str, Any]:
    """``scores`` [n] normal scores, ``values`` [n] ascending in ``unit``, ``labels`` [n] whose they are; ``line``: mean
    and standard deviation of the natural logarithms. The limit is a dashed line where there is one."""
    reach = max(2.0, float(np.abs(scores).max()) + 0.3)
    ends = [-reach, reach]
    mean, sd = line
    data = [
        _line("the fitted lognormal", ends, [exp(mean + sd * z) for z in ends], {"color": "ink", "width": 1}),
        _marks(scores, values, labels, unit),
    ]
    if limit:
        data.append(_line("the limit", ends, [limit, limit], {"color": "limit", "dash": "dash", "width": 1.5}))
    layout = {
        "showlegend": True,
        "hovermode": "closest",
        "xaxis": _share_axis(ends),
        "yaxis": {"title": {"text": unit}, **AXIS},
    }
    return {"data": data, "layout": layout}


def _line(name: str, x: Sequence[float], y: Sequence[float], pen: dict[str, Any]) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "lines",
        "name": name,
        "x": list(x),
        "y": list(y),
        "hoverinfo": "skip",
        "line": pen,
    }


def _marks(scores: Floats, values: Floats, labels: Sequence[str], unit: str) -> dict[str, Any]:
    return {
        "type": "scatter",
        "mode": "markers",
        "name": "results",
        "x": scores.tolist(),
        "y": values.tolist(),
        "text": [escaped(label) for label in labels],
        "marker": {"color": "series-1", "size": 9},
        "hovertemplate": f"%{{text}}: %{{y:.4~r}} {unit}<extra></extra>",
    }


def _share_axis(ends: Sequence[float]) -> dict[str, Any]:
    """Normal scores, named by the share of exposures at or below."""
    shown = [share for share in SHARES if abs(_NORMAL.inv_cdf(share / 100)) <= ends[1]]
    return {
        "title": {"text": "share of exposures at or below, %"},
        "tickmode": "array",
        "tickvals": [_NORMAL.inv_cdf(share / 100) for share in shown],
        "ticktext": [str(share) for share in shown],
        "range": list(ends),
        "showgrid": True,
        "zeroline": False,
    }
