"""A layout made ready for reading: which cells are needed, and what each of them becomes.

Shared by the careful path and the fast path, so that both mean the same.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from methods.logs.layouts.values_meant import meant_by, sign_of
from methods.logs.stamps.date_order import is_undecided
from methods.logs.stamps.stamp_formats import EPOCH_MS, OPEN, StampFormat, compiled, split_format, start_of
from methods.logs.types import EPOCH, LOCAL, UTC, Column, ColumnRole, Layout, LogProblem, Unreadable
from methods.logs.values.cells import DEFAULT_MISSING, CellReader
from methods.logs.words.substance_words import fold
from methods.quantities.durations import MINUTE_MS


def key_text(text: str) -> str:
    """How texts of a parameter column are compared."""
    return " ".join(fold(text).split())


@dataclass(slots=True)
class CompiledLayout:
    """``width`` counts the file's columns, ``needed`` those a line must reach.

    ``stamp_at`` has the columns of the stamp, ``stamp`` the format of each (or one for all), ``whole_stamp`` the format
    of their cells joined by blanks. ``values`` pairs the column number k of a chunk with its column. ``long`` maps what
    the parameter and unit cells say to k (-1 = leave out); it is empty for wide layouts. ``unit_beside`` maps the index
    of a unit column to the value columns it speaks for. ``sources`` has the texts whose lines are kept,
    ``states`` those whose values are good, with the value columns meant; ``signs`` the value column that "<" and ">"
    stand before.
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
    long: dict[str, int] = field(default_factory=dict)
    unit_beside: dict[int, tuple[int, ...]] = field(default_factory=dict)
    sources: dict[int, frozenset[str]] = field(default_factory=dict)
    states: dict[int, tuple[frozenset[str], tuple[int, ...]]] = field(default_factory=dict)
    signs: dict[int, int] = field(default_factory=dict)
    names: tuple[str, ...] = ()

    @property
    def ahead_ms(self) -> int:
        """By how much all stamps as they are written are ahead of UTC."""
        return (self.layout.utc_offset or 0) * MINUTE_MS

    @property
    def k(self) -> int:
        return len(self.values)

    @property
    def is_long(self) -> bool:
        return bool(self.long)


def make_plan(layout: Layout) -> CompiledLayout:
    """Raises Unreadable where the layout still leaves something open that reading needs."""
    stamp_at, formats, whole = _stamp(layout)
    if layout.hours and len(layout.values) > 1:
        raise _open("hours", "The hours of a day are read alone: leave the other columns out.")
    width = 1 + max((column.index for column in layout.columns), default=0)
    plan = CompiledLayout(
        layout=layout,
        stamp_at=stamp_at,
        stamp=formats,
        whole_stamp=whole,
        values=tuple(enumerate(_value_cells(layout))),
        cells=CellReader(layout.decimal, layout.thousands, layout.missing_codes or DEFAULT_MISSING),
        width=width,
        needed=1 + max((c.index for c in layout.columns if c.role is not ColumnRole.IGNORE), default=0),
        names=_names(layout, width),
    )
    if not plan.values:
        raise _open("parameter", "No column is chosen as a reading: say which column holds which parameter.")
    _add_long(plan)
    _add_line_columns(plan)
    return plan


def _value_cells(layout: Layout) -> tuple[Column, ...]:
    """The columns that hold values: those of the layout, or the one of a day's line in each of its hours."""
    if not layout.hours or len(layout.values) != 1:
        return layout.values
    names = {column.index: column.name for column in layout.columns}
    return tuple(replace(layout.values[0], index=at, name=names.get(at, "")) for at, _ in layout.kept_hours)


def _add_line_columns(plan: CompiledLayout) -> None:
    for column in plan.layout.columns:
        if column.role is ColumnRole.SIGN:
            plan.signs[column.index] = sign_of(plan.layout, column)
        elif column.keep is None or set(column.keep) >= set(column.seen):
            continue
        elif column.role is ColumnRole.SOURCE:
            plan.sources[column.index] = frozenset(column.keep)
        elif column.role is ColumnRole.STATUS:
            meant = tuple(range(plan.k)) if plan.layout.hours else meant_by(plan.layout, column)
            plan.states[column.index] = frozenset(column.keep), meant


#: What makes up the time of a reading, in the order of the parts of the stamp format.
TIME_ROLES = (
    ColumnRole.STAMP, ColumnRole.DATE, ColumnRole.YEAR, ColumnRole.MONTH, ColumnRole.DAY, ColumnRole.DAY_OF_YEAR,
    ColumnRole.TIME, ColumnRole.HOUR, ColumnRole.MINUTE, ColumnRole.SECOND,
)  # fmt: skip


def stamp_columns(layout: Layout) -> list[int]:
    """The columns that make up the time of a reading, in the order of the parts of the stamp format."""
    columns = [column for column in layout.columns if column.role in TIME_ROLES]
    return [column.index for column in sorted(columns, key=lambda c: (TIME_ROLES.index(c.role), c.index))]


def with_stamp_format(layout: Layout, form: str) -> Layout:
    """``layout`` with its stamps in ``form``, the order of day and month open; "" = nobody knows how to read them.

    Stamps that say their zone, or count from 1970, are in UTC by themselves; others are if the file says so once.
    """
    own = form in EPOCH_MS or (bool(form) and compiled(form).has_zone)
    offset = None if own else layout.utc_offset
    basis = EPOCH if form in EPOCH_MS else UTC if own or offset is not None else LOCAL
    return replace(layout, stamp_format=form, day_first=None, basis=basis, utc_offset=offset)


def stamp_forms(layout: Layout, text: str, at: Sequence[int]) -> tuple[StampFormat, ...]:
    """A format for each column; one for all of them where nothing but blanks can stand between them."""
    parts = tuple(compiled(part) for part in split_format(text, len(at)))
    runs_on = list(at) == list(range(at[0], at[0] + len(at)))
    if len(at) > 1 and runs_on and (layout.reader == "fixed" or layout.delimiter == " "):
        return (compiled(text),)
    return parts


def _stamp(layout: Layout) -> tuple[tuple[int, ...], tuple[StampFormat, ...], StampFormat]:
    at = stamp_columns(layout)
    if not layout.stamp_format or not at:
        raise _open("no_time", "No column holds the time of the readings: say which one does.")
    if start_of(layout.stamp_format) and layout.start_ms is None and not layout.sections:
        raise _open("start", "The file does not say when it begins: say it on the page of the layout.")
    if OPEN in layout.stamp_format:
        raise _open("interval", "Say at which end of its interval a value of this file is stamped.")
    if is_undecided(layout):
        raise _open("day_or_month", "Say whether the day or the month comes first in the dates of this file.")
    try:
        whole = compiled(layout.stamp_format)
        return tuple(at), stamp_forms(layout, layout.stamp_format, at), whole
    except ValueError as error:
        raise _open(
            "no_time", "The layout does not say how to read the time: choose the date and time columns."
        ) from error


def _open(code: str, message: str) -> Unreadable:
    return Unreadable(LogProblem(0, "", "", code, message))


def _names(layout: Layout, width: int) -> tuple[str, ...]:
    names = [f"column {i + 1}" for i in range(width)]
    for column in layout.columns:
        if column.name and not (
            column.role is ColumnRole.VALUE and names[column.index] != f"column {column.index + 1}"
        ):
            names[column.index] = column.name
    return tuple(names)


def _add_long(plan: CompiledLayout) -> None:
    layout = plan.layout
    by_role = {
        role: [c.index for c in layout.columns if c.role is role] for role in (ColumnRole.PARAMETER, ColumnRole.UNIT)
    }
    value_indices = list(dict.fromkeys(column.index for _, column in plan.values))
    if by_role[ColumnRole.PARAMETER]:
        plan.parameter_at = by_role[ColumnRole.PARAMETER][0]
    if not by_role[ColumnRole.PARAMETER] and len(value_indices) > 1:
        plan.unit_beside = _beside(plan, by_role[ColumnRole.UNIT])
        return
    if by_role[ColumnRole.UNIT]:
        plan.unit_at = by_role[ColumnRole.UNIT][0]
    if plan.parameter_at < 0 and plan.unit_at < 0:
        return
    numbers = {id(column): k for k, column in plan.values}
    for column in layout.columns:
        if column.index == value_indices[0] and column.role in (ColumnRole.VALUE, ColumnRole.IGNORE):
            plan.long.setdefault(_long_key_of(plan, column.name), numbers.get(id(column), -1))


def _beside(plan: CompiledLayout, unit_columns: list[int]) -> dict[int, tuple[int, ...]]:
    """A unit column speaks for the value column to its left (or right, where it comes first)."""
    found: dict[int, tuple[int, ...]] = {}
    for index in unit_columns:
        left = [k for k, column in plan.values if column.index == index - 1]
        found[index] = tuple(left or [k for k, column in plan.values if column.index == index + 1])
    return found


def long_name(parameter: str, unit: str | None) -> str:
    """The name of one kind of reading in a long file, as the file spells it; ``unit`` None = no unit column."""
    return parameter if unit is None else f"{parameter} [{unit}]".strip()


def long_key(plan: CompiledLayout, parameter: str, unit: str) -> str:
    if plan.parameter_at < 0:
        return key_text(unit)
    return key_text(long_name(parameter.strip(), unit.strip() if plan.unit_at >= 0 else None))


def _long_key_of(plan: CompiledLayout, name: str) -> str:
    """The key in a column's name: without a parameter column, the unit in its brackets."""
    return key_text(name if plan.parameter_at >= 0 else name.rpartition("[")[2].removesuffix("]"))
