"""Student's t (JCGM 100 G.3, G.4), held against a published example, the usual table and its defining integral."""

from __future__ import annotations

from math import atan, inf, pi, sqrt
from statistics import NormalDist
from typing import Any

import numpy as np
import pytest

from methods.uncertainty.budget import SCATTER, SPAN, ZERO, Budget, Component, budget
from methods.uncertainty.student import probability, quantile
from methods.verdicts import Edge, Estimate, Verdict, judge
from tests.methods.limit_samples import a_limit
from tests.methods.random_parts import noisy
from tests.methods.t_integrals import student


def test_agrees_with_its_integral_and_with_closed_forms() -> None:
    for t in (-50.0, -6.3, -1.645, -0.5, -1e-3, 0.0, 0.3, 2.0, 40.0):
        for dof in (1.0, 1.17, 2.0, 2.5, 7.7, 30.0, 999.5, 5e4, 2e5):
            assert probability(t, dof) == pytest.approx(student(t, dof), abs=2e-6 if dof > 1e5 else 1e-9)
        assert probability(t, 1.0) == pytest.approx(0.5 + atan(t) / pi, abs=1e-12)
        assert probability(t, 2.0) == pytest.approx(0.5 + t / (2 * sqrt(2 + t * t)), abs=1e-12)
    assert probability(-1.3, inf) == pytest.approx(NormalDist().cdf(-1.3), abs=1e-12)


@pytest.mark.parametrize(
    ("dof", "t"),
    [(1, 6.314), (2, 2.920), (5, 2.015), (10, 1.812), (20, 1.725), (30, 1.697), (120, 1.658), (inf, 1.645)],
)
def test_the_usual_table_at_95_percent_one_sided(dof: float, t: float) -> None:
    """Any handbook's table of t, from memory; as in JCGM 100, table G.2, for p = 90 % two-sided."""
    assert quantile(0.95, dof) == pytest.approx(t, abs=5e-4)


def test_the_quantile_is_the_inverse() -> None:
    for dof in (1.0, 3.3, 16.0, 400.0, inf):
        for p in (0.01, 0.05, 0.5, 0.95, 0.999):
            assert probability(quantile(p, dof), dof) == pytest.approx(p, abs=1e-9)


def test_t10_one_sided_bound_from_a_pooled_variance() -> None:
    """T-10: US Army Corps of Engineers, dredging manual App. L eq. L-27: mean 0.190, t(0.95, 16) = 1.746, MSE
    0.003763, n = 5 give 0.238 (the page drops the root; its figure fits only with √(MSE/n))."""
    t = quantile(0.95, 16)
    assert t == pytest.approx(1.746, abs=5e-4)
    assert 0.190 + t * sqrt(0.003763 / 5) == pytest.approx(0.238, abs=5e-4)


def test_no_degrees_of_freedom() -> None:
    for dof in (0.0, -1.0, float("nan")):
        with pytest.raises(ValueError, match="degrees of freedom"):
            probability(0.0, dof)


class TestVerdictsByFewReadings:
    """Scatter estimated from few readings is not known well: M-06's effective degrees of freedom govern the verdict."""

    def test_the_probability_is_students_with_effective_degrees(self) -> None:
        parts = Budget((Component(ZERO, 0.57, dof=4), Component(SPAN, 0.25, dof=9), Component(SCATTER, 0.82, dof=14)))
        found = judge(Estimate(value=8.2, budget=parts), a_limit("10", unit="ppm"))
        assert found.p_above == pytest.approx(student(-1.8 / parts.combined, 19.04), abs=1e-4)

    def test_four_readings_decide_less_than_forty_with_the_same_uncertainty(self) -> None:
        known: dict[str, Any] = {
            "resolution": 0.0,
            "zero_u": 0.001,
            "span_u_rel": 0.0,
            "drift_u": 0.0,
            "temperature_u": 0.0,
        }
        few = budget(0.09, noisy(0.01, 4), interference_u=0.0, **known)
        many = budget(0.09, noisy(0.01 * sqrt(10), 40), interference_u=0.0, **known)
        assert few.combined == pytest.approx(many.combined)
        assert (few.components[-1].dof, many.components[-1].dof) == (3, 39)
        limit = a_limit("0.1")
        assert judge(Estimate(value=0.09, budget=many), limit).verdict is Verdict.BELOW
        assert judge(Estimate(value=0.09, budget=few), limit).verdict is Verdict.UNDECIDED

    def test_known_scatter_has_no_degrees_to_lose(self) -> None:
        parts = budget(
            0.09, noisy(0.01, 4, is_known=True), resolution=0.0, zero_u=0.0, span_u_rel=0.0, drift_u=0.0,
            temperature_u=0.0, interference_u=0.0,
        )  # fmt: skip
        assert parts.effective_dof == inf
        edge = Edge(0.1, is_upper=True, inclusive=True)
        assert edge.p_above(0.09, parts.combined, parts.effective_dof) == pytest.approx(NormalDist().cdf(-2), abs=1e-9)

    def test_the_minutes_asked_for_would_decide(self) -> None:
        """More readings make the scatter smaller and better known: with as many as said the verdict falls, with four
        fifths of them not yet."""
        known: dict[str, Any] = {
            "resolution": 0.0,
            "zero_u": 0.001,
            "span_u_rel": 0.0,
            "drift_u": 0.0,
            "temperature_u": 0.0,
        }

        def after(n: int) -> Verdict:
            parts = budget(0.09, noisy(0.02, n), interference_u=0.0, **known)
            return judge(Estimate(value=0.09, budget=parts, minutes=float(n)), a_limit("0.1")).verdict

        first = budget(0.09, noisy(0.02, 5), interference_u=0.0, **known)
        way = judge(Estimate(value=0.09, budget=first, minutes=5.0), a_limit("0.1")).would_decide
        assert way is not None
        assert way.code == "more_readings"
        assert way.minutes is not None
        total = 5 + int(np.ceil(way.minutes))
        assert after(total) is Verdict.BELOW
        assert after(int(total * 0.8)) is Verdict.UNDECIDED
