"""Formulas whose results a workbook does not hold: named with line and column, and what to do; never a reading."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from methods.logs import Understanding, understand
from tests.methods.logs.biff import Sheet
from tests.methods.logs.logs import clock, read_all
from tests.methods.logs.ods import RawCell, open_workbook
from tests.methods.logs.test_containers import a_log, refused, remade, workbook
from tests.methods.logs.test_sheets import xlsx

WAY_OUT = "open the file in a spreadsheet, save it, and hand it in again"
STAMPS = [clock(2026, 9, 15, 8, n) for n in range(10)]


def in_open_document(*sheets: Sheet) -> bytes:
    """What begins with "=" as a formula without its result."""

    def cell(value: Any) -> Any:
        formula = isinstance(value, str) and value.startswith("=")
        return RawCell(f'<table:table-cell table:formula="of:{value}"/>') if formula else value

    return open_workbook(*((title, [[cell(v) for v in row] for row in rows], hid) for title, rows, hid in sheets))


@pytest.fixture(params=[xlsx, in_open_document])
def write(request: pytest.FixtureRequest, tmp_path: Path) -> Callable[..., Path]:
    def written(*rows: list[Any]) -> Path:
        path = tmp_path / "book"
        path.write_bytes(request.param(("Log", rows, False)))
        return path

    return written


def said(path: Path, found: Understanding) -> list[tuple[int, str, str, str]]:
    assert found.layout is not None
    assert found.questions == ()
    return read_all(path, found.layout).problems


def test_single_ones_are_named_at_their_lines(write: Callable[..., Path]) -> None:
    rows = [[s, "=B2*2" if n in (3, 7) else 400 + n, 0.03] for n, s in enumerate(STAMPS)]
    path = write(["Time", "CO2 (ppm)", "HCHO (ppm)"], *rows)
    found = understand(path, name="book")
    assert said(path, found) == [(n, "CO2 (ppm)", "=B2*2", "formula") for n in (5, 9)]
    assert WAY_OUT in found.problems[0].message


@pytest.mark.parametrize("name", ["CO2 (ppm)", "CO2"])
def test_a_column_of_them_is_said_of_the_file(write: Callable[..., Path], name: str) -> None:
    path = write(["Time", name, "HCHO (ppm)"], *([s, "=C2*2", 0.03] for s in STAMPS))
    found = understand(path, name="book")
    assert found.layout is not None
    whole = read_all(path, found.layout) if not found.questions else None
    assert whole is None or [p for p in whole.problems if p[3] == "formulas"] == [(0, name, "=C2*2", "formulas")]
    assert whole is not None or [q.code for q in found.questions] == ["unit"]


def test_a_column_of_them_that_nobody_knows_is_asked_about(write: Callable[..., Path]) -> None:
    found = understand(write(["Time", "Kanal 2", "HCHO (ppm)"], *([s, "=C2*2", 0.03] for s in STAMPS)), name="book")
    assert [(q.code, q.column) for q in found.questions] == [("parameter", 1)]


@pytest.mark.parametrize("first", [0, 1, 3])
def test_times_that_are_formulas(write: Callable[..., Path], first: int, tmp_path: Path) -> None:
    """The first ones written down, those below worked out from them."""
    path = write(["Time", "CO2 (ppm)"], *([s if n < first else "=A2+1/1440", 400 + n] for n, s in enumerate(STAMPS)))
    code, message = refused(tmp_path, path.read_bytes())
    assert (code, WAY_OUT in message) == ("formulas", True)


def test_one_time_that_is_a_formula(write: Callable[..., Path]) -> None:
    path = write(["Time", "CO2 (ppm)"], *([s if n != 4 else "=A2+1/1440", 400 + n] for n, s in enumerate(STAMPS)))
    assert said(path, understand(path, name="book")) == [(6, "Time", "=A2+1/1440", "formula_stamp")]


@pytest.mark.parametrize(
    ("cell", "problems"),
    [
        ('<f t="shared" si="0"/>', [(3, "CO2 (ppm)", "=…", "formula")]),
        ("<f>A1+1</f><v></v>", [(3, "CO2 (ppm)", "=A1+1", "formula")]),
        ("<f>A1+1</f><v>401</v>", []),
    ],
)
def test_formulas_in_the_xml_of_a_sheet(tmp_path: Path, cell: str, problems: list[Any]) -> None:
    """ECMA-376 part 1, 18.3.1.40: a shared formula has its letters in the first of its cells only."""
    path = tmp_path / "book"
    path.write_bytes(remade(workbook(a_log), third_value=cell))
    found = understand(path, name="book")
    assert said(path, found) == problems


def test_results_that_are_there_are_read(tmp_path: Path) -> None:
    """ISO/IEC 26300-3, 19.642: a cell has its formula beside its value."""
    done = RawCell('<table:table-cell table:formula="of:=1+1" office:value-type="float" office:value="612"/>')
    empty = RawCell('<table:table-cell table:formula="of:=&quot;&quot;" office:value-type="string"><text:p/></table:table-cell>')  # fmt: skip # noqa: E501
    path = tmp_path / "book"
    rows: list[list[object]] = [["Time", "CO2 (ppm)"], *([s, empty if n == 3 else done] for n, s in enumerate(STAMPS))]
    path.write_bytes(open_workbook(("Log", rows, False)))
    assert said(path, understand(path, name="book")) == []
