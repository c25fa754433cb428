"""Tables with a time in which no column is a quantity that is kept here: what they are, said truly."""

from __future__ import annotations

from collections.abc import Iterable

from methods.logs.layouts.compiled_layout import stamp_columns
from methods.logs.messages import shortened
from methods.logs.sketch import Sketch, explained, is_number
from methods.logs.types import LayoutQuestion

CODE = "no_quantity"
#: A table is what so many of its lines are of, and no fewer than so many lines.
SHARE, FEWEST = 0.8, 3
#: So many columns are named.
NAMED = 4
_ANSWER = " If one is, say at that column what it measures; if none is, withdraw the file."
_MARKS = {"\t": "tabs", ";": "semicolons", "|": "bars", ",": "commas", " ": "blanks"}


def tables_of_others(found: Iterable[Sketch]) -> list[Sketch]:
    """Those of ``found`` that are tables with a time and without a quantity kept here, the ones with numbers first."""
    tables = [sketch for sketch in found if _is_table(sketch)]
    return sorted(tables, key=lambda sketch: not holds_numbers(sketch))


def _is_table(sketch: Sketch) -> bool:
    """Words between blanks are none by themselves: a date and a number stand in prose, too."""
    layout = sketch.layout
    is_parted = layout.delimiter != " " or bool(layout.header_line)
    is_told = bool(stamp_columns(layout)) and bool(layout.stamp_format) and not sketch.layout.values
    has_lines = len(sketch.data) >= FEWEST and explained(sketch) >= SHARE
    return is_parted and is_told and has_lines and bool(_others(sketch))


def _others(sketch: Sketch) -> list[int]:
    """Columns beside the time that hold something."""
    times = set(stamp_columns(sketch.layout))
    return [at for at in range(sketch.width) if at not in times and sketch.cells(at)]


def holds_numbers(sketch: Sketch) -> bool:
    """Whether one of its columns could be a quantity."""
    cells = [sketch.cells(at) for at in _others(sketch)]
    return any(2 * sum(map(is_number, column)) > len(column) for column in cells)


def _described(sketch: Sketch) -> str:
    others = _others(sketch)
    names = [f"“{shortened(sketch.column_named(at) or f'column {at + 1}')}”" for at in others[:NAMED]]
    more = f" and {len(others) - NAMED} more" if len(others) > NAMED else ""
    mark = _MARKS.get(sketch.layout.delimiter)
    parted = f"with {mark} between its columns" if mark and sketch.layout.reader == "delimited" else "in columns"
    return f"This is a table with a time, {parted}, and beside the time it has {', '.join(names)}{more}"


def asked_of_others(found: Iterable[Sketch]) -> Sketch | None:
    """One of ``found`` whose columns are none of ours as far as their names tell, with the question: a person may know
    better."""
    table = next(iter(tables_of_others(found)), None)
    if table is None or not holds_numbers(table):
        return None
    table.questions.append(_quantity_question(table))
    table.score = explained(table)
    return table


def _quantity_question(sketch: Sketch) -> LayoutQuestion:
    text = f"{_described(sketch)}: none of them was recognised as a quantity that is kept here.{_ANSWER}"
    return LayoutQuestion(CODE, text, ())


def why_left_out(question: LayoutQuestion) -> str:
    """Of a file among others: there nobody is asked."""
    return question.message.replace(_ANSWER, " If one is, hand it in by itself and say so.")


def without_numbers(sketch: Sketch) -> str:
    return f"{_described(sketch)}: none of them holds numbers, so there is no reading in it."
