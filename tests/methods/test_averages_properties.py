"""Means over time: what must not change them, and the analyst's own rolling mean beside them.

Method: docs/methods/averages.md.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.averages import Series, blocks, whole, worst_window
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
    # A window may also begin or end with the stay, where no reading does: then ours may lie above all of theirs.
    if len(means) and kept[-1][0] == len(rows) and minutes in dict(kept):
        assert found is not None
        assert found.mean == pytest.approx(float(means.max()), abs=1e-9)
    elif len(means):
        assert found is not None
        assert found.mean >= float(means.max()) - 1e-9


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
