"""The mean of the readings of a day: whose day a reading belongs to, and that each counts once."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from methods.averages import DayMean, Series, day_means
from methods.limits.loader import load
from methods.limits.model import Averaging
from methods.quantities.flags import Flag
from methods.quantities.moments import utc_ms
from methods.verdicts.comparability import ComparabilityState, Data, ReadingsOfDay, comparable

TOKYO = ZoneInfo("Asia/Tokyo")
MINUTE = 60_000


def series(times: list[datetime], values: list[float], flags: list[int] | None = None, interval_min: int = 5) -> Series:
    t = np.array([utc_ms(time) for time in times], np.int64)
    half = interval_min * MINUTE // 2
    return Series(
        t, np.array(values), np.array(flags or [0] * len(t), np.int16), interval_min * MINUTE,
        int(t[0]) - half, int(t[-1]) + half,
    )  # fmt: skip


def of_day(days: list[DayMean], day: date) -> DayMean:
    (chosen,) = [mean for mean in days if mean.day == day]
    return chosen


def test_the_mean_of_two_readings_is_their_plain_mean() -> None:
    """Building sanitation law (Japan): the mean of the day's two readings. 850 and 1100 ppm are 975."""
    morning = datetime(2026, 9, 15, 10, 0, tzinfo=TOKYO)
    (day,) = day_means(series([morning, morning + timedelta(hours=5)], [850.0, 1100.0]), TOKYO)
    assert (day.day, day.window.mean, day.window.n, day.apart_minutes) == (date(2026, 9, 15), 975.0, 2, 300.0)
    assert day.window.coverage == pytest.approx(10 / 305)


def test_readings_close_together_count_no_less_than_lone_ones() -> None:
    start = datetime(2026, 9, 15, 10, 0, tzinfo=TOKYO)
    times = [start + timedelta(minutes=m) for m in (0, 5, 10, 300)]
    (day,) = day_means(series(times, [400.0, 400.0, 400.0, 1600.0]), TOKYO)
    assert day.window.mean == 700.0


@pytest.mark.parametrize(
    ("zone", "days"),
    [(TOKYO, [(15, 4)]), (UTC, [(14, 1), (15, 3)]), (ZoneInfo("America/Lima"), [(14, 2), (15, 2)])],
)
def test_a_day_is_one_on_the_clock_of_the_place(zone: ZoneInfo, days: list[tuple[int, int]]) -> None:
    times = [datetime(2026, 9, 14, 20, tzinfo=UTC) + timedelta(hours=6 * k) for k in range(4)]
    means = day_means(series(times, [1.0, 2.0, 3.0, 4.0]), zone)
    assert [(mean.day.day, mean.window.n) for mean in means] == days


@pytest.mark.parametrize(("day", "hours"), [(date(2026, 3, 29), 23), (date(2026, 10, 25), 25), (date(2026, 6, 1), 24)])
def test_a_day_that_a_clock_makes_longer_or_shorter_is_one_day(day: date, hours: int) -> None:
    zone = ZoneInfo("Europe/Berlin")
    start = datetime(day.year, day.month, day.day, tzinfo=zone).astimezone(UTC) + timedelta(minutes=30)
    times = [start + timedelta(hours=k) for k in range(-3, hours + 3)]
    mean = of_day(day_means(series(times, [0.0] * len(times), interval_min=60), zone), day)
    assert (mean.window.n, mean.apart_minutes) == (hours, 60.0 * (hours - 1))


def test_what_does_not_count_and_what_is_below_detection() -> None:
    start = datetime(2026, 9, 15, 10, 0, tzinfo=TOKYO)
    times = [start + timedelta(hours=k) for k in range(4)]
    flags = [0, int(Flag.BELOW_DETECTION), int(Flag.SETTLING), int(Flag.OVER_RANGE)]
    (day,) = day_means(series(times, [10.0, 2.0, 99.0, 30.0], flags), TOKYO)
    assert (day.window.n, day.window.upper, day.window.is_lower_bound) == (3, 14.0, True)
    assert day.window.lower == pytest.approx(40 / 3)
    assert day_means(series(times, [1.0] * 4, [int(Flag.SETTLING)] * 4), TOKYO) == []


@given(st.lists(st.tuples(st.integers(0, 5000), st.floats(-1e3, 1e3)), min_size=1, max_size=40))
def test_days_share_out_all_readings_and_their_sum(readings: list[tuple[int, float]]) -> None:
    unique = sorted(dict(readings).items())
    start = datetime(2026, 10, 24, 3, tzinfo=UTC)
    means = day_means(series([start + timedelta(minutes=m) for m, _ in unique], [x for _, x in unique]), TOKYO)
    assert sum(mean.window.n for mean in means) == len(unique)
    total = sum(mean.window.mean * mean.window.n for mean in means)
    assert total == pytest.approx(sum(x for _, x in unique), abs=1e-6)
    assert [mean.day for mean in means] == sorted({mean.day for mean in means})


@pytest.mark.parametrize(
    ("readings", "state", "code"),
    [
        (None, ComparabilityState.NO, "single_reading_of_day"),
        (ReadingsOfDay(1, 0.0), ComparabilityState.NO, "single_reading_of_day"),
        (ReadingsOfDay(30, 30.0), ComparabilityState.INDICATIVE, "day_readings_close"),
        (ReadingsOfDay(2, 119.0), ComparabilityState.INDICATIVE, "day_readings_close"),
        (ReadingsOfDay(2, 120.0), ComparabilityState.YES, "accepted"),
        (ReadingsOfDay(480, 479.0), ComparabilityState.YES, "accepted"),
        (ReadingsOfDay(1440, 1439.0), ComparabilityState.INDICATIVE, "day_readings_long"),
    ],
)
def test_which_readings_of_a_day_are_compared(
    readings: ReadingsOfDay | None, state: ComparabilityState, code: str
) -> None:
    data = Data(interval_s=60, span_minutes=480, covered_minutes=480, n=480, day=readings)
    judged = comparable(load()["CO2-JP"], data)
    assert (judged.state, judged.code) == (state, code)


def test_the_five_rows_of_the_law_that_are_means_of_the_readings_of_a_day() -> None:
    rows = {limit.code for limit in load().values() if limit.averaging is Averaging.DAY_READINGS}
    assert rows == {"CO2-JP", "CO-JP", "CO-JP-OLD", "CO-JP-EXEMPT", "DUST-JP"}
