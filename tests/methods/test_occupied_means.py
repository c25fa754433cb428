"""Means over the time of use, and the share of it above a value: by hand, and against what any mean must obey."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from methods.averages import Series, whole, window
from methods.averages.occupancy import OccupiedDay
from methods.averages.occupied import day_means, only, stay_mean
from methods.averages.timetable_text import read
from methods.quantities.flags import Flag
from methods.quantities.moments import utc_ms
from methods.uncertainty.share_above import ShareAbove, allowed_minutes, bounds, lasting, share_above

START = utc_ms(datetime(2026, 9, 14, tzinfo=UTC))  # a Monday
MINUTE = 60_000


def log(values: np.ndarray, *, every: int = 5, start: int = START) -> Series:
    """Logged every ``every`` minutes from ``start`` on, without a gap."""
    n, step = len(values), every * MINUTE
    stamps = start + step // 2 + step * np.arange(n, dtype=np.int64)
    return Series(stamps, values.astype(np.float64), np.zeros(n, np.int16), step, start, start + n * step)


def days_of(series: Series, text: str = "Mon-Fri 08:00-16:00") -> list[OccupiedDay]:
    return read(text).occupied("UTC", series.start_ms, series.end_ms)


def class_days(levels: list[float], night: float = 450.0) -> Series:
    """One class day after the other, with its level from 8 to 16 and another one else."""
    hour = np.arange(24 * 12 * len(levels)) / 12
    use = (hour % 24 >= 8) & (hour % 24 < 16)
    return log(np.where(use, np.repeat(levels, 24 * 12), night))


def test_nights_are_no_part_of_the_mean_of_the_occupied_day() -> None:
    """Three days of 1370 ppm from 8 to 16 and 450 else: (8·1370 + 16·450)/24 = 756.7 over everything."""
    series = class_days([1370.0] * 3)
    everything = whole(series)
    kept = only(series, days_of(series))
    assert everything is not None
    assert everything.mean == pytest.approx(756.667, abs=1e-3)
    assert [mean.window.mean for mean in day_means(kept, days_of(series))] == [1370.0] * 3
    stay = stay_mean(kept, days_of(series))
    assert stay is not None
    assert (stay.mean, stay.minutes, stay.coverage, stay.n) == (1370.0, 24 * 60, 1.0, 3 * 96)


def test_each_day_has_its_own_mean_and_the_stay_that_of_all_of_them() -> None:
    series = class_days([800.0, 1600.0, 1200.0])
    kept, days = only(series, days_of(series)), days_of(series)
    assert [(mean.day.day, mean.window.mean) for mean in day_means(kept, days)] == [(14, 800), (15, 1600), (16, 1200)]
    stay = stay_mean(kept, days)
    assert stay is not None
    assert stay.mean == pytest.approx(1200.0)


@pytest.mark.parametrize(("hours", "is_enough"), [(6.0, True), (5.9, False), (8.0, True)])
def test_three_quarters_of_the_time_of_use_must_be_measured(hours: float, is_enough: bool) -> None:
    """R-01: six of eight hours."""
    series = log(np.full(round(hours * 60), 900.0), every=1, start=START + 8 * 60 * MINUTE)
    (mean,) = day_means(only(series, days_of(series)), days_of(series))
    assert mean.is_enough is is_enough
    assert mean.window.coverage == pytest.approx(hours / 8)
    assert mean.window.minutes == 480


def test_a_pause_is_no_part_of_it() -> None:
    text = "Mon 08:00-12:00, 13:00-16:00"
    series = class_days([1000.0])
    values = series.value.copy()
    values[12 * 12 : 13 * 12] = 3000.0
    series = series.in_other_terms(values)
    (mean,) = day_means(only(series, days_of(series, text)), days_of(series, text))
    assert (mean.window.mean, mean.window.minutes, mean.window.coverage) == (1000.0, 420.0, 1.0)


def test_a_reading_at_the_edge_counts_for_the_part_that_lies_within() -> None:
    """Hourly readings of 7:30 to 8:30 and on: half an hour of the first, half of the last."""
    series = log(np.array([100.0] + [200.0] * 7 + [900.0]), every=60, start=START + (7 * 60 + 30) * MINUTE)
    (mean,) = day_means(only(series, days_of(series)), days_of(series))
    assert mean.window.mean == pytest.approx((0.5 * 100 + 7 * 200 + 0.5 * 900) / 8)


@st.composite
def logs(draw: st.DrawFn) -> Series:
    n = draw(st.integers(4, 400))
    rng = np.random.default_rng(draw(st.integers(0, 2**32)))
    kept = np.sort(rng.choice(n, size=draw(st.integers(3, n)), replace=False))
    step = draw(st.sampled_from([1, 7, 10])) * MINUTE
    start = START + draw(st.integers(0, 24 * 60)) * MINUTE
    stamps = start + step * kept.astype(np.int64)
    end = start + n * step
    return Series(stamps, rng.normal(800, 200, len(kept)), np.zeros(len(kept), np.int16), step, start, end)


@given(logs(), st.sampled_from(["daily 08:00-16:00", "daily 22:00-07:00", "daily 9-10, 11-12, 15-18"]))
@settings(max_examples=80)
def test_time_in_use_and_the_rest_make_up_the_whole(series: Series, text: str) -> None:
    days = days_of(series, text)
    inside = [day.within(series.start_ms, series.end_ms) for day in days]
    kept = only(series, days)
    covered = summed = 0.0
    for day in inside:
        for lo, hi in zip(day.start.tolist(), day.end.tolist(), strict=True):
            part = window(series, lo, hi)
            covered += part.covered_minutes if part else 0.0
            summed += part.covered_minutes * part.mean if part else 0.0
    stay = stay_mean(kept, days)
    assert kept.cells.total_ms[-1] / MINUTE == pytest.approx(covered)
    if stay is None:
        assert covered == 0
        return
    assert stay.covered_minutes == pytest.approx(covered)
    assert stay.mean == pytest.approx(summed / covered)
    assert {mean.day for mean in day_means(kept, days)} <= {day.day for day in days}


def test_always_in_use_is_the_mean_of_everything() -> None:
    series = class_days([1000.0, 1300.0])
    stay, everything = (
        stay_mean(only(series, days_of(series, "daily 0-24")), days_of(series, "daily 0-24")),
        whole(series),
    )
    assert stay is not None
    assert everything is not None
    assert (stay.mean, stay.coverage, stay.minutes) == (everything.mean, 1.0, everything.minutes)


@pytest.mark.parametrize(("flag", "lower"), [(Flag.BELOW_DETECTION, 0.0), (Flag.OVER_RANGE, 10.0)])
def test_readings_below_detection_and_over_range_leave_it_as_open_as_any_mean(flag: Flag, lower: float) -> None:
    series = class_days([10.0], night=20.0)
    flags = np.where(series.value == 10.0, int(flag), 0).astype(np.int16)
    stay = stay_mean(only(replace(series, flags=flags), days_of(series)), days_of(series))
    assert stay is not None
    assert (stay.lower, stay.upper, stay.is_lower_bound) == (lower, 10.0, flag is Flag.OVER_RANGE)


# --- the share above --------------------------------------------------------------------------------------------------


def share(series: Series, value: float, **how: bool) -> ShareAbove:
    told = share_above(series, value, **how)
    assert told is not None
    return told


def test_share_of_the_time_of_use_above() -> None:
    """Two of eight hours above 1000 ppm on one of two days: 2/16."""
    series = class_days([900.0, 900.0])
    values = series.value.copy()
    values[10 * 12 : 12 * 12] = 1200.0
    values[18 * 12 : 20 * 12] = 1500.0  # in the evening
    told = share(only(series.in_other_terms(values), days_of(series)), 1000.0)
    assert (told.minutes_above, told.minutes, told.share) == (120.0, 960.0, 0.125)
    assert told.lower < 0.125 < told.upper


@pytest.mark.parametrize(
    ("allowed", "hours", "minutes"), [(0.03, 8, 14.4), (0.05, 8, 24), (0.03, 40, 72), (0.05, 40, 120)]
)
def test_what_is_allowed_of_a_day_and_of_a_week(allowed: float, hours: float, minutes: float) -> None:
    """3 % and 5 % of the time of use (CEN/TR 16798-2, before that EN 15251 annex G; numbers from memory)."""
    assert allowed_minutes(allowed, hours) == pytest.approx(minutes)


def test_the_value_itself_is_above_only_where_a_limit_says_below() -> None:
    series = class_days([1000.0])
    kept = only(series, days_of(series))
    assert share(kept, 1000.0).share == 0
    assert share(kept, 1000.0, or_at=True).share == 1


@pytest.mark.parametrize(("count", "n"), [(0, 20), (3, 20), (10, 20), (20, 20), (1, 7)])
def test_bounds_of_whole_numbers_are_the_exact_binomial_ones(count: int, n: int) -> None:
    """Clopper and Pearson's, from the binomial test of a library."""
    exact = stats.binomtest(count, n).proportion_ci(0.95, method="exact")
    assert bounds(count / n, n) == pytest.approx((exact.low, exact.high))


def test_readings_that_follow_each_other_count_as_fewer() -> None:
    """τ of an AR(1) series is (1 + ρ)/(1 − ρ): 19 at ρ = 0.9."""
    rng = np.random.default_rng(4)
    assert lasting(rng.normal(size=20_000)) == pytest.approx(1, abs=0.1)
    assert lasting(steady_noise(rng, 1, 100_000, 0.9)[0]) == pytest.approx(19, rel=0.15)
    assert lasting(np.full(50, 3.0)) == 50


def steady_noise(rng: np.random.Generator, runs: int, n: int, rho: float) -> np.ndarray:
    """AR(1) of unit variance, [runs, n]."""
    steps: np.ndarray = rng.normal(size=(runs, n)) * np.sqrt(1 - rho**2)
    steps[:, 0] = rng.normal(size=runs)
    for k in range(1, n):
        steps[:, k] += rho * steps[:, k - 1]
    return steps


@pytest.mark.parametrize(("rho", "n"), [(0.0, 96), (0.5, 96), (0.9, 480), (0.98, 2400)])
@pytest.mark.parametrize("truth", [0.03, 0.3])
def test_the_interval_holds_the_true_share(rho: float, n: int, truth: float) -> None:
    """Simulated: at least 93 % of 150 intervals."""
    level = stats.norm.ppf(1 - truth)
    runs = steady_noise(np.random.default_rng(round(100 * rho) + n), 150, n, rho)
    told = [share(log(run), level) for run in runs]
    assert sum(each.lower <= truth <= each.upper for each in told) >= 0.93 * len(told)


def test_nothing_measured_has_no_share() -> None:
    series = class_days([900.0])
    assert share_above(only(series, []), 1000.0) is None
