"""Whatever is changed in a well-formed file, no value is read that differs from the truth without a question, or a
problem that names the line."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.examples import examples
from tests.methods.logs.corpus.faults import LOOK_ALIKES
from tests.methods.logs.corpus.shapes import LANGUAGES, TEXTS, UNITS
from tests.methods.logs.corpus.truth import COLUMNS, MOMENTS, FileEnd, LogCase, fate, truth_of
from tests.methods.logs.logs import clock

#: Of formaldehyde: the unit, and by how much its numbers are moved (powers of ten: only units of one kind).
SCALES = {"ppm": 0, "ppb": 3}


@dataclass(frozen=True)
class MadeColumn:
    """``at``: which of the four parameters it holds; -1 = none of ours."""

    name: str
    cells: tuple[str, ...]
    at: int = -1
    unit: str = ""


@dataclass(frozen=True)
class MadeLog:
    columns: tuple[MadeColumn, ...]
    delimiter: str = ","
    decimal: str = "."
    stamp: str = "%Y-%m-%d %H:%M:%S"
    time_at: int = 0
    time_name: str = "Time"
    again_at: int = 0
    encoding: str = "utf-8"
    extra: tuple[str, ...] = field(default=())

    def lines(self) -> list[list[str]]:
        head = [column.name for column in self.columns]
        rows = [[cell.replace(".", self.decimal) for cell in row] for row in zip(*(c.cells for c in self.columns), strict=True)]  # fmt: skip # noqa: E501
        stamps = [f"{moment:{self.stamp}}" for moment in MOMENTS]
        table = [[self.time_name, *head], *([stamp, *row] for stamp, row in zip(stamps, rows, strict=True))]
        table = [[*line[1 : 1 + self.time_at], line[0], *line[1 + self.time_at :]] for line in table]
        if self.again_at:
            table.insert(self.again_at, table[0])
        return [*([[text] for text in self.extra]), *table]

    def content(self) -> bytes:
        return "".join(self.delimiter.join(line) + "\n" for line in self.lines()).encode(self.encoding)


def column(language: str, at: int, unit: str) -> MadeColumn:
    places = SCALES.get(unit, 0) if at == 0 else 0
    cells = tuple(f"{float(text) * 10**places:.{0 if places else 3}f}" if at == 0 else text for text in TEXTS[at])
    return MadeColumn(f"{LANGUAGES[language][3][at]} ({unit})", cells, at, unit)


@st.composite
def logs(draw: Any) -> MadeLog:
    """A file of some of the four parameters, with what people and loggers do to files done to it."""
    language = draw(st.sampled_from(sorted(LANGUAGES)))
    some = draw(st.lists(st.sampled_from(range(4)), min_size=1, max_size=4, unique=True))
    columns = [column(language, at, draw(st.sampled_from(sorted(SCALES))) if at == 0 else UNITS[at]) for at in some]
    for name in draw(st.lists(st.sampled_from(LOOK_ALIKES), max_size=2, unique=True)):
        cells = tuple(f"{300 + n}.5" for n in range(10))
        columns.insert(draw(st.integers(0, len(columns))), MadeColumn(name, cells))
    extras = {
        "Serial": ("A-1", "B-2"), "Room": ("hall", "attic"), "Note": ("", "window open"), "Device": ("101", "102"),
        "Status": ("OK", "FAULT"), "No": tuple(str(n) for n in range(10)), "Remark": ("x", "x"),
    }  # fmt: skip
    for name in draw(st.lists(st.sampled_from(sorted(extras)), max_size=2, unique=True)):
        cells = tuple(draw(st.sampled_from(extras[name])) for _ in range(10))
        columns.insert(draw(st.integers(0, len(columns))), MadeColumn(name, cells))
    delimiter = draw(st.sampled_from((",", ";", "\t")))
    return MadeLog(
        tuple(columns),
        delimiter,
        draw(st.sampled_from((".", ","))) if delimiter != "," else ".",
        draw(st.sampled_from(("%Y-%m-%d %H:%M:%S", "%d.%m.%Y %H:%M", "%m/%d/%Y %H:%M:%S", "%Y/%m/%d %H:%M"))),
        draw(st.integers(0, len(columns))),
        draw(st.sampled_from((LANGUAGES[language][0], "Time", "Timestamp", "Date"))),
        draw(st.sampled_from((0, 0, 4, 9))),
        draw(st.sampled_from(("utf-8", "utf-8-sig", "utf-16"))),
        draw(st.sampled_from(((), ("Memory of a meter", ""), ("serial number: A-1",)))),
    )


def truth(log: MadeLog) -> Any:
    """What counts: lines with a bad status do not."""
    kept = [(COLUMNS[c.at][0], c.unit, c.cells) for c in log.columns if c.at >= 0]
    whole = truth_of(kept)
    bad = {m for c in log.columns if c.name == "Status" for m, cell in zip(MOMENTS, c.cells, strict=True) if cell == "FAULT"}  # fmt: skip # noqa: E501
    moments = {(moment - clock(1970, 1, 1)) // MILLISECOND for moment in bad}
    return frozenset(t for t in whole if t.ms not in moments)


MILLISECOND = (MOMENTS[1] - MOMENTS[0]) / 60_000


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("changed")


@settings(max_examples=examples(200), suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(log=logs())
def test_nothing_is_read_that_is_not_there(folder: Path, log: MadeLog) -> None:
    end = fate(LogCase("a changed file", log.content(), truth(log)), folder)
    assert end.outcome is not FileEnd.WRONG, (end.extra, end.missing, end.codes, log.content().decode(log.encoding))


def test_a_plain_one_is_read_exactly(folder: Path) -> None:
    log = MadeLog(tuple(column("English", at, UNITS[at]) for at in range(4)))
    assert fate(LogCase("plain", log.content(), truth(log)), folder).outcome is FileEnd.EXACT
    named_again = replace(log, again_at=4)
    assert fate(LogCase("again", named_again.content(), truth(log)), folder).outcome is FileEnd.EXACT
