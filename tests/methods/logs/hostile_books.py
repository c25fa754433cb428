"""Workbooks that are built to hurt, and a lawful one of a million rows, made when they are needed."""

from __future__ import annotations

import zipfile
from collections.abc import Iterable, Iterator
from pathlib import Path

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
TYPES = (
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="xml" ContentType="application/xml"/>'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Override PartName="/xl/workbook.xml" '
    'ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/>'
    '<Override PartName="/xl/sharedStrings.xml" '
    'ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"/></Types>'
)
RELATIONS = '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">{}</Relationships>'
TO_SHEET = '<Relationship Id="r{0}" Type="' + OFFICE + '/worksheet" Target="worksheets/sheet{0}.xml"/>'
SHEET = '<sheet name="log {0}" sheetId="{0}" r:id="r{0}"/>'
STYLES = (
    f'<styleSheet xmlns="{MAIN}"><cellXfs count="2"><xf numFmtId="0"/><xf numFmtId="22"/>{{}}</cellXfs></styleSheet>'
)
HEAD = '<row r="1">' + "".join(
    f'<c r="{at}1" t="inlineStr"><is><t>{words}</t></is></c>'
    for at, words in (("A", "time"), ("B", "CO2 [ppm]"), ("C", "temperature [°C]"), ("D", "relative humidity [%]"))
) + "</row>"  # fmt: skip
FIRST_DAY = 45_900


def row(number: int) -> str:
    day = FIRST_DAY + number / 86_400
    return (
        f'<row r="{number}"><c r="A{number}" s="1"><v>{day:.9f}</v></c><c r="B{number}"><v>{420 + number % 300}</v></c>'
        f'<c r="C{number}"><v>{20 + number % 50 / 10:.1f}</v></c><c r="D{number}"><v>{40 + number % 20}</v></c></row>'
    )


def sheet(rows: int) -> Iterator[str]:
    yield f'<worksheet xmlns="{MAIN}"><sheetData>{HEAD}'
    for number in range(2, rows + 2):
        yield row(number)
    yield "</sheetData></worksheet>"


def workbook(
    path: Path,
    *,
    styles: Iterable[str] = (STYLES.format(""),),
    sheets: Iterable[str] = (SHEET.format(1),),
    relations: Iterable[str] = (TO_SHEET.format(1),),
    shared: Iterable[str] = ("",),
    rows: Iterable[str] | None = None,
) -> Path:
    """A workbook whose parts are said piece by piece; by itself a small and lawful log."""
    parts = {
        "[Content_Types].xml": [TYPES],
        "_rels/.rels": [
            RELATIONS.format(f'<Relationship Id="r1" Type="{OFFICE}/officeDocument" Target="xl/workbook.xml"/>')
        ],
        "xl/workbook.xml": [f'<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}"><sheets>', *sheets, "</sheets></workbook>"],
        "xl/_rels/workbook.xml.rels": [RELATIONS.split("{}")[0], *relations, RELATIONS.split("{}")[1]],
        "xl/styles.xml": styles,
        "xl/sharedStrings.xml": [f'<sst xmlns="{MAIN}">', *shared, "</sst>"],
        "xl/worksheets/sheet1.xml": rows or sheet(40),
    }
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        for name, pieces in parts.items():
            with archive.open(name, "w") as member:
                for piece in pieces:
                    member.write(piece.encode())
    return path


def thirty_one_megabytes_of_styles(path: Path) -> Path:
    return workbook(path, styles=[STYLES.format('<xf numFmtId="1"/>' * 1_700_000)])


def a_hundred_thousand_sheets(path: Path) -> Path:
    numbers = range(1, 100_001)
    return workbook(path, sheets=map(SHEET.format, numbers), relations=map(TO_SHEET.format, numbers))


def shared_texts_without_end(path: Path) -> Path:
    return workbook(path, shared=["<si/>" * 6_000_000])


def shared_texts_of_runs(path: Path) -> Path:
    """Few texts, and each of very many runs."""
    return workbook(path, shared=["<si>", "<r><t>a</t></r>" * 2_000_000, "</si>"])


def deeply_nested(path: Path) -> Path:
    return workbook(path, styles=[STYLES.format("<xf>" * 1_000_000 + "</xf>" * 1_000_000)])


def deeply_nested_texts(path: Path) -> Path:
    return workbook(path, shared=["<r>" * 1_000_000, "</r>" * 1_000_000])


def cells_without_end(path: Path) -> Path:
    """One row that goes on and on, in a sheet that may be long."""
    return workbook(path, rows=[f'<worksheet xmlns="{MAIN}"><sheetData>{HEAD}<row>', "<c/>" * 14_000_000, "</row>"
                                "</sheetData></worksheet>"])  # fmt: skip


def nested_document(path: Path) -> Path:
    path.write_text('{"a":' * 400_000 + "1" + "}" * 400_000)
    return path


def nested_page(path: Path) -> Path:
    path.write_text("<html>" + "<table><tr><td>" * 500_000)
    return path


def a_million_rows(path: Path) -> Path:
    return workbook(path, rows=sheet(1_048_575))
