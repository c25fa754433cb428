"""A date and time in parts: year, month, day, hour, minute and second in columns of their own, in any order."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from methods.logs.layouts.compiled_layout import TIME_ROLES
from methods.logs.sketch import Cells, Sketch
from methods.logs.stamps.calendar_words import half_of, is_month
from methods.logs.stamps.stamp_formats import compiled, show
from methods.logs.types import ColumnRole, LayoutQuestion
from methods.logs.words.vocabulary import part_words

_RANGES = {
    "year": (1990, 2100), "month": (1, 12), "day": (1, 31), "day_of_year": (1, 366), "hour": (0, 24), "minute": (0, 59),
    "second": (0, 59.9999),
}  # fmt: skip
FULL_PARTS = {
    ColumnRole.YEAR: "%Y", ColumnRole.MONTH: "%m", ColumnRole.DAY: "%d", ColumnRole.DAY_OF_YEAR: "%j",
    ColumnRole.HOUR: "%H", ColumnRole.MINUTE: "%M", ColumnRole.SECOND: "%S",
}  # fmt: skip
HALF = re.compile(r"[ap]\.?\s?m\.?", re.IGNORECASE)
#: The orders of nameless columns that are asked about.
_NAMELESS = ("year month day", "day month year", "month day year")


@dataclass(slots=True)
class DatePart:
    """A column that holds one part; ``form`` is its directive."""

    index: int
    role: ColumnRole
    form: str


def part_format(role: ColumnRole, cells: Sequence[str]) -> str:
    """The directive that reads all cells of a column of this part; "" where none does."""
    if not cells:
        return ""
    if role is ColumnRole.YEAR and all(len(cell) == 2 and cell.isdigit() for cell in cells):
        return "%y"
    if role is ColumnRole.MONTH and all(is_month(cell.strip(".")) for cell in cells):
        return "%b"
    if role is not ColumnRole.SECOND and any("." in cell for cell in cells):
        return ""  # 9.30 may be half past nine, and 9.25 a quarter past
    low, high = _RANGES[role]
    return FULL_PARTS[role] if all(low <= number <= high for number in map(_number, cells)) else ""


def _number(cell: str) -> float:
    """−1 for what is none of the numbers a part can be."""
    whole, point, rest = cell.partition(".")
    plain = whole.isascii() and whole.isdigit() and (not point or rest.isdigit())
    return float(cell) if plain and len(cell) <= 13 else -1.0


def find_named_parts(sketch: Sketch, date: tuple[int, str] | None = None) -> list[DatePart]:
    """The parts that the headings name and the cells can be, in the order of a stamp format; empty unless they make a
    date (``date``: a column that holds it whole) and at least an hour, or there is a time of day beside it."""
    parts: dict[str, DatePart] = {}
    for i in range(sketch.width):
        if date is not None and i == date[0]:
            continue
        for word in part_words(sketch.column_named(i)):
            role = ColumnRole(word)
            if word in parts or sketch.headings[i].parameter or not _may_follow(word, parts, dated=date is not None):
                continue
            if form := part_format(role, sketch.cells(i)):
                parts[word] = DatePart(i, role, form)
                break
    if date is not None:
        parts = {word: part for word, part in parts.items() if word in ("hour", "minute", "second")}
        parts["date"] = DatePart(date[0], ColumnRole.DATE, date[1])
    is_dated = date is not None or {"month", "day"} <= parts.keys() or "day_of_year" in parts
    if not is_dated or ("hour" not in parts and date is not None):
        return []
    if "day_of_year" in parts:
        parts = {word: part for word, part in parts.items() if word not in ("month", "day")}
    return _together(_with_half(sketch, list(parts.values())))


def has_halves(sketch: Sketch) -> bool:
    """Whether a column says AM or PM."""
    return any(_says_half(sketch.cells(i)) for i in range(sketch.width))


def _says_half(cells: Cells) -> bool:
    return bool(cells) and are_halves(cells)


def are_halves(cells: Cells) -> bool:
    """Words for before or after noon. Some short Latin ones may as well name a place: both halves have to be seen."""
    halves = {half_of(cell) for cell in cells}
    plain = all(HALF.fullmatch(cell) or not cell.isascii() for cell in cells)
    return "" not in halves and (plain or len(halves) > 1)


def _with_half(sketch: Sketch, parts: list[DatePart]) -> list[DatePart]:
    """With a column that says AM or PM beside the hours."""
    half = next((i for i in range(sketch.width) if _says_half(sketch.cells(i))), None)
    if half is None or not any(part.form == "%H" for part in parts):
        return parts
    hours = [replace(part, form="%I") if part.form == "%H" else part for part in parts]
    return [*hours, DatePart(half, ColumnRole.TIME, "%p")]


def _may_follow(word: str, parts: dict[str, DatePart], *, dated: bool) -> bool:
    """Minutes are known by an hour before them, seconds by minutes: "min" alone may be a minimum."""
    if word == "minute":
        return "hour" in parts
    if word == "second":
        return "minute" in parts
    return not (word == "month" and ("month" in parts or ("hour" in parts and dated)))


def _together(parts: list[DatePart]) -> list[DatePart]:
    """Those that stand side by side; none where some stand elsewhere."""
    places = sorted(part.index for part in parts)
    if any(after - before > 2 for before, after in pairwise(places)):
        return []
    return sorted(parts, key=lambda part: TIME_ROLES.index(part.role))


def use_parts(sketch: Sketch, parts: Sequence[DatePart]) -> str:
    """Sets their roles; the stamp format."""
    for part in parts:
        sketch.set_column(part.index, role=part.role)
    return "\t".join(part.form for part in parts)


def nameless_question(sketch: Sketch) -> LayoutQuestion | None:
    """The first columns of a file without names may be year, month, day, hour and so on: asked, with what they make."""
    if sketch.layout.header_line:
        return None
    choices = []
    for date in _NAMELESS:
        for clock in ("hour minute second", "hour minute", "hour"):
            words = f"{date} {clock}".split()
            if (shown := _first_stamp(sketch, words)) and len(words) < sketch.width:
                choices.append((" ".join(words), f"{', '.join(words)}: the first reading is of {shown}"))
                break
    if not choices:
        return None
    text = "No column has a name, but the first ones could be the parts of a date and time: what are they?"
    return LayoutQuestion("time_parts", text, tuple(choices), 0)


def _first_stamp(sketch: Sketch, words: Sequence[str]) -> str:
    columns = [sketch.cells(i) for i in range(min(len(words), sketch.width))]
    if len(columns) < len(words):
        return ""
    roles = [ColumnRole(word) for word in words]
    forms = [part_format(role, cells) for role, cells in zip(roles, columns, strict=True)]
    if not all(forms) or forms[words.index("year")] != "%Y" or len(set(columns[words.index("year")])) > 2:
        return ""
    ms = compiled("\t".join(forms)).parse(" ".join(cells[0] for cells in columns))
    return "" if ms is None else show(ms)


def parts_format(roles: Sequence[ColumnRole], columns: Sequence[Cells]) -> str:
    """The format of columns with these roles, in the order of ``TIME_ROLES``; "" where a cell is none of its part."""
    forms = [part_format(role, cells) for role, cells in zip(roles, columns, strict=True)]
    return "\t".join(forms) if all(forms) else ""
