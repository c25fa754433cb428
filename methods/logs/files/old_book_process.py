"""The other process of :mod:`methods.logs.files.old_book`: a workbook on the standard input becomes JSON, line by line.

Run by its path, and knows nothing of the package: its memory and time are limited before anything is read. Without an
argument it names the sheets, with a title and a number of columns it gives the rows of that sheet.
"""

from __future__ import annotations

import datetime as dt
import io
import json
import sys
from collections.abc import Iterator
from typing import Any

#: Bytes of address space, and seconds: a full sheet of 65 536 rows and 256 columns is beyond, any log far below.
MEMORY, SECONDS = 1 << 30, 120
MOMENTS: dict[str, type[dt.datetime] | type[dt.date] | type[dt.time]] = {
    "datetime": dt.datetime, "date": dt.date, "time": dt.time,
}  # fmt: skip


#: What says a length of time, in seconds.
LENGTH = "length"


def _limit() -> None:
    try:
        import resource
    except ImportError:  # there is none on Windows: only the size of the file is limited there
        return
    for what, most in ((resource.RLIMIT_AS, MEMORY), (resource.RLIMIT_CPU, SECONDS), (resource.RLIMIT_CORE, 0)):
        _, hard = resource.getrlimit(what)
        allowed = most if hard == resource.RLIM_INFINITY else min(most, hard)
        resource.setrlimit(what, (allowed, allowed))


def _plain(value: Any) -> Any:
    """As JSON has it; what counts time keeps its kind."""
    for kind, moment in MOMENTS.items():
        if type(value) is moment:
            return {kind: value.isoformat()}
    if isinstance(value, dt.timedelta):
        return {LENGTH: value.total_seconds()}
    return value


def _answers(title: str | None, columns: int) -> Iterator[dict[str, Any]]:
    import python_calamine

    try:
        book = python_calamine.load_workbook(io.BytesIO(sys.stdin.buffer.read()))
        kinds, shown = python_calamine.SheetTypeEnum, python_calamine.SheetVisibleEnum
        sheets = [sheet for sheet in book.sheets_metadata if sheet.typ == kinds.WorkSheet]
        yield {"sheets": [[sheet.name, sheet.visible != shown.Visible] for sheet in sheets]}
        if title is not None:
            for row in book.get_sheet_by_name(title).iter_rows():
                yield {"row": [_plain(value) for value in row[:columns]]}
    except python_calamine.PasswordError:
        yield {"refused": "encrypted"}
    except MemoryError:
        yield {"refused": "too-large"}
    except BaseException as error:  # a panic of the library is no Exception
        if isinstance(error, BrokenPipeError):
            raise
        yield {"refused": "damaged"}


def main() -> None:
    _limit()
    title, columns = (sys.argv[1], int(sys.argv[2])) if len(sys.argv) > 2 else (None, 0)
    for answer in _answers(title, columns):
        sys.stdout.write(json.dumps(answer) + "\n")


if __name__ == "__main__":
    main()
