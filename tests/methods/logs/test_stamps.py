"""Stamps: every notation, the limits of the calendar, and what counts instead of naming a day."""

from __future__ import annotations

import datetime as dt
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.logs import understand
from methods.logs.stamps import date_order, stamp_detection
from methods.logs.stamps.stamp_formats import compiled, days_from_civil, middle_ms, show, split_format
from tests.methods.logs.logs import clock, ms_of, read_all, write

EVENING = ms_of(clock(2024, 3, 29, 18, 0))


@pytest.mark.parametrize(
    ("text", "form", "moment"),
    [
        ("2024-03-29 18:00:00", "%Y-%m-%d %H:%M:%S", EVENING),
        ("2024-03-29T18:00:00.5", "%Y-%m-%dT%H:%M:%S", EVENING + 500),
        ("2024-03-29 18:00:00,123456", "%Y-%m-%d %H:%M:%S", EVENING + 123),
        ("2024/3/29 18:00", "%Y/%m/%d %H:%M", EVENING),
        ("29.03.2024 18.00.00", "%d.%m.%Y %H.%M.%S", EVENING),
        ("29/3/24 6:00 PM", "%d/%m/%y %I:%M %p", EVENING),
        ("3/29/2024 6:00:00 pm", "%m/%d/%Y %I:%M:%S %p", EVENING),
        ("03-29-2024, 06:00 p.m.", "%m-%d-%Y, %I:%M %p", EVENING),
        ("29 Mar 2024 18:00", "%d %b %Y %H:%M", EVENING),
        ("29-Mar-24 18:00", "%d-%b-%y %H:%M", EVENING),
        ("Mar 29, 2024 6:00 PM", "%b %d, %Y %I:%M %p", EVENING),
        ("29. März 2024 18:00", "%d. %b %Y %H:%M", EVENING),
        ("29 mars 2024 18h00", "%d %b %Y %Hh%M", EVENING),
        ("Fri 29 Mar 2024 18:00", "%a %d %b %Y %H:%M", EVENING),
        ("20240329180000", "%Y%m%d%H%M%S", EVENING),
        ("20240329 1800", "%Y%m%d %H%M", EVENING),
        ("18:00:00 29/03/2024", "%H:%M:%S %d/%m/%Y", EVENING),
        ("2024年3月29日 18:00", "%Y年%m月%d日 %H:%M", EVENING),
        ("2024年3月29日 18時0分", "%Y年%m月%d日 %H時%M分", EVENING),
        ("2024년 3월 29일 18시 00분 00초", "%Y년 %m월 %d일 %H시 %M분 %S초", EVENING),
        ("2024. 3. 29. 오후 6시 0분", "%Y. %m. %d. %p %I시 %M분", EVENING),
        ("2024年3月29日18时", "%Y年%m月%d日%H时", EVENING),
        ("2024-03-29T18:00:00Z", "%Y-%m-%dT%H:%M:%S%z", EVENING),
        ("2024-03-29T19:00:00+01:00", "%Y-%m-%dT%H:%M:%S%z", EVENING),
        ("2024-03-29T12:15:00-0545", "%Y-%m-%dT%H:%M:%S%z", EVENING),
        ("2024-03-28 24:00", "%Y-%m-%d %H:%M", EVENING - 18 * 3_600_000),
        ("12:00 AM 2024-03-29", "%I:%M %p %Y-%m-%d", EVENING - 18 * 3_600_000),
        ("12:00 PM 2024-03-29", "%I:%M %p %Y-%m-%d", EVENING - 6 * 3_600_000),
    ],
)
def test_one_notation(text: str, form: str, moment: int) -> None:
    assert form in list(stamp_detection.formats_of(" ".join(text.split())))
    assert compiled(form).parse(text) == moment


NO_MOMENTS = (
    "2023-02-29 10:00:00", "2024-04-31 10:00:00", "2024-00-10 10:00:00", "2024-01-01 24:00:01", "2024-01-01 10:60:00",
    "2024-01-01 10:00:60", "0024-01-01 10:00:00", "9999-12-31 10:00:00", "2024-01-01", "2024-01-01 10:00", "x",
)  # fmt: skip


@pytest.mark.parametrize("text", NO_MOMENTS)
def test_what_is_no_moment(text: str) -> None:
    assert compiled("%Y-%m-%d %H:%M:%S").parse(text) is None


@pytest.mark.parametrize(
    ("text", "moment"), [("1711846800", clock(2024, 3, 31, 1)), ("1729990800", clock(2024, 10, 27, 1))]
)
def test_seconds_since_1970(text: str, moment: dt.datetime) -> None:
    """Z-13: the epochs of two European clock changes."""
    assert compiled("epoch_s").parse(text) == ms_of(moment)
    assert compiled("epoch_ms").parse(text + "000") == ms_of(moment)
    assert compiled("epoch_s").parse(text + ".25") == ms_of(moment) + 250


def test_a_spreadsheets_day_numbers() -> None:
    """Z-14: 45382 is 2024-03-31 in the 1900 system and 2028-04-01 in the 1904 system, 1 462 days apart."""
    assert compiled("serial_1900").parse("45382") == ms_of(clock(2024, 3, 31))
    assert compiled("serial_1904").parse("45382") == ms_of(clock(2028, 4, 1))
    assert compiled("serial_1900").parse("45382,75") == ms_of(clock(2024, 3, 31, 18))
    assert compiled("serial_1900").parse("45382.4166666667") == ms_of(clock(2024, 3, 31, 10))


@given(st.datetimes(clock(1990, 1, 1), clock(2099, 12, 31)).map(lambda moment: moment.replace(microsecond=0)))
@settings(deadline=None)
def test_a_day_number_of_six_decimals_is_of_its_second(moment: dt.datetime) -> None:
    """Of six decimals one is 86.4 ms, so the text is up to 43.2 ms off; tenths of a second stay what they are."""
    days = Fraction(ms_of(moment), 86_400_000) + 25_569  # Z-14
    assert compiled("serial_1900").parse(f"{float(days):.6f}") == ms_of(moment)
    tenth = float(days + Fraction(1, 864_000))
    assert compiled("serial_1900").parse(f"{tenth:.9f}") == ms_of(moment) + 100


@given(st.datetimes(clock(1900, 1, 1), clock(2199, 12, 31)))
@settings(deadline=None)
def test_the_calendar_is_pythons(moment: dt.datetime) -> None:
    text = moment.isoformat(sep=" ", timespec="milliseconds")
    ms = compiled("%Y-%m-%d %H:%M:%S").parse(text)
    assert ms == ms_of(moment)
    assert show(ms) == f"{moment:%Y-%m-%d %H:%M:%S}".rjust(19, "0")


def test_the_calendar_is_numpys() -> None:
    days = np.arange(np.datetime64("1900-01-01"), np.datetime64("2200-01-01"), 13)
    for day in days:
        year, month, date = (int(part) for part in str(day).split("-"))
        assert days_from_civil(year, month, date) == int(day.astype(np.int64))


def test_a_format_over_several_columns() -> None:
    assert split_format("%d/%m/%Y %H:%M", 2) == ("%d/%m/%Y", "%H:%M")
    assert split_format("%d/%m/%Y\t%I:%M\t%p", 3) == ("%d/%m/%Y", "%I:%M", "%p")
    with pytest.raises(ValueError, match="does not have 3 parts"):
        split_format("%d/%m/%Y %H:%M", 3)


@pytest.mark.parametrize(
    ("form", "middle"),
    [
        ("%d/%m/%Y\t%H:%M", 30_000), ("%I:%M %p %d.%m.%y", 30_000), ("%Y-%m-%d %H:%M:%S", 0), ("%H.%M.%S", 0),
        ("%Y-%m-%d", 0), ("epoch_s", 0), ("serial_1900", 0),
    ],
)  # fmt: skip
def test_a_stamp_without_seconds_names_a_whole_minute(form: str, middle: int) -> None:
    assert middle_ms(form) == middle


def test_an_unknown_directive_is_refused() -> None:
    with pytest.raises(ValueError, match="%Q is not a directive"):
        compiled("%Y-%Q")


@pytest.mark.parametrize(
    ("form", "orders"),
    [
        ("%Y-%m-%d %H:%M", ("%Y-%m-%d %H:%M",)),
        ("%d %b %Y", ("%d %b %Y",)),
        ("%m/%d/%Y", ("%d/%m/%Y", "%m/%d/%Y")),
        ("%d.%m.%y %H:%M", ("%d.%m.%y %H:%M", "%m.%d.%y %H:%M", "%y.%m.%d %H:%M")),
        ("%H:%M %m/%d/%Y", ("%H:%M %d/%m/%Y", "%H:%M %m/%d/%Y")),
    ],
)
def test_the_orders_a_date_could_be_meant_in(form: str, orders: tuple[str, ...]) -> None:
    assert date_order.orders(form) == orders


@pytest.mark.parametrize("word", [" klo ", " kl. ", " kl ", " um ", " at ", ", klo "])
@pytest.mark.parametrize("lines", [9, 900])
def test_a_word_for_at_between_date_and_time(tmp_path: Path, word: str, lines: int) -> None:
    rows = "".join(f"15.9.2026{word}{8 + k // 60}.{k % 60:02};CO2 (ppm);6{k % 100:02}\n" for k in range(lines))
    path = write(tmp_path / "log", f"Time;Parameter;Value\n{rows}")
    found = understand(path, name="log")
    assert found.layout is not None
    assert found.questions == ()
    assert read_all(path, found.layout).stamps[-1] == ms_of(clock(2026, 9, 15, 8)) + 60_000 * (lines - 1)
