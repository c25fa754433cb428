"""Delimited text: comma, semicolon, tab, pipe or runs of blanks between the cells."""

from __future__ import annotations

import re
from collections.abc import Sequence

from methods.logs.header import find_header
from methods.logs.layouts.column_roles import find_values
from methods.logs.layouts.line_columns import find_line_columns
from methods.logs.sketch import Cells, Sketch, explained, make_sketch
from methods.logs.stamps.hour_columns import find_hours, refuse_beside_others
from methods.logs.stamps.stamp_formats import start_of
from methods.logs.stamps.time_columns import find_time
from methods.logs.stamps.zone_columns import find_zone
from methods.logs.text.cutting import Uncuttable, split_line
from methods.logs.text.sample import FileSample
from methods.logs.types import Layout

DELIMITERS = ("\t", ";", "|", ",", " ")
#: What stands between cells and hardly ever in one.
MARKS = ("\t", ";", "|")
#: Two numbers; a blank between thousands is in one.
_CROWDED = re.compile(r"\d\s+\d(?!\d\d(?!\d))")
_WIDE_GAP = re.compile(r"\t|\s{2,}")


def sketches(sample: FileSample, delimiters: Sequence[str] = DELIMITERS) -> list[Sketch]:
    """What the lines look like with each delimiter that they could have."""
    return [sketch for delimiter in delimiters if (sketch := _sketch(sample, delimiter))]


def without_outdone(found: list[Sketch]) -> list[Sketch]:
    """``found`` but for blanks, and commas that make fewer columns, where another mark stands equally often in all
    lines: both stand inside of dates in words, too."""
    marked = [s for s in found if s.layout.delimiter in MARKS and s.score and not _has_crowded_cells(s)]
    if not marked:
        return found
    share, width = max((explained(sketch), sketch.width) for sketch in marked)
    return [sketch for sketch in found if not (_may_be_inside(sketch, width) and explained(sketch) <= share)]


def _may_be_inside(sketch: Sketch, width: int) -> bool:
    has_blanks = sketch.layout.delimiter == " " or sketch.layout.reader == "fixed"
    return has_blanks or (sketch.layout.delimiter == "," and sketch.width < width)


def _has_crowded_cells(sketch: Sketch) -> bool:
    """Whether what is taken for numbers are several of them, with blanks between."""
    cells = [cell for column in sketch.layout.values for cell in sketch.cells(column.index)]
    return 2 * sum(_CROWDED.search(cell) is not None for cell in cells) > len(cells)


def _sketch(sample: FileSample, delimiter: str) -> Sketch | None:
    rows = [split(line, delimiter) for line in sample.lines]
    base = Layout("delimited", sample.encoding, sample.container, delimiter)
    sketch = make_sketch(rows, base)
    if sketch is None or sketch.width < 2:
        return None
    find_header(sketch, lambda at: _other_ways(sample.lines[at], delimiter))
    return finish(sketch)


def finish(sketch: Sketch) -> Sketch:
    """Roles, questions and score of a sketch whose columns have their names."""
    has_time = find_time(sketch)
    find_zone(sketch)
    find_hours(sketch)
    find_line_columns(sketch)
    find_values(sketch)
    refuse_beside_others(sketch)
    values = sketch.layout.values
    known = sum(1 for column in values if column.parameter) / len(values) if values else 0.0
    known = max(known, float(bool(sketch.layout.hours)))
    certain = 0.45 + 0.3 * has_time + 0.15 * known + 0.1 * bool(sketch.layout.header_line)
    has_words = sketch.layout.delimiter == " " or sketch.layout.reader == "fixed"
    is_prose = has_words and not sketch.layout.header_line and start_of(sketch.layout.stamp_format)
    if (not has_time or is_prose) and not known:
        certain = 0.2  # numbers alone make no log
    sketch.score = explained(sketch) * certain if values or _is_long(sketch) else 0.0
    return sketch


def _is_long(sketch: Sketch) -> bool:
    return any(column.role == "parameter" for column in sketch.layout.columns)


def split(line: str, delimiter: str) -> Cells:
    try:
        return split_line(line, delimiter)
    except Uncuttable:
        return [line]


def _other_ways(line: str, delimiter: str) -> list[Cells]:
    """Header lines are often cut in another way than the data below them."""
    ways = [split(line, other) for other in DELIMITERS if other not in (delimiter, " ")]
    if delimiter == " ":
        ways.insert(0, _WIDE_GAP.split(line.strip()))
    return [way for way in ways if len(way) > 1]
