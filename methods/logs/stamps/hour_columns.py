"""One line to a day, a column to each hour: known by its headings, asked about, and spread to a row for each hour."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np

from methods.logs.messages import hours_beside_others
from methods.logs.sketch import Sketch, is_blank
from methods.logs.stamps.hour_labels import HOURS, hours_in
from methods.logs.types import Chunk, ColumnRole, Layout, LayoutQuestion
from methods.quantities.durations import HOUR_MS

AS_HEADED, SHIFTED = "as_headed", "shifted"


def hour_header(sketch: Sketch) -> int | None:
    """The row above the data that heads the hours; None where there is none."""
    for at in range(sketch.layout.first_data_line - 2, -1, -1):
        row = sketch.rows[at]
        if not is_blank(row):
            return at if len(row) == sketch.width and hours_in(row) else None
    return None


def find_hours(sketch: Sketch) -> None:
    """Of a file of days: the first hour's column stands for all of them; what its headings mean is asked."""
    layout = sketch.layout
    hours = hours_in(sketch.rows[layout.header_line - 1]) if layout.header_line else {}
    if not hours or "%" not in layout.stamp_format or re.search("%[HI]|%<", layout.stamp_format):
        return
    first, *others = hours
    for at in others:
        sketch.set_column(at, role=ColumnRole.HOURLY)
    names = [sketch.column_named(at) for at in (first, others[-1])]
    sketch.set_column(first, name=" … ".join(names))
    sketch.put(hours=tuple((at, hour * HOUR_MS) for at, hour in hours.items()))
    sketch.questions.append(_question(names, hours[first]))


def _question(names: list[str], first: int) -> LayoutQuestion:
    text = (
        f"Each line is a day, and {HOURS} columns are its hours (“{names[0]}” to “{names[1]}”): at which time is the "
        "value of an hour stamped? Whether a stored value is a mean up to its stamp or from it on is said of the type "
        "of the instrument, or below, where a layout is kept."
    )
    shift = 1 if first == 0 else -1
    return LayoutQuestion(
        "hours",
        text,
        (
            (AS_HEADED, f"as it is headed, {_shown(names, first)}"),
            (SHIFTED, f"at the {'end' if shift > 0 else 'beginning'} of its hour, {_shown(names, first + shift)}"),
        ),
    )


def _shown(names: list[str], first: int) -> str:
    return f"“{names[0]}” at {first:02d}:00 and “{names[1]}” at {first + HOURS - 1:02d}:00"


def with_hours(layout: Layout, choice: str) -> Layout:
    """``layout`` with its hours stamped as headed, or at the other end of the hour that the heading counts."""
    if choice == AS_HEADED or not layout.hours:
        return layout
    shift = HOUR_MS if layout.hours[0][1] == 0 else -HOUR_MS
    return replace(layout, hours=tuple((at, ms + shift) for at, ms in layout.hours))


def refuse_beside_others(sketch: Sketch) -> None:
    """Hours beside columns of other readings, or of several kinds, are not read: which belongs to which is not told."""
    if not sketch.layout.hours:
        return
    first = sketch.layout.hours[0][0]
    beside = [
        column
        for column in sketch.layout.columns
        if column.role in (ColumnRole.PARAMETER, ColumnRole.UNIT)
        or (column.role is ColumnRole.VALUE and column.index != first)
    ]
    if beside:
        name = beside[0].name or f"column {beside[0].index + 1}"
        sketch.refused = hours_beside_others(sketch.layout.header_line, name)


def spread(chunk: Chunk, layout: Layout) -> Chunk:
    """Rows of days as rows of hours, in the order of the clock; hours with an empty cell are left out.

    ``chunk.values`` is [n, 24], one column for each of ``layout.kept_hours``; of what comes back it is [≤ 24 n, 1].
    """
    offsets = np.array([ms for _, ms in layout.kept_hours], dtype=np.int64)
    values, flags = chunk.values.reshape(-1, 1), chunk.flags.reshape(-1, 1)
    filled = ~np.isnan(values[:, 0]) | (flags[:, 0] != 0)
    stamps = (chunk.stamps[:, None] + offsets).reshape(-1)
    lines = np.repeat(chunk.lines, len(offsets))
    return Chunk(lines[filled], stamps[filled], values[filled], flags[filled], chunk.problems, chunk.bytes_read)
