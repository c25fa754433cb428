"""What reading a log is about: layouts, problems, questions and chunks of readings.

Pure. A :class:`Layout` says how to read one shape of file; a :class:`Chunk` is what was read with it.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass, field
from enum import StrEnum
from typing import Any

from methods.quantities.arrays import Floats, Ints, Shorts

#: ``Layout.basis``: what the stamps count from.
LOCAL, UTC, EPOCH = "local", "utc", "epoch"
#: ``LayoutQuestion.answer_kind``.
CHOICE, MOMENT, DATE, YEAR = "choice", "moment", "date", "year"
#: ``Layout.reader`` of files that hold sheets or tables by name.
WORKBOOKS = frozenset(("xlsx", "ods", "xls", "html", "xml"))


class ColumnRole(StrEnum):
    """What a column is for."""

    STAMP = "stamp"
    DATE = "date"
    TIME = "time"
    VALUE = "value"
    UNIT = "unit"
    PARAMETER = "parameter"
    SOURCE = "source"
    STATUS = "status"
    SIGN = "sign"
    IGNORE = "ignore"
    YEAR = "year"
    MONTH = "month"
    DAY = "day"
    DAY_OF_YEAR = "day_of_year"
    HOUR = "hour"
    MINUTE = "minute"
    SECOND = "second"
    HOURLY = "hourly"


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a layout.

    ``index`` counts the file's own columns from 0. In a *long* layout (one value column, the parameter named on each
    line) several VALUE columns share one index: one per parameter and unit, ``name`` being the text in the file.
    ``parameter`` is a code of ``quantities.substances``; ``unit`` one of its spellings; ``None`` = not known yet.
    Of a SOURCE column (which meter, room or probe a line is of) and a STATUS column (whether a line is any good)
    ``seen`` are the texts in the file and ``keep`` those whose lines count; ``keep`` None = nobody has said. Lines of
    other sources are left out, values with another status are flagged. A SIGN column holds "<" and ">" for the value
    to its right. ``unit_in_cells``: the unit stands in each cell and not in the name. ``probe`` says which of several
    probes of the instrument a VALUE column is of; ``doubted``: its unit is not the one that the file says, because a
    person who was asked said so; ``scale``: what its numbers are multiplied by to be in ``unit`` (fractions of 1: 100).
    ``fills``: numbers that can hardly be readings among the others and often stand for none: nothing is stored for
    them; ``no_readings`` and ``readings`` are those of which a person said what they are.
    HOURLY columns hold the other hours of a day's line (``Layout.hours``). ``key`` of an object in JSON
    lines, where it is not the name.
    """

    index: int
    name: str
    role: ColumnRole
    parameter: str | None = None
    unit: str | None = None
    seen: tuple[str, ...] = ()
    keep: tuple[str, ...] | None = None
    probe: str = ""
    doubted: bool = False
    scale: float = 1.0
    unit_in_cells: bool = False
    key: str = ""
    fills: tuple[float, ...] = ()
    no_readings: tuple[float, ...] = ()
    readings: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Layout:
    """How to read one shape of file. Immutable; stored as JSON.

    ``delimiter`` is one character; a blank stands for any run of blanks and tabs. ``spans`` are the character ranges
    of fixed columns; ``shape`` keeps the shape key as it was sniffed. ``stamp_format`` is strptime-like (fractions of
    a second are always allowed after ``%S``; tabs part what stands in several columns) or one of the counts that
    ``stamp_formats`` names. ``utc_offset``: minutes by which all stamps are ahead of UTC, where
    the file says so once; None = it does not, or each stamp says it. ``whole``: columns of
    whole numbers as far as sniffing looked, where a point may part thousands. Lines count from 1; 0 = there is none.

    Of stamps that do not say it all, ``start_ms`` says the rest for this one file (ms since 1970 on the logger's
    clock): what elapsed time counts from, the midnight of the first day of times of day, the 1st of January of the
    first year. ``newest_first`` is the order of such a file's lines. ``sections``: the format of dates in lines between
    the readings that hold for the times of day below them; "" = there are none. ``hours``: where each line is a day,
    (column, ms after midnight) of each hour; the VALUE column is the first of them and stands for all.
    ``dates_below``: not 0 where a date holds for the lines below it that have none, -1 where the newest stand first.
    """

    reader: str
    encoding: str = "utf-8"
    container: str = ""
    delimiter: str = ""
    decimal: str = "."
    thousands: str = ""
    header_line: int = 0
    units_line: int = 0
    first_data_line: int = 1
    columns: tuple[Column, ...] = ()
    stamp_format: str = ""
    day_first: bool | None = None
    basis: str = LOCAL
    utc_offset: int | None = None
    whole: tuple[int, ...] = ()
    missing_codes: tuple[str, ...] = ()
    name: str = ""
    sheet: str = ""
    spans: tuple[tuple[int, int], ...] = ()
    shape: str = ""
    start_ms: int | None = None
    newest_first: bool = False
    sections: str = ""
    hours: tuple[tuple[int, int], ...] = ()
    dates_below: int = 0

    @property
    def values(self) -> tuple[Column, ...]:
        """The VALUE columns, in the order of the columns of ``Chunk.values``."""
        return tuple(column for column in self.columns if column.role is ColumnRole.VALUE)

    @property
    def kept_hours(self) -> tuple[tuple[int, int], ...]:
        """``hours`` without those whose column a person left out."""
        roles = {column.index: column.role for column in self.columns}
        return tuple(pair for pair in self.hours if roles.get(pair[0]) in (ColumnRole.VALUE, ColumnRole.HOURLY))

    def to_json(self) -> dict[str, Any]:
        """A dict of plain JSON types that :meth:`from_json` turns back into an equal layout."""
        plain: dict[str, Any] = json.loads(json.dumps(asdict(self)))
        return plain

    @classmethod
    def from_json(cls, plain: dict[str, Any]) -> Layout:
        """Raises KeyError, TypeError or ValueError if ``plain`` is not what :meth:`to_json` writes."""
        fields = dict(plain)
        fields["columns"] = tuple(
            Column(**{**column, "role": ColumnRole(column["role"]), **_lists_of(column)}) for column in plain["columns"]
        )
        fields["missing_codes"] = tuple(plain["missing_codes"])
        fields["whole"] = tuple(plain.get("whole", ()))
        fields["hours"] = tuple((int(at), int(ms)) for at, ms in plain.get("hours", ()))
        fields["spans"] = tuple((int(start), int(end)) for start, end in plain.get("spans", ()))
        return cls(**fields)

    def shape_key(self) -> str:
        """The same for files of the same shape: what the file shows, not what a person answered about it."""
        if self.shape:
            return self.shape
        names = [(c.index, " ".join(c.name.split()).casefold()) for c in self.columns]
        shown = [self.reader, self.delimiter, bool(self.header_line), names]
        return hashlib.sha256(json.dumps(shown, ensure_ascii=True).encode()).hexdigest()[:32]


def _lists_of(plain: dict[str, Any]) -> dict[str, tuple[Any, ...] | None]:
    keep = plain.get("keep")
    names = ("seen", "fills", "no_readings", "readings")
    return {"keep": None if keep is None else tuple(keep), **{name: tuple(plain.get(name, ())) for name in names}}


@dataclass(frozen=True, slots=True)
class LogProblem:
    """Something wrong at a line. ``message`` is for people and says what to do; ``line`` 0 = the whole file."""

    line: int
    column: str
    value: str
    code: str
    message: str


@dataclass(frozen=True, slots=True)
class LayoutQuestion:
    """What only a person can decide. ``choices`` are (value, words) pairs; ``column`` is an index of the file, and
    of the time of several tables beside each other that of the first.

    ``answer_kind`` other than CHOICE: the answer may be typed as well, and the choices are what the file suggests. A
    MOMENT is 2024-03-13T08:00:00 (without "T" and seconds, too), a DATE 2024-03-13, a YEAR 2024.
    """

    code: str
    message: str
    choices: tuple[tuple[str, str], ...]
    column: int | None = None
    answer_kind: str = CHOICE


@dataclass(frozen=True, slots=True)
class LogSheet:
    """A sheet of a workbook that looks like a log; ``shape`` is the shape key of its layout."""

    title: str
    shape: str
    hidden: bool = False


@dataclass(frozen=True, slots=True)
class Understanding:
    """What sniffing made of a file. ``preview`` holds its first lines as cells, from line 1 on.

    ``sheets``: where a workbook has more sheets that look like logs than the one read, all of them.
    """

    layout: Layout | None
    questions: tuple[LayoutQuestion, ...] = ()
    problems: tuple[LogProblem, ...] = ()
    preview: tuple[tuple[str, ...], ...] = ()
    confidence: float = 0.0
    serials: tuple[str, ...] = ()
    sheets: tuple[LogSheet, ...] = ()


@dataclass(slots=True)
class Chunk:
    """``n`` rows of ``k`` value columns.

    ``lines`` int64[n], counted from 1; ``stamps`` int64[n], milliseconds since 1970-01-01T00:00:00 on the logger's
    own clock (UTC where the layout's basis is utc or epoch); ``values`` float64[n, k], nan = no value; ``flags``
    int16[n, k], bits of ``quantities.flags.Flag``. A cell with nan and no flag was empty: nothing was stored there.
    ``bytes_read`` counts bytes of the file on disk consumed so far, for progress.
    """

    lines: Ints
    stamps: Ints
    values: Floats
    flags: Shorts
    problems: list[LogProblem] = field(default_factory=list)
    bytes_read: int = 0


class Unreadable(Exception):
    """The file cannot be read at all; ``problems`` says why."""

    def __init__(self, *problems: LogProblem) -> None:
        self.problems = problems
        super().__init__("; ".join(problem.message for problem in problems))
