"""A layout made ready for reading: which cells are needed, and what each of them becomes.

Shared by the careful path and the fast path, so that both mean the same.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from readings.formats.cells import DEFAULT_MISSING, CellReader
from readings.formats.moments import StampFormat, compiled, split_format
from readings.formats.types import Column, Layout, Problem, Role, Unreadable
from readings.formats.unitwords import read_unit
from readings.formats.vocabulary import fold


def key_text(text: str) -> str:
    """How texts of a parameter column are compared."""
    return " ".join(fold(text).split())


@dataclass(slots=True)
class Plan:
    """``width`` counts the file's columns, ``needed`` those a line must reach. ``stamp_at`` has one index, or the date's and the time's; ``values`` pairs column number k with its column.

    ``long`` maps (parameter text, unit) to k (-1 = leave out); it is empty for wide layouts. ``unit_beside`` maps the
    index of a unit column to the value columns it speaks for.
    """

    layout: Layout
    stamp_at: tuple[int, ...]
    stamp: tuple[StampFormat, ...]
    whole_stamp: StampFormat
    values: tuple[tuple[int, Column], ...]
    cells: CellReader
    width: int
    needed: int
    parameter_at: int = -1
    unit_at: int = -1
    long: dict[tuple[str, str], int] = field(default_factory=dict)
    unit_beside: dict[int, tuple[int, ...]] = field(default_factory=dict)
    names: tuple[str, ...] = ()

    @property
    def k(self) -> int:
        return len(self.values)

    @property
    def is_long(self) -> bool:
        return bool(self.long)


def make_plan(layout: Layout) -> Plan:
    """Raises Unreadable where the layout still leaves something open that reading needs."""
    stamp_at, formats, whole = _stamp(layout)
    width = 1 + max((column.index for column in layout.columns), default=0)
    plan = Plan(
        layout=layout,
        stamp_at=stamp_at,
        stamp=formats,
        whole_stamp=whole,
        values=tuple(enumerate(layout.values)),
        cells=CellReader(layout.decimal, layout.thousands, layout.missing_codes or DEFAULT_MISSING),
        width=width,
        needed=1 + max((c.index for c in layout.columns if c.role is not Role.IGNORE), default=0),
        names=_names(layout, width),
    )
    if not plan.values:
        raise _open("parameter", "No column is chosen as a reading: say which column holds which parameter.")
    _add_long(plan)
    return plan


def is_undecided(layout: Layout) -> bool:
    """Whether the day and the month could still be the other way round."""
    text = layout.stamp_format
    return layout.day_first is None and "%d" in text and "%m" in text and not text.startswith(("%Y", "%y"))


def _stamp(layout: Layout) -> tuple[tuple[int, ...], tuple[StampFormat, ...], StampFormat]:
    at = {column.role: column.index for column in layout.columns if column.role in (Role.STAMP, Role.DATE, Role.TIME)}
    if not layout.stamp_format or not at:
        raise _open("no_time", "No column holds the time of the readings: say which one does.")
    if is_undecided(layout):
        raise _open("day_or_month", "Say whether the day or the month comes first in the dates of this file.")
    try:
        whole = compiled(layout.stamp_format)
        if Role.STAMP in at:
            return (at[Role.STAMP],), (whole,), whole
        date, time = split_format(layout.stamp_format)
        return (at[Role.DATE], at[Role.TIME]), (compiled(date), compiled(time)), whole
    except (KeyError, ValueError) as error:
        raise _open(
            "no_time", "The layout does not say how to read the time: choose the date and time columns."
        ) from error


def _open(code: str, message: str) -> Unreadable:
    return Unreadable(Problem(0, "", "", code, message))


def _names(layout: Layout, width: int) -> tuple[str, ...]:
    names = [f"column {i + 1}" for i in range(width)]
    for column in layout.columns:
        if column.name and not (column.role is Role.VALUE and names[column.index] != f"column {column.index + 1}"):
            names[column.index] = column.name
    return tuple(names)


def _add_long(plan: Plan) -> None:
    layout = plan.layout
    by_role = {role: [c.index for c in layout.columns if c.role is role] for role in (Role.PARAMETER, Role.UNIT)}
    value_indices = list(dict.fromkeys(column.index for _, column in plan.values))
    if by_role[Role.PARAMETER]:
        plan.parameter_at = by_role[Role.PARAMETER][0]
    if not by_role[Role.PARAMETER] and len(value_indices) > 1:
        plan.unit_beside = _beside(plan, by_role[Role.UNIT])
        return
    if by_role[Role.UNIT]:
        plan.unit_at = by_role[Role.UNIT][0]
    if plan.parameter_at < 0 and plan.unit_at < 0:
        return
    numbers = {id(column): k for k, column in plan.values}
    for column in layout.columns:
        if column.index == value_indices[0] and column.role in (Role.VALUE, Role.IGNORE):
            name = key_text(column.name) if plan.parameter_at >= 0 else ""
            unit = (column.unit or "") if plan.unit_at >= 0 else ""
            plan.long.setdefault((name, unit), numbers.get(id(column), -1))


def _beside(plan: Plan, unit_columns: list[int]) -> dict[int, tuple[int, ...]]:
    """A unit column speaks for the value column to its left (or right, where it comes first)."""
    found: dict[int, tuple[int, ...]] = {}
    for index in unit_columns:
        left = [k for k, column in plan.values if column.index == index - 1]
        found[index] = tuple(left or [k for k, column in plan.values if column.index == index + 1])
    return found


def long_key(plan: Plan, parameter: str, unit: str) -> tuple[str, str]:
    """The key of a line of a long file; the unit is canonical where it is known, as written where it is not."""
    name = key_text(parameter) if plan.parameter_at >= 0 else ""
    if plan.unit_at < 0:
        return name, ""
    return name, read_unit(unit, _parameter(plan, name)) or unit.strip()


def _parameter(plan: Plan, name: str) -> str | None:
    for _, column in plan.values:
        if not name or key_text(column.name) == name:
            return column.parameter
    return None
