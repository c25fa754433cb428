"""How well zero and span are known around their checks: numbers worked by hand, beside each how."""

from __future__ import annotations

from functools import cache
from math import sqrt

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ndtr

from methods.correction import CalibrationLine, Chain, ChannelFacts, Check
from methods.correction.drift import periods
from methods.correction.drift_uncertainty import (
    DriftCause,
    DriftUncertainty,
    bearing_on,
    contradictions,
    drift_uncertainty,
    failed_during,
)
from methods.quantities.durations import DAY_MS, HOUR_MS

START = 1_717_400_000_000
FACTS = ChannelFacts(
    resolution=0.012, zero_tolerance=0.02, span_tolerance=0.1, zero_rate=0.024, span_rate=0.012, zero_u=0.002,
    span_u=0.01,
)  # fmt: skip
CALIBRATED = (CalibrationLine(START - 10 * DAY_MS),)


def zero(hour: float, shown: float, u: float | None = None, *, accepted: bool = False) -> Check:
    return Check(START + round(hour * HOUR_MS), "zero", 0.0, shown, u, accepted)


def span(hour: float, shown: float, u: float | None = None, *, accepted: bool = False) -> Check:
    return Check(START + round(hour * HOUR_MS), "span", 1.0, shown, u, accepted)


def of(
    *checks: Check, kind: str = "zero", hours: tuple[float, float] = (0.0, 8.0), facts: ChannelFacts = FACTS,
    lines: tuple[CalibrationLine, ...] = CALIBRATED,
) -> DriftUncertainty:  # fmt: skip
    begin, end = (START + round(hour * HOUR_MS) for hour in hours)
    return drift_uncertainty(
        periods(Chain(facts, checks, lines)), "zero" if kind == "zero" else "span", facts, begin, end
    )


@pytest.mark.parametrize(
    ("checks", "hours", "u", "cause"),
    [
        # 0.024 a day is 0.001 an hour; midway between 0 h and 8 h it is 4 h to the nearer check
        ((zero(0, 0.0), zero(8, 0.0)), (0, 8), 0.004, DriftCause.ALLOWANCE),
        ((zero(0, 0.0), zero(8, 0.0)), (1, 2), 0.002, DriftCause.ALLOWANCE),
        ((zero(0, 0.0), zero(8, 0.0)), (6, 7), 0.002, DriftCause.ALLOWANCE),
        # 0.012 between the checks: half of it is 0.006, wherever in between
        ((zero(0, 0.0), zero(8, 0.012)), (0, 8), 0.006, DriftCause.CHANGE),
        ((zero(0, 0.0), zero(8, -0.012)), (7, 7.5), 0.006, DriftCause.CHANGE),
        # no check after, and none before
        ((zero(0, 0.01),), (2, 5), 0.005, DriftCause.HELD),
        ((zero(8, 0.01),), (2, 5), 0.006, DriftCause.HELD),
        # the worse of two stretches: 2 h wide before the middle check, 6 h after it
        ((zero(0, 0.0), zero(2, 0.0), zero(8, 0.0)), (0, 8), 0.003, DriftCause.ALLOWANCE),
        # no check: 10 days and 8 hours since the calibration
        ((), (0, 8), 0.248, DriftCause.CALIBRATION),
        ((zero(3, 0.01),), (3, 3), 0.0, DriftCause.ON_CHECK),
        # outside its tolerance: all of 0.03 / √3 back to the check inside it
        ((zero(0, 0.0), zero(8, 0.03)), (0, 8), 0.03 / sqrt(3), DriftCause.FAILED),
        ((zero(0, 0.0), zero(8, 0.03)), (9, 10), 0.03 / sqrt(3), DriftCause.FAILED),
        # the second in turn counts from the last one inside: 0.05 − 0.01
        ((zero(0, 0.01), zero(4, 0.03), zero(8, 0.05)), (5, 6), 0.04 / sqrt(3), DriftCause.FAILED),
        # none inside before it: from the calibration, where the zero was nothing
        ((zero(0, 0.03),), (-2, -1), 0.03 / sqrt(3), DriftCause.FAILED),
        ((zero(0, 0.03), zero(8, 0.0)), (2, 6), 0.03 / sqrt(3), DriftCause.FAILED),
    ],
)
def test_drift_of_the_zero_by_hand(
    checks: tuple[Check, ...], hours: tuple[float, float], u: float, cause: DriftCause
) -> None:
    told = of(*checks, hours=hours)
    assert told.u == pytest.approx(u, abs=1e-12)
    assert told.cause is cause


@pytest.mark.parametrize(
    ("checks", "hours", "u", "cause"),
    [
        # relative 0.0005 an hour, 4 h to the nearer check
        ((span(0, 1.0), span(8, 1.0)), (0, 8), 0.002, DriftCause.ALLOWANCE),
        # 1.00 → 0.96: half of 0.04, by the smaller factor
        ((span(0, 1.0), span(8, 0.96)), (0, 8), 0.02 / 0.96, DriftCause.CHANGE),
        # a factor of 0.44: 0.56 off the calibration's one
        ((span(0, 0.44),), (-2, -1), 0.56 / 0.44 / sqrt(3), DriftCause.FAILED),
        ((), (0, 8), 0.124, DriftCause.CALIBRATION),
    ],
)
def test_drift_of_the_span_by_hand(
    checks: tuple[Check, ...], hours: tuple[float, float], u: float, cause: DriftCause
) -> None:
    told = of(*checks, kind="span", hours=hours)
    assert told.u == pytest.approx(u, abs=1e-12)
    assert told.cause is cause


def test_rounding_and_reference_of_the_checks_are_told_beside_it() -> None:
    """0.012/√12 for a zero; a span of 0.8 to 0: both ends of the rise are rounded, and a gas of 1 to 0.02 is 2 %."""
    told = of(zero(0, 0.0, 0.001), zero(8, 0.0, 0.003))
    assert (told.rounding, told.reference) == pytest.approx((0.012 / sqrt(12), 0.003))
    told = of(zero(0, 0.0), span(0, 0.8, 0.02), kind="span")
    assert (told.rounding, told.reference) == pytest.approx((sqrt(2) * 0.012 / sqrt(12) / 0.8, 0.02))
    assert np.isnan(of(zero(0, 0.0), zero(8, 0.0, 0.003)).reference)


@pytest.mark.parametrize(
    ("checks", "u"),
    [((), None), ((zero(0, 0.0),), None), ((zero(0, 0.0), zero(8, 0.012)), 0.006), ((zero(0, 0.03),), 0.03 / sqrt(3))],
)
def test_without_a_rate_only_what_the_checks_show_is_known(checks: tuple[Check, ...], u: float | None) -> None:
    told = of(*checks, hours=(1, 2), facts=ChannelFacts(resolution=0.012, zero_tolerance=0.02))
    assert told.u == (None if u is None else pytest.approx(u))
    assert (told.cause is DriftCause.UNKNOWN) == (u is None)


def test_neither_calibration_nor_check_is_nobody_knows() -> None:
    assert of(lines=()).u is None


def test_a_check_never_speaks_across_a_calibration() -> None:
    """The zero before was 0.02, the meter was adjusted at 4 h: 4 h held before, 4 h since the adjustment after."""
    lines = (*CALIBRATED, CalibrationLine(START + 4 * HOUR_MS))
    told = of(zero(0, 0.02), lines=lines)
    assert told.u == pytest.approx(0.004, abs=1e-6)


@given(
    shown=st.lists(st.floats(-0.1, 0.1), min_size=1, max_size=6),
    begin=st.floats(-5, 45), length=st.floats(0, 30), inner=st.floats(0, 1),
)  # fmt: skip
def test_a_longer_stretch_is_never_known_better(shown: list[float], begin: float, length: float, inner: float) -> None:
    checks = [zero(8.0 * k, value) for k, value in enumerate(shown)]
    long, short = of(*checks, hours=(begin, begin + length)), of(*checks, hours=(begin, begin + inner * length))
    assert (long.u or 0.0) >= (short.u or 0.0) - 1e-12


# --- what failed ------------------------------------------------------------------------------------------------------


def test_failed_checks_on_which_a_stretch_rests() -> None:
    checks = zero(0, 0.0), zero(4, 0.03, accepted=True), zero(8, 0.0), span(8, 0.5)
    chain = periods(Chain(FACTS, checks, CALIBRATED))
    told = [(c.kind, (c.at_ms - START) // HOUR_MS, c.accepted) for c in failed_during(chain, START, START + HOUR_MS)]
    assert told == [("zero", 4, True), ("span", 8, False)]
    assert [c.kind for c in failed_during(chain, START + 9 * HOUR_MS, START + 9 * HOUR_MS)] == ["span"]


@pytest.mark.parametrize("shown", [-0.01, 0.0, 0.1])
def test_a_meter_that_does_not_answer_has_lost_all_of_its_span(shown: float) -> None:
    """Rectangular over the whole span (JCGM 100 §4.3.7), whatever the factor before it was; also once accepted."""
    chain = periods(Chain(FACTS, (zero(-1, 0.0), span(0, 1.1), span(8, shown, accepted=True)), CALIBRATED))
    told = drift_uncertainty(chain, "span", FACTS, START + HOUR_MS, START + 2 * HOUR_MS)
    assert told.u == pytest.approx(1 / sqrt(3))
    assert [c.dead for c in failed_during(chain, START + HOUR_MS, START + 2 * HOUR_MS)] == [True]


def test_what_bears_on_a_stretch_reaches_back_to_the_last_check_inside_its_tolerance() -> None:
    series = periods(Chain(FACTS, (zero(0, 0.0), zero(4, 0.03), zero(8, 0.03), zero(12, 0.0)), CALIBRATED))[1].zero
    assert bearing_on(series, START + 9 * HOUR_MS, START + 10 * HOUR_MS) == slice(0, 4)
    assert bearing_on(series, START + 13 * HOUR_MS, START + 14 * HOUR_MS) == slice(3, 4)


# --- what contradicts the certificate ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("change", "told"), [(0.0498, False), (0.0502, True), (-0.0502, True)])
def test_a_change_beyond_twice_what_is_allowed_contradicts(change: float, told: bool) -> None:
    """A day apart: allowed 0.024, each check rounded to 0.012 (0.003464), its gas known to 0.0035;
    2·√(0.024² + 2·0.003464² + 2·0.0035²) = 0.04998."""
    checks = zero(0, 0.0, 0.0035), zero(24, change, 0.0035)
    out = list(contradictions(periods(Chain(FACTS, checks, CALIBRATED)), "zero", FACTS))
    assert bool(out) is told
    assert all(c.change == pytest.approx(change) and c.explained == pytest.approx(0.04998, abs=1e-5) for c in out)


def test_the_first_check_may_contradict_the_calibration_itself() -> None:
    """Ten days at 0.012 a day allow 0.12; with 0.01 at the calibration 2·√(0.12² + 0.01² + …) is below 0.56."""
    (told,) = contradictions(periods(Chain(FACTS, (span(0, 0.44),), CALIBRATED)), "span", FACTS)
    assert told.from_calibration
    assert told.change == pytest.approx(-0.56)
    assert told.since_ms == START - 10 * DAY_MS
    assert not list(contradictions(periods(Chain(FACTS, (span(0, 0.44),))), "span", FACTS))


# --- calls at the limit -----------------------------------------------------------------------------------------------

LIMIT, RUNS, U_ZERO, NOISE, STEP = 0.1, 4000, 0.002, 0.001, 0.001
METER = ChannelFacts(resolution=STEP, zero_tolerance=0.01, zero_rate=0.003)


@cache
def known_to(before: float, after: float) -> float:
    """Standard uncertainty of a zero of which the checks before and after the visit showed so much."""
    told = of(zero(0, before, 2e-4), zero(8, after, 2e-4), hours=(2, 6), facts=METER)
    assert told.u is not None
    return sqrt(U_ZERO**2 + told.rounding**2 + told.reference**2 + told.u**2)


def wrong_calls(zero_at: np.ndarray, zero_after: np.ndarray) -> float:
    """Air exactly at the limit, measured from 2 h to 6 h between two checks 8 h apart, which see the zero as it is then
    (none at the first). Shapes [runs]. The larger of the shares called above and called below."""
    rng = np.random.default_rng(11)
    before, after = (np.round((z + rng.normal(0, 2e-4, RUNS)) / STEP) * STEP for z in (np.zeros(RUNS), zero_after))
    wrong = rng.normal(0, U_ZERO, RUNS) + zero_at + rng.normal(0, NOISE, RUNS) - (before + after) / 2
    u = np.array([known_to(*checks) for checks in zip(before.round(3), after.round(3), strict=True)])
    p = ndtr(wrong / np.sqrt(u**2 + STEP**2 / 12 + NOISE**2))
    return float(max((p >= 0.95).mean(), (p <= 0.05).mean()))


def test_a_zero_that_jumps_by_its_tolerance_between_two_checks() -> None:
    """At any moment of the 8 h, either way: of the visit in the middle it is there before, during or after."""
    rng = np.random.default_rng(3)
    jump = 0.01 * rng.choice([-1, 1], RUNS)
    share = np.clip((6 - rng.uniform(0, 8, RUNS)) / 4, 0, 1)
    assert wrong_calls(jump * share, jump) <= 0.065


@pytest.mark.parametrize("bend", [0.3, 1.0, 3.0])
def test_drift_of_three_times_the_certificate_between_two_checks(bend: float) -> None:
    """0.009 a day instead of 0.003, either way; steadily, mostly early or mostly late. The checks tell of it."""
    assert METER.zero_rate
    drift = 3 * METER.zero_rate * 8 / 24 * np.random.default_rng(5).choice([-1, 1], RUNS)
    shares = (np.arange(2, 6, 1 / 60) / 8) ** bend
    assert wrong_calls(drift * shares.mean(), drift) <= 0.065
    chain = periods(Chain(METER, (zero(0, 0.0, 2e-4), zero(8, float(abs(drift[0])), 2e-4)), CALIBRATED))
    assert len(list(contradictions(chain, "zero", METER))) == 1
