"""Open document workbooks written for tests by hand, after ISO/IEC 26300: a ZIP with the XML of the cells."""

from __future__ import annotations

import datetime as dt
import io
import zipfile
from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

from tests.methods.logs.biff import Sheet

KIND = "application/vnd.oasis.opendocument.spreadsheet"
_NAMES = "".join(
    f' xmlns:{part}="urn:oasis:names:tc:opendocument:xmlns:{part}:1.0"' for part in ("office", "table", "text", "style")
)


class RawCell(str):
    """The XML of a cell as it is."""


def cell(value: object) -> str:
    if isinstance(value, RawCell):
        return str(value)
    if value is None:
        return "<table:table-cell/>"
    if isinstance(value, dt.datetime):
        return f'<table:table-cell office:value-type="date" office:date-value="{value:%Y-%m-%dT%H:%M:%S}"/>'
    if isinstance(value, dt.time):
        return f'<table:table-cell office:value-type="time" office:time-value="{value:PT%HH%MM%SS}"/>'
    if isinstance(value, dt.timedelta):
        minutes, second = divmod(round(value.total_seconds()), 60)
        length = f"PT{minutes // 60:02}H{minutes % 60:02}M{second:02}S"
        return f'<table:table-cell office:value-type="time" office:time-value="{length}"/>'
    if isinstance(value, str):
        return f'<table:table-cell office:value-type="string"><text:p>{escape(value)}</text:p></table:table-cell>'
    return f'<table:table-cell office:value-type="float" office:value="{value}"><text:p>?</text:p></table:table-cell>'


def row(cells: Sequence[object]) -> str:
    return f"<table:table-row>{''.join(map(cell, cells))}</table:table-row>"


def content(sheets: Sequence[Sheet], before: str = "") -> str:
    tables = "".join(
        f'<table:table table:name={quoteattr(title)} table:style-name="{"off" if hidden else "on"}">'
        + "".join(map(row, rows))
        + "</table:table>"
        for title, rows, hidden in sheets
    )
    styles = "".join(
        f'<style:style style:name="{name}" style:family="table">'
        f'<style:table-properties table:display="{shown}"/></style:style>'
        for name, shown in (("on", "true"), ("off", "false"))
    )
    return (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content{_NAMES} office:version="1.3">'
        f"<office:automatic-styles>{styles}</office:automatic-styles>"
        f"<office:body><office:spreadsheet>{before}{tables}</office:spreadsheet></office:body></office:document-content>"
    )


def packed(xml: str | bytes, manifest: str = "<manifest/>", kind: str = KIND) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", kind, zipfile.ZIP_STORED)
        archive.writestr("META-INF/manifest.xml", manifest)
        archive.writestr("content.xml", xml)
    return stream.getvalue()


def open_workbook(*sheets: Sheet) -> bytes:
    return packed(content(sheets))
