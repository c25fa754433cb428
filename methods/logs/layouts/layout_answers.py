"""A person's answers put into a layout, and what a layout still leaves open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from methods.logs.layouts.column_roles import (
    IGNORE_CHOICE,
    NONE_CHOICE,
    parameter_question,
    twin_questions,
    unit_question,
)
from methods.logs.layouts.compiled_layout import TIME_ROLES, stamp_columns, with_stamp_format
from methods.logs.layouts.line_columns import answered, line_questions
from methods.logs.layouts.tables_beside import only_table
from methods.logs.stamps.date_order import ORDER_CHOICES, ORDER_QUESTION, is_undecided, with_order
from methods.logs.stamps.hour_columns import with_hours
from methods.logs.stamps.interval_stamps import interval_question, with_end
from methods.logs.stamps.month_language import with_language
from methods.logs.stamps.rival_columns import columns_said, is_said
from methods.logs.stamps.stamp_formats import compiled
from methods.logs.stamps.start_questions import open_start, with_start
from methods.logs.stamps.time_columns import NO_CLOCK
from methods.logs.stamps.time_parts import FULL_PARTS
from methods.logs.stamps.zone_columns import ZONE_CHOICE, with_zone_column, with_zone_of_columns
from methods.logs.text.encoding_choice import with_encoding
from methods.logs.types import CHOICE, LOCAL, Column, ColumnRole, Layout, LayoutQuestion
from methods.logs.values import fills
from methods.logs.values.plausible import FRACTION, KEEP, THOUSANDS
from methods.logs.words.unit_spellings import fits, only_unit


def questions_left(layout: Layout) -> tuple[LayoutQuestion, ...]:
    """What ``layout`` itself shows to be open; empty = it can be read and stored with."""
    questions = []
    if not stamp_columns(layout):
        questions.append(LayoutQuestion("no_time", "Say which column holds the date and time of the readings.", ()))
    elif is_undecided(layout):
        questions.append(LayoutQuestion("day_or_month", ORDER_QUESTION, ORDER_CHOICES))
    if interval := interval_question(layout.stamp_format):
        questions.append(interval)
    if not layout.values:
        questions.append(LayoutQuestion("no_quantity", "Say of a column which quantity it holds.", ()))
    if start := open_start(layout):
        questions.append(start)
    for at, column in enumerate(layout.columns):
        name = column.name or f"column {column.index + 1}"
        if column.role is ColumnRole.VALUE and column.parameter is None:
            questions.append(parameter_question(at, name, []))
        elif column.role is ColumnRole.VALUE and column.parameter and column.unit is None:
            questions.append(unit_question(at, name, column.parameter, []))
    return in_order([*questions, *twin_questions(layout), *line_questions(layout)])


def is_unanswered(layout: Layout, question: LayoutQuestion) -> bool:
    """Of a question that only the file can ask: whether ``layout`` does not have its answer."""
    if question.code == fills.CODE:
        return fills.is_open(layout, question)
    return question.code == "month_language" and not compiled(layout.stamp_format).language


#: By weight: what decides about every reading of the file, then what decides about a column, and last of all columns of
#: which nothing is known, most of which nobody needs.
_BY_WEIGHT = (
    "sheet",
    "encoding",
    "no_time",
    "no_quantity",
    "time_parts",
    "clock_column",
    "stamp_column",
    "zone_column",
    "elapsed_unit",
    "month_language",
    "day_or_month",
    "interval",
    "start",
    "serial_epoch",
    "hours",
    "twelve_hours",
    "swapped_dates",
    "still_date",
    "decimal",
    "mixed_decimals",
    "few_lines",
    "sources",
    "status",
    "channel",
    "doubtful",
    "fill",
    "unit",
    "probe",
    "same_parameter",
    "parameter",
)


def in_order(questions: Sequence[LayoutQuestion]) -> tuple[LayoutQuestion, ...]:
    """Those about the whole file first, those about columns nobody knows last; among equals column by column."""
    weight = {code: n for n, code in enumerate(_BY_WEIGHT)}
    return tuple(sorted(questions, key=lambda q: (weight.get(q.code, len(weight)), q.column or 0)))


def answer(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    """``layout`` with one question settled. Raises ValueError for a choice that the question does not offer, and for
    a typed answer that is not what it asks for."""
    if question.answer_kind == CHOICE and question.choices and choice not in {value for value, _ in question.choices}:
        raise ValueError(f"“{choice}” is not a choice of this question.")
    settle = _SETTLERS.get(question.code)
    if settle is None:
        raise ValueError(f"“{question.code}” cannot be answered here: upload the file again as the message says.")
    return settle(layout, question, choice)


def _order(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    return with_order(layout, choice)


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
    if choice == IGNORE_CHOICE[0]:
        return _parameter(layout, question, choice)
    return _set(layout, question.column, unit=choice)


def _same_parameter(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    """The others are left out. Choices are places in ``layout.columns``."""
    for value, _ in question.choices:
        if value not in (choice, NONE_CHOICE[0]):
            layout = _set(layout, int(value), role=ColumnRole.IGNORE)
    return layout


def _decimal(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    """Of a file whose marks could be either: what is not the decimal mark parts thousands."""
    grouped = "." if layout.whole and choice == "," else ""
    return replace(layout, decimal=choice, thousands="," if choice == "." else grouped, whole=())


def _mixed_decimals(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    return replace(layout, decimal=choice, thousands="", whole=())


def _serial(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    return replace(layout, stamp_format=choice)


def _as_it_is(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    """The layout is right as it was understood."""
    return layout


def _clock(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    """Numbers beside a date are times of day in a format, or nothing."""
    if choice == NO_CLOCK:
        return layout
    columns = tuple(
        replace(c, role=ColumnRole.TIME) if c.index == question.column
        else replace(c, role=ColumnRole.DATE) if c.role is ColumnRole.STAMP else c
        for c in layout.columns
    )  # fmt: skip
    day_first = layout.day_first
    return replace(
        with_stamp_format(replace(layout, columns=columns), f"{layout.stamp_format}\t{choice}"), day_first=day_first
    )


def _time_parts(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    """A choice names the parts of the first columns: ``year month day hour``."""
    roles = dict(enumerate(map(ColumnRole, choice.split())))
    columns = tuple(
        replace(c, role=roles[c.index], parameter=None, unit=None) if c.index in roles else c for c in layout.columns
    )
    given = sorted(roles.values(), key=TIME_ROLES.index)
    form = "\t".join(FULL_PARTS[role] for role in given)
    return with_stamp_format(replace(layout, columns=columns), form)


def _elapsed_unit(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    return with_stamp_format(layout, choice)


def _start(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    return with_start(layout, choice)


def _hours(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    return with_hours(layout, choice)


def _interval(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    return with_end(layout, choice)


def _stamp_column(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    """A choice is columns and their format: ``2 %Y-%m-%d %H:%M``, ``0 3 %d.%m.%Y %H:%M``. None of them: the time
    is in no column yet."""
    if choice == NONE_CHOICE[0]:
        columns = tuple(_as_stamp(column, []) for column in layout.columns)
        return replace(layout, columns=columns, stamp_format="", day_first=None, basis=LOCAL, utc_offset=None)
    at, form = columns_said(choice)
    layout = only_table(layout, question, at[0])
    if is_said(layout, choice):
        return layout
    columns = tuple(_as_stamp(column, at) for column in layout.columns)
    return with_zone_of_columns(with_stamp_format(replace(layout, columns=columns), form), layout)


def _zone_column(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    """Not twice, and not where the time turned out to be elsewhere."""
    at = stamp_columns(layout)
    is_open = question.column is not None and bool(at) and question.column > max(at) and bool(layout.stamp_format)
    if choice != ZONE_CHOICE or not is_open or compiled(layout.stamp_format).has_zone:
        return layout
    return with_zone_column(layout, question.column or 0)


def _as_stamp(column: Column, at: list[int]) -> Column:
    """A whole stamp, or a date and then what is left of it, is in the columns ``at``."""
    if column.index in at:
        first = ColumnRole.STAMP if len(at) == 1 else ColumnRole.DATE
        return replace(column, role=first if column.index == at[0] else ColumnRole.TIME, parameter=None, unit=None)
    return replace(column, role=ColumnRole.IGNORE) if column.role in TIME_ROLES else column


def channel_choice(place: int, parameter: str, unit: str) -> str:
    """The choice that says: this column holds what that channel measures."""
    return f"{place} {parameter} {unit}"


def _channel(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    """A column is named for a channel; those that nobody names stay left out."""
    if choice == NONE_CHOICE[0]:
        return layout
    place, parameter, unit = choice.split(" ", 2)
    return _set(layout, int(place), role=ColumnRole.VALUE, parameter=parameter, unit=unit)


#: The choice for the one of several probes that has no name.
NO_PROBE_NAME = "no name"


def _probe(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    if choice == IGNORE_CHOICE[0]:
        return _parameter(layout, question, choice)
    return _set(layout, question.column, role=ColumnRole.VALUE, probe="" if choice == NO_PROBE_NAME else choice)


def _lines(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    column = answered(layout.columns[question.column or 0], choice)
    return _set(layout, question.column, role=column.role, keep=column.keep)


def _doubtful(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    if choice == IGNORE_CHOICE[0]:
        return _set(layout, question.column, role=ColumnRole.IGNORE, parameter=None, unit=None, doubted=True)
    if choice == THOUSANDS:
        return replace(layout, decimal=",", thousands=".", whole=())
    if choice == FRACTION:
        return _set(layout, question.column, scale=100.0, doubted=True)
    return layout if choice == KEEP else _set(layout, question.column, unit=choice, doubted=True)


def _fills(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    return fills.with_fills(layout, choice)


def _sheet(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    """Another sheet has a layout of its own."""
    if choice != layout.sheet:
        raise ValueError("Another sheet has to be understood by itself: name it when the file is understood.")
    return layout


def _month_language(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    return with_language(layout, choice)


def _encoding(layout: Layout, question: LayoutQuestion, choice: str) -> Layout:
    return with_encoding(layout, choice)


_SETTLERS = {
    "sheet": _sheet,
    "encoding": _encoding,
    "month_language": _month_language,
    "doubtful": _doubtful,
    "fill": _fills,
    "channel": _channel,
    "probe": _probe,
    "sources": _lines,
    "status": _lines,
    "day_or_month": _order,
    "parameter": _parameter,
    "unit": _unit,
    "same_parameter": _same_parameter,
    "decimal": _decimal,
    "mixed_decimals": _mixed_decimals,
    "serial_epoch": _serial,
    "stamp_column": _stamp_column,
    "clock_column": _clock,
    "zone_column": _zone_column,
    "time_parts": _time_parts,
    "elapsed_unit": _elapsed_unit,
    "start": _start,
    "hours": _hours,
    "interval": _interval,
    "twelve_hours": _as_it_is,
    "swapped_dates": _as_it_is,
    "still_date": _as_it_is,
    "few_lines": _as_it_is,
}
