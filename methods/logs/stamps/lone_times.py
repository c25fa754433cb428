"""Stamps that lack something: times of day without a date, time gone by since a start, dates without a year."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from methods.logs.layouts.compiled_layout import stamp_columns
from methods.logs.sketch import Cells, Sketch
from methods.logs.stamps import stamp_detection
from methods.logs.stamps.number_times import without_decimals
from methods.logs.stamps.stamp_formats import compiled, start_of
from methods.logs.types import ColumnRole, Layout, LayoutQuestion
from methods.logs.words.vocabulary import elapsed_words
from methods.quantities.durations import MINUTE_MS

_HOURS = re.compile(r"\d{1,5}:[0-5]\d(?P<s>:[0-5]\d(?:[.,]\d{1,9})?)?")
_COUNT = re.compile(r"\d{1,12}(?:[.,]\d{1,12})?")
#: A file whose first time is earlier than this after midnight may count from its own start.
EARLY = 10 * MINUTE_MS
#: So many lines of statistics may stand below the readings.
MOST_BELOW = 8
#: More days than this are a spreadsheet's, since 1900.
SERIAL_FROM = 20_000
UNITS = (("%<s>", "seconds"), ("%<min>", "minutes"), ("%<h>", "hours"), ("%<d>", "days"), ("%<ms>", "milliseconds"))


def find_elapsed(sketch: Sketch) -> bool:
    """A column named as time that has gone by: numbers that never fall, or hours, minutes and seconds beyond a day."""
    for i in range(sketch.width):
        cells, name = _above_foot(sketch.cells(i)), sketch.column_named(i)
        if not cells or sketch.headings[i].parameter:
            continue
        is_elapsed, unit = elapsed_words(name)
        match = _beyond_a_day(cells) or (_HOURS.fullmatch(cells[0]) if is_elapsed else None)
        if match and all(map(_HOURS.fullmatch, cells)):
            if not match["s"]:
                ask_which_parts(sketch, i, "%<hours>:%M")
            return _use(sketch, i, "%<hours>:%M:%S" if match["s"] else "%<hours>:%M")
        if not all(map(_COUNT.fullmatch, cells)) or not _rises(cells):
            continue
        if unit == "d" and float(cells[0].replace(",", ".")) > SERIAL_FROM:
            continue
        if (is_elapsed or sketch.headings[i].time_word) and unit:
            return _use(sketch, i, f"%<{unit}>")
        if is_elapsed:
            _ask_for_unit(sketch, i, cells)
            return _use(sketch, i, "%<s>")
    return False


def _above_foot(cells: Cells) -> Cells:
    """Without the words of lines below the readings: "Max", "Mean", "End of data"."""
    foot = 0
    while foot < min(MOST_BELOW, len(cells)) and not any(map(str.isdigit, cells[-1 - foot])):
        foot += 1
    return cells[: len(cells) - foot]


def _use(sketch: Sketch, i: int, form: str) -> bool:
    sketch.set_column(i, role=ColumnRole.STAMP)
    sketch.put(stamp_format=form)
    return True


def _beyond_a_day(cells: Cells) -> re.Match[str] | None:
    matches = [match for cell in cells if (match := _HOURS.fullmatch(cell))]
    beyond = any(int(match[0].partition(":")[0]) > 24 for match in matches)
    return matches[0] if beyond and len(matches) == len(cells) and _rises_as_text(cells) else None


def _rises_as_text(cells: Cells) -> bool:
    ms = [compiled("%<hours>:%M:%S" if cell.count(":") == 2 else "%<hours>:%M").parse(cell) or 0 for cell in cells]
    return 5 * sum(a > b for a, b in pairwise(ms)) < len(ms)


def _rises(cells: Cells) -> bool:
    """Hardly ever falls: a logger may have been started again, which reading tells."""
    numbers = [float(cell.replace(",", ".")) for cell in cells]
    steps = [b - a for a, b in pairwise(numbers)]
    return len(numbers) == 1 or (5 * sum(s < 0 for s in steps) <= len(steps) and any(s > 0 for s in steps))


def _ask_for_unit(sketch: Sketch, i: int, cells: Cells) -> None:
    name = sketch.column_named(i) or f"column {i + 1}"
    text = f"“{name}” counts the time gone by ({', '.join(cells[:3])}): in which unit?"
    sketch.questions.append(LayoutQuestion("elapsed_unit", text, UNITS, i))


def ask_which_parts(sketch: Sketch, i: int, hours: str) -> None:
    """12:30 may be hours and minutes, ``hours`` being their format, or minutes and seconds."""
    cells, name = sketch.cells(i), sketch.column_named(i) or f"column {i + 1}"
    text = f"Does “{name}” hold hours and minutes, or minutes and seconds ({', '.join(cells[:3])})?"
    choices = ((hours, "hours and minutes"), ("%<minutes>:%S", "minutes and seconds"))
    sketch.questions.append(LayoutQuestion("elapsed_unit", text, choices, i))


def is_early(sketch: Sketch) -> bool:
    """Whether the times of day begin so soon after midnight that they may count from a start."""
    stamps = raw_stamps(sketch.layout, sketch.data)
    return bool(stamps) and 0 <= stamps[0] < EARLY and not is_newest_first(stamps)


def raw_stamps(layout: Layout, rows: Sequence[Sequence[str]]) -> list[int]:
    """The stamps of ``rows`` (cells of data lines) as they stand, without what they lack."""
    form, at = compiled(layout.stamp_format), stamp_columns(layout)
    texts = (" ".join(row[i].strip() for i in at) for row in rows if max(at, default=0) < len(row))
    return [ms for text in texts if (ms := form.parse(text)) is not None]


def with_direction(layout: Layout, rows: Sequence[Sequence[str]]) -> Layout:
    """``layout`` with the order in which the lines of a file stand whose stamps lack a date or a year."""
    if start_of(layout.stamp_format) not in ("date", "year"):
        return replace(layout, newest_first=False)
    stamps = raw_stamps(layout, rows)
    return replace(layout, newest_first=is_newest_first(stamps)) if len(stamps) > 1 else layout


def is_newest_first(stamps: list[int]) -> bool:
    """Whether most neighbours fall by a little: a leap is a midnight, or a turn of the year."""
    steps = [b - a for a, b in pairwise(stamps) if a != b]
    return 2 * sum(step < 0 for step in steps) > len(steps)


def find_without_year(sketch: Sketch) -> str:
    """Sets the roles of stamps like "03-13 10:53", in one column or two; the format, "" where there are none."""
    fits = {i: stamp_detection.fits_without_year(sketch.cells(i)[:60]) for i in range(sketch.width)}
    for i, own in fits.items():
        if own and own[0].kind == "datetime" and not sketch.headings[i].parameter:
            sketch.set_column(i, role=ColumnRole.STAMP)
            return own[0].text
    times = [i for i in range(sketch.width) if _time_of(sketch, i)]
    for i, own in fits.items():
        others = [t for t in times if t != i]
        if own and own[0].kind == "date" and others and not sketch.headings[i].parameter:
            time = min(others, key=lambda t: abs(t - i))
            sketch.set_column(i, role=ColumnRole.DATE)
            sketch.set_column(time, role=ColumnRole.TIME)
            return f"{own[0].text}\t{_time_of(sketch, time)}"
    return ""


def _time_of(sketch: Sketch, i: int) -> str:
    cells = sketch.cells(i)[:60]
    fits = without_decimals(stamp_detection.fits(cells), cells) if cells else []
    found = next((fit.text for fit in fits if fit.kind == "time"), "")
    return found if ":" in found or sketch.headings[i].time_word == "time" else ""
