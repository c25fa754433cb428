"""Several quantities on one axis of time: what was measured, and beneath it how warm, damp and aired the place was."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from methods.figures.axes import DeploymentBar, LimitLine, Span, bands, time_axis
from methods.figures.decimate import MOST_POINTS
from methods.figures.series import Course, bar_axis, bars, left_out, lines, value_range

#: Points of one layer, which is not as high as a drawing by itself.
LAYER_POINTS = 3000


@dataclass(frozen=True, eq=False)
class Layer:
    """One quantity: its name, unit and courses. ``limits`` are drawn in it."""

    name: str
    unit: str
    courses: Sequence[Course]
    from_zero: bool = True
    limits: Sequence[LimitLine] = ()


def stack(
    layers: Sequence[Layer], stays: Sequence[DeploymentBar], *, span: Span | None = None, most: int = MOST_POINTS
) -> dict[str, Any]:
    """The figure: layers from top to bottom, the first twice as high, and the bars of the deployments at the foot.

    ``span`` and ``most`` as in ``time_series``.
    """
    labels = list(dict.fromkeys(stay.label for stay in stays))
    foot = min(0.3, 0.035 * len(labels) + 0.015)
    domains = _domains(len(layers), foot + 0.03)
    data: list[dict[str, Any]] = []
    axes: dict[str, Any] = {}
    shapes: list[dict[str, Any]] = []
    for n, (layer, domain) in enumerate(zip(layers, domains, strict=True), start=1):
        axis = "y" if n == 1 else f"y{n}"
        data += lines(layer.courses, labels, layer.unit, most=most, total=LAYER_POINTS, yaxis=axis)
        data += [trace | {"yaxis": axis} for trace in left_out(layer.courses, layer.unit)]
        low, high = value_range(layer.courses, layer.limits, layer.from_zero)
        title = {"text": f"{layer.name}<br>{layer.unit}", "font": {"size": 11}}
        axes["yaxis" if n == 1 else f"yaxis{n}"] = {
            "domain": domain, "title": title, "range": [low, high], "nticks": 5,
        }  # fmt: skip
        shapes += [_across(line, axis) for line in layer.limits if line.at <= high]
    last = f"y{len(layers) + 1}"
    data += [bars(label, [s for s in stays if s.label == label], labels) | {"yaxis": last} for label in labels]
    axes[f"yaxis{len(layers) + 1}"] = bar_axis(labels, [0, foot])
    return {
        "data": data,
        "layout": {
            "showlegend": False,
            "hovermode": "closest",
            "xaxis": time_axis(stays, span, anchor=last),
            **axes,
            "shapes": [*bands(stays), *shapes],
            "annotations": [],
        },
    }


def _domains(n: int, foot: float) -> list[list[float]]:
    """From the top down; the first layer counts double."""
    gap = 0.03
    unit = (1.0 - foot - gap * (n - 1)) / (n + 1)
    out, top = [], 1.0
    for k in range(n):
        height = 2 * unit if k == 0 else unit
        out.append([round(top - height, 4), round(top, 4)])
        top -= height + gap
    return out


def _across(line: LimitLine, axis: str) -> dict[str, Any]:
    return {
        "type": "line", "xref": "paper", "x0": 0, "x1": 1, "yref": axis, "y0": line.at, "y1": line.at,
        "line": {"color": "limit", "width": 1.5, "dash": "dash"},
    }  # fmt: skip
