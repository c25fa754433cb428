"""Tables that stand beside each other in one file, each with a time of its own: a file is read with one time, so one of
them is read and the columns of the others are left out, or the file is refused."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from methods.logs import messages
from methods.logs.layouts.column_roles import NONE_CHOICE
from methods.logs.sketch import Sketch, has_moment, is_number
from methods.logs.types import ColumnRole, Layout, LayoutQuestion

#: One run of time columns next to each other (UTC and local time, a date and a time of day) begins a table.
Runs = list[list[int]]
MOST_NAMES = 4


def tables_of(sketch: Sketch, times: Sequence[int]) -> Runs:
    """The ``times`` that begin a table each: with values to their right before the next ones, and other times than the
    table before. Empty where there is but one table."""
    if not times:  # a count of seconds under a name that speaks of no time
        return []
    runs = _runs(times)
    ends = [run[0] for run in runs[1:]] + [sketch.width]
    valued = [run for run, end in zip(runs, ends, strict=True) if _values(sketch, run[-1] + 1, end)]
    tables = valued[:1] + [run for before, run in pairwise(valued) if _differ(sketch, before, run)]
    return tables if len(tables) > 1 else []


def refuse_tables(sketch: Sketch, times: Sequence[int], *, run: int = 1) -> None:
    """Of stamps that are no whole moments in one column. ``run``: in how many columns each of them stands."""
    tables = [table for table in tables_of(sketch, times) if len(table) >= run]
    if len(tables) > 1:
        names = [sketch.layout.columns[table[0]].name for table in tables]
        sketch.refused = messages.tables_beside(names, [table[0] + 1 for table in tables])


def tables_question(sketch: Sketch, tables: Runs, forms: dict[int, str]) -> LayoutQuestion:
    """Which time, and with it which table. A stamp_column question with a ``column`` is about tables."""
    starts = [table[0] for table in tables]
    choices = []
    for table, end in zip(tables, [*starts[1:], sketch.width], strict=True):
        held = ", ".join(_values(sketch, table[-1] + 1, end)[:MOST_NAMES])
        for i in table:
            name = sketch.layout.columns[i].name or "no name"
            choices.append((f"{i} {forms[i]}", f"{name} in column {i + 1}, {sketch.cells(i)[0]}, with {held}"))
    text = (
        f"{len(tables)} tables stand beside each other, each with a time of its own, and a file is read with one time: "
        "which one is to be read? The columns of the others are left out: save them as a file of their own and hand "
        "that in, too."
    )
    return LayoutQuestion("stamp_column", text, (*choices, NONE_CHOICE), starts[0])


def only_table(layout: Layout, question: LayoutQuestion, index: int) -> Layout:
    """``layout`` without the columns of the tables that the time column ``index`` is not of."""
    if question.column is None:
        return layout
    starts = [run[0] for run in _runs([int(value.split(" ", 1)[0]) for value, _ in question.choices[:-1]])]
    first = max(start for start in starts if start <= index)
    end = min((start for start in starts if start > index), default=1 + max(c.index for c in layout.columns))
    first = 0 if first == starts[0] else first
    columns = (
        c if first <= c.index < end else replace(c, role=ColumnRole.IGNORE, parameter=None, unit=None)
        for c in layout.columns
    )
    return replace(layout, columns=tuple(columns))


def _runs(times: Sequence[int]) -> Runs:
    runs: Runs = []
    for i in sorted(times):
        if runs and runs[-1][-1] == i - 1:
            runs[-1].append(i)
        else:
            runs.append([i])
    return runs


def _values(sketch: Sketch, first: int, end: int) -> list[str]:
    """Names of the columns of numbers from ``first`` to before ``end``, but for those that are surely no readings."""
    return [
        sketch.layout.columns[i].name or f"column {i + 1}"
        for i in range(first, end)
        if not sketch.headings[i].other and (cells := sketch.cells(i)) and 2 * sum(map(_is_value, cells)) > len(cells)
    ]


def _is_value(cell: str) -> bool:
    return is_number(cell) and not has_moment(cell)


def _differ(sketch: Sketch, before: list[int], run: list[int]) -> bool:
    """Whether a line has other times in the two; where one has none, it has no reading there."""
    pairs = [
        (row[a].strip(), row[b].strip())
        for row in sketch.data
        for a, b in zip(before, run, strict=False)
        if b < len(row)
    ]
    return any(a and b and a != b for a, b in pairs)
