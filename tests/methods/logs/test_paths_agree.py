"""The fast path and the careful path must mean the same, whatever a line holds."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.logs import Column, ColumnRole, Layout
from methods.logs.block_reader import BlockReader
from methods.logs.layouts.compiled_layout import make_plan
from methods.logs.row_reader import ProblemLog
from methods.logs.text.block import Block, Grid, make_block
from methods.quantities.flags import Flag
from tests.examples import examples


class Careful(BlockReader):
    """Takes no line for clean."""

    def cut(self, block: Block) -> tuple[Block, Grid]:
        clean, grid = super().cut(block)
        return clean, Grid(grid.rows[:0], grid.starts[:0], grid.ends[:0])


VALUES = (
    Column(1, "HCHO (ppm)", ColumnRole.VALUE, "formaldehyde", "ppm", fills=(9999.0, 65535.0)),
    Column(2, "CO2 (ppm)", ColumnRole.VALUE, "co2", "ppm", fills=(65535.0, -1.0, -32768.0), no_readings=(9999.0,)),
    Column(3, "Note", ColumnRole.IGNORE),
)
WIDE = (Column(0, "Time", ColumnRole.STAMP), *VALUES)
TWO = (
    Column(0, "Date", ColumnRole.DATE),
    Column(1, "Time", ColumnRole.TIME),
    Column(2, "T", ColumnRole.VALUE, "temperature", "°C"),
)
LONG = (
    Column(0, "Time", ColumnRole.STAMP),
    Column(1, "Parameter", ColumnRole.PARAMETER),
    Column(2, "HCHO [ppm]", ColumnRole.VALUE, "formaldehyde", "ppm"),
    Column(2, "CO2 [ppm]", ColumnRole.VALUE, "co2", "ppm", fills=(65535.0, -1.0), no_readings=(9999.0,)),
    Column(2, "Battery [V]", ColumnRole.IGNORE),
    Column(3, "Unit", ColumnRole.UNIT),
)
BESIDE = (
    Column(0, "Time", ColumnRole.STAMP),
    Column(1, "HCHO", ColumnRole.VALUE, "formaldehyde", "ppm"),
    Column(2, "u1", ColumnRole.UNIT),
    Column(3, "CO2", ColumnRole.VALUE, "co2", "ppm"),
    Column(4, "u2", ColumnRole.UNIT),
)

number_texts = st.one_of(
    st.floats(allow_nan=False, allow_infinity=False, width=32).map(repr),
    st.integers(-(10**18), 10**18).map(str),
    st.decimals(-10_000, 10_000, places=3).map(str),
    st.from_regex(r"[+-]?[0-9]{0,9}[.,]?[0-9]{0,9}", fullmatch=True),
)
#: Divided by bars.
ODD = (
    "........|1.2.3.4|.0.0000000000000|<0.01|>5|< 0.5|>=3|OL|ERR|NaN|---|-200|-200.0|-999|0.03 ppm|0.03 ppb|21°C"
    "|abc|1e3|1E-400"
    "|1e400|--1|+-1|.|-|+|5.|.5|"
    "1.234,5|1,234|1 234|'|\u00a05|−3|１２|#|<|>|<>|<-1|0x10|1_000|inf|nan|µ|\x1a|\0\0"
    "|9999|9999.0|-1|65535|-32768|9999 ppm|<9999|>65535|9.999e3"
    "|\0 7|٣٫٥|१२|２１．５℃|21℃|٣٬٠٠٠" + "|" + "\0" * 20
)
odd_texts = st.sampled_from(ODD.split("|"))
cell_texts = st.one_of(number_texts, odd_texts, st.text("0123456789.-<> abµ\t'\"", max_size=12))
ODD_STAMPS = "|2024-02-30 10:00:00|2024-02-29 24:00:00|2024-13-01 00:00:00|Average|Time|2024-01-01  10:00:00"
stamp_texts = st.one_of(
    st.datetimes().map(lambda m: f"{m:%Y-%m-%d %H:%M:%S}"),
    st.datetimes().map(lambda m: f"{m:%Y-%m-%d %H:%M:%S}.{m.microsecond}"),
    st.from_regex(r"20[0-9]{2}-[0-9]{1,2}-[0-9]{1,2} [0-9]{1,2}:[0-9]{1,2}:[0-9]{1,2}", fullmatch=True),
    st.sampled_from(ODD_STAMPS.split("|")),
)
padding = st.sampled_from(["", "", "", " ", "  ", "\t"])


@st.composite
def lines(draw: st.DrawFn, first: st.SearchStrategy[str], rest: st.SearchStrategy[str], delimiter: str) -> str:
    count = draw(st.sampled_from([3, 3, 3, 3, 3, 2, 4, 0, 1]))
    cells = [draw(first), *[draw(rest) for _ in range(count)]]
    if draw(st.integers(0, 5)) == 0:
        cells = [f'"{cell}"' for cell in cells]
    line = delimiter.join(draw(padding) + cell + draw(padding) for cell in cells)
    return '"' + line.replace('"', '""') + '"' if draw(st.integers(0, 7)) == 0 else line


def outcome(reader: type[BlockReader], layout: Layout, raw: bytes) -> tuple[Any, ...]:
    log = ProblemLog()
    chunk = reader(make_plan(layout), log).read(make_block(raw, 2), is_last=True)
    said = sorted((p.line, p.column, p.value, p.code) for p in log.closing())
    return (
        chunk.lines.tolist(),
        chunk.stamps.tolist(),
        chunk.values,
        chunk.flags.tolist(),
        said,
        log.lines,
        log.bad_lines,
    )


def assert_agree(layout: Layout, raw: bytes) -> None:
    fast, careful = outcome(BlockReader, layout, raw), outcome(Careful, layout, raw)
    assert fast[:2] == careful[:2]
    np.testing.assert_array_equal(fast[2], careful[2])
    there = ~np.isnan(fast[2])
    assert np.signbit(fast[2][there]).tolist() == np.signbit(careful[2][there]).tolist()
    assert fast[3:] == careful[3:]


def a_layout(columns: tuple[Column, ...], **changes: Any) -> Layout:
    given = {"delimiter": ",", "header_line": 1, "stamp_format": "%Y-%m-%d %H:%M:%S", "columns": columns}
    return Layout("delimited", **{**given, **changes})


@given(st.lists(lines(stamp_texts, cell_texts, ","), max_size=12), st.sampled_from(["\n", "\r\n"]), st.booleans())
@settings(max_examples=examples(30), deadline=None)
def test_wide_comma(texts: list[str], end: str, closed: bool) -> None:
    assert_agree(a_layout(WIDE), (end.join(texts) + (end if closed else "")).encode())


@given(st.lists(lines(stamp_texts, cell_texts, ","), max_size=12))
@settings(max_examples=examples(30), deadline=None)
def test_units_in_the_cells(texts: list[str]) -> None:
    told = replace(VALUES[0], unit_in_cells=True)
    assert_agree(a_layout((WIDE[0], told, *VALUES[1:])), "\n".join(texts).encode())


@given(st.lists(lines(stamp_texts, cell_texts, ";"), max_size=12))
@settings(max_examples=examples(30), deadline=None)
def test_wide_semicolon_with_decimal_comma_and_thousands(texts: list[str]) -> None:
    assert_agree(a_layout(WIDE, delimiter=";", decimal=",", thousands="."), "\n".join(texts).encode())


@given(st.lists(lines(stamp_texts.map(lambda t: t.replace(" ", ";")), cell_texts, ";"), max_size=12))
@settings(max_examples=examples(30), deadline=None)
def test_date_and_time_in_two_columns(texts: list[str]) -> None:
    assert_agree(a_layout(TWO, delimiter=";"), "\n".join(texts).encode())


@given(st.lists(lines(stamp_texts, cell_texts, " "), max_size=12))
@settings(max_examples=examples(30), deadline=None)
def test_runs_of_blanks(texts: list[str]) -> None:
    assert_agree(a_layout(TWO, delimiter=" "), "\n".join(texts).encode())


@given(st.lists(lines(stamp_texts, cell_texts, ""), max_size=12))
@settings(max_examples=examples(30), deadline=None)
def test_fixed_columns(texts: list[str]) -> None:
    layout = Layout(
        "fixed",
        header_line=1,
        stamp_format="%Y-%m-%d %H:%M:%S",
        columns=WIDE,
        spans=((0, 19), (19, 25), (25, 32), (32, 99)),
    )
    assert_agree(layout, "\n".join(texts).encode())


@given(st.lists(st.tuples(stamp_texts, cell_texts, st.one_of(st.none(), st.integers(), cell_texts)), max_size=10))
@settings(max_examples=examples(30), deadline=None)
def test_json_lines(rows: list[tuple[str, str, str | int | None]]) -> None:
    layout = Layout("jsonl", stamp_format="%Y-%m-%d %H:%M:%S", columns=(*WIDE[:1], *VALUES[:2]))
    names = ("Time", "HCHO (ppm)", "CO2 (ppm)")
    texts = [json.dumps(dict(zip(names, row, strict=True)), ensure_ascii=False) for row in rows]
    assert_agree(layout, "\n".join([*texts, "{", "[]", '{"Time": "2024-01-01 00:00:00"}']).encode())


ONE = b"2024-01-01 00:00:00,"


def test_a_sign_before_a_code_is_no_code() -> None:
    raw = ONE + b"<-200,>-999,\n" + ONE + b"-200,-999,\n"
    assert_agree(a_layout(WIDE), raw)
    _, _, values, flags, said, *_ = outcome(BlockReader, a_layout(WIDE), raw)
    assert values[0].tolist() == [-200, -999]
    assert np.isnan(values[1]).all()
    assert flags == [[Flag.BELOW_DETECTION, Flag.OVER_RANGE], [Flag.SENSOR_ERROR] * 2]
    assert said == []


def test_a_point_among_whole_numbers_is_named_on_both_paths() -> None:
    layout = a_layout(WIDE, whole=(2,))
    raw = ONE + b"1.012,1.012,\n" + ONE + b"0.5,1.0125,\n"
    assert_agree(layout, raw)
    _, _, values, _, said, *_ = outcome(BlockReader, layout, raw)
    assert said == [(2, "CO2 (ppm)", "1.012", "grouped_number")]
    assert values[:, 0].tolist() == [1.012, 0.5]


def test_numbers_that_stand_for_no_reading() -> None:
    raw = ONE + b"9999,9999,\n" + ONE + b"-1,-1,\n" + ONE + b"<9999,>65535,\n"
    assert_agree(a_layout(WIDE), raw)
    _, _, values, flags, said, *_ = outcome(BlockReader, a_layout(WIDE), raw)
    assert np.isnan(values).tolist() == [[True, True], [False, True], [False, False]]
    assert flags[0] == [0, Flag.SENSOR_ERROR]
    assert said[-2:] == [(2, "HCHO (ppm)", "9999", "fill_value"), (3, "CO2 (ppm)", "-1", "fill_value")]


def test_a_sign_belongs_to_the_value_on_its_right() -> None:
    columns = (WIDE[0], VALUES[0], Column(2, "Q", ColumnRole.SIGN), Column(3, "CO2", ColumnRole.VALUE, "co2", "ppm"))
    raw = ONE + b"0.031,<,400\n"
    assert_agree(a_layout(columns), raw)
    assert outcome(BlockReader, a_layout(columns), raw)[3] == [[0, Flag.BELOW_DETECTION]]


def test_quotation_marks_are_part_of_fixed_columns() -> None:
    spans = ((0, 19), (19, 25), (25, 32), (32, 99))
    layout = Layout("fixed", header_line=1, stamp_format="%Y-%m-%d %H:%M:%S", columns=WIDE, spans=spans)
    assert_agree(layout, b'"2000-1-1 0:0:00"  "0.0" "0.0"  "0.0"')


def test_another_table_below_a_line_that_is_left_out() -> None:
    assert_agree(a_layout(LONG), b",HCHO,0.0,ppm\nTime,HCHO,........,ppm\n2000-01-01 00:00:00,Battery,0.0,V")


kinds = st.sampled_from(["HCHO", "hcho", "CO2", "Battery", "Dust", ""])
units = st.sampled_from(["ppm", "PPM", "V", "°C", "", " ppm "])


@given(st.lists(st.tuples(stamp_texts, kinds, cell_texts, units).map(",".join), max_size=12))
@settings(max_examples=examples(30), deadline=None)
def test_long(texts: list[str]) -> None:
    assert_agree(a_layout(LONG), "\n".join(texts).encode())


@given(st.lists(st.tuples(stamp_texts, cell_texts, units, cell_texts, units).map(",".join), max_size=12))
@settings(max_examples=examples(30), deadline=None)
def test_units_beside_values(texts: list[str]) -> None:
    assert_agree(a_layout(BESIDE), "\n".join(texts).encode())


FORMS = (
    "%Y-%m-%dT%H:%M:%S%z", "%d/%m/%Y %H:%M", "%m/%d/%y %I:%M:%S %p", "%d %b %Y %H.%M.%S", "%Y%m%d%H%M%S",
    "%b %d, %Y %H:%M", "%d.%m.%y", "%a %d-%b-%y %I:%M%p", "%H:%M:%S %d/%m/%Y", "epoch_s", "epoch_ms", "serial_1900",
    "serial_1904", "epoch_us", "epoch_ns", "%Y-%j %H:%M", "%Y%j", "%Y%m%dT%H%M%S%z", "%m-%d %H:%M", "%d %b %H:%M:%S",
    "%j %H:%M", "%H:%M:%S", "%I:%M %p", "%<hhmm>", "%<hhmmss>", "%<hours>:%M:%S", "%<hours>:%M", "%<minutes>:%S",
    "%<ms>", "%<s>", "%<min>", "%<h>", "%<d>", "%d %b[hr] %Y %H:%M", "%Y-%m-%d %p %I:%M",
    "%Y-%m-%d %H:%M-%<end>", "%<begin>–%H:%M", "%<begin> - %I:%M %p", "%d.%m.%Y %H:%M:%S - %<end>",
)  # fmt: skip
#: Months and halves of the day in other words than those of the fast path.
WORDED = ("13 lis 2024 08:00", "13 Mar 2024 08:00", "2024-03-13 下午 3:05", "2024-03-13 PD 3:05", "2024-03-13 vm. 3:05")


@pytest.mark.parametrize("form", FORMS)
@given(data=st.data())
@settings(max_examples=examples(12), deadline=None)
def test_every_kind_of_stamp(form: str, data: st.DataObject) -> None:
    texts = data.draw(
        st.lists(st.one_of(rendered(form), stamp_texts, number_texts, st.sampled_from(WORDED)), min_size=1, max_size=10)
    )
    layout = a_layout(WIDE[:2], stamp_format=form, delimiter=";", day_first=True, start_ms=0)
    assert_agree(layout, "\n".join(f"{text};1" for text in texts).encode())


PARTS = {
    ColumnRole.YEAR: ("%Y", "%y"), ColumnRole.MONTH: ("%m", "%b"), ColumnRole.DAY: ("%d",), ColumnRole.HOUR: ("%H",),
    ColumnRole.MINUTE: ("%M",), ColumnRole.SECOND: ("%S",),
}  # fmt: skip
BY_DATE = {ColumnRole.DATE: ("%Y-%m-%d", "%d.%m."), ColumnRole.TIME: ("%<hhmm>", "%<min>", "%H:%M:%S", "%<d>")}
BY_HALVES = {
    ColumnRole.DATE: ("%Y-%m-%d",), ColumnRole.TIME: ("%p",), ColumnRole.HOUR: ("%I",), ColumnRole.MINUTE: ("%M",),
}  # fmt: skip
BY_ORDINAL = {
    ColumnRole.YEAR: ("%Y",),
    ColumnRole.DAY_OF_YEAR: ("%j",),
    ColumnRole.HOUR: ("%H",),
    ColumnRole.MINUTE: ("%M",),
}
part_texts = st.one_of(st.integers(0, 61).map(str), st.integers(0, 2400).map(str), st.from_regex(r"[0-9]{1,4}", fullmatch=True), odd_texts)  # fmt: skip # noqa: E501


@pytest.mark.parametrize("ways", [PARTS, BY_DATE, BY_HALVES, BY_ORDINAL], ids=["parts", "date", "halves", "ordinal"])
@pytest.mark.parametrize("delimiter", [";", " "])
@given(data=st.data())
@settings(max_examples=examples(30), deadline=None)
def test_parts_in_columns(ways: dict[ColumnRole, tuple[str, ...]], delimiter: str, data: st.DataObject) -> None:
    forms = {role: data.draw(st.sampled_from(able)) for role, able in ways.items()}
    places = data.draw(st.permutations(range(len(forms)))) if delimiter == ";" else range(len(forms))
    columns = [Column(at, "", role) for at, role in zip(places, forms, strict=True)]
    value = Column(len(forms), "CO2", ColumnRole.VALUE, "co2", "ppm")
    cells = [st.one_of(rendered(form), rendered(form), rendered(form), part_texts) for form in forms.values()]
    rows = data.draw(st.lists(st.tuples(*cells), max_size=8))
    layout = a_layout((*columns, value), stamp_format="\t".join(forms.values()), delimiter=delimiter, day_first=True, start_ms=0)  # fmt: skip # noqa: E501
    texts = [delimiter.join([*(row[places.index(at)] for at in range(len(forms))), "612"]) for row in rows]
    assert_agree(layout, "\n".join(texts).encode())


def rendered(form: str) -> st.SearchStrategy[str]:
    if "%" not in form:
        spans = {
            "epoch_s": 4e9,
            "epoch_ms": 4e12,
            "epoch_us": 4e15,
            "epoch_ns": 4e18,
            "serial_1900": 6e4,
            "serial_1904": 6e4,
        }
        return st.one_of(st.floats(0, spans[form]).map(lambda n: f"{n:.6f}"), st.integers(0, int(spans[form])).map(str))
    if "%<end>" in form or "%<begin>" in form:
        ends = st.sampled_from(["09:00", "00:00", "24:00", "08:60", "9:30 PM", "11:00:30", "0900"])
        return st.tuples(st.datetimes(timezones=st.just(None)), ends).map(
            lambda pair: pair[0].strftime(form.replace("%<end>", pair[1]).replace("%<begin>", pair[1]))
        )
    if "%<" in form:
        clock = st.tuples(st.integers(0, 30), st.integers(0, 61), st.integers(0, 61))
        shown = {
            "%<hhmm>": "{0}{1:02d}",
            "%<hhmmss>": "{0}{1:02d}{2:02d}",
            "%<hours>:%M": "{0}:{1:02d}",
            "%<minutes>:%S": "{0}{1}:{2:02d}",
        }
        count = st.one_of(st.integers(0, 2_000), st.floats(0, 2_000)).map(str)
        timed = clock.map(lambda hms: shown.get(form, "{0}:{1:02d}:{2:02d}").format(*hms))
        return timed if form in shown or form == "%<hours>:%M:%S" else count
    moments = st.datetimes(timezones=st.just(None))
    zones = st.sampled_from(["Z", "+01:00", "-0330", "UTC", "+02", "+01:20", "+15:00", "-1230"])
    return st.tuples(moments, zones).map(
        lambda pair: pair[0].strftime(form.replace("%z", "").replace("[hr]", "")) + (pair[1] if "%z" in form else "")
    )
