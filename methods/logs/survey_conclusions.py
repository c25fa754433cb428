"""What the survey of the whole file settles in a sketch, and what it leaves to a person."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace

from methods.logs import messages
from methods.logs.layouts.column_roles import decimal_question, parameter_question, twin_questions, unit_question
from methods.logs.layouts.compiled_layout import key_text, long_name, stamp_columns
from methods.logs.layouts.line_columns import LINE_ROLES, as_spoken, could_speak, line_questions, settled
from methods.logs.sketch import Sketch
from methods.logs.stamps.date_order import ORDER_QUESTION, ORDER_WORDS, order_of, orders, with_form
from methods.logs.stamps.month_language import settle_months
from methods.logs.stamps.stamp_formats import compiled, show, start_of
from methods.logs.stamps.stamp_sequence import SWAPPED, StampSequence, sequence_questions
from methods.logs.survey import Survey, SurveyTally, Wanted, decimal_from
from methods.logs.types import Column, ColumnRole, LayoutQuestion, LogProblem
from methods.logs.words.unit_spellings import fits, only_unit, read_unit
from methods.logs.words.vocabulary import heading
from methods.quantities.durations import HOUR_MS

#: More kinds of readings than this are no parameter column.
MOST_KINDS = 60


def wanted_of(sketch: Sketch, *, complete: bool) -> Wanted:
    """What to look for; nothing where the sample has said it all."""
    layout = sketch.layout
    at = {role: [c.index for c in layout.columns if c.role is role] for role in ColumnRole}
    wanted = Wanted()
    if len(sketch.forms) > 1:
        wanted.forms = sketch.forms
        wanted.stamp_at = tuple(stamp_columns(layout))
    if at[ColumnRole.PARAMETER] or (at[ColumnRole.UNIT] and len(at[ColumnRole.VALUE]) == 1):
        wanted.kinds_at = (
            at[ColumnRole.PARAMETER][0] if at[ColumnRole.PARAMETER] else -1,
            at[ColumnRole.UNIT][0] if at[ColumnRole.UNIT] else -1,
        )
    if not complete and not sketch.marks_seen and layout.delimiter not in ("", ","):
        wanted.marks_at = tuple(at[ColumnRole.VALUE])
    wanted.sequence = not StampSequence(layout.stamp_format).is_settled and _hours_of_half_a_day(sketch)
    wanted.still = not complete and _date_stands_still(sketch)
    wanted.sequence |= wanted.still
    others = (c.index for c in layout.columns if could_speak(sketch, c, complete=complete))
    wanted.texts_at = (*at[ColumnRole.SOURCE], *at[ColumnRole.STATUS], *others)
    return wanted


def settle(sketch: Sketch, wanted: Wanted, survey: Survey) -> list[LogProblem]:
    problems: list[LogProblem] = []
    if any("%b" in form for form in wanted.forms):
        settle_months(sketch, survey.tallies)
    elif wanted.forms:
        problems += _settle_order(sketch, survey.tallies)
    if wanted.kinds_at != (-1, -1):
        _settle_kinds(sketch, wanted, survey.kinds)
    if survey.marks:
        _settle_marks(sketch, survey.marks)
    if wanted.texts_at:
        _settle_lines(sketch, survey.texts)
    if sequence := survey.sequences.get(sketch.layout.stamp_format):
        sketch.questions += [q for q in sequence_questions(sequence) if q.code != SWAPPED or _all_leap(sketch, survey)]
    return problems


def _all_leap(sketch: Sketch, survey: Survey) -> bool:
    """Whether the dates leap in every order that they can still be meant in: where they do not, they are in order."""
    alive = {tally.form for tally in survey.tallies if tally.first is not None and not tally.refuted}
    meant = alive if sketch.layout.stamp_format in alive and sketch.layout.day_first is None else ()
    return all(survey.sequences[form].has_swapped for form in meant if form in survey.sequences)


def _date_stands_still(sketch: Sketch) -> bool:
    """Whether a date beside a time of day is the same in all of the first lines, and nobody is asked about it."""
    dates = [c.index for c in sketch.layout.columns if c.role is ColumnRole.DATE]
    asked = any(question.code == "stamp_column" for question in sketch.questions)
    return len(dates) == 1 and not asked and len(set(sketch.cells(dates[0]))) == 1


def _hours_of_half_a_day(sketch: Sketch) -> bool:
    """Whether the first lines have no hour of 0 or above 12, or dates that could be swapped."""
    if len(orders(sketch.layout.stamp_format)) > 1:
        return True
    at = stamp_columns(sketch.layout)
    form = compiled(sketch.layout.stamp_format)
    stamps = (form.parse(" ".join(row[i].strip() for i in at)) for row in sketch.data if max(at, default=0) < len(row))
    hours = {ms // HOUR_MS % 24 for ms in stamps if ms is not None}
    return bool(hours) and min(hours) >= 1 and max(hours) <= 12


def _settle_order(sketch: Sketch, tallies: tuple[SurveyTally, ...]) -> list[LogProblem]:
    seen = [tally for tally in tallies if tally.first is not None]
    alive = [tally for tally in seen if not tally.refuted]
    if len(alive) == 1:
        sketch.layout = with_form(sketch.layout, alive[0].form)
        return []
    open_to = alive or [tally for tally in seen if tally.alone]
    if not open_to:
        return []
    sketch.put(stamp_format=open_to[0].form, day_first=None)
    choices = tuple((order_of(t.form), _order_words(t)) for t in open_to)
    if alive:
        sketch.questions.append(LayoutQuestion("day_or_month", _order_question(sketch), choices))
        return []
    text = "The dates of this file do not all have one order of day and month: which part comes first in most of them?"
    sketch.questions.append(LayoutQuestion("day_or_month", text, choices))
    return [messages.mixed_order(t.alone, t.alone_text, ORDER_WORDS[order_of(t.form)]) for t in open_to]


def _order_question(sketch: Sketch) -> str:
    """Of the dates as they are written; others of the file may be written otherwise."""
    at, form = stamp_columns(sketch.layout), compiled(sketch.layout.stamp_format)
    stamps = (" ".join(row[i].strip() for i in at) for row in sketch.data if max(at, default=0) < len(row))
    shown = next((stamp for stamp in stamps if form.parse(stamp) is not None), "")
    return ORDER_QUESTION.replace("The dates of this file", f"Dates like “{shown}”") if shown else ORDER_QUESTION


def _order_words(tally: SurveyTally) -> str:
    words = ORDER_WORDS[order_of(tally.form)]
    if tally.first is None or tally.last is None:
        return words
    shown = slice(5, None) if start_of(tally.form) else slice(None)  # no year that nobody named
    return f"{words}: the file then runs from {show(tally.first)[shown]} to {show(tally.last)[shown]}"


def _settle_kinds(sketch: Sketch, wanted: Wanted, kinds: Counter[tuple[str, str]]) -> None:
    """One VALUE column for each kind of reading in a long file, in the order of their first lines."""
    index = next(c.index for c in sketch.layout.columns if c.role is ColumnRole.VALUE)
    known: dict[str, Column] = {}
    for parameter, unit in [kind for kind in kinds if kind != _kind_of_header(sketch, wanted)][:MOST_KINDS]:
        name = _name(sketch, index, wanted, parameter, unit)
        known.setdefault(key_text(name), _kind(sketch, index, wanted, parameter, unit, name))
    others = [c for c in sketch.layout.columns if c.index != index]
    key = next(c.key for c in sketch.layout.columns if c.index == index)
    places = sorted([*others, *(replace(column, key=key) for column in known.values())], key=lambda c: c.index)
    sketch.put(columns=tuple(places))
    sketch.questions = [q for q in sketch.questions if q.code not in ("parameter", "unit", "same_parameter")]
    for at, column in enumerate(sketch.layout.columns):
        if column.role is ColumnRole.VALUE and column.parameter is None:
            sketch.questions.append(parameter_question(at, column.name, []))
        elif column.role is ColumnRole.VALUE and column.parameter and column.unit is None:
            sketch.questions.append(unit_question(at, column.name, column.parameter, []))
    sketch.questions += twin_questions(sketch.layout)


def _kind_of_header(sketch: Sketch, wanted: Wanted) -> tuple[str, str]:
    """What a line has in the columns of kinds that repeats the names of the columns."""
    parameter, unit = (sketch.column_named(at) if at >= 0 else "" for at in wanted.kinds_at)
    return parameter, unit


def _name(sketch: Sketch, index: int, wanted: Wanted, parameter: str, unit: str) -> str:
    if wanted.kinds_at[0] < 0:
        parameter = sketch.column_named(index)
    return long_name(parameter, unit if wanted.kinds_at[1] >= 0 else None)


def _kind(sketch: Sketch, index: int, wanted: Wanted, parameter: str, unit: str, name: str) -> Column:
    spoken = heading(parameter if wanted.kinds_at[0] >= 0 else sketch.column_named(index))
    if spoken.other:
        return Column(index, name, ColumnRole.IGNORE)
    beside = spoken.parameter or heading(sketch.column_named(index)).parameter
    unit_read = read_unit(unit, beside) or spoken.unit or heading(sketch.column_named(index)).unit
    if beside:
        unit_read = unit_read if unit_read and fits(unit_read, beside) else only_unit(beside)
    return Column(index, name, ColumnRole.VALUE, beside, None if spoken.unclear else unit_read)


def _settle_marks(sketch: Sketch, marks: list[str]) -> None:
    decimal, thousands, unclear = decimal_from(marks)
    sketch.layout = replace(sketch.layout, decimal=decimal, thousands=thousands)
    if unclear:
        sketch.questions.append(decimal_question(marks[0]))


def _settle_lines(sketch: Sketch, texts: Mapping[int, Iterable[str]]) -> None:
    columns = (
        settled(c, texts.get(c.index, {})) if c.role in LINE_ROLES
        else as_spoken(c, texts[c.index]) if c.role is ColumnRole.IGNORE and c.index in texts else c
        for c in sketch.layout.columns
    )  # fmt: skip
    sketch.put(columns=tuple(columns))
    sketch.questions += line_questions(sketch.layout)
