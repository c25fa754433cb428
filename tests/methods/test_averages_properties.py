"""Means over time: what must not change them, and the analyst's own rolling mean beside them.

Method: docs/methods/averages.md.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.averages import Series, blocks, whole, window, worst_window
from methods.quantities.durations import MINUTE_MS
from methods.quantities.stamp_convention import StampConvention
from methods.uncertainty.budget import scatter
from tests.methods.series_samples import series

CONSTANTS = st.lists(st.tuples(st.integers(1, 9), st.integers(-50, 400)), min_size=1, max_size=20)


def logged(parts: list[tuple[int, float]]) -> Series:
    """Means of 1 to 9 minutes, end to end, each stamped at its end; the logging interval is that of the longest."""
    t = np.cumsum([minutes for minutes, _ in parts]).astype(np.int64) * MINUTE_MS
    longest = max(minutes for minutes, _ in parts) * MINUTE_MS
    values = np.array([value for _, value in parts], float)
    return Series(t, values, np.zeros(len(t), np.int16), longest, 0, int(t[-1]), StampConvention.END)


@settings(deadline=None, max_examples=50)
@given(CONSTANTS)
def test_splitting_a_constant_reading_changes_no_mean(parts: list[tuple[int, float]]) -> None:
    """One reading of nine minutes says the same as nine of one minute with its value."""
    coarse = whole(logged(parts))
    fine = whole(logged([(1, value) for minutes, value in parts for _ in range(minutes)]))
    assert coarse is not None
    assert fine is not None
    plain = sum(minutes * value for minutes, value in parts) / sum(minutes for minutes, _ in parts)
    assert (coarse.mean, fine.mean) == pytest.approx((plain, plain), abs=1e-9)
    assert coarse.coverage == fine.coverage == pytest.approx(1.0)


@settings(deadline=None, max_examples=40)
@given(st.lists(st.tuples(st.booleans(), st.floats(0, 50)), min_size=40, max_size=120), st.sampled_from([10, 15, 30]))
def test_agrees_with_a_rolling_mean_on_a_time_index(rows: list[tuple[bool, float]], minutes: int) -> None:
    """One-minute means with gaps, against pandas' rolling over a time index with three quarters of the minutes."""
    import pandas as pd

    kept = [(k + 1, value) for k, (there, value) in enumerate(rows) if there]
    stamps = pd.to_datetime([k * MINUTE_MS for k, _ in kept], unit="ms")
    rolling = pd.Series([value for _, value in kept], index=stamps).rolling(f"{minutes}min")
    needed = int(np.ceil(0.75 * minutes))
    means = rolling.mean()[(rolling.count() >= needed).to_numpy() & (np.array([k for k, _ in kept]) >= minutes)]
    if not kept:
        return
    found = worst_window(
        series([float(k) for k, _ in kept], [v for _, v in kept], end=float(len(rows)), represents=StampConvention.END),
        minutes,
    )
    # Theirs end with a reading; ours may also begin with one, or end in a gap, and then lie above.
    if len(means):
        assert found is not None
        assert found.mean >= float(means.max()) - 1e-9
    if len(kept) == len(rows) and len(means):
        assert found is not None
        assert found.mean == pytest.approx(float(means.max()), abs=1e-9)


@settings(deadline=None, max_examples=30)
@given(st.lists(st.floats(0, 50), min_size=20, max_size=60))
def test_full_blocks_average_to_the_whole(values: list[float]) -> None:
    n = len(values) // 10 * 10
    data = series([k + 1.0 for k in range(n)], values[:n], end=float(n), represents=StampConvention.END)
    means = [block.mean for block in blocks(data, 10)]
    assert len(means) == n // 10
    assert float(np.mean(means)) == pytest.approx(float(np.mean(values[:n])), abs=1e-9)


@pytest.mark.parametrize("n", [20, 60, 2000])
def test_autocorrelation_beside_a_library(n: int) -> None:
    """statsmodels' plain r, with what short series lack added back: r + (1 + 4r)/n (Marriott and Pope 1954, memory)."""
    from statsmodels.tsa.stattools import acf

    rng = np.random.default_rng(n)
    x = np.convolve(rng.normal(size=n + 4), np.ones(5), mode="valid")
    r = float(acf(x, nlags=1, fft=False)[1])
    assert scatter(x, np.zeros(n, np.int16)).rho == pytest.approx(min(r + (1 + 4 * r) / n, 0.99), abs=1e-12)


def turned_round(data: Series) -> Series:
    """The same readings with time running backwards; a mean stamped at its end is then stamped at its start."""
    other = {StampConvention.END: StampConvention.START, StampConvention.START: StampConvention.END}
    represents = other.get(data.represents, data.represents)
    length = data.start_ms + data.end_ms
    times, values, flags = length - data.utc_ms[::-1], data.value[::-1], data.flags[::-1]
    return Series(times, values, flags, data.interval_ms, data.start_ms, data.end_ms, represents)


#: Of each minute: whether there is a reading, how many seconds late its stamp is (even, so that halves are whole ms),
#: and its value.
JITTERED = st.lists(st.tuples(st.booleans(), st.sampled_from([0, 0, 4, 20]), st.floats(0, 50)), min_size=8, max_size=80)


@settings(deadline=None, max_examples=100)
@given(JITTERED, st.sampled_from(list(StampConvention)), st.sampled_from([3, 8, 15]), st.booleans())
def test_turning_time_round_changes_no_worst_window(
    rows: list[tuple[bool, int, float]], represents: StampConvention, minutes: int, lowest: bool
) -> None:
    stamps = [(k + 0.5 + late / 60, value) for k, (there, late, value) in enumerate(rows) if there]
    data = series([m for m, _ in stamps], [v for _, v in stamps], end=float(len(rows)), represents=represents)
    there, back = (worst_window(each, minutes, lowest=lowest) for each in (data, turned_round(data)))
    assert (there is None) == (back is None)
    if there is not None and back is not None:
        assert there.mean == pytest.approx(back.mean, abs=1e-3)


@settings(deadline=None, max_examples=60)
@given(JITTERED, st.sampled_from([3, 8, 15]))
def test_no_window_anywhere_is_worse(rows: list[tuple[bool, int, float]], minutes: int) -> None:
    """Against windows that begin at every second."""
    stamps = [(k + 0.5 + late / 60, value) for k, (there, late, value) in enumerate(rows) if there]
    data = series([m for m, _ in stamps], [v for _, v in stamps], end=float(len(rows)))
    length = minutes * MINUTE_MS
    starts = range(0, data.end_ms - length + 1, 1000)
    windows = [window(data, start, start + length) for start in starts]
    means = [each.mean for each in windows if each and each.coverage >= 0.75]
    worst = worst_window(data, minutes, min_readings=1)
    if means:
        assert worst is not None
        assert worst.mean >= max(means) - 1e-9


def test_readings_that_do_not_reach_the_ends_of_the_deployment() -> None:
    """0 for a minute and a half, 1 for as long, then nothing: the worst three minutes hold all of the 1, and of the 0
    what makes up three quarters."""
    worst = worst_window(series([1.5, 3.5], [0.0, 1.0], end=8.0), 3, min_readings=1)
    assert worst is not None
    assert worst.mean == pytest.approx(1.5 / 2.25)


def test_a_window_may_begin_with_a_reading() -> None:
    """Nine-minute log, half-hour mean: 112.6 where windows only end with a reading (worked by hand)."""
    values = [60.0, 60, 60, 70, 112, 118, 120, 100, 60, 60]
    data = series([9.0 * (k + 1) for k in range(10)], values, interval=9, end=90, represents=StampConvention.END)
    worst = worst_window(data, 30)
    assert worst is not None
    assert worst.mean == pytest.approx(115.0, abs=0.05)
