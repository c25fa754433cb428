"""Thinning: what is kept, held against a plain loop over the bins. No outside source: a property of drawings."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from methods.figures.thinning import A_BIN, broken, thin


@given(st.integers(0, 10_000), st.integers(1, 7))
def test_each_bin_keeps_its_extremes_of_what_counts_and_of_what_does_not(seed: int, bins: int) -> None:
    random = np.random.default_rng(seed)
    n = int(random.integers(A_BIN * bins + 1, 400))
    utc = np.sort(random.integers(0, 1000, n))
    value = np.where(random.random(n) < 0.1, np.nan, random.integers(0, 9, n).astype(float))
    counts = random.random(n) < 0.8
    kept = thin(utc, value, counts, start_ms=0, end_ms=1000, bins=bins)
    edges = [1000 * k // bins for k in range(bins + 1)]
    wanted = set()
    for low, high in pairwise(edges):
        for which in (counts, ~counts):
            rows = [i for i in range(n) if low <= utc[i] < high and which[i] and np.isfinite(value[i])]
            if rows:
                wanted |= {min(rows, key=lambda i: (value[i], i)), max(rows, key=lambda i: (value[i], -i))}
    assert kept.tolist() == sorted(wanted)


def test_few_readings_are_all_kept_and_those_outside_left_out() -> None:
    utc = np.arange(0, 100, 10)
    value = np.full(10, np.nan)
    assert thin(utc, value, np.zeros(10, bool), start_ms=20, end_ms=60, bins=1).tolist() == [2, 3, 4, 5]


def test_a_line_breaks_where_nothing_was_logged_and_only_there() -> None:
    since = np.array([0, 10, 10, 10, 60, 10, 10])
    assert broken(since, np.array([0, 3, 4, 6]), 20).tolist() == [False, False, True, False]
    assert broken(since, np.array([0, 6]), 20).tolist() == [False, True]
    assert broken(since, np.zeros(0, np.int64), 20).tolist() == []


@pytest.mark.parametrize(("end", "bins"), [(0, 3), (10, 0)])
def test_no_bins_and_no_time_are_refused(end: int, bins: int) -> None:
    with pytest.raises(ValueError, match="at least one bin"):
        thin(np.zeros(0, np.int64), np.zeros(0), np.zeros(0, bool), start_ms=0, end_ms=end, bins=bins)
