"""Summaries of results below detection beside a third library, and what must not change them.

The library knows left censoring directly: its Kaplan-Meier estimate and its lognormal fit are held against ours on the
three sets of the check values (D1 manganese, D3 arsenic, D6: EPA 530/R-09-007, Helsel 2005, Helsel and Cohn 1988).
"""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from methods.nondetects.summaries import Leftover, Method, Summary, censored_normal, kaplan_meier, summarise
from tests.methods.test_nondetects import D1, D3, D6, Data, summary

SETS = pytest.mark.parametrize("data", [D1, D3, D6], ids=["D1", "D3", "D6"])


@SETS
def test_kaplan_meier_c01_c11(data: Data) -> None:
    """F at each detect, by the library's left-censored estimate and by its usual one on flipped data."""
    from lifelines import KaplanMeierFitter

    values, below = data
    steps = kaplan_meier(values, below, Leftover.SMALLEST_DETECT)
    flipped = KaplanMeierFitter().fit(1000.0 - values, ~below)
    for x, cdf in zip(steps.x, steps.cdf, strict=True):
        just_past = float(flipped.survival_function_at_times(1000.0 - x - 1e-6).iloc[0])
        assert cdf == pytest.approx(just_past, abs=1e-12)
    left = KaplanMeierFitter().fit_left_censoring(values, ~below)
    table = left.cumulative_density_["KM_estimate"]
    for x, cdf in zip(steps.x, steps.cdf, strict=True):
        assert cdf == pytest.approx(float(table.loc[x]), abs=1e-9)


@SETS
def test_lognormal_likelihood_c11_c14(data: Data) -> None:
    from lifelines import LogNormalFitter

    values, below = data
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fitted = LogNormalFitter().fit_left_censoring(values, ~below)
    assert censored_normal(np.log(values), below) == pytest.approx((fitted.mu_, fitted.sigma_), rel=2e-3)


def test_real_measurements_with_less_than_signs() -> None:
    """Ammonium in rain, 102 weeks, 46 of them below detection (open data that comes with the library)."""
    from lifelines import LogNormalFitter
    from lifelines.datasets import load_nh4

    table = load_nh4()
    values, below = table["NH4.mg.per.L"].to_numpy(float), table["Censored"].to_numpy(bool)
    assert (len(values), int(below.sum())) == (102, 46)
    means = []
    for method in Method:
        found = summarise(values, below, method)
        assert isinstance(found, Summary)
        means.append(found.mean)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fitted = LogNormalFitter().fit_left_censoring(values, ~below)
    assert censored_normal(np.log(values), below) == pytest.approx((fitted.mu_, fitted.sigma_), rel=2e-3)
    assert max(means) / min(means) < 1.3


ROWS = st.lists(st.tuples(st.integers(1, 40), st.booleans()), min_size=5, max_size=25)


@settings(deadline=None, max_examples=40)
@given(ROWS, st.sampled_from(list(Method)), st.sampled_from([1e-3, 1.2273, 24.45, 1e3]), st.randoms())
def test_neither_unit_nor_order_matters(
    rows: list[tuple[int, bool]], method: Method, factor: float, rng: object
) -> None:
    """ppb for ppm, mg/m³ for ppm, and the lines of the file in any order."""
    values, below = np.array([v / 10 for v, _ in rows]), np.array([b for _, b in rows])
    one = summarise(values, below, method)
    assume(isinstance(one, Summary))
    assert isinstance(one, Summary)
    shuffled = np.random.default_rng(rng.randrange(2**32)).permutation(len(values))  # type: ignore[attr-defined]
    other = summarise(values[shuffled] * factor, below[shuffled], method)
    assert isinstance(other, Summary)
    assert (other.mean, other.sd) == pytest.approx((one.mean * factor, one.sd * factor), rel=1e-6)
    assert other.detects == one.detects


def test_the_same_sets_are_used_as_beside_the_other_libraries() -> None:
    assert [len(values) for values, _ in (D1, D3, D6)] == [25, 24, 18]
    assert summary(D3, Method.KAPLAN_MEIER).mean == pytest.approx(0.949, abs=5e-4)
