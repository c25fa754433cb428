"""Uncertainty budgets, held against the worked examples of the GUM and of EURACHEM/CITAC.

Method: docs/methods/uncertainty.md.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf, sqrt
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.quantities.arrays import Floats
from methods.quantities.flags import Flag
from methods.uncertainty import student
from methods.uncertainty.budget import (
    CHECKABLE,
    NOISE,
    RESOLUTION,
    SPAN,
    ZERO,
    Budget,
    Component,
    budget,
    combine,
    of_resolution,
    rectangular,
    scatter,
)
from methods.uncertainty.noise import effective_n
from tests.methods.random_parts import noisy

KNOWN: dict[str, Any] = {
    "random": noisy(0.006, 30, 0.5),
    "resolution": 0.01,
    "zero_u": 0.003,
    "span_u_rel": 0.05,
    "drift_u": 0.002,
    "temperature_u": 0.001,
    "interference_u": 0.004,
}


def rho_of(values: Floats) -> float:
    """Lag-1 autocorrelation as the scatter of readings has it."""
    return scatter(values, np.zeros(len(values), np.int16)).rho


class TestWorkedExamples:
    @pytest.mark.parametrize(("step", "u"), [(0.01, 0.0028868), (1, 0.288675)])
    def test_m01_resolution(self, step: float, u: float) -> None:
        """GUM F.2.2.1, M-01 (from memory)."""
        assert of_resolution(step) == pytest.approx(u, abs=1e-6)

    def test_m02_rectangular(self) -> None:
        """EURACHEM/CITAC QUAM example A1, M-02 (from memory)."""
        assert rectangular(0.0001) == pytest.approx(0.000058, abs=5e-7)

    def test_m03_volume(self) -> None:
        """QUAM A1, M-03 (from memory): 0.04, 0.02 and 0.05 mL."""
        assert combine([0.04, 0.02, 0.05]) == pytest.approx(0.07, abs=0.005)

    def test_m04_concentration(self) -> None:
        """QUAM A1, M-04 (from memory): 1002.7 mg/L from a product, so the relative parts add in squares."""
        value = 1000 * 100.28 * 0.9999 / 100.0
        parts = ((100.28, 0.05), (0.9999, 0.000058), (100.0, 0.07))
        found = Budget(tuple(Component(str(x), value * u / x, relative=u / x) for x, u in parts))
        assert value == pytest.approx(1002.7, abs=0.05)
        assert found.combined == pytest.approx(0.9, abs=0.05)
        assert 2 * found.combined == pytest.approx(1.73, abs=0.005)  # the guide prints 1.8: it doubles the rounded 0.9

    def test_m05_gauge_block(self) -> None:
        """GUM H.1, M-05 (from memory)."""
        assert combine([25, 9.7, 2.9, 16.6]) == pytest.approx(32, abs=0.5)
        assert combine([32, 11.7]) == pytest.approx(34, abs=0.5)

    def test_m06_effective_degrees_of_freedom(self) -> None:
        """GUM G.4.1, M-06 (from memory): 0.25 (9), 0.57 (4), 0.82 (14)."""
        parts = ((0.25, 9), (0.57, 4), (0.82, 14))
        found = Budget(tuple(Component(str(u), u, dof=dof) for u, dof in parts))
        assert found.combined == pytest.approx(1.03, abs=0.005)
        assert found.effective_dof == pytest.approx(19.0, abs=0.05)


class TestBudget:
    def test_every_term_of_m8(self) -> None:
        x, n_eff = 0.08, effective_n(30, 0.5)
        expected = 0.003**2 + (0.05 * x) ** 2 + 0.002**2 + 0.01**2 / 12 + 0.001**2 + 0.004**2 + 0.006**2 / n_eff
        found = budget(x, **KNOWN)
        assert found.combined == pytest.approx(sqrt(expected), rel=1e-12)
        assert found.expanded == pytest.approx(student.quantile(0.975, found.effective_dof) * sqrt(expected))
        assert found.is_complete

    def test_only_the_noise_shrinks(self) -> None:
        few, many = (budget(0.08, **{**KNOWN, "random": noisy(0.006, n)}) for n in (30, 3000))
        assert many.systematic == few.systematic
        assert many.random == pytest.approx(few.random / 10)
        assert many.combined > few.systematic

    def test_a_missing_part_is_named_and_never_zero(self) -> None:
        found = budget(0.08, **{**KNOWN, "zero_u": None, "interference_u": None})
        assert found.missing == ("zero", "interference")
        assert not found.is_complete
        assert not found.is_blind
        row = next(row for row in found.rows() if row.name == "zero")
        assert (row.u, row.share, row.missing) == (None, None, True)
        zero = budget(0.08, **{**KNOWN, "zero_u": 0.0, "interference_u": 0.0})
        assert zero.missing == ()

    def test_blind_without_zero_and_span(self) -> None:
        assert budget(0.08, **{**KNOWN, "zero_u": None, "span_u_rel": None}).is_blind

    def test_noise_that_nobody_knows_is_missing(self) -> None:
        assert budget(0.08, **{**KNOWN, "random": noisy(None, 1)}).missing == (NOISE,)

    def test_shares_add_to_one_largest_first_missing_last(self) -> None:
        rows = budget(0.08, **{**KNOWN, "drift_u": None}).rows()
        shares = [row.share for row in rows if row.share is not None]
        assert sum(shares) == pytest.approx(1)
        assert shares == sorted(shares, reverse=True)
        assert rows[-1].missing

    def test_sources_are_carried(self) -> None:
        found = budget(0.08, **KNOWN, sources={ZERO: "zero air, 14 March"})
        assert {row.name: row.source for row in found.rows()}[ZERO] == "zero air, 14 March"

    def test_relative_parts_follow_the_value(self) -> None:
        there = budget(0.16, **KNOWN)
        found, dof = budget(0.08, **KNOWN).combined_at(0.16)
        assert found == pytest.approx(there.combined)
        assert dof == pytest.approx(there.effective_dof)

    def test_what_a_check_would_leave(self) -> None:
        left = budget(0.08, **KNOWN).without(*CHECKABLE)
        assert {part.name for part in left.components}.isdisjoint(CHECKABLE)
        assert RESOLUTION in {part.name for part in left.components}

    @pytest.mark.parametrize("u", [-0.1, inf, float("nan"), 1e100])
    def test_impossible_parts_are_refused(self, u: float) -> None:
        with pytest.raises(ValueError, match="zero"):
            Component(ZERO, u)

    def test_nothing_known(self) -> None:
        empty = Budget((Component(SPAN, None),))
        assert (empty.combined, empty.effective_dof) == (0.0, inf)
        assert replace(empty.components[0], u=0.0).missing is False


class TestEffectiveNumber:
    @pytest.mark.parametrize(
        ("n", "rho", "expected"), [(30, 0, 30), (3, 0.5, 9 / 5.5), (30, -0.4, 30), (5, 0.999, 1.001), (1, 0, 1)]
    )
    def test_worked_by_hand(self, n: int, rho: float, expected: float) -> None:
        assert effective_n(n, rho) == pytest.approx(expected, abs=1e-3)

    def test_no_readings(self) -> None:
        with pytest.raises(ValueError, match="no readings"):
            effective_n(0, 0.1)

    @settings(deadline=None)
    @given(st.integers(1, 10_000), st.floats(-1, 0.999))
    def test_between_one_and_n(self, n: int, rho: float) -> None:
        assert 1 - 1e-9 <= effective_n(n, rho) <= n

    @pytest.mark.parametrize("rho", [0.0, 0.5, 0.8])
    def test_gives_the_scatter_of_means_of_simulated_series(self, rho: float) -> None:
        """A first-order autoregressive series of known ρ and unit variance: 4,000 means of 400 readings."""
        rng = np.random.default_rng(17)
        noise = rng.normal(size=(4000, 400))
        x = np.empty_like(noise)
        x[:, 0] = noise[:, 0]
        for k in range(1, 400):
            x[:, k] = rho * x[:, k - 1] + sqrt(1 - rho**2) * noise[:, k]
        assert float(x.mean(axis=1).std()) == pytest.approx(1 / sqrt(effective_n(400, rho)), rel=0.05)
        estimated = np.mean([rho_of(row) for row in x[:300]])
        assert estimated == pytest.approx(max(rho, 0.02), abs=0.02)

    def test_short_series_are_not_called_independent(self) -> None:
        """The plain estimate of ρ = 0.6 from 20 readings falls short by a quarter; the corrected one comes near."""
        rng = np.random.default_rng(3)
        noise = rng.normal(size=(3000, 20))
        x = np.empty_like(noise)
        x[:, 0] = noise[:, 0]
        for k in range(1, 20):
            x[:, k] = 0.6 * x[:, k - 1] + 0.8 * noise[:, k]
        around = x - x.mean(axis=1, keepdims=True)
        plain = (around[:, :-1] * around[:, 1:]).sum(axis=1) / (around**2).sum(axis=1)
        assert plain.mean() < 0.47
        assert np.mean([rho_of(row) for row in x]) == pytest.approx(0.6, abs=0.06)

    def test_agrees_with_a_reference_library_in_long_series(self) -> None:
        """pandas' autocorrelation, which differs by the means of the two shifted halves: little in 5,000 readings."""
        import pandas as pd

        rng = np.random.default_rng(9)
        x = np.convolve(rng.normal(size=5010), np.exp(-np.arange(10) / 3), mode="valid")[:5000]
        assert rho_of(x) == pytest.approx(float(pd.Series(x).autocorr(1)), abs=2e-3)

    def test_constant_and_tiny_series(self) -> None:
        assert rho_of(np.full(50, 0.1)) == 0.0
        assert rho_of(np.array([1.0, 2.0])) == 0.99


class TestScatter:
    def test_of_plain_readings(self) -> None:
        values = np.array([0.04, 0.06, 0.05, 0.05, 0.07, 0.03])
        found = scatter(values, np.zeros(6, np.int16))
        assert (found.n, found.censored) == (6, 0)
        assert found.s == pytest.approx(np.std(values, ddof=1))

    def test_readings_below_detection_do_not_look_steady(self) -> None:
        """Ten "<0.01" beside ten detects: the larger of the two spreads counts."""
        values = np.array([0.01] * 10 + [0.012] * 10)
        flags = np.array([int(Flag.BELOW_DETECTION)] * 10 + [0] * 10, np.int16)
        found = scatter(values, flags)
        assert found.censored == 10
        assert found.s == pytest.approx(np.std([0.0] * 10 + [0.012] * 10, ddof=1))

    @pytest.mark.parametrize("value", [float("nan"), inf, -inf, 1e200])
    def test_what_is_no_reading(self, value: float) -> None:
        with pytest.raises(ValueError, match="finite"):
            scatter(np.array([0.1, value, 0.3]), np.zeros(3, np.int16))

    def test_differences_too_small_for_a_square(self) -> None:
        assert scatter(np.array([1e-200, 2e-200, 1e-200]), np.zeros(3, np.int16)).s == 0.0

    def test_one_reading_has_none(self) -> None:
        assert scatter(np.array([0.1]), np.zeros(1, np.int16)).s is None
