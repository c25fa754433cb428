"""The first lines of a file as cells, and which of them are data."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field, replace
from functools import lru_cache

from methods.logs.stamps import stamp_detection
from methods.logs.stamps.hour_labels import hours_in
from methods.logs.types import Column, ColumnRole, Layout, LayoutQuestion, LogProblem
from methods.logs.values.cells import BELOW_WORDS, MISSING_WORDS, OVER_WORDS, is_formula
from methods.logs.words.vocabulary import Heading, heading

Cells = list[str]

#: A number in any notation, with or without its uncertainty and a unit behind it; what it is worth is decided later.
NUMBER = re.compile(
    r"(?:[<>≤≥]=?)?\s*(?P<number>[+−–-]?(?:\d[\d.,'’ \u00a0\u202f]*|[.,]\d+)(?:[eE][+-]?\d+)?)"
    r"(?:\s*(?:±|\+/-)\s*\d[\d.,]*)?"
    r"\s*(?P<unit>[^\s\d.,:;/<>_±-][^\d:;<>_]{0,3}(?:[/ -][^:;<>_]{1,6})?)?"
)
_CODES = frozenset(MISSING_WORDS) | OVER_WORDS | BELOW_WORDS
_DECIMAL = re.compile(r"\d+[.,]\d+")
_RULES = re.compile(r"[-–—_.*#?=+| ]+")
_MOMENT = re.compile(
    r"\d[-/.: 年년]+\d{1,2}[-/.: 月월]+\d|\d[:.hH]\d\d|\d[時时點点시](?![^\W\d])"
    r"|\d[-/. ]*(?:de )?[^\W\d_][^\s\d:;]+[-/. ,]*(?:del? )?\d"
    r"|[^\W\d_][^\s\d:;]{2,}[-/. ]*\d{1,2}, ?\d"
)


@dataclass(slots=True)
class Sketch:
    """A layout in the making.

    ``score`` 0…1 says how much of the file it explains; ``data`` are its data lines, ``weight`` what such a line has;
    ``forms`` the orders of day and month that the stamp format could mean; ``marks_seen`` whether a decimal mark has
    been seen; ``short_names`` the names of a header with fewer of them than columns; ``flaw`` a header line that does
    not fit the data, and its number of names; ``refused`` why a file of this shape cannot be read.
    """

    layout: Layout
    rows: list[Cells]
    data: list[Cells]
    weight: int
    headings: list[Heading] = field(default_factory=list)
    questions: list[LayoutQuestion] = field(default_factory=list)
    forms: tuple[str, ...] = ()
    marks_seen: bool = False
    short_names: list[str] = field(default_factory=list)
    flaw: tuple[int, int] = (0, 0)
    score: float = 0.0
    refused: LogProblem | None = None

    @property
    def width(self) -> int:
        return len(self.layout.columns)

    def put(self, **changes: object) -> None:
        self.layout = replace(self.layout, **changes)  # type: ignore[arg-type]

    def set_column(self, index: int, **changes: object) -> None:
        columns = list(self.layout.columns)
        columns[index] = replace(columns[index], **changes)  # type: ignore[arg-type]
        self.put(columns=tuple(columns))

    def cells(self, index: int) -> Cells:
        """The cells of one column of the data that are not empty."""
        return [row[index].strip() for row in self.data if index < len(row) and row[index].strip()]

    def column_named(self, index: int) -> str:
        return next((c.name for c in self.layout.columns if c.index == index and c.name), "")

    def set_names(self, names: list[str]) -> None:
        clean = [" ".join(name.split()) for name in names]
        self.put(columns=tuple(replace(c, name=n) for c, n in zip(self.layout.columns, clean, strict=True)))
        self.headings = [heading(name) for name in clean]


#: No number, date or unit is longer. Hostile cells are: patterns are never tried on them.
LONGEST_CELL = 60
MOST_COLUMNS = 500
#: A title has no more lines.
HIGHEST_TITLE = 20


def is_number(text: str) -> bool:
    text = text.strip()
    return len(text) <= LONGEST_CELL and NUMBER.fullmatch(text) is not None


def is_code(text: str) -> bool:
    word = text.strip().casefold()
    return word in _CODES or is_formula(word) or (bool(word) and _RULES.fullmatch(word) is not None)


def is_blank(cells: Cells) -> bool:
    """Nothing in it, or only a drawn rule."""
    return all(not cell.strip() or _RULES.fullmatch(cell.strip()) for cell in cells)


def has_moment(text: str) -> bool:
    """Whether ``text`` is a date, a time or both, with separators; "18.05" is taken for a number."""
    return len(text) <= LONGEST_CELL and _DECIMAL.fullmatch(text) is None and _has_moment(text)


@lru_cache(maxsize=8192)
def _has_moment(text: str) -> bool:
    return (
        _MOMENT.search(text) is not None and next(stamp_detection.formats_of(" ".join(text.split())), None) is not None
    )


def looks_like_data(cells: Cells) -> int:
    """10 for a line with a date or time and a number, 1 for one with numbers, 0 for others."""
    filled = [cell.strip() for cell in cells if cell.strip()]
    moments = [cell for cell in filled if has_moment(cell)]
    numbers = [cell for cell in filled if cell not in moments and (is_number(cell) or is_code(cell))]
    if moments and (numbers or len(moments) > 1):
        return 10
    return 1 if len(filled) > 1 and any(is_number(cell) for cell in numbers) else 0


def make_sketch(rows: list[Cells], base: Layout) -> Sketch | None:
    """Finds the data lines of ``rows`` (``rows[i]`` is line i + 1); None = there are none to be seen."""
    below = _below_hours(rows)
    weights = [0 if at < below or hours_in(row) else looks_like_data(row) for at, row in enumerate(rows)]
    widths: Counter[int] = Counter()
    for row, weight in zip(rows, weights, strict=True):
        widths[len(row)] += weight
    widths = Counter({width: weight for width, weight in widths.items() if width <= MOST_COLUMNS})
    if not widths or not max(widths.values()):
        return None
    width = max(widths, key=lambda w: (widths[w], w))
    usual = Counter(w for row, w in zip(rows, weights, strict=True) if len(row) == width and w)
    weight = usual.most_common(1)[0][0]
    first = next(i for i, row in enumerate(rows) if len(row) == width and weights[i] >= weight)
    first = _past_words(rows, width, first) if weight == 1 else _up_to_alike(rows, first)
    data = [row for row, w in zip(rows[first:], weights[first:], strict=True) if len(row) == width and w]
    columns = tuple(Column(i, "", ColumnRole.IGNORE) for i in range(width))
    return Sketch(replace(base, columns=columns, first_data_line=first + 1), rows, data, weight, [heading("")] * width)


def _below_hours(rows: list[Cells]) -> int:
    """The line below one near the top that heads the hours of a day; 0 = there is none. What stands above it is a
    title, also one with dates and numbers."""
    return next((at + 1 for at, row in enumerate(rows[:HIGHEST_TITLE]) if hours_in(row)), 0)


def _past_words(rows: list[Cells], width: int, first: int) -> int:
    """Past lines near the top with words beside their number ("Interval;60 s"), where the others hold numbers alone."""
    plain = [at for at, row in enumerate(rows) if at >= first and len(row) == width and _is_plain(row)]
    is_title = bool(plain) and plain[0] < HIGHEST_TITLE and 2 * len(plain) > len(rows) - plain[0]
    return plain[0] if is_title else first


def _is_plain(row: Cells) -> bool:
    filled = [cell for cell in row if cell.strip()]
    return bool(filled) and is_number(filled[0]) and all(is_number(cell) or is_code(cell) for cell in filled)


def _up_to_alike(rows: list[Cells], first: int) -> int:
    """Past lines above that have their dates and times in the same places, but no number yet."""
    places = [has_moment(cell) for cell in rows[first]]
    while first and any(places) and [has_moment(cell) for cell in rows[first - 1]] == places:
        first -= 1
    return first


def explained(sketch: Sketch) -> float:
    """The share of lines, from the first data line on, that are data of the usual width.

    Lines of that width with nothing but a date or time count neither way: empty cells speak against no delimiter.
    """
    rest = [row for row in sketch.rows[sketch.layout.first_data_line - 1 :] if not is_blank(row)]
    bare = sum(_is_bare(row, sketch.width) for row in rest) if len(rest) > len(sketch.data) else 0
    return len(sketch.data) / (len(rest) - bare) if len(rest) > bare else 0.0


def _is_bare(row: Cells, width: int) -> bool:
    filled = [cell.strip() for cell in row if cell.strip()]
    return len(filled) == 1 and len(row) == width and has_moment(filled[0])
