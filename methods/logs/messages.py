"""What is said about a file, in words for people: what is wrong, and what to do."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from methods.logs.stamps.stamp_formats import in_language
from methods.logs.types import LogProblem

#: One line in so many being bad means that the layout, not the lines, is at fault.
MOSTLY_BAD = 5
SHOWN, SHOWN_OF_A_LINE = 60, 120

_SAVE = "open the file in a spreadsheet, save it, and hand it in again"
_TEXTS = {
    "text_in_number": "“{value}” is not a number (the decimal mark of this file is “{decimal}”). "
    "Nothing was stored for it.",
    "unit_mismatch": "“{value}” is not in {unit}, the unit of this column. Nothing was stored for it: "
    "correct the layout or the export.",
    "bare_number": "“{value}” has no unit, as the other numbers of this column have. Nothing was stored for it: if "
    "it is in {unit} too, write that behind it and hand the file in again.",
    "formula": "“{value}” is a formula, and the file does not hold its result. Nothing was stored for it: {way_out}.",
    "formula_stamp": "“{value}” is a formula, and the file does not hold its result. The line was left out: {way_out}.",
    "unknown_parameter": "“{value}” is not one of the parameters and units of this layout. The line was left out: "
    "add it to the layout, or ignore it there.",
    "stamp_missing": "The line has no date and time. It was left out.",
    "nothing_here": "{count} from here on with nothing in the columns that are read: passed over.",
    "no_date_holds": "The line has no date, and none above it holds for “{value}”: the time goes back, or the date "
    "above cannot be read. The line was left out: write its date into the file and hand it in again.",
    "bad_stamp": "“{value}” is not a date and time like {expected}. The line was left out.",
    "mixed_dates": "“{value}” makes sense only with day and month the other way round. The line was left out: "
    "export the file again with one order of day and month.",
    "short_line": "The line has {found} of {expected} columns. It was left out.",
    "long_line": "The line has {found} columns instead of {expected}. It was left out: perhaps a comma stands both "
    "between columns and inside numbers.",
    "truncated_line": "The file ends in the middle of this line. It was left out: copy the file from the logger again.",
    "truncated_value": "The file ends without a line end, and in “{value}” after {found} places where every line "
    "before has {usual}: digits seem to be missing. The line was left out: copy the file from the logger again.",
    "truncated_file": "The file is cut off: what could be read was read. Copy it from the logger again.",
    "reserved_space": "Zero bytes stand here and no reading: space that the logger set aside, or a power cut. It was "
    "passed over.",
    "torn_line": "Zero bytes stand in this line, as a power cut leaves them, and what is left of it may be part of "
    "another. It was left out: copy the file from the logger again, if that has more.",
    "bad_quotes": "A quotation mark is opened in this line and not closed. The line was left out.",
    "bad_line": "The line is not one JSON object. It was left out.",
    "double_key": "“{value}” stands twice in this object, with unlike values: which one holds is not told. The object "
    "was left out.",
    "another_table": "Here begins another table, of other columns or another sensor (“{value}”). This line and all "
    "below it were left out: hand that part in as a file of its own.",
    "grouped_number": "“{value}” stands among whole numbers: perhaps its point parts thousands. Nothing was stored for "
    "it: say on the page of the layout what the point means, and read the file again.",
    "fill_value": "“{value}” is far from the other values of this column, and what many loggers write where there is "
    "no reading. Nothing was stored for it: if it is one, say so on the page of the layout, and read the file again.",
    "new_key": "From this line on there is also “{value}”, which no line before has. It was left out: hand the file in "
    "from this line on, by itself.",
    "twelve_hours": "Here the time goes back by half a day, from “{before}” to “{after}”, and no hour of the file is "
    "above 12: times of twelve hours without AM and PM cannot be told apart. Export the file with 24 hours.",
    "swapped_dates": "Here the date jumps to {after}, but with day and month the other way round it would go on from "
    "{before}: a spreadsheet seems to have swapped some of the dates. Take the file as the logger wrote it.",
    "still_date": "Here the time goes back from {before} to {after}, and the date is {date} in each line: midnights "
    "seem to have passed without it. If so, leave the column of the date out, choose that of the time as date and "
    "time, and say the date of the first reading.",
    "next_days": "The time of day goes back {count} (first here, to “{value}”), which was taken for the beginning of "
    "the next day. The file names no dates, so a pause of whole days does not show: compare the last stamp with "
    "what is known of the visit.",
    "next_years": "The date goes back {count} (first here, to “{value}”), which was taken for the beginning of the "
    "next year. The file names no years: compare the last stamp with what is known of the visit.",
    "no_such_day": "There is no “{value}” in the year that this line is of. It was left out: correct the year of the "
    "first reading on the page of the layout.",
    "starts_again": "Here the time gone by starts again (“{value}”). This line and all below it were left out: their "
    "start is another one, so hand that part in as a file of its own.",
    "before_its_date": "{value} lines stand above the first line with a date. They were left out: say the date of the "
    "first reading on the page of the layout.",
    "duplicate_rows": "{count} lines repeat the line before them exactly (first here). They were kept.",
}
_NAMES = {
    "text_in_number": "text in a number column",
    "unit_mismatch": "another unit in the cell",
    "unknown_parameter": "unknown parameter",
    "truncated_value": "digits missing at the end of the file",
    "bare_number": "number without its unit",
    "formula": "formula without its result",
    "formula_stamp": "formula in place of a time",
    "stamp_missing": "no date and time",
    "bad_stamp": "unreadable date or time",
    "no_date_holds": "no date for a time",
    "mixed_dates": "day and month the other way round",
    "short_line": "too few columns",
    "long_line": "too many columns",
    "bad_quotes": "open quotation mark",
    "reserved_space": "zero bytes and no reading",
    "torn_line": "zero bytes in the line",
    "bad_line": "not a JSON object",
    "double_key": "a name twice in one object",
    "grouped_number": "a point among whole numbers",
    "fill_value": "far from all others, as where there is no reading",
}


def shortened(text: str, longest: int = SHOWN) -> str:
    return text if len(text) <= longest else text[: longest - 1] + "…"


def problem(line: int, column: str, value: str, code: str, **details: object) -> LogProblem:
    """``value`` is shown shortened, so that a hostile cell cannot fill a page."""
    shown = shortened(value)
    return LogProblem(line, column, shown, code, _TEXTS[code].format(value=shown, way_out=_SAVE, **details))


_EXAMPLE = {
    "%Y": "YYYY", "%y": "YY", "%m": "MM", "%d": "DD", "%b": "Mar", "%a": "Mon", "%H": "hh", "%I": "hh", "%M": "mm",
    "%S": "ss", "%p": "PM", "%z": "+01:00", "\t": " ", "%j": "DDD", "%<hhmm>": "hhmm", "%<hhmmss>": "hhmmss",
    "%<end>": "hh:mm", "%<begin>": "hh:mm", "%<open>": "hh:mm", "%<hours>": "hh", "%<minutes>": "mm",
    "%<ms>": "milliseconds gone by", "%<s>": "seconds gone by", "%<min>": "minutes gone by",
    "%<h>": "hours gone by", "%<d>": "days gone by", "epoch_us": "1700000000000000 (microseconds since 1970)",
    "epoch_ns": "1700000000000000000 (nanoseconds since 1970)", "epoch_s": "1700000000 (seconds since 1970)",
    "epoch_ms": "1700000000000 (milliseconds since 1970)", "serial_1900": "45382.5 (days since 1900)",
    "serial_1904": "43920.5 (days since 1904)",
}  # fmt: skip


def example(form: str) -> str:
    """A stamp format as people read it: DD/MM/YYYY hh:mm."""
    form = in_language(form, "")
    for directive, words in _EXAMPLE.items():
        form = form.replace(directive, words)
    return form


def comma_inside(line: int, names: int, width: int) -> LogProblem:
    text = (
        f"The header names {names} columns, but the lines have {width} cells: the comma seems to stand both between "
        "the columns and inside the numbers. Export the file with semicolons or tabs between the columns, or with "
        "decimal points."
    )
    return LogProblem(line, "", str(width), "decimal_comma", text)


def more(beyond: Counter[str]) -> LogProblem:
    total = sum(beyond.values())
    kinds = ", ".join(f"{count:,} × {_NAMES.get(code, code)}" for code, count in beyond.most_common())
    return LogProblem(0, "", str(total), "more_problems", f"{total:,} more problems are not listed: {kinds}.")


def mostly_bad(bad: int, lines: int) -> LogProblem:
    text = f"{bad:,} of {lines:,} lines could not be read as this layout says: check the layout before using the file."
    return LogProblem(0, "", str(bad), "most_bad" if 2 * bad > lines else "mostly_bad", text)


def most_left_out(line: int, left_out: int, lines: int) -> LogProblem:
    where = f", from line {line:,} on" if line else ""
    text = (
        f"Most of this file was not read: {left_out:,} of {lines:,} lines were left out{where}. What is wrong is said "
        "at the line: hand that part in as a file of its own, or say that it is right like this."
    )
    return LogProblem(0, "", str(left_out), "most_left_out", text)


def formulas(column: str, first: str, count: int, lines: int) -> LogProblem:
    text = (
        f"{count:,} of {lines:,} cells of “{column[:SHOWN]}” are formulas, and the file does not hold their results: "
        f"{_SAVE}."
    )
    return LogProblem(0, column, first[:SHOWN], "formulas", text)


def formulas_for_times() -> LogProblem:
    text = f"The times in this file are formulas, and the file does not hold their results: {_SAVE}."
    return LogProblem(0, "", "", "formulas", text)


def mixed_order(line: int, text: str, first: str) -> LogProblem:
    words = f"“{text}” makes sense only with {first} first; other lines of this file only with another order."
    return LogProblem(line, "", text[:SHOWN], "mixed_dates", f"{words} Export the file again with one order.")


def lines_above(line: int, count: int, names: int) -> LogProblem:
    text = (
        f"{count:,} lines above the names of the columns (line {names}) look like readings, the first of them here. "
        "They were left out: hand that part in as a file of its own."
    )
    return LogProblem(line, "", "", "lines_above", text)


def other_sheets(sheet: str, others: list[str]) -> LogProblem:
    names = ", ".join(f"“{other[:40]}”" for other in others[:5])
    text = (
        f"Only the sheet “{sheet[:40]}” is read. Other sheets look like logs, too ({names}): hand each in as a file of "
        "its own."
    )
    return LogProblem(0, "", "", "other_sheets", text)


def hours_beside_others(line: int, name: str) -> LogProblem:
    text = (
        f"Each line is a day and its hours stand in columns, beside other readings or kinds of them (“{name}”): which "
        "belongs to which cannot be told. Export the file with one line for each hour, or with one parameter alone."
    )
    return LogProblem(line, name, "", "hours_beside_others", text)


def tables_beside(names: list[str], columns: list[int]) -> LogProblem:
    where = ", ".join(f"“{name[:40]}” in column {at}" for name, at in zip(names, columns, strict=True))
    text = (
        f"{len(names)} tables stand beside each other, each with a time of its own ({where}), and a file is read with "
        "one time: hand each in as a file of its own."
    )
    return LogProblem(0, "", "", "tables_beside", text)


def which_sheet(logs: int, shown: int) -> str:
    what = (
        f"{logs} sheets or tables of this file look like logs"
        if logs > 1
        else "The one sheet that looks like a log is hidden"
    )
    hidden = f", {logs - shown} of them hidden" if logs > 1 and logs > shown else ""
    return f"{what}{hidden}: which one is to be read? The others can be handed in as files of their own."


def sheet_words(title: str, rows: int, first: str, *, hidden: bool) -> str:
    """“Night”: 1,440 rows, the first of 2026-09-15 08:00:00."""
    said = f"“{title[:SHOWN]}”{' (hidden)' if hidden else ''}: {rows:,} row{'s' * (rows != 1)}"
    return f"{said}, the first of {first[:SHOWN]}" if first else said


def json_document() -> LogProblem:
    text = (
        "This is JSON, but no list of objects, one for each time: export the log so, as JSON lines, or as text (CSV)."
    )
    return LogProblem(0, "", "", "not_a_log", text)


def json_lists(keys: Sequence[str]) -> LogProblem:
    """``keys`` under which each object has a list."""
    under = " and ".join(f"“{shortened(key)}”" for key in keys[:2])
    text = (
        f"The objects of this JSON file hold lists, under {under}. Values are read where each stands under a name of "
        "its own in the object of its time: export the log so, or as text (CSV)."
    )
    return LogProblem(0, "", "", "not_a_log", text)


def json_doubles(key: str) -> LogProblem:
    text = (
        f"“{shortened(key)}” stands twice in most objects of this JSON file, with unlike values: which one holds is "
        "not told. Give each value a name of its own, or export the log as text (CSV)."
    )
    return LogProblem(0, "", "", "not_a_log", text)


def other_markup() -> LogProblem:
    text = "This is a document with marks (XML) that is no workbook: export the readings as XLSX or as text (CSV)."
    return LogProblem(0, "", "", "not_a_log", text)


def packed_in_archive() -> str:
    return "It is packed again: only logs themselves are taken out of an archive."
