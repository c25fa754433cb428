"""A few kilobytes that ask for gigabytes, or for minutes, are refused with a true word; what is lawful is not."""

from __future__ import annotations

import errno
import os
import pickle
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from methods import logs
from methods.logs.apart import ProcessBounds, apart, one_apart
from methods.logs.bounded import is_taken_apart
from methods.logs.files.sources import MEGABYTE
from methods.logs.types import Unreadable
from tests.methods.logs import hostile_books as books

ROOT = Path(__file__).resolve().parents[3]
pytestmark = pytest.mark.skipif(not hasattr(os, "sched_getaffinity"), reason="forks only where that is safe")

#: Understands a file in a process without anything else in it, and says what it took: of it, and of what it forked.
MEASURED = """
import resource, sys
from pathlib import Path
from methods import logs
found = logs.understand(Path(sys.argv[1]), name="log.xlsx")
own, forked = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
peak = next(line for line in open("/proc/self/status") if line.startswith("VmHWM")).split()[1]
code = found.problems[0].code if found.layout is None else "a log"
print(code, int(peak) // 1024, forked.ru_maxrss // 1024, own.ru_utime + forked.ru_utime, sep=";")
"""


def measured(path: Path) -> tuple[str, float, float, float]:
    """What is said of the file; megabytes of the process, and of the one it forked; seconds of a processor."""
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", MEASURED, str(path)], cwd=ROOT, capture_output=True, text=True,
        timeout=110, check=True,
    )  # fmt: skip
    code, own, forked, seconds = done.stdout.strip().split(";")
    return code, float(own), float(forked), float(seconds)


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (books.thirty_one_megabytes_of_styles, "too_much"),
        (books.a_hundred_thousand_sheets, "too_much"),
        (books.shared_texts_without_end, "too_much"),
        (books.shared_texts_of_runs, "a log"),
        (books.deeply_nested, "too_much"),
        (books.deeply_nested_texts, "too_much"),
        (books.cells_without_end, "too_much"),
        (books.nested_document, "line_too_long"),
        (books.nested_page, "broken_workbook"),
    ],
    ids=lambda it: it if isinstance(it, str) else it.__name__,
)
def test_what_asks_for_too_much(tmp_path: Path, make: Callable[[Path], Path], code: str) -> None:
    found, own, forked, seconds = measured(make(tmp_path / "log"))
    assert found == code
    assert own < 300
    assert forked < 400
    assert seconds < 30


def test_it_is_said_why_and_what_to_do(tmp_path: Path) -> None:
    found = logs.understand(books.deeply_nested(tmp_path / "log"), name="log.xlsx")
    assert found.problems[0].message == (
        "The workbook holds far more in “xl/styles.xml” than one with a log does. It was not read: save only the sheet "
        "with the readings, as XLSX or as text (CSV)."
    )


def test_a_lawful_workbook_is_read_as_ever(tmp_path: Path) -> None:
    path = books.workbook(tmp_path / "log", shared=["<si><t>a</t></si>", "<si><r><t>b</t></r><r><t>c</t></r></si>"])
    found = logs.understand(path, name="log.xlsx")
    assert found.layout is not None
    chunks = list(logs.read(path, found.layout))
    assert sum(len(chunk.lines) for chunk in chunks) == 40
    assert chunks[0].values[0].tolist() == [422, 20.2, 42]


@pytest.mark.slow
@pytest.mark.timeout(600)
def test_a_workbook_of_a_million_rows_is_understood_well_within_a_lease(tmp_path: Path) -> None:
    path = books.a_million_rows(tmp_path / "log")
    code, own, forked, seconds = measured(path)
    print(f"a million rows: {code}, {seconds:.1f} s, {own:.0f} and {forked:.0f} MB")
    assert code == "a log"
    assert seconds < 20  # of a lease of 60
    assert max(own, forked) < 300


class TestApart:
    def test_pieces_come_in_order_from_another_process(self) -> None:
        def work() -> Iterator[tuple[int, int]]:
            yield from ((n, os.getpid()) for n in range(3))

        found = list(apart(work, ProcessBounds(256 * MEGABYTE, 10)))
        assert [n for n, _ in found] == [0, 1, 2]
        assert os.getpid() not in {pid for _, pid in found}

    def test_arrays_and_records_come_whole(self, tmp_path: Path) -> None:
        path = tmp_path / "log.xlsx"
        found = logs.understand(books.workbook(path), name="log.xlsx")
        here = one_apart(lambda: (found, np.arange(3.0), frozenset("ab")), ProcessBounds(256 * MEGABYTE, 10))
        assert here[0] == found
        assert here[1].tolist() == [0, 1, 2]

    @pytest.mark.parametrize("greedy", ["memory", "time", "killed"])
    def test_its_limits_end_it_and_nobody_else(self, greedy: str) -> None:
        def work() -> Iterator[int]:
            yield 1
            if greedy == "memory":
                yield len(bytearray(600 * MEGABYTE))
            if greedy == "killed":
                os.kill(os.getpid(), 9)
            while True:
                pass

        began = time.monotonic()
        with pytest.raises(Unreadable) as caught:
            list(apart(work, ProcessBounds(256 * MEGABYTE, 1)))
        assert caught.value.problems[0].code == "too_much"
        assert time.monotonic() - began < 60

    def test_a_failing_disk_is_one(self) -> None:
        def work() -> Iterator[int]:
            raise OSError(errno.EIO, "Input/output error")

        with pytest.raises(OSError, match="Input/output error") as caught:
            list(apart(work, ProcessBounds(256 * MEGABYTE, 10)))
        assert caught.value.errno == errno.EIO

    def test_a_fault_of_ours_is_one(self) -> None:
        with pytest.raises(RuntimeError, match="ZeroDivisionError"):
            one_apart(lambda: 1 // 0, ProcessBounds(256 * MEGABYTE, 10))

    def test_nothing_but_values_is_taken_from_it(self, tmp_path: Path) -> None:
        class Sent:
            def __reduce__(self) -> tuple[object, tuple[str]]:
                return os.system, (f"touch {tmp_path}/been",)

        with pytest.raises(pickle.UnpicklingError):
            one_apart(Sent, ProcessBounds(256 * MEGABYTE, 10))
        assert not (tmp_path / "been").exists()

    def test_it_ends_when_nobody_wants_more(self) -> None:
        def work() -> Iterator[int]:
            while True:
                yield os.getpid()

        pieces = apart(work, ProcessBounds(256 * MEGABYTE, 10))
        pid = next(pieces)
        pieces.close()  # type: ignore[attr-defined]
        with pytest.raises(ProcessLookupError):
            os.kill(pid, 0)


def test_text_stays_where_it_is(tmp_path: Path) -> None:
    """And is as fast as ever: no other process, no copy."""
    text = tmp_path / "log.csv"
    text.write_text("time,CO2 [ppm]\n2026-09-15 09:00:00,420\n")
    assert not is_taken_apart(text)
    lines = tmp_path / "log.jsonl"
    lines.write_text('{"time": "2026-09-15 09:00:00", "CO2 [ppm]": 420}\n' * 3)
    assert not is_taken_apart(lines)
    assert is_taken_apart(books.workbook(tmp_path / "log.xlsx"))
    document = tmp_path / "log.json"
    document.write_text('[{"time": "2026-09-15 09:00:00", "CO2 [ppm]": 420}]')
    assert is_taken_apart(document)


def test_a_layout_of_another_kind_is_refused_from_there_too(tmp_path: Path) -> None:
    path = books.workbook(tmp_path / "log.xlsx")
    layout = logs.understand(path, name="log.xlsx").layout
    assert layout is not None
    with pytest.raises(Unreadable) as caught:
        list(logs.read(path, replace(layout, sheet="none of them")))
    assert caught.value.problems[0].code == "no_sheet"
