"""What is said about a file, in words for people: what is wrong, and what to do."""

from __future__ import annotations

from collections import Counter

from readings.formats.types import Problem
from readings.formats.unitwords import read_unit as canonical

#: One line in so many being bad means that the layout, not the lines, is at fault.
MOSTLY_BAD = 5
SHOWN = 60

_TEXTS = {
    "text_in_number": "“{value}” is not a number (the decimal mark of this file is “{decimal}”). Nothing was stored for it.",
    "unit_mismatch": "“{value}” is not in {unit}, the unit of this column. Nothing was stored for it: correct the layout "
    "or the export.",
    "unknown_parameter": "“{value}” is not one of the parameters and units of this layout. The line was left out: add it "
    "to the layout, or ignore it there.",
    "stamp_missing": "The line has no date and time. It was left out.",
    "bad_stamp": "“{value}” is not a date and time like {expected}. The line was left out.",
    "mixed_dates": "“{value}” makes sense only with day and month the other way round. The line was left out: export the "
    "file again with one order of day and month.",
    "short_line": "The line has {found} of {expected} columns. It was left out.",
    "long_line": "The line has {found} columns instead of {expected}. It was left out: perhaps a comma stands both "
    "between columns and inside numbers.",
    "truncated_line": "The file ends in the middle of this line. It was left out: copy the file from the logger again.",
    "truncated_file": "The file is cut off: what could be read was read. Copy it from the logger again.",
    "bad_quotes": "A quotation mark is opened in this line and not closed. The line was left out.",
    "bad_line": "The line is not one JSON object. It was left out.",
    "duplicate_rows": "{count} lines repeat the line before them exactly (first here). They were kept.",
}
_NAMES = {
    "text_in_number": "text in a number column", "unit_mismatch": "another unit in the cell",
    "unknown_parameter": "unknown parameter", "stamp_missing": "no date and time", "bad_stamp": "unreadable date or time",
    "mixed_dates": "day and month the other way round", "short_line": "too few columns", "long_line": "too many columns",
    "bad_quotes": "open quotation mark", "bad_line": "not a JSON object",
}  # fmt: skip


def problem(line: int, column: str, value: str, code: str, **details: object) -> Problem:
    """``value`` is shown shortened, so that a hostile cell cannot fill a page."""
    shown = value if len(value) <= SHOWN else value[: SHOWN - 1] + "…"
    return Problem(line, column, shown, code, _TEXTS[code].format(value=shown, **details))


def more(beyond: Counter[str]) -> Problem:
    total = sum(beyond.values())
    kinds = ", ".join(f"{count:,} × {_NAMES.get(code, code)}" for code, count in beyond.most_common())
    return Problem(0, "", str(total), "more_problems", f"{total:,} more problems are not listed: {kinds}.")


def mostly_bad(bad: int, lines: int) -> Problem:
    text = f"{bad:,} of {lines:,} lines could not be read as this layout says: check the layout before using the file."
    return Problem(0, "", str(bad), "mostly_bad", text)


__all__ = ["MOSTLY_BAD", "canonical", "more", "mostly_bad", "problem"]
