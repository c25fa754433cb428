"""The time zone of the stamps, where the file itself names one: in a column, in the name of the time, above it all."""

from __future__ import annotations

import re
from dataclasses import replace

from methods.logs.layouts.compiled_layout import stamp_columns
from methods.logs.sketch import Sketch
from methods.logs.stamps.date_order import orders
from methods.logs.stamps.stamp_formats import NUMERIC, compiled, split_format
from methods.logs.stamps.zone_names import speaks_of_zone, zone_in, zone_said_in
from methods.logs.types import LOCAL, UTC, ColumnRole, Layout, LayoutQuestion

_ZONE_CELL = compiled("%z")
_LOCAL = re.compile(r"local|lokal|ortszeit", re.I)
_BARE_NUMBER = re.compile(r"[+-]?\d{1,2}")
_SIGNED = re.compile(r"(?:UTC|GMT)?\s?[+-]\d{1,2}:?(?:\d{2})?")
#: The choices of ``zone_column``.
ZONE_CHOICE, NO_ZONE = "zone", "none"


def find_zone(sketch: Sketch) -> None:
    """Makes the stamps of ``sketch`` those of UTC if the file says how far they are from it."""
    layout = sketch.layout
    if layout.basis != LOCAL or not layout.stamp_format:
        return
    at = stamp_columns(layout)
    column = _zone_column(sketch, at)
    if column is not None and column > max(at) and layout.stamp_format not in NUMERIC:
        sketch.layout = with_zone_column(layout, column)
        sketch.forms = orders(sketch.layout.stamp_format)
        return
    minutes = _said_once(sketch, at, column)
    if minutes is not None:
        sketch.put(basis=UTC, utc_offset=minutes)


def with_zone_column(layout: Layout, index: int) -> Layout:
    """``layout``, whose stamps are each on the clock of the zone in a column behind them; the order of day and month
    stays as it is."""
    parts = split_format(layout.stamp_format, len(stamp_columns(layout)))
    columns = tuple(replace(c, role=ColumnRole.TIME) if c.index == index else c for c in layout.columns)
    form = "\t".join((*parts, "%z"))
    return replace(layout, columns=columns, stamp_format=form, basis=UTC, utc_offset=None)


def with_zone_of_columns(layout: Layout, before: Layout) -> Layout:
    """``layout``, whose time is in other columns than that of ``before``, on the clock that their names say.

    What stood in the name of a column goes with it; what a line above said of all holds, but for a time that is local.
    """
    if not layout.stamp_format or layout.stamp_format in NUMERIC or compiled(layout.stamp_format).has_zone:
        return layout
    names, others = _names(layout), _names(before)
    said = next((minutes for name in names if (minutes := zone_in(name)) is not None), None)
    if said is None and not any(zone_in(name) == before.utc_offset for name in others):
        said = None if any(_LOCAL.search(name) for name in names) else before.utc_offset
    return replace(layout, basis=LOCAL if said is None else UTC, utc_offset=said)


def _names(layout: Layout) -> list[str]:
    at = stamp_columns(layout)
    return [column.name for column in layout.columns if column.index in at]


def _zone_column(sketch: Sketch, at: list[int]) -> int | None:
    """A column all of whose cells are zones and whose heading says so; a lone number is not one ("+1" may be anything).

    What stands directly behind the time without a heading, or with a sign in each cell, needs none. Cells under "Zone"
    may as well name parts of a building (EST, WEST, Z): that is asked. Under any other heading they are no zones.
    """
    for i in range(sketch.width):
        cells, name = [] if i in at else sketch.cells(i), sketch.column_named(i)
        if not cells or not all(map(_is_zone, cells)):
            continue
        is_beside = i == max(at) + 1 and (not name or all(map(_SIGNED.fullmatch, cells)))
        if speaks_of_zone(name) or is_beside:
            return i
        if name.strip().casefold() == "zone" and i > max(at) and sketch.layout.stamp_format not in NUMERIC:
            sketch.questions.append(_question(i, name, cells))
    return None


def _is_zone(cell: str) -> bool:
    return _ZONE_CELL.parse(cell) is not None and not _BARE_NUMBER.fullmatch(cell)


def _question(i: int, name: str, cells: list[str]) -> LayoutQuestion:
    seen = list(dict.fromkeys(cells))
    text = f"“{name}” holds {', '.join(f'“{cell}”' for cell in seen[:3])}: are those the time zones of the stamps?"
    choices = (
        (ZONE_CHOICE, "yes: each stamp is on the clock of the zone in its line"),
        (NO_ZONE, "no: it is something else"),
    )
    return LayoutQuestion("zone_column", text, choices, i)


def _said_once(sketch: Sketch, at: list[int], column: int | None) -> int | None:
    if column is not None:
        zones = {zone_in(cell) for cell in sketch.cells(column)}
        return zones.pop() if len(zones) == 1 else None
    for name in (sketch.column_named(i) for i in at):
        if (minutes := zone_in(name)) is not None:
            return minutes
    first = sketch.layout.header_line or sketch.layout.first_data_line
    above = (" ".join(cell for cell in row if cell) for row in sketch.rows[: first - 1])
    said = {minutes for line in above if (minutes := zone_said_in(line)) is not None}
    return said.pop() if len(said) == 1 else None  # two that differ: which of them is that of the stamps is not told
