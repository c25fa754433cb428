"""Layouts in words for people. Pure."""

from __future__ import annotations

from methods.logs.messages import example
from methods.logs.stamps.calendar_words import language_name
from methods.logs.stamps.date_order import ORDER_WORDS, order_of, orders_of
from methods.logs.stamps.interval_stamps import AT_END, AT_START, end_said
from methods.logs.stamps.stamp_examples import shown_format
from methods.logs.stamps.stamp_formats import NUMERIC, compiled, in_language, show, start_of
from methods.logs.types import EPOCH, UTC, Column, ColumnRole, Layout
from methods.quantities.digits import as_entered
from methods.quantities.substances import SUBSTANCES

ROLE_WORDS = {
    ColumnRole.STAMP: "date and time", ColumnRole.DATE: "date", ColumnRole.TIME: "time of day",
    ColumnRole.UNIT: "its unit, line by line",
    ColumnRole.PARAMETER: "the parameter, line by line", ColumnRole.SOURCE: "whose line it is",
    ColumnRole.STATUS: "whether the line is any good", ColumnRole.SIGN: "a sign before the value",
    ColumnRole.YEAR: "year", ColumnRole.MONTH: "month", ColumnRole.DAY: "day of the month",
    ColumnRole.DAY_OF_YEAR: "day of the year", ColumnRole.HOUR: "hour", ColumnRole.MINUTE: "minute",
    ColumnRole.SECOND: "second", ColumnRole.HOURLY: "the same, another hour", ColumnRole.IGNORE: "left out",
}  # fmt: skip
_BETWEEN = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars", " ": "blanks"}
_MARKS = {".": "a point", ",": "a comma"}


def column_words(column: Column) -> str:
    """“Formaldehyde in ppm”, “date and time”, “left out”."""
    if column.role is not ColumnRole.VALUE:
        return ROLE_WORDS[column.role]
    parameter = SUBSTANCES.get(column.parameter or "")
    scale = f", its numbers times {as_entered(column.scale)}" if column.scale != 1 else ""
    none = "".join(f", {as_entered(number)} is no reading" for number in column.no_readings)
    return f"{parameter.name if parameter else 'unknown parameter'} in {column.unit or 'unknown unit'}{scale}{none}"


def file_words(layout: Layout) -> str:
    """What kind of file it is."""
    kind = {
        "delimited": f"Text with {_BETWEEN.get(layout.delimiter, layout.delimiter)} between the columns",
        "fixed": "Text in fixed columns",
        "jsonl": "JSON, one object for each line",
        "xlsx": f"Workbook, sheet “{layout.sheet}”",
        "ods": f"Open document workbook, sheet “{layout.sheet}”",
        "html": f"Web page, “{layout.sheet}”",
        "xml": f"XML workbook, sheet “{layout.sheet}”",
        "xls": f"Old binary workbook, sheet “{layout.sheet}”",
    }.get(layout.reader, layout.reader)
    encoding = f", {layout.encoding}" if layout.encoding else ""
    return f"{kind}{encoding}" + (f", packed with {layout.container}" if layout.container else "")


def lines_words(layout: Layout) -> str:
    """Where its names and its readings stand."""
    names = f"names of the columns in line {layout.header_line}" if layout.header_line else "no line of names"
    if layout.reader == "jsonl":
        names = "names in every line"
    units = f", units in line {layout.units_line}" if layout.units_line else ""
    return f"{names}{units}, readings from line {layout.first_data_line} on"


def time_words(layout: Layout) -> str:
    """How its time is written, and on which clock."""
    if not layout.stamp_format:
        return "not known yet"
    end = {AT_START: ", the beginning of the interval", AT_END: ", the end of the interval"}
    said = end.get(end_said(layout.stamp_format), "")
    return f"{example(layout.stamp_format)}{said}, {clock_words(layout)}"


#: What only this program writes with a sign, in words; the other signs are told on the page where they are typed.
_SIGNS = {
    "%<hhmm>": "hours and minutes as one number (905)", "%<hhmmss>": "hours, minutes and seconds as one number (90530)",
    "%<hours>": "hours, any number of them", "%<minutes>": "minutes, any number of them",
    "%<ms>": "a count of milliseconds", "%<s>": "a count of seconds", "%<min>": "a count of minutes",
    "%<h>": "a count of hours", "%<d>": "a count of days", "%<begin>": "the beginning of the interval",
    "%<end>": "the end of the interval", "%<open>": "the other end of the interval",
}  # fmt: skip


def written_words(layout: Layout) -> str:
    """How its stamps are written, sign by sign, with a bar between columns; "" where nobody knows."""
    form = layout.stamp_format
    if form in NUMERIC:
        return example(form)
    for sign, words in _SIGNS.items():
        form = form.replace(sign, words)
    language = compiled(layout.stamp_format).language if form else ""
    spoken = f" (months in {language_name(language)})" if language else ""
    return f"{shown_format(in_language(form, ''))}{spoken}"


def clock_words(layout: Layout) -> str:
    if layout.utc_offset:
        hours, minutes = divmod(abs(layout.utc_offset), 60)
        return f"UTC{'+' if layout.utc_offset > 0 else '−'}{hours:02d}:{minutes:02d}, as the file says"
    return "in UTC, as the file says" if layout.basis in (UTC, EPOCH) else "on the clock of the instrument"


def start_words(layout: Layout) -> str:
    """Where a file begins whose stamps do not say it; "" where they do."""
    kind = start_of(layout.stamp_format)
    if not kind:
        return ""
    if layout.sections:
        return "as the dates in lines between the readings say"
    if layout.start_ms is None:
        return "not known yet"
    shown = show(layout.start_ms)
    return {"date": f"on {shown.removesuffix(' 00:00:00')}", "year": f"in {shown[:4]}"}.get(kind, f"at {shown}")


def order_words(layout: Layout) -> str:
    """Which part of the date comes first; "" where nothing could be mistaken."""
    orders = orders_of(layout)
    if len(orders) < 2:
        return ""
    if layout.day_first is None:
        return "not known yet"
    return f"{ORDER_WORDS[order_of(layout.stamp_format)]} first"


def decimal_words(layout: Layout) -> str:
    thousands = f", “{layout.thousands}” between thousands" if layout.thousands.strip() else ""
    return f"{_MARKS.get(layout.decimal, layout.decimal)}{thousands}"


def describe(layout: Layout) -> str:
    """The whole in one sentence, for lists and for the history."""
    kept = [column_words(column) for column in layout.values]
    parts = [file_words(layout), f"time {time_words(layout)}", order_words(layout), *kept]
    return "; ".join(part for part in (*parts, f"decimals after {decimal_words(layout)}") if part)
