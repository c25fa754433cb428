"""Why a text is not taken for a log, in words that are true of it, and what would make one of it."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from methods.logs.delimited import DELIMITERS, split
from methods.logs.messages import shortened
from methods.logs.other_tables import tables_of_others, without_numbers
from methods.logs.sketch import Cells, Sketch, has_moment, is_blank, is_number, looks_like_data
from methods.logs.text.sample import FileSample
from methods.logs.types import LogProblem
from methods.logs.words.vocabulary import heading

#: A date or a time of day anywhere in a line, and a number beside it.
_MOMENT = re.compile(r"\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}|\d{1,2}[:.h]\d{2}(?:[:.m]\d{2})?")
_NUMBER = re.compile(r"(?<![\d:/.-])\d+(?:[.,]\d+)?(?![\d:/])")


def no_log(sample: FileSample, name: str, found: Sequence[Sketch] = ()) -> LogProblem:
    """The problem of a file of which no reader makes a log; ``name`` is that of the file, ``found`` what its lines
    look like."""
    told = next(_reasons(sample, found), "")
    if not told:
        told = (
            f"“{shortened(name)}” does not look like a log: no lines with a date, a time and numbers were found in it"
        )
        told += "." if sample.complete else f" among the first {len(sample.lines)}."
    return LogProblem(0, "", "", "not_a_log", told)


def _reasons(sample: FileSample, found: Sequence[Sketch]) -> Iterator[str]:
    rows = [cells for line in sample.lines if not is_blank(cells := _widest(line))]
    if names := _only_names(rows):
        yield f"The file names its columns ({names}) and holds no readings: nothing was recorded, or copied."
    if at := _side_by_side(rows):
        yield (
            f"Dates and times stand side by side in line {at}: each reading needs a line of its own. Turn the table in "
            "a spreadsheet, so that its columns become lines, and hand that in."
        )
    if tables := tables_of_others(found):
        yield without_numbers(tables[0])
    if dated := [(at, line) for at, line in enumerate(sample.lines, 1) if _has_both(line)]:
        at, line = dated[0]
        yield (
            f"{len(dated):,} of the first {len(sample.lines):,} lines have a date or a time and a number (line {at}: "
            f"“{shortened(line.strip())}”), but they are not parted into columns in a way that is known. Export the "
            "file with semicolons, tabs or commas between the columns."
        )


def _widest(line: str) -> Cells:
    return max((split(line, delimiter) for delimiter in DELIMITERS if delimiter != " "), key=len)


def _only_names(rows: Sequence[Cells]) -> str:
    """The names of the columns of a file in which nothing follows them."""
    if not rows or any(looks_like_data(row) for row in rows):
        return ""
    spoken = [heading(cell.strip()) for cell in rows[-1]]
    known = sum(bool(word.parameter or word.time_word) for word in spoken)
    return ", ".join(f"“{shortened(cell.strip())}”" for cell in rows[-1][:4]) if known > 1 else ""


def _side_by_side(rows: Sequence[Cells]) -> int:
    """The line of a table that runs from left to right; 0 = it does not."""
    for at, row in enumerate(rows[:20], 1):
        moments = sum(has_moment(cell.strip()) for cell in row)
        below = rows[at : at + 1]
        if moments > 3 and below and sum(is_number(cell) for cell in below[0]) >= moments:
            return at
    return 0


def _has_both(line: str) -> bool:
    found = _MOMENT.search(line[:300])
    return found is not None and _NUMBER.search(line[found.end() : 300]) is not None
