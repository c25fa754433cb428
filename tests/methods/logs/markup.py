"""Tables of web pages and workbooks in XML, written for tests by hand."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from html import escape

from tests.methods.logs.biff import Sheet


def shown(value: object) -> str:
    return "" if value is None else f"{value:%Y-%m-%d %H:%M:%S}" if isinstance(value, dt.datetime) else str(value)


def table(title: str, rows: Sequence[Sequence[object]], *, hidden: bool = False) -> str:
    lines = "".join(f"<tr>{''.join(f'<td>{escape(shown(v))}</td>' for v in row)}</tr>\n" for row in rows)
    style = ' style="display: none"' if hidden else ""
    return f"<table border=1{style}><caption>{escape(title)}</caption>\n{lines}</table>\n"


def page(body: str, encoding: str = "utf-8") -> bytes:
    head = f'<html><head><meta http-equiv="Content-Type" content="text/html; charset={encoding}"></head>'
    return f"{head}<body>{body}</body></html>".encode(encoding)


def web_page(*sheets: Sheet) -> bytes:
    return page("<p>export</p>".join(table(title, rows, hidden=hidden) for title, rows, hidden in sheets))


def data(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, dt.datetime):
        return f'<Data ss:Type="DateTime">{value:%Y-%m-%dT%H:%M:%S}.000</Data>'
    kind = "String" if isinstance(value, str) else "Number"
    return f'<Data ss:Type="{kind}">{escape(str(value))}</Data>'


def worksheet(title: str, rows: Sequence[Sequence[object]], *, hidden: bool = False) -> str:
    lines = "".join(f"<Row>{''.join(f'<Cell>{data(value)}</Cell>' for value in row)}</Row>" for row in rows)
    options = "<WorksheetOptions><Visible>SheetHidden</Visible></WorksheetOptions>" if hidden else ""
    return f'<Worksheet ss:Name="{escape(title)}"><Table>{lines}</Table>{options}</Worksheet>'


def in_xml(*parts: str) -> bytes:
    head = '<?xml version="1.0"?><Workbook xmlns="urn:x:sheets" xmlns:ss="urn:x:sheets">'
    return (head + "".join(parts) + "</Workbook>").encode()


def xml_workbook(*sheets: Sheet) -> bytes:
    return in_xml(*(worksheet(title, rows, hidden=hidden) for title, rows, hidden in sheets))
