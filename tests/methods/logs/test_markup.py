"""Web pages and XML that are handed in as workbooks: what their cells may look like, and what is refused."""

from __future__ import annotations

import gzip
import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.logs import Layout, Understanding, understand
from methods.logs.files import html_book
from tests.examples import examples
from tests.methods.logs.logs import clock
from tests.methods.logs.markup import in_xml, page, table, web_page, worksheet, xml_workbook
from tests.methods.logs.test_containers import refused
from tests.methods.logs.test_hostile import go_through
from tests.methods.logs.test_other_workbooks import LOG, ROWS, whole

VALUES = [row[1:] for row in ROWS[1:]]
HEAD = "<tr><th>Time<th>CO2 (ppm)<th>HCHO (ppm)"


def lines(form: str) -> str:
    return "".join(form.format(n=n, co2=400 + n, hcho=f"0,03{n}") for n in range(9))


def read(tmp_path: Path, *rows: str) -> list[list[float]]:
    return whole(tmp_path, page(f"<table>{''.join(rows)}</table>"))[1]


def understood(tmp_path: Path, content: bytes) -> tuple[Understanding, Layout]:
    (tmp_path / "log").write_bytes(content)
    found = understand(tmp_path / "log", name="log")
    assert found.layout is not None, found.problems
    return found, found.layout


WANTED = [[400.0 + n, float(f"0.03{n}")] for n in range(9)]


@pytest.mark.parametrize(
    ("head", "form"),
    [
        (HEAD, "<tr><td>2026-09-15 08:0{n}<td>{co2}<td>{hcho}"),  # ends of cells and rows may be missing
        (HEAD, "<TR><TD>2026-09-15&nbsp;08:0{n}</TD><TD> {co2}\n</TD><TD><b>{hcho}</b></TD></TR>"),
        (HEAD, "<tr><td>2026-09-15 08:0{n}</td><td>{co2}<script>9</script></td><td>&#48;{hcho}</td></tr>"),
        ("<thead>" + HEAD + "</thead><tbody>", "<tr><td>2026-09-15<br>08:0{n}</td><td>{co2}</td><td>{hcho}</td></tr>"),
        ("<tr><td colspan=3>Memory of a meter</td></tr>" + HEAD, "<tr><td>2026-09-15 08:0{n}<td>{co2}<td>{hcho}"),
        ("<tr><th>Time<th>Room<th>CO2 (ppm)<th>HCHO (ppm)", "<tr><td>2026-09-15 08:0{n}<td colspan=2>{co2}<td>{hcho}"),
    ],
    ids=range(6),
)  # fmt: skip
def test_what_a_table_may_look_like(tmp_path: Path, head: str, form: str) -> None:
    if "Room" in head:  # a cell over two columns stands in the first of them
        head = head.replace("<th>Room<th>CO2 (ppm)", "<th>CO2 (ppm)<th>Room")
    assert read(tmp_path, head, lines(form)) == WANTED


@pytest.mark.parametrize(
    "cell", ["711<sup>1</sup>", "<sup>1</sup>711", "711 <sub>100</sub>", "700<br>800", "<p>700</p><p>800</p>"]
)
def test_two_numbers_in_a_cell_are_not_one(tmp_path: Path, cell: str) -> None:
    rows = [f"<tr><td>2026-09-15 08:0{n}<td>{cell if n == 4 else 400 + n}<td>0.03{n}" for n in range(9)]
    found, layout = understood(tmp_path, page(f"<table>{HEAD}{''.join(rows)}</table>"))
    (problem,) = found.problems
    assert (problem.line, problem.column, problem.code) == (6, "CO2 (ppm)", "text_in_number")
    assert [column.parameter for column in layout.values] == ["co2", "formaldehyde"]


def test_units_with_raised_figures(tmp_path: Path) -> None:
    head = "<tr><th>Time<th>CO<sub>2</sub> (mg/m<sup>3</sup>)<th>PM<sub>2.5</sub> (µg/m<sup>3</sup>)"
    rows = "".join(f"<tr><td>2026-09-15 08:0{n}<td>{700 + n}<td>12.{n}" for n in range(9))
    _, layout = understood(tmp_path, page(f"<table>{head}{rows}</table>"))
    assert [(c.parameter, c.unit) for c in layout.values] == [("co2", "mg/m³"), ("pm25", "µg/m³")]


def test_a_cell_over_several_rows_is_of_each_of_them(tmp_path: Path) -> None:
    """HTML, tables: a cell of rowspan 3 is a cell of three rows."""
    form = "<tr>{day}<td>08:0{n}<td>{co2}<td>0.03{n}"
    rows = [form.format(day="<td rowspan=3>2026-09-15" if n % 3 == 0 else "", n=n, co2=400 + n) for n in range(9)]
    assert read(tmp_path, "<tr><th>Date<th>Time<th>CO2 (ppm)<th>HCHO (ppm)", *rows) == WANTED


def test_a_table_within_a_table(tmp_path: Path) -> None:
    inner = f"<table>{HEAD}{lines('<tr><td>2026-09-15 08:0{n}<td>{co2}<td>{hcho}')}</table>"
    assert read(tmp_path, f"<tr><td>Menu</td><td>{inner}</td><td>more</td></tr>") == WANTED


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252", "iso-8859-2"])
def test_encodings(tmp_path: Path, encoding: str) -> None:
    body = table("Log", [["Zeit", "Temperatur (°C)"], *([clock(2026, 9, 15, 8, n), 20.5 + n] for n in range(9))])
    assert whole(tmp_path, page(body, encoding))[1] == [[20.5 + n] for n in range(9)]


@pytest.mark.parametrize("content", [web_page(LOG), xml_workbook(LOG)], ids=["page", "xml"])
def test_packed(tmp_path: Path, content: bytes) -> None:
    assert whole(tmp_path, gzip.compress(content))[1] == VALUES


def test_places_comments_and_formulas_in_xml(tmp_path: Path) -> None:
    rows = "".join(
        f'<Row ss:Index="{n + 3}"><Cell><Data ss:Type="DateTime">2026-09-15T08:0{n}:00.000</Data></Cell>'
        f'<Cell ss:Index="3"><Data ss:Type="Number">{400 + n}</Data><Comment><Data>9</Data></Comment></Cell>'
        + (
            '<Cell ss:Formula="=RC[-1]*2"/></Row>'
            if n == 4
            else '<Cell><Data ss:Type="Number">0.03</Data></Cell></Row>'
        )
        for n in range(9)
    )
    head = worksheet("Log", [["Time", None, "CO2 (ppm)", "HCHO (ppm)"]])
    stamps, values, problems = whole(tmp_path, in_xml(head.replace("</Table>", rows + "</Table>")))
    assert (len(stamps), [row[0] for row in values]) == (9, [400.0 + n for n in range(9)])
    assert problems == [(7, "HCHO (ppm)", "=RC[-1]*2", "formula")]


@pytest.mark.parametrize(
    ("content", "code", "words"),
    [
        (page("<p>Dear all, the minutes are below.</p>"), "not_a_log", "does not look like a log"),
        (page("<table><tr><td>Menu</td><td>Home</td></tr></table>"), "not_a_log", "does not look like a log"),
        (page("<table>" * 60), "broken_workbook", "too deep"),
        (page("<table><tr><td " + "x" * 2_000_000), "broken_workbook", "never ends"),
        (xml_workbook(LOG)[:700], "broken_workbook", "damaged"),
        (b'<?xml version="1.0"?><!DOCTYPE x [<!ENTITY a "b">]><Workbook>&a;</Workbook>', "zip_bomb", "entities"),
        (b'<?xml version="1.0"?><office:document xmlns:office="x"/>', "binary", "save it as ODS"),
        (b'<?xml version="1.0"?>\n<log><entry time="2026-09-15 08:00" co2="612"/></log>\n', "not_a_log", "no workbook"),
    ],
    ids=range(8),
)
def test_what_is_refused_with_the_reason(tmp_path: Path, content: bytes, code: str, words: str) -> None:
    found, message = refused(tmp_path, content)
    assert (found, words in message) == (code, True), message


def test_a_page_is_read_in_time_that_grows_with_its_length(tmp_path: Path) -> None:
    """What an attack repeats: marks that never end, cells over a thousand columns and ten thousand rows."""
    started = time.perf_counter()
    for hostile in ("<!--", "<a ", "&", "<td colspan=1000 rowspan=65534>1", "<table>", "</table>", "<", "<tr>"):
        go_through(page("<table>" + hostile * (150_000 // len(hostile))))
    assert time.perf_counter() - started < 15
    assert html_book.LONGEST_MARK <= 1 << 20


PIECES = ("<", ">", "<td>", "</table>", "<tr", "&", "<!--", '"', "\0", "colspan=9 ", "]]>", "<Row>", "ss:Index='0'")


@given(st.booleans(), st.lists(st.tuples(st.floats(0, 1), st.sampled_from(PIECES)), min_size=1, max_size=5))
@settings(max_examples=examples(60), deadline=None)
def test_damaged_markup(in_html: bool, blows: list[tuple[float, str]]) -> None:
    content = (web_page(LOG) if in_html else xml_workbook(LOG)).decode()
    for share, piece in blows:
        at = int(share * len(content))
        content = content[:at] + piece + content[at + 1 :]
    go_through(content.encode())
