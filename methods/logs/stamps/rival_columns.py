"""A date beside a time of day where several columns could be either: the likeliest pair, and what is asked of it."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise, product

from methods.logs.layouts.column_roles import NONE_CHOICE
from methods.logs.layouts.compiled_layout import stamp_columns
from methods.logs.sketch import Sketch
from methods.logs.stamps.date_order import orders
from methods.logs.stamps.lone_times import is_newest_first
from methods.logs.stamps.stamp_formats import compiled
from methods.logs.stamps.time_parts import are_halves
from methods.logs.stamps.whole_stamps import BACK_DAY
from methods.logs.stamps.zone_names import zone_in
from methods.logs.types import Layout, LayoutQuestion
from methods.logs.words.vocabulary import is_bare_time, is_time_of_reading

_CHOICE = re.compile(r"((?:\d+ )+)(.*)", re.DOTALL)
_LOCAL = re.compile(r"local|lokal|ortszeit", re.I)
#: More pairs than these are not offered.
_MOST_PAIRS = 6


@dataclass(frozen=True, slots=True)
class TimeColumn:
    """A column and the format that reads it."""

    index: int
    form: str


def likeliest(sketch: Sketch, columns: list[TimeColumn], *, beside: int | None = None) -> list[TimeColumn]:
    """The column that is taken first, then its rivals. A heading that says nothing but "Date" or "Time" wins, but not
    over one that names a clock (UTC, local); a time of day (``beside`` a date) that never moves is none."""
    still = {column.index: len(set(sketch.cells(column.index))) < 2 for column in columns}

    def key(column: TimeColumn) -> tuple[int, bool, int]:
        far = column.index if beside is None else abs(column.index - beside)
        return _rank(sketch, column.index), still[column.index], far

    best, *others = sorted(columns, key=key)
    rivals = []
    for other in others:
        as_good = key(other)[0] <= key(best)[0] or bool(_clock_of(sketch, other.index))
        moves = still[best.index] and not still[other.index]
        is_dead = beside is not None and still[other.index] and not still[best.index]
        if (as_good or moves) and not is_dead and sketch.cells(other.index) != sketch.cells(best.index):
            rivals.append(other)
    return [best, *rivals]


def _rank(sketch: Sketch, i: int) -> int:
    word = sketch.headings[i].time_word
    return 0 if word and is_bare_time(sketch.column_named(i)) else 1 if word else 2


def _clock_of(sketch: Sketch, i: int) -> str:
    """The clock that the name of a column says: an offset from UTC, or "local"."""
    name = sketch.column_named(i)
    minutes = zone_in(name)
    return f"{minutes}" if minutes is not None else "local" if _LOCAL.search(name) else ""


def pair_question(
    sketch: Sketch, dates: list[TimeColumn], times: list[TimeColumn], join: Callable[[str, str], str]
) -> LayoutQuestion | None:
    """Which of ``dates`` and ``times`` are those of the readings; None where nothing is in doubt. ``join`` makes one
    format of two.

    The choices are columns and a format, ``0 2 %d.%m.%Y %H:%M``; a time of day alone leaves the date to be said.
    """
    pairs = [(date, time) for date, time in product(dates, times) if _agree(sketch, date, time)][:_MOST_PAIRS]
    doubt = any(_is_doubtful(sketch, date, times[0]) for date in dates[:1])
    if len(pairs) < 2 and not doubt:
        return None
    choices = [_pair_choice(sketch, date, time, join) for date, time in pairs]
    if doubt:
        choices += [_lone_choice(sketch, time) for time in times]
    text = "Which columns hold the date and the time of the readings?"
    if doubt:
        name = _name(sketch, dates[0].index)
        text = f"“{name}” is the same date in each line, and may not be that of the readings. {text}"
    return LayoutQuestion("stamp_column", text, (*choices, NONE_CHOICE))


def _agree(sketch: Sketch, date: TimeColumn, time: TimeColumn) -> bool:
    clocks = {clock for column in (date, time) if (clock := _clock_of(sketch, column.index))}
    return len(clocks) < 2 and date.index != time.index


def _is_doubtful(sketch: Sketch, date: TimeColumn, time: TimeColumn) -> bool:
    """A date that stands still while times pass midnight, or one whose heading says more than that it is a date."""
    if len(set(sketch.cells(date.index))) > 1:
        return False
    return not is_time_of_reading(sketch.column_named(date.index)) or _passes_midnight(sketch, time)


def _passes_midnight(sketch: Sketch, time: TimeColumn) -> bool:
    form = f"{time.form}\t%p" if (half := _half_behind(sketch, time)) else time.form
    form = form.replace("%H", "%I") if half else form
    at = [time.index, time.index + 1][: 1 + half]
    read = (compiled(form).parse(" ".join(row[i].strip() for i in at)) for row in sketch.data if max(at) < len(row))
    stamps = [ms for ms in read if ms is not None]
    turned = -1 if is_newest_first(stamps) else 1
    return any((b - a) * turned < -BACK_DAY for a, b in pairwise(stamps))


def _half_behind(sketch: Sketch, time: TimeColumn) -> bool:
    """Whether AM and PM stand in a column of their own, behind the time's."""
    halves = sketch.cells(time.index + 1) if time.index + 1 < sketch.width else []
    return bool(halves) and "%I" not in time.form and are_halves(halves)


def _pair_choice(
    sketch: Sketch, date: TimeColumn, time: TimeColumn, join: Callable[[str, str], str]
) -> tuple[str, str]:
    at, clock = _of_clock(sketch, time)
    value = f"{date.index} {at} {join(date.form, clock)}"
    return value, f"{_shown(sketch, date.index)}, {_shown(sketch, time.index)}"


def _lone_choice(sketch: Sketch, time: TimeColumn) -> tuple[str, str]:
    words = "alone: midnights are counted, and the date of the first reading is asked next"
    return " ".join(_of_clock(sketch, time)), f"{_shown(sketch, time.index)} {words}"


def _of_clock(sketch: Sketch, time: TimeColumn) -> tuple[str, str]:
    if _half_behind(sketch, time):
        return f"{time.index} {time.index + 1}", time.form.replace("%H", "%I") + "\t%p"
    return f"{time.index}", time.form


def _name(sketch: Sketch, i: int) -> str:
    return sketch.column_named(i) or f"column {i + 1}"


def _shown(sketch: Sketch, i: int) -> str:
    return f"{_name(sketch, i)}: {sketch.cells(i)[0]}"


# --- what is answered -------------------------------------------------------------------------------------------------


def columns_said(choice: str) -> tuple[list[int], str]:
    """The columns of a choice of ``stamp_column``, and the format."""
    match = _CHOICE.fullmatch(choice)
    return ([int(at) for at in match[1].split()], match[2]) if match else ([], choice)


def is_said(layout: Layout, choice: str) -> bool:
    """Whether the stamps of ``layout`` are those of ``choice``, in whichever order of day and month, with or without a
    zone in a column of its own."""
    at, form = columns_said(choice)
    own = layout.stamp_format.removesuffix("\t%z")
    return (
        bool(at)
        and stamp_columns(layout)[: len(at)] == at
        and own.replace("\t", " ") in {way.replace("\t", " ") for way in orders(form)}
    )
