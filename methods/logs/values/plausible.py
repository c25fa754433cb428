"""Values that can hardly be what their column is taken for: asked about, never corrected.

The bounds are wide: common practice, no source. What lies outside them for most lines is rather another unit, a
fraction or another quantity than such air.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from statistics import median

from methods.logs.layouts.column_roles import IGNORE_CHOICE
from methods.logs.sketch import Sketch
from methods.logs.types import Column, ColumnRole, LayoutQuestion
from methods.logs.values.cells import CellReader
from methods.quantities.digits import as_entered, in_digits
from methods.quantities.substances import SUBSTANCES
from methods.quantities.unit_names import CELSIUS, FAHRENHEIT, PERCENT_RH

_INF = float("inf")
#: By parameter and unit: between what the middle value of room air lies, whatever is wrong with it.
_BOUNDS: dict[tuple[str, str], tuple[float, float]] = {
    ("formaldehyde", "ppm"): (-1, 30), ("formaldehyde", "ppb"): (0.2, 30_000),
    ("formaldehyde", "mg/m³"): (-1, 37), ("formaldehyde", "µg/m³"): (0.2, 37_000),
    ("co2", "ppm"): (150, 50_000), ("co2", "%"): (-1, 10), ("co2", "mg/m³"): (270, 90_000),
    ("co", "ppm"): (-5, 1_000), ("tvoc", "ppb"): (-_INF, 1e6),
    ("temperature", CELSIUS): (-45, 65), ("temperature", FAHRENHEIT): (-50, 150), ("humidity", PERCENT_RH): (1, 105),
}  # fmt: skip
#: Fewer values than this tell nothing.
_FEWEST = 5
KEEP, THOUSANDS, FRACTION = "keep", "thousands", "fraction"
GROUPED = re.compile(r"[1-9]\d{0,2}(\.\d{3})+")


def highest_of(column: Column, without: float) -> float:
    """What no usual value of ``column`` exceeds; ``without`` where nothing is known of it."""
    return _BOUNDS.get((column.parameter or "", column.unit or ""), (0.0, without))[1]


def plausibility_questions(sketch: Sketch) -> list[LayoutQuestion]:
    """One for each column whose middle value lies out of bounds; ``column`` is the place in ``Layout.columns``."""
    layout = sketch.layout
    reader = CellReader(layout.decimal, layout.thousands, layout.missing_codes)
    grouped = _may_be_grouped(sketch)
    kinds = [column.index for column in layout.values]
    asked = [
        (at, column, _values(sketch, column, reader))
        for at, column in enumerate(layout.columns)
        if column.role is ColumnRole.VALUE and column.parameter and column.unit and kinds.count(column.index) == 1
    ]
    return [
        _question(at, column, sketch.cells(column.index), values, is_grouped=grouped)
        for at, column, values in asked
        if _is_doubtful(column, values)
    ]


def _values(sketch: Sketch, column: Column, reader: CellReader) -> list[float]:
    cells = (reader.read(text, column.unit, column.parameter) for text in sketch.cells(column.index))
    apart = (*column.fills, *column.no_readings)
    values = (cell.value for cell in cells if cell.value == cell.value and not cell.flag)
    return [value * column.scale for value in values if value not in apart]


def _is_doubtful(column: Column, values: list[float]) -> bool:
    if _are_fractions(column, values):
        return True
    low, high = _BOUNDS.get((column.parameter or "", column.unit or ""), (-_INF, _INF))
    return len(values) >= _FEWEST and any(values) and not low <= median(values) <= high


def _are_fractions(column: Column, values: list[float]) -> bool:
    """Of humidity even a few values tell: no room is as dry as 1 %RH."""
    return column.parameter == "humidity" and any(values) and all(0 <= value <= 1 for value in values)


def _may_be_grouped(sketch: Sketch) -> bool:
    """Whether every point of the file stands before three digits, and could part thousands."""
    pointed = [cell for column in sketch.layout.values for cell in sketch.cells(column.index) if "." in cell]
    return sketch.layout.decimal == "." and bool(pointed) and all(map(GROUPED.fullmatch, pointed))


def _question(
    at: int, column: Column, cells: Sequence[str], values: list[float], *, is_grouped: bool
) -> LayoutQuestion:
    assert column.parameter is not None
    name = column.name or f"column {column.index + 1}"
    shown = ", ".join(list(dict.fromkeys(cells))[:3])
    text = f"“{name}” holds {shown}: can that be {SUBSTANCES[column.parameter].name.lower()} in {column.unit}?"
    others = ((unit, f"no, it is in {unit}") for unit in SUBSTANCES[column.parameter].units if unit != column.unit)
    points = ((THOUSANDS, f"no, the point parts thousands: {cells[0].replace('.', '')} {column.unit}"),) * is_grouped
    fraction = _fraction(column, values)
    return LayoutQuestion(
        "doubtful", text, ((KEEP, f"yes, it is in {column.unit}"), *fraction, *points, *others, IGNORE_CHOICE), at
    )


def _fraction(column: Column, values: list[float]) -> tuple[tuple[str, str], ...]:
    if not _are_fractions(column, values):
        return ()
    shown = next(value for value in values if value)
    return (
        (FRACTION, f"no, it is a fraction of 1: {as_entered(shown)} is {in_digits(shown * 100, 10)} {column.unit}"),
    )
