"""From when to when a file would run, for each order in which its dates can be read."""

from __future__ import annotations

from pathlib import Path

from methods.logs.layouts.compiled_layout import stamp_columns
from methods.logs.stamps.date_order import order_of, orders
from methods.logs.survey import Wanted, survey
from methods.logs.types import Layout, Unreadable


def order_spans(path: Path, layout: Layout) -> dict[str, tuple[int, int]]:
    """By the name of an order (``methods.logs.stamps.date_order``) the stamps of the first and the last line that can
    be read in it, ms on the logger's clock; an order that a line refutes is left out, and so is all of a damaged file.
    """
    wanted = Wanted(stamp_at=tuple(stamp_columns(layout)), forms=orders(layout.stamp_format))
    width = 1 + max(column.index for column in layout.columns)
    try:
        tallies = survey(path, layout, width, wanted).tallies
    except Unreadable:
        return {}
    return {
        order_of(tally.form): (tally.first, tally.last)
        for tally in tallies
        if not tally.refuted and tally.first is not None and tally.last is not None
    }
