"""The uncertainty budget as bars."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Protocol


class BudgetBar(Protocol):
    """A part of a budget: its standard uncertainty ``u`` and its share (0 to 1) of the variance, None where nobody
    knows them."""

    @property
    def name(self) -> str: ...

    @property
    def u(self) -> float | None: ...

    @property
    def share(self) -> float | None: ...


def budget_bars(rows: Sequence[BudgetBar], unit: str) -> dict[str, Any]:
    """One bar per part: its standard uncertainty in ``unit``, and beside it its share of the variance.

    Parts nobody knows have no bar and say so, because an empty place would read as nothing.
    """
    names = [row.name for row in rows]
    return {
        "data": [
            {
                "type": "bar",
                "orientation": "h",
                "y": names,
                "x": [row.u or 0.0 for row in rows],
                "text": [_beside(row) for row in rows],
                "textposition": "outside",
                "cliponaxis": False,
                "marker": {"color": "series-1"},
                "hovertemplate": f"%{{y}}: %{{x:.4~r}} {unit}<extra></extra>",
            }
        ],
        "layout": {
            "showlegend": False,
            "yaxis": {"autorange": "reversed", "showgrid": False, "ticks": "", "fixedrange": True},
            "xaxis": {
                "title": {"text": f"standard uncertainty, {unit}"},
                "range": [0, 1.45 * max((row.u or 0.0 for row in rows), default=1.0) or 1.0],
                "fixedrange": True,
                "nticks": 5,
            },
            "bargap": 0.45,
        },
    }


def _beside(row: BudgetBar) -> str:
    if row.u is None:
        return "not known"
    share = 100 * (row.share or 0.0)
    return f"{share:.0f} %" if share >= 1 or share == 0 else "under 1 %"
