"""Numbers that many loggers write where they have no reading, standing far from the other values of their column.

Among these nobody can tell by the number alone: 999.9 is a temperature of no room, and a fair amount of dust. Those
that the first lines hold are asked about; one that comes later is named where it stands, and nothing is stored for it.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

from methods.logs.layouts.compiled_layout import key_text, long_name
from methods.logs.sketch import Sketch
from methods.logs.types import Column, ColumnRole, Layout, LayoutQuestion
from methods.logs.values.cells import Cell, CellReader
from methods.logs.values.plausible import highest_of
from methods.quantities.digits import as_entered

CODE = "fill"
NONE, VALUE, ALL_OF_THEM = "none", "value", "all"
#: Common practice, no source: nines, and the ends of numbers of two bytes, with and without decimals.
_HIGH = (
    9999.0, 99999.0, 999999.0, 9999.9, 9999.99, 65535.0, 65534.0, 32767.0, 32766.0, 6553.5, 6553.4, 3276.7, 655.35,
    327.67,
)  # fmt: skip
_LOW = (-32768.0, -32767.0, -3276.8, -327.68)
#: Of what is never so high: dust and gases go through these numbers now and then.
_OF_CLIMATE = (999.0, 999.9, 999.99, 99.9, 99.99)
_CLIMATE = ("temperature", "humidity")
_FILLS = frozenset((*_HIGH, *_LOW, *_OF_CLIMATE, -1.0))
#: So many times the largest of the others is far from them; fewer others tell nothing.
_FAR, _FEWEST = 3.0, 3
#: −1 is far from values that are all so high, or so low.
_WELL_ABOVE, _WELL_BELOW = 10.0, 1 / _FAR
#: Where it is there, less will do: somebody is asked, and nothing left out without.
_ABOVE = 3.0
#: What no reading of anything reaches, of a column that nothing is known of.
_NEVER = 30_000.0


def far_fills(column: Column, values: Sequence[float]) -> tuple[float, ...]:
    """The numbers that can hardly be readings of ``column``, of which ``values`` are some."""
    others = [value for value in values if value not in _FILLS]
    known = len(others) >= _FEWEST
    reach = _FAR * max(map(abs, others)) if known else highest_of(column, _NEVER)
    numbers = _HIGH + _OF_CLIMATE if column.parameter in _CLIMATE else _HIGH
    far = [number for number in numbers if number > reach] + [number for number in _LOW if number < -reach]
    if not known:
        far += [number for number in _HIGH if number in values and number not in far]
    is_there = -1.0 in values
    if column.parameter and (known or is_there) and _is_far_from_minus_one(column, others, is_there=is_there):
        far.append(-1.0)
    return tuple(far)


def _is_far_from_minus_one(column: Column, others: Sequence[float], *, is_there: bool) -> bool:
    """Of temperatures, which go through it, only where it stands beside warm ones."""
    if column.parameter == "temperature":
        return is_there and bool(others) and min(others) >= _WELL_ABOVE
    lowest, highest = min(others, default=_WELL_ABOVE), max(others, default=_WELL_ABOVE)
    above = _ABOVE if is_there else _WELL_ABOVE
    return lowest >= above or (lowest >= 0 and 0 < highest <= _WELL_BELOW)


def doubt_fills(sketch: Sketch) -> list[LayoutQuestion]:
    """Notes in each VALUE column of ``sketch`` what would be far from its first values; one question for all of that
    which these hold."""
    values = _first_values(sketch)
    columns = tuple(
        replace(column, fills=far_fills(column, values.get(at, ()))) if column.role is ColumnRole.VALUE else column
        for at, column in enumerate(sketch.layout.columns)
    )
    sketch.put(columns=columns)
    return _questions(sketch, values)


def _questions(sketch: Sketch, values: Mapping[int, Sequence[float]]) -> list[LayoutQuestion]:
    there = [
        (at, column, number, count)
        for at, column in enumerate(sketch.layout.columns)
        for number, count in sorted(Counter(values.get(at, ())).items())
        if number in column.fills
    ]
    if not there:
        return []
    said = ", ".join(
        f"{as_entered(n)} in {count:,} of “{column.name or f'column {column.index + 1}'}”"
        for _, column, n, count in there
    )
    pairs = " ".join(f"{at}:{number!r}" for at, _, number, _ in there)
    text = (
        f"Some cells of the first {len(sketch.data):,} lines are far from the others, and hold what many loggers write "
        f"without a reading ({said}): is that no reading?"
    )
    return [
        LayoutQuestion(
            CODE, text, ((f"{NONE} {pairs}", "no reading: left out"), (f"{VALUE} {pairs}", "a reading: kept"))
        )
    ]


def choices_for_all() -> tuple[tuple[str, str], ...]:
    """For a file of which nothing is asked: what becomes of those that are met further down."""
    return (
        (f"{NONE} {ALL_OF_THEM}", "no readings: left out"),
        (f"{VALUE} {ALL_OF_THEM}", "readings: kept"),
    )


def with_fills(layout: Layout, choice: str) -> Layout:
    """``layout`` as a choice says. ValueError for one that names no column of it."""
    kind, *pairs = choice.split()
    columns = list(layout.columns)
    for at, number in _numbers(layout, pairs):
        if not 0 <= at < len(columns):
            raise ValueError("The question belongs to no column of this layout.")
        columns[at] = _said(columns[at], number, is_none=kind == NONE)
    return replace(layout, columns=tuple(columns))


def _numbers(layout: Layout, pairs: Sequence[str]) -> list[tuple[int, float]]:
    if pairs == [ALL_OF_THEM]:
        return [(at, number) for at, column in enumerate(layout.columns) for number in column.fills]
    return [(int(at), float(number)) for at, _, number in (pair.partition(":") for pair in pairs)]


def _said(column: Column, number: float, *, is_none: bool) -> Column:
    fills = tuple(fill for fill in column.fills if fill != number)
    no_readings = tuple(fill for fill in column.no_readings if fill != number) + (number,) * is_none
    readings = tuple(fill for fill in column.readings if fill != number) + (number,) * (not is_none)
    return replace(column, fills=fills, no_readings=no_readings, readings=readings)


def without_fills(layout: Layout) -> Layout:
    """``layout`` that names none of them."""
    return replace(layout, columns=tuple(replace(column, fills=()) for column in layout.columns))


def is_said(layout: Layout, choice: str) -> bool:
    """Whether ``layout`` is as ``choice`` says."""
    kind, *pairs = choice.split()
    if pairs == [ALL_OF_THEM]:
        told = [c.no_readings if kind == NONE else c.readings for c in layout.columns]
        return any(told) and not any(column.fills for column in layout.columns)
    return all(
        number in (layout.columns[at].no_readings if kind == NONE else layout.columns[at].readings)
        for at, number in _numbers(layout, pairs)
    )


def is_open(layout: Layout, question: LayoutQuestion) -> bool:
    """Whether a number of ``question`` is one that ``layout`` says nothing of."""
    _, *pairs = question.choices[0][0].split()
    return any(number in layout.columns[at].fills for at, number in _numbers(layout, pairs))


def carried(fresh: Column, settled: Column, kept: Column) -> Column:
    """``kept``, made of the two for a file of its own, with what was said of numbers, and the others of ``fresh``."""
    if fresh.role is not ColumnRole.VALUE or kept.role is not ColumnRole.VALUE:
        return kept
    said = (*settled.no_readings, *settled.readings)
    fills = tuple(number for number in fresh.fills if number not in said)
    return replace(kept, fills=fills, no_readings=settled.no_readings, readings=settled.readings)


def _first_values(sketch: Sketch) -> Mapping[int, Sequence[float]]:
    """By the place of a VALUE column in ``Layout.columns``, the numbers in its first lines as they are written."""
    layout = sketch.layout
    reader = CellReader(layout.decimal, layout.thousands, layout.missing_codes)
    hours = [at for at, _ in layout.kept_hours]
    kinds = _kinds(sketch)
    found: dict[int, list[float]] = {}
    for at, column in enumerate(layout.columns):
        if column.role is not ColumnRole.VALUE:
            continue
        key = key_text(column.name) if kinds else ""
        texts = [
            row[index]
            for n, row in enumerate(sketch.data)
            for index in (hours or [column.index])
            if index < len(row) and (not kinds or kinds[n] == key)
        ]
        numbers = {text: _number(reader.read(text, column.unit, column.parameter)) for text in set(texts)}
        found[at] = [number for text in texts if (number := numbers[text]) is not None]
    return found


def _number(cell: Cell) -> float | None:
    return None if cell.flag or math.isnan(cell.value) else cell.value


def _kinds(sketch: Sketch) -> list[str]:
    """Of a long file, which of its columns each line is of; empty for others."""
    indices = [column.index for column in sketch.layout.values]
    if len(set(indices)) == len(indices):
        return []
    at = {column.role: column.index for column in sketch.layout.columns}
    parameter, unit = at.get(ColumnRole.PARAMETER, -1), at.get(ColumnRole.UNIT, -1)
    name = sketch.column_named(indices[0])
    return [
        key_text(
            long_name(
                row[parameter].strip() if 0 <= parameter < len(row) else name,
                row[unit].strip() if 0 <= unit < len(row) else None,
            )
        )
        for row in sketch.data
    ]
