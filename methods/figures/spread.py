"""How the readings of a zone are distributed: a histogram, and under it on the same axis the cumulative share."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from methods.comparison.distribution import PlaceSample, cumulative, histogram, quantile
from methods.figures.axes import LimitLine, upright, upright_label
from methods.figures.limits import LOG_AXIS
from methods.figures.series import FAR_ABOVE, look
from methods.figures.text import escaped
from methods.quantities.digits import percent
from methods.wording.numbers import plain

MEDIAN, P95 = 0.5, 0.95


def spread(
    samples: Sequence[PlaceSample],
    *,
    unit: str,
    limits: Sequence[LimitLine] = (),
    governs: str = "",
    is_log: bool = False,
    from_zero: bool = True,
    step: float | None = None,
) -> dict[str, Any]:
    """The figure; each sample a point, told apart by dash first. ``governs``: the label of the point that governs."""
    bins = histogram(samples, is_log=is_log, step=step)
    labels = [sample.label for sample in samples]
    data: list[dict[str, Any]] = []
    for n, sample in enumerate(samples):
        line = look(sample.label, labels, governs=sample.label == governs)
        shared = {"type": "scatter", "name": escaped(sample.label), "legendgroup": str(n), "line": line}
        data += [
            {**shared, **_outline(bins.edges, bins.shares[n], unit), "yaxis": "y2"},
            {**shared, **_rising(sample, unit), "line": line | {"shape": "hv"}, "showlegend": False},
            {**_quantiles(sample, line["color"], unit), "legendgroup": str(n), "showlegend": False},
        ]
        if bins.floor is not None and bins.hidden[n]:
            data.append(_hidden(bins.floor, float(bins.hidden[n]), line, unit, is_log) | {"legendgroup": str(n)})
    return {"data": data, "layout": _layout(samples, limits, unit, is_log=is_log, from_zero=from_zero)}


def _outline(edges: Any, shares: Any, unit: str) -> dict[str, Any]:
    """The steps of a histogram as one line, in per cent of all readings."""
    x = np.repeat(edges, 2)
    y = np.concatenate([[0.0], np.repeat(100 * shares, 2), [0.0]])
    return {
        "mode": "lines",
        "x": _short(x),
        "y": _short(y),
        "hovertemplate": f"%{{y:.4~r}} % of the readings<br>around %{{x}} {unit}<extra></extra>",
    }


def _rising(sample: PlaceSample, unit: str) -> dict[str, Any]:
    values, shares = cumulative(sample)
    return {
        "mode": "lines",
        "x": _short(values),
        "y": _short(100 * shares),
        "hovertemplate": f"%{{y:.4~r}} % at or under %{{x}} {unit}<extra></extra>",
    }


def _quantiles(sample: PlaceSample, colour: str, unit: str) -> dict[str, Any]:
    """Median and 95th percentile on the cumulative line: a round mark and a square one."""
    quantiles = [(q, quantile(sample, q)) for q in (MEDIAN, P95)]
    words = {MEDIAN: "median", P95: "95th percentile"}
    return {
        "type": "scatter",
        "mode": "markers",
        "name": "median and 95th percentile",
        "x": _short([value.value for _, value in quantiles]),
        "y": [100 * q for q, _ in quantiles],
        "text": [f"{words[q]}: {'< ' if value.is_below else ''}{plain(value.value)} {unit}" for q, value in quantiles],
        "marker": {"symbol": ["circle", "square"], "size": 8, "color": colour},
        "hovertemplate": "%{text}<extra></extra>",
    }


def _hidden(floor: float, share: float, line: dict[str, Any], unit: str, is_log: bool) -> dict[str, Any]:
    """Readings below detection: one open block under the limit of detection, however they lie in it."""
    left = floor / 2 if is_log else min(0.0, floor)
    return {
        "type": "scatter",
        "mode": "lines+text",
        "name": "below detection",
        "yaxis": "y2",
        "showlegend": False,
        "x": _short([left, left, (left + floor) / 2, floor, floor]),
        "y": _short([0.0, *[100 * share] * 3, 0.0]),
        "text": ["", "", f"< {plain(floor)}", "", ""],
        "textposition": "top center",
        "line": line | {"dash": "dot"},
        "hovertemplate": f"{percent(share, 3)} of the readings are below {plain(floor)} {unit}<extra></extra>",
    }


def _layout(
    samples: Sequence[PlaceSample], limits: Sequence[LimitLine], unit: str, *, is_log: bool, from_zero: bool
) -> dict[str, Any]:
    low, top = (float(end([end(s.value) for s in samples if len(s)])) for end in (np.min, np.max))
    near = [line for line in limits if line.at <= FAR_ABOVE * max(top, 0.0) and (line.at > 0 or not is_log)]
    axis: dict[str, Any] = {"title": {"text": unit}, "anchor": "y"}
    if from_zero and not is_log and low >= 0:
        axis["range"] = [0, 1.04 * max([top, *(line.at for line in near)])]
    return {
        "showlegend": len(samples) > 1,
        "legend": {"tracegroupgap": 0},
        "hovermode": "closest",
        "xaxis": axis | (LOG_AXIS if is_log else {}),
        "yaxis": {"domain": [0, 0.46], "title": {"text": "% at or under"}, "range": [0, 102], "nticks": 6},
        "yaxis2": {"domain": [0.54, 1], "title": {"text": "% of readings"}, "rangemode": "tozero", "nticks": 6},
        "shapes": [upright(line) for line in near],
        "annotations": [upright_label(line, is_log=is_log) for line in near],
    }


def _short(values: Any) -> list[float]:
    return [float(f"{value:.5g}") for value in values]
