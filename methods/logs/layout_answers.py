"""A person's answers put into a layout, and what a layout still leaves open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from methods.logs.column_roles import IGNORE_CHOICE, parameter_question, twin_questions, unit_question
from methods.logs.compiled_layout import is_undecided
from methods.logs.stamp_detection import orders
from methods.logs.stamp_formats import compiled
from methods.logs.types import LOCAL, UTC, Column, ColumnRole, Layout, LayoutQuestion
from methods.logs.unit_spellings import fits, only_unit

DAY_FIRST, MONTH_FIRST, YEAR_FIRST = "day_first", "month_first", "year_first"
ORDER_QUESTION = "Every date in this file can be read in more than one order: which part comes first?"
ORDER_CHOICES = ((DAY_FIRST, "the day"), (MONTH_FIRST, "the month"))


def questions_left(layout: Layout) -> tuple[LayoutQuestion, ...]:
    """What ``layout`` itself shows to be open; empty = it can be read and stored with."""
    found = []
    if not any(column.role in (ColumnRole.STAMP, ColumnRole.DATE) for column in layout.columns):
        found.append(LayoutQuestion("no_time", "Say which column holds the date and time of the readings.", ()))
    elif is_undecided(layout):
        found.append(LayoutQuestion("day_or_month", ORDER_QUESTION, ORDER_CHOICES))
    for at, column in enumerate(layout.columns):
        name = column.name or f"column {column.index + 1}"
        if column.role is ColumnRole.VALUE and column.parameter is None:
            found.append(parameter_question(at, name, []))
        elif column.role is ColumnRole.VALUE and column.parameter and column.unit is None:
            found.append(unit_question(at, name, column.parameter, []))
    return in_order([*found, *twin_questions(layout)])


_FIRST = ("no_time", "stamp_column", "day_or_month", "serial_epoch", "decimal")


def in_order(questions: Sequence[LayoutQuestion]) -> tuple[LayoutQuestion, ...]:
    """Those about the whole file first, then column by column."""
    return tuple(sorted(questions, key=lambda q: (_FIRST.index(q.code) if q.code in _FIRST else 9, q.column or 0)))


def answer(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    """``layout`` with one question settled. Raises ValueError for a choice that the question does not offer."""
    if question.choices and choice not in {value for value, _ in question.choices}:
        raise ValueError(f"“{choice}” is not a choice of this question.")
    settle = _SETTLERS.get(question.code)
    if settle is None:
        raise ValueError(f"“{question.code}” cannot be answered here: upload the file again as the message says.")
    return settle(layout, question, choice)


def _order(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    form = next((form for form in orders(layout.stamp_format) if _FIRST_PART[choice] == _first_part(form)), None)
    if form is None:
        raise ValueError("The dates of this file are not written in this order.")
    return replace(layout, stamp_format=form, day_first=choice == DAY_FIRST)


_FIRST_PART = {DAY_FIRST: "%d", MONTH_FIRST: "%m", YEAR_FIRST: "%y"}


def _first_part(form: str) -> str:
    return min((part for part in _FIRST_PART.values() if part in form), key=form.find)


def _set(layout: Layout, at: int | None, **changes: object) -> Layout:
    if at is None or not 0 <= at < len(layout.columns):
        raise ValueError("The question belongs to no column of this layout.")
    columns = list(layout.columns)
    columns[at] = replace(columns[at], **changes)  # type: ignore[arg-type]
    return replace(layout, columns=tuple(columns))


def _parameter(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    if choice == IGNORE_CHOICE[0]:
        return _set(layout, question.column, role=ColumnRole.IGNORE, parameter=None, unit=None)
    at = question.column or 0
    unit = layout.columns[at].unit
    kept = unit if unit and fits(unit, choice) else only_unit(choice)
    return _set(layout, question.column, parameter=choice, unit=kept)


def _unit(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    return _set(layout, question.column, unit=choice)


def _same_parameter(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    """The others are left out. Choices are places in ``layout.columns``."""
    for value, _ in question.choices:
        if value != choice:
            layout = _set(layout, int(value), role=ColumnRole.IGNORE)
    return layout


def _decimal(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    return replace(layout, decimal=choice, thousands="," if choice == "." else "")


def _serial(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    return replace(layout, stamp_format=choice)


def _stamp_column(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    """A choice is a column and its format: ``2 %Y-%m-%d %H:%M``."""
    index, form = choice.split(" ", 1)
    if any(c.index == int(index) and c.role is ColumnRole.STAMP for c in layout.columns):
        return layout
    columns = tuple(_as_stamp(column, int(index)) for column in layout.columns)
    basis = UTC if compiled(form).has_zone else LOCAL
    return replace(layout, columns=columns, stamp_format=form, basis=basis, day_first=None)


def _as_stamp(column: Column, index: int) -> Column:
    if column.index == index:
        return replace(column, role=ColumnRole.STAMP, parameter=None, unit=None)
    return (
        replace(column, role=ColumnRole.IGNORE)
        if column.role in (ColumnRole.STAMP, ColumnRole.DATE, ColumnRole.TIME)
        else column
    )


_SETTLERS = {
    "day_or_month": _order,
    "parameter": _parameter,
    "unit": _unit,
    "same_parameter": _same_parameter,
    "decimal": _decimal,
    "serial_epoch": _serial,
    "stamp_column": _stamp_column,
}
