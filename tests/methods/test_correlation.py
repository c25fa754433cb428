"""Blocks of time and coefficients against pandas, quotients against JCGM 100."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from methods.comparison.correlation import agreement, blocks, compared, step_ms, together
from methods.quantities.durations import MINUTE_MS

START = 1_789_376_400_000


def test_the_block_is_the_next_usual_one() -> None:
    assert step_ms(60_000) == MINUTE_MS
    assert step_ms(60_000, 90_000) == 2 * MINUTE_MS
    assert step_ms(9 * MINUTE_MS) == 10 * MINUTE_MS
    assert step_ms(3 * 3_600_000) == 60 * MINUTE_MS


def test_blocks_are_the_means_that_pandas_gives() -> None:
    import pandas as pd

    rng = np.random.default_rng(8)
    at = START + np.sort(rng.choice(20_000_000, 700, replace=False))
    value = rng.normal(size=700)
    found = blocks(at, value, 5 * MINUTE_MS)
    means = pd.Series(value, pd.to_datetime(at, unit="ms")).resample("5min").agg(["mean", "size"]).dropna()
    assert found.mean.tolist() == pytest.approx(means["mean"].tolist())
    assert found.n.tolist() == means["size"].tolist()
    assert found.start_ms.tolist() == [int(t.timestamp() * 1000) for t in means.index]


def test_what_is_below_detection_leaves_a_block_open() -> None:
    at = START + MINUTE_MS * np.array([0, 1, 10])
    found = blocks(at, np.array([0.2, 0.4, 0.6]), 5 * MINUTE_MS, np.array([True, False, False]))
    assert found.mean.tolist() == pytest.approx([0.3, 0.6])
    assert found.open.tolist() == pytest.approx([0.1, 0.0])
    assert len(blocks(np.zeros(0, np.int64), np.zeros(0), MINUTE_MS).mean) == 0


def test_only_blocks_that_both_have_are_paired() -> None:
    one = blocks(START + MINUTE_MS * np.array([0, 1, 2]), np.array([1.0, 2.0, 3.0]), MINUTE_MS)
    two = blocks(START + MINUTE_MS * np.array([1, 2, 5]), np.array([5.0, 6.0, 7.0]), MINUTE_MS)
    here, there = together(one, two)
    assert (one.mean[here].tolist(), two.mean[there].tolist()) == ([2.0, 3.0], [5.0, 6.0])


values_of = arrays(np.float64, 30, elements=st.integers(-5, 5).map(float))


@given(values_of, values_of)
@settings(max_examples=60)
def test_coefficients_are_those_of_pandas_ties_and_all(x: np.ndarray, y: np.ndarray) -> None:
    import pandas as pd

    found = agreement(x, y)
    if np.ptp(x) == 0 or np.ptp(y) == 0:
        assert (found.pearson, found.spearman, found.n_effective) == (None, None, None)
        return
    both = pd.DataFrame({"x": x, "y": y})
    assert found.pearson == pytest.approx(both.corr("pearson").loc["x", "y"], abs=1e-12)
    assert found.spearman == pytest.approx(both.corr("spearman").loc["x", "y"], abs=1e-12)


def test_independent_walks_are_worth_few_pairs() -> None:
    """Two series with lag-1 autocorrelation 0.95, of no concern to each other: the effective number says how far
    their coefficient strays, which the number of pairs does not (1/√n for independent pairs)."""
    rng, n = np.random.default_rng(21), 400
    strayed, worth = [], []
    for _ in range(300):
        walks = []
        for _ in range(2):
            noise, walk = rng.normal(size=n), np.zeros(n)
            for k in range(1, n):
                walk[k] = 0.95 * walk[k - 1] + noise[k]
            walks.append(walk)
        found = agreement(*walks)
        assert found.pearson is not None
        assert found.n_effective is not None
        strayed.append(found.pearson)
        worth.append(found.n_effective)
    assert np.std(strayed) > 3 / np.sqrt(n)
    assert np.std(strayed) == pytest.approx(1 / np.sqrt(np.median(worth)), rel=0.3)


def test_independent_pairs_keep_their_number_and_few_have_no_coefficient() -> None:
    rng = np.random.default_rng(2)
    found = agreement(rng.normal(size=2000), rng.normal(size=2000))
    assert found.n_effective == pytest.approx(2000, rel=0.02)
    assert agreement(np.array([1.0, 2.0]), np.array([1.0, 2.0])).pearson is None
    with pytest.raises(ValueError, match="equal length"):
        agreement(np.zeros(3), np.zeros(4))


def test_a_quotient_adds_relative_variances() -> None:
    """JCGM 100:2008, 5.1.2, with y = a/b: (u/y)² = (u_a/a)² + (u_b/b)². 0.3 % and 0.4 % make 0.5 %."""
    found = compared(100.0, 50.0, u_a=0.3, u_b=0.2)
    assert (found.ratio, found.difference) == (2.0, 50.0)
    assert found.u_ratio == pytest.approx(2.0 * 0.005)
    assert found.u_difference == pytest.approx(0.13**0.5)
    # and as a simulation has it
    rng = np.random.default_rng(1)
    drawn = rng.normal(100.0, 0.3, 100_000) / rng.normal(50.0, 0.2, 100_000)
    assert found.u_ratio == pytest.approx(float(drawn.std()), rel=0.02)


def test_what_is_hidden_leaves_the_quotient_open_on_its_side() -> None:
    assert compared(1.0, 0.5, b_open=0.5).at_least
    assert compared(1.0, 0.5, a_open=0.5).at_most
    assert compared(1.0, 0.5, a_over=True).at_least
    assert compared(1.0, 0.5, b_over=True).at_most
    assert compared(1.0, 0.0).ratio is None
    assert compared(1.0, 0.01, u_a=0.1, u_b=0.01).ratio is None  # not clear of zero by 2 u
    assert compared(1.0, 0.5, u_a=0.1).u_ratio is None  # one of the two is not known
