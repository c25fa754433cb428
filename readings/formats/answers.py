"""A person's answers put into a layout, and a known layout put to use on another file of the same shape."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from readings.formats.moments import compiled, swap_day_and_month
from readings.formats.plan import is_undecided
from readings.formats.roles import IGNORE_CHOICE, parameter_question, twin_questions, unit_question
from readings.formats.types import LOCAL, UTC, Column, Layout, Question, Role
from readings.formats.unitwords import fits, only_unit

DAY_FIRST, MONTH_FIRST, YEAR_FIRST = "day_first", "month_first", "year_first"
ORDER_QUESTION = "Every date in this file can be read in more than one order: which part comes first?"
ORDER_CHOICES = ((DAY_FIRST, "the day"), (MONTH_FIRST, "the month"))


def questions_left(layout: Layout) -> tuple[Question, ...]:
    """What ``layout`` itself shows to be open; empty = it can be read and stored with."""
    found = []
    if not any(column.role in (Role.STAMP, Role.DATE) for column in layout.columns):
        found.append(Question("no_time", "Say which column holds the date and time of the readings.", ()))
    elif is_undecided(layout):
        found.append(Question("day_or_month", ORDER_QUESTION, ORDER_CHOICES))
    for at, column in enumerate(layout.columns):
        name = column.name or f"column {column.index + 1}"
        if column.role is Role.VALUE and column.parameter is None:
            found.append(parameter_question(at, name, []))
        elif column.role is Role.VALUE and column.parameter and column.unit is None:
            found.append(unit_question(at, name, column.parameter, []))
    return in_order([*found, *twin_questions(layout)])


_FIRST = ("no_time", "stamp_column", "day_or_month", "serial_epoch", "decimal")


def in_order(questions: Sequence[Question]) -> tuple[Question, ...]:
    """Those about the whole file first, then column by column."""
    return tuple(sorted(questions, key=lambda q: (_FIRST.index(q.code) if q.code in _FIRST else 9, q.column or 0)))


def answer(layout: Layout, question: Question, choice: str) -> Layout:
    """``layout`` with one question settled. Raises ValueError for a choice that the question does not offer."""
    if question.choices and choice not in {value for value, _ in question.choices}:
        raise ValueError(f"“{choice}” is not a choice of this question.")
    settle = _SETTLERS.get(question.code)
    if settle is None:
        raise ValueError(f"“{question.code}” cannot be answered here: upload the file again as the message says.")
    return settle(layout, question, choice)


def _order(layout: Layout, question: Question, choice: str) -> Layout:
    form = layout.stamp_format
    if choice == YEAR_FIRST:
        year, month, day = sorted(("%y", "%m", "%d"), key=form.find)
        swapped = form.replace(year, "%\1").replace(month, "%\2").replace(day, "%\3")
        form = swapped.replace("%\1", "%y").replace("%\2", "%m").replace("%\3", "%d")
        return replace(layout, stamp_format=form, day_first=False)
    day_first = choice == DAY_FIRST
    if (form.find("%d") < form.find("%m")) != day_first:
        form = swap_day_and_month(form)
    return replace(layout, stamp_format=form, day_first=day_first)


def _set(layout: Layout, at: int | None, **changes: object) -> Layout:
    if at is None or not 0 <= at < len(layout.columns):
        raise ValueError("The question belongs to no column of this layout.")
    columns = list(layout.columns)
    columns[at] = replace(columns[at], **changes)  # type: ignore[arg-type]
    return replace(layout, columns=tuple(columns))


def _parameter(layout: Layout, question: Question, choice: str) -> Layout:
    if choice == IGNORE_CHOICE[0]:
        return _set(layout, question.column, role=Role.IGNORE, parameter=None, unit=None)
    at = question.column or 0
    unit = layout.columns[at].unit
    kept = unit if unit and fits(unit, choice) else only_unit(choice)
    return _set(layout, question.column, parameter=choice, unit=kept)


def _unit(layout: Layout, question: Question, choice: str) -> Layout:
    return _set(layout, question.column, unit=choice)


def _same_parameter(layout: Layout, question: Question, choice: str) -> Layout:
    """The others are left out. Choices are places in ``layout.columns``."""
    for value, _ in question.choices:
        if value != choice:
            layout = _set(layout, int(value), role=Role.IGNORE)
    return layout


def _decimal(layout: Layout, question: Question, choice: str) -> Layout:
    return replace(layout, decimal=choice, thousands="," if choice == "." else "")


def _serial(layout: Layout, question: Question, choice: str) -> Layout:
    return replace(layout, stamp_format=choice)


def _stamp_column(layout: Layout, question: Question, choice: str) -> Layout:
    """A choice is a column and its format: ``2 %Y-%m-%d %H:%M``."""
    index, form = choice.split(" ", 1)
    if any(c.index == int(index) and c.role is Role.STAMP for c in layout.columns):
        return layout
    columns = tuple(_as_stamp(column, int(index)) for column in layout.columns)
    basis = UTC if compiled(form).has_zone else LOCAL
    return replace(layout, columns=columns, stamp_format=form, basis=basis, day_first=None)


def _as_stamp(column: Column, index: int) -> Column:
    if column.index == index:
        return replace(column, role=Role.STAMP, parameter=None, unit=None)
    return replace(column, role=Role.IGNORE) if column.role in (Role.STAMP, Role.DATE, Role.TIME) else column


_SETTLERS = {
    "day_or_month": _order,
    "parameter": _parameter,
    "unit": _unit,
    "same_parameter": _same_parameter,
    "decimal": _decimal,
    "serial_epoch": _serial,
    "stamp_column": _stamp_column,
}


def adopt(fresh: Layout, known: Layout) -> Layout:
    """``fresh`` as sniffed from a file, with what people settled in ``known``, a layout of the same shape.

    What the file itself shows (encoding, where its data begin, its parameters where it is long) stays. Raises
    ValueError if the shapes differ.
    """
    if fresh.shape_key() != known.shape_key():
        raise ValueError("The two layouts are not of the same shape.")
    same_decimal = fresh.decimal == known.decimal
    as_thousands = (fresh.decimal, fresh.thousands, known.decimal, known.thousands) == (",", "", ".", ",")
    adopted = replace(
        fresh,
        name=known.name,
        decimal="." if as_thousands else fresh.decimal,
        thousands="," if as_thousands else fresh.thousands or (known.thousands if same_decimal else ""),
        missing_codes=known.missing_codes,
        columns=_adopted_columns(fresh, known),
    )
    return _adopted_time(adopted, fresh, known)


def _adopted_columns(fresh: Layout, known: Layout) -> tuple[Column, ...]:
    """The known columns first; of a long file, the kinds that are new as well."""
    by_key = {(c.index, c.name, c.unit if _is_long(known) else ""): c for c in known.columns}
    by_name = {(c.index, c.name): c for c in known.columns}
    return tuple(
        _adopted(c, by_key.get((c.index, c.name, c.unit)) or by_name.get((c.index, c.name))) for c in fresh.columns
    )


def _is_long(layout: Layout) -> bool:
    return any(column.role is Role.PARAMETER for column in layout.columns)


def _adopted(fresh: Column, known: Column | None) -> Column:
    if known is None:
        return fresh
    return replace(fresh, role=known.role, parameter=known.parameter, unit=fresh.unit or known.unit)


def _adopted_time(adopted: Layout, fresh: Layout, known: Layout) -> Layout:
    """The order of day and month is a person's answer only where the file leaves it open."""
    same_time = [c.index for c in fresh.columns if c.role in (Role.STAMP, Role.DATE, Role.TIME)] == [
        c.index for c in known.columns if c.role in (Role.STAMP, Role.DATE, Role.TIME)
    ]
    if not same_time or fresh.stamp_format in ("", "serial_1900"):
        return replace(adopted, stamp_format=known.stamp_format, day_first=known.day_first, basis=known.basis)
    if is_undecided(fresh) and known.day_first is not None:
        orders = {fresh.stamp_format, swap_day_and_month(fresh.stamp_format)}
        if known.stamp_format in orders:
            return replace(adopted, stamp_format=known.stamp_format, day_first=known.day_first)
    return adopted
