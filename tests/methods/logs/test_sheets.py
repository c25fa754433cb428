"""Which sheet of a workbook is read: the only log, of several the chosen one, a hidden one never silently."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

from methods.logs import Understanding, understand
from methods.logs.layouts.layout_answers import answer
from tests.methods.logs.biff import Sheet, old_workbook
from tests.methods.logs.logs import clock, ms_of, read_all
from tests.methods.logs.markup import web_page, xml_workbook
from tests.methods.logs.ods import RawCell, open_workbook


def xlsx(*sheets: Sheet) -> bytes:
    book, kept = openpyxl.Workbook(), io.BytesIO()
    for title, rows, hidden in sheets:
        sheet = book.create_sheet(title)
        sheet.sheet_state = "hidden" if hidden else "visible"
        for row in rows:
            sheet.append(list(row))
    del book["Sheet"]
    book.save(kept)
    return kept.getvalue()


MAKERS: dict[str, Callable[..., bytes]] = {
    "xlsx": xlsx, "ods": open_workbook, "xls": old_workbook,
    "html": web_page, "xml": xml_workbook,
}  # fmt: skip


def a_log(title: str, day: int, name: str = "CO2 (ppm)", *, hidden: bool = False) -> Sheet:
    return title, [["Time", name], *([clock(2026, 9, day, 8, n), 400 + day + n] for n in range(10))], hidden


COVER: Sheet = ("Cover", [["Logger", "of the house"]], False)
NIGHT, DAY, SPARE = a_log("Night", 15), a_log("Day", 16), a_log("Spare", 17, hidden=True)


@pytest.fixture(params=MAKERS)
def write(request: pytest.FixtureRequest, tmp_path: Path) -> Callable[..., Path]:
    def written(*sheets: Sheet) -> Path:
        path = tmp_path / "book"
        path.write_bytes(MAKERS[request.param](*sheets))
        return path

    return written


def first_value(path: Path, found: Understanding) -> float:
    assert found.layout is not None
    assert found.questions == ()
    return float(read_all(path, found.layout).values[0, 0])


def test_the_only_log_is_read(write: Callable[..., Path]) -> None:
    path = write(COVER, NIGHT)
    found = understand(path, name="book")
    assert (first_value(path, found), found.problems, found.sheets) == (415.0, (), ())


def test_of_several_a_person_chooses(write: Callable[..., Path]) -> None:
    path = write(COVER, NIGHT, DAY, SPARE)
    (asked,) = understand(path, name="book").questions
    assert (asked.code, "3 sheets or tables" in asked.message, "1 of them hidden" in asked.message) == (
        "sheet",
        True,
        True,
    )
    assert asked.choices == (
        ("Night", "“Night”: 10 rows, the first of 2026-09-15 08:00:00"),
        ("Day", "“Day”: 10 rows, the first of 2026-09-16 08:00:00"),
        ("Spare", "“Spare” (hidden): 10 rows, the first of 2026-09-17 08:00:00"),
    )
    for title, value in (("Night", 415.0), ("Day", 416.0), ("Spare", 417.0)):
        found = understand(path, name="book", sheet=title)
        assert first_value(path, found) == value
        assert [problem.code for problem in found.problems] == ["other_sheets"]
        assert {sheet.title for sheet in found.sheets} == {"Night", "Day", "Spare"}


def test_a_hidden_one_is_named_and_not_chosen(write: Callable[..., Path]) -> None:
    path = write(NIGHT, SPARE)
    found = understand(path, name="book")
    assert first_value(path, found) == 415.0
    (problem,) = found.problems
    assert (problem.code, "“Spare, hidden”" in problem.message) == ("other_sheets", True)


def test_one_that_is_hidden_alone_is_asked_about(write: Callable[..., Path]) -> None:
    path = write(COVER, SPARE)
    (asked,) = understand(path, name="book").questions
    assert (asked.code, [value for value, _ in asked.choices]) == ("sheet", ["Spare"])
    assert first_value(path, understand(path, name="book", sheet="Spare")) == 417.0


@pytest.mark.parametrize(("sheet", "code"), [("Elsewhere", "no_sheet"), ("Cover", "not_a_log")])
def test_a_choice_that_is_none(write: Callable[..., Path], sheet: str, code: str) -> None:
    found = understand(write(COVER, NIGHT, DAY), name="book", sheet=sheet)
    assert (found.layout, [problem.code for problem in found.problems]) == (None, [code])


def test_another_sheet_is_no_answer_to_a_layout(write: Callable[..., Path]) -> None:
    """Its columns may be others: it has to be understood by itself."""
    found = understand(write(NIGHT, a_log("Day", 16, "HCHO (ppb)")), name="book")
    assert found.layout is not None
    with pytest.raises(ValueError, match="by itself"):
        answer(found.layout, found.questions[0], "Day")
    assert {sheet.shape for sheet in found.sheets} != {found.layout.shape_key()}


def test_a_day_number_of_a_workbook_is_of_the_second_it_shows(tmp_path: Path) -> None:
    """45382.333333 is 08:00 less 29 ms (Z-14 for the day)."""
    (path := tmp_path / "log.xlsx").write_bytes(xlsx(("Log", [["Time", "CO2 (ppm)"]], False)))
    book = openpyxl.load_workbook(path)
    for n in range(10):
        book["Log"].append([round(45382 + (480 + n) / 1440, 6), 600 + n])
        book["Log"].cell(n + 2, 1).number_format = "yyyy-mm-dd hh:mm:ss"
    book.save(path)
    layout = understand(path, name="log.xlsx").layout
    assert layout is not None
    assert read_all(path, layout).stamps == [ms_of(clock(2024, 3, 31, 8, n)) for n in range(10)]


@pytest.mark.parametrize("form", ["0%", "0.0%", '0.0" % "', "0.00"])
def test_percent_is_read_as_the_spreadsheet_shows_it(tmp_path: Path, form: str) -> None:
    """A sign in quotes is a letter: what is shown is the number itself, and 0.43 %RH is asked about."""
    (path := tmp_path / "log.xlsx").write_bytes(xlsx(("Log", [["Time", "RH"]], False)))
    book = openpyxl.load_workbook(path)
    for n in range(10):
        book["Log"].append([clock(2026, 9, 15, 8, n), 0.43 + n / 1000])
        book["Log"].cell(n + 2, 2).number_format = form
    book.save(path)
    found = understand(path, name="log.xlsx")
    assert found.layout is not None
    is_percent = form in ("0%", "0.0%")
    assert [q.code for q in found.questions] == ["doubtful"] * (not is_percent)
    values = [round(43 + n / 10, 1) if is_percent else 0.43 + n / 1000 for n in range(10)]
    assert read_all(path, found.layout).values[:, 0].tolist() == values


def test_percent_of_an_open_document(tmp_path: Path) -> None:
    cells = [RawCell(f'<table:table-cell office:value-type="percentage" office:value="0.43{n}"/>') for n in range(10)]
    rows: list[list[object]] = [["Time", "RH"], *([clock(2026, 9, 15, 8, n), cell] for n, cell in enumerate(cells))]
    (path := tmp_path / "log.ods").write_bytes(open_workbook(("Log", rows, False)))
    found = understand(path, name="log.ods")
    assert found.layout is not None
    assert found.questions == ()
    assert read_all(path, found.layout).values[:, 0].tolist() == [float(f"43.{n}") for n in range(10)]


def test_rows_below_another_head_are_counted(tmp_path: Path) -> None:
    rows: list[list[object]] = [
        ["Time", "CO2 (ppm)", "Temp (°C)"],
        *([clock(2026, 9, 15, 8, n), 600, 21.5] for n in range(10)),
    ]
    rows += [["Time", "Temp (°C)", "CO2 (ppm)"], *([clock(2026, 9, 15, 9, n), 21.5, 600] for n in range(30))]
    (path := tmp_path / "log.xlsx").write_bytes(xlsx(("Log", rows, False)))
    layout = understand(path, name="log.xlsx").layout
    assert layout is not None
    told = [p.message for chunk in read_all(path, layout).chunks for p in chunk.problems if p.code == "most_left_out"]
    assert ["31 of 41 lines were left out, from line 12 on" in message for message in told] == [True]
