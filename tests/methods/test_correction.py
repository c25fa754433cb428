"""The correction chain: published arithmetic (K-ids), then what must hold for any checks and calibrations."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.correction import (
    CalibrationLine,
    Chain,
    ChannelFacts,
    Check,
    Corrected,
    Kind,
    correct,
    explain_reading,
)
from methods.quantities.durations import DAY_MS, HOUR_MS, MINUTE_MS, SECOND_MS
from methods.quantities.flags import Flag
from methods.quantities.stamp_convention import CONVENTIONS, StampConvention, StampConventions

START = 1_717_400_000_000
PLAIN = ChannelFacts(warm_up_s=0, needs=frozenset())
IN_FORCE = (CalibrationLine(START - 30 * DAY_MS),)


def zero(at: int, observed: float, reference: float = 0.0) -> Check:
    return Check(START + at, "zero", reference, observed)


def span(at: int, observed: float, reference: float = 1.0) -> Check:
    return Check(START + at, "span", reference, observed)


def run(raw: float | list[float], at: int | list[int], *checks: Check, facts: ChannelFacts = PLAIN) -> Corrected:
    times = START + np.atleast_1d(np.array(at, dtype=np.int64))
    return correct(times, raw, Chain(facts, checks, IN_FORCE))


# --- values -----------------------------------------------------------------------------------------------------------


def test_k11_two_point_zero_and_span() -> None:
    """40 CFR 60 App. A-4 Method 7E, form of eq. 7E-5, from memory: (x − x0)·C_span/(x_s − x0)."""
    result = run(0.535, 0, zero(0, 0.02), span(0, 1.05))
    assert result.value.tolist() == pytest.approx([0.500], abs=1e-9)


def test_k12_drift_in_a_straight_line_between_two_checks() -> None:
    """Zero 0.00 → 0.02 and span factor 1.00 → 0.96 over 8 h; 0.500 at 4 h is (0.500 − 0.010)/0.98."""
    checks = zero(0, 0.0), span(0, 1.0), zero(8 * HOUR_MS, 0.02), span(8 * HOUR_MS, 0.98)
    result = run(0.500, 4 * HOUR_MS, *checks)
    assert result.value.tolist() == pytest.approx([0.5000], abs=1e-9)
    assert result.zero.tolist() == pytest.approx([0.010], abs=1e-12)
    assert result.span.tolist() == pytest.approx([0.98], abs=1e-12)
    assert result.raw.tolist() == [0.500]


def test_without_checks_the_calibration_alone() -> None:
    chain = Chain(PLAIN, (), (CalibrationLine(START, 1.1, 0.02),))
    result = correct([START, START + HOUR_MS], [0.5, 0.0], chain)
    assert result.value.tolist() == pytest.approx([0.57, 0.02])
    assert result.zero.tolist() == [0.0, 0.0]


def test_the_calibration_in_force_at_the_time() -> None:
    lines = (CalibrationLine(START + 2 * HOUR_MS, 2.0), CalibrationLine(START, 1.5, 0.1))
    result = correct(START + HOUR_MS * np.arange(-1, 4), 1.0, Chain(PLAIN, (), lines))
    assert result.value.tolist() == pytest.approx([1.0, 1.6, 1.6, 2.0, 2.0])
    assert [bool(flag & Flag.CALIBRATION_OVERDUE) for flag in result.flags] == [True, False, False, False, False]


def test_a_check_says_nothing_beyond_the_calibration_it_was_made_under() -> None:
    """The meter was adjusted: the old zero does not run into the time after, nor the new one into the time before."""
    lines = (*IN_FORCE, CalibrationLine(START + 5 * HOUR_MS))
    chain = Chain(PLAIN, (zero(0, 0.04), zero(8 * HOUR_MS, 0.01)), lines)
    result = correct(START + HOUR_MS * np.array([1, 4, 5, 9]), 0.5, chain)
    assert result.zero.tolist() == [0.04, 0.04, 0.01, 0.01]


def test_a_calibration_factor_is_not_applied_twice() -> None:
    """The meter shows 0.91 at a true 1.00, which its calibration (1/0.91) already says: the span factor is 1."""
    chain = Chain(PLAIN, (zero(0, 0.0), span(0, 0.91)), (CalibrationLine(START - DAY_MS, 1 / 0.91),))
    result = correct([START], [0.91], chain)
    assert result.span.tolist() == pytest.approx([1.0])
    assert result.value.tolist() == pytest.approx([1.0])


def test_negative_values_are_kept() -> None:
    """docs/methods/correction.md: they carry the zero's noise, so that a mean of zero air is zero."""
    result = run([0.02, 0.01, 0.03], [0, MINUTE_MS, 2 * MINUTE_MS], zero(0, 0.02))
    assert result.value.tolist() == pytest.approx([0.0, -0.01, 0.01])
    assert result.value.mean() == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(("flags", "raw"), [(int(Flag.SENSOR_ERROR), -200.0), (0, float("nan"))])
def test_an_error_has_no_value(flags: int, raw: float) -> None:
    result = correct([START], [raw], Chain(PLAIN, (), IN_FORCE), flags=[flags])
    assert np.isnan(result.value[0])
    assert np.isnan(result.raw[0])
    assert result.flags.tolist() == [Flag.SENSOR_ERROR]


# --- what must hold for any chain -------------------------------------------------------------------------------------

SLOPES, INTERCEPTS = st.floats(0.5, 2.0), st.floats(-0.05, 0.05)


@settings(deadline=None)
@given(
    slope=SLOPES,
    intercept=INTERCEPTS,
    observed=st.lists(st.tuples(st.floats(-0.05, 0.05), st.floats(0.7, 1.4)), min_size=1, max_size=4),
    reference=st.floats(0.5, 2.0),
)
def test_what_a_check_showed_corrects_to_its_reference(
    slope: float, intercept: float, observed: list[tuple[float, float]], reference: float
) -> None:
    """The one thing a check means. Zero and span are made at the same times, in pairs."""
    at = [n * HOUR_MS for n in range(len(observed))]
    shown_zero = [low for low, _ in observed]
    shown_span = [low + gain * (reference / slope) for low, gain in observed]
    checks = [zero(t, s) for t, s in zip(at, shown_zero, strict=True)]
    checks += [span(t, s, reference) for t, s in zip(at, shown_span, strict=True)]
    chain = Chain(PLAIN, tuple(checks), (CalibrationLine(START - DAY_MS, slope, intercept),))
    times = START + np.array(at + at, dtype=np.int64)
    result = correct(times, shown_zero + shown_span, chain)
    expected = [0.0] * len(at) + [reference] * len(at)
    np.testing.assert_allclose(result.value, expected, atol=1e-9)


@settings(deadline=None)
@given(
    zeros=st.lists(st.tuples(st.integers(0, 100), st.floats(-0.1, 0.1)), max_size=4, unique_by=lambda z: z[0]),
    spans=st.lists(st.tuples(st.integers(0, 100), st.floats(0.6, 1.6)), max_size=4, unique_by=lambda s: s[0]),
    slope=SLOPES,
    data=st.data(),
)
def test_the_chain_is_a_straight_line_at_each_moment(
    zeros: list[tuple[int, float]], spans: list[tuple[int, float]], slope: float, data: st.DataObject
) -> None:
    """corrected(a·x + (1 − a)·y) lies between corrected(x) and corrected(y), and steps says the same numbers."""
    checks = tuple([zero(t * MINUTE_MS, v) for t, v in zeros] + [span(t * MINUTE_MS, v) for t, v in spans])
    chain = Chain(PLAIN, checks, (CalibrationLine(START - DAY_MS, slope, 0.01),))
    at = START + MINUTE_MS * data.draw(st.integers(-50, 150))
    x, y, part = data.draw(st.floats(-1, 5)), data.draw(st.floats(-1, 5)), data.draw(st.floats(0, 1))
    result = correct([at] * 3, [x, y, part * x + (1 - part) * y], chain)
    low, high, between = result.value
    assert between == pytest.approx(part * low + (1 - part) * high, abs=1e-9)
    found = explain_reading(result, 2)
    assert [step.name for step in found] == ["stored", "zero", "span", "calibration", "flags"]
    for step, following in pairwise(found[:-1]):
        assert following.inputs[0].value == step.output
    assert found[3].output == pytest.approx(between)


@settings(deadline=None)
@given(st.lists(st.integers(0, 10_000), min_size=1, max_size=30), st.randoms(use_true_random=False))
def test_the_order_of_readings_does_not_matter(minutes: list[int], random: np.random.Generator) -> None:
    order = list(range(len(minutes)))
    random.shuffle(order)
    times, raw = START + MINUTE_MS * np.array(minutes), np.linspace(0, 1, len(minutes))
    chain = Chain(ChannelFacts(warm_up_s=300, t90_s=60), (zero(HOUR_MS, 0.02), zero(40 * HOUR_MS, 0.0)), IN_FORCE)
    one = correct(times, raw, chain, standing_ms=START + HOUR_MS)
    two = correct(times[order], raw[order], chain, standing_ms=START + HOUR_MS)
    np.testing.assert_array_equal(one.value[order], two.value)
    np.testing.assert_array_equal(one.flags[order], two.flags)


def test_nothing_in_nothing_out_and_the_input_is_left_alone() -> None:
    assert correct([], [], Chain()).value.size == 0
    raw, flags = np.array([1.0, np.nan]), np.array([0, 0], dtype=np.int32)
    correct([START, START + 1], raw, Chain(), flags=flags)
    assert flags.tolist() == [0, 0]


# --- held values ------------------------------------------------------------------------------------------------------


def test_a_value_without_a_check_after_it_is_held() -> None:
    times = [-HOUR_MS, 0, HOUR_MS, 2 * HOUR_MS, 5 * HOUR_MS]
    result = run([0.5] * 5, times, zero(0, 0.0), zero(2 * HOUR_MS, 0.02))
    assert result.zero.tolist() == pytest.approx([0.0, 0.0, 0.01, 0.02, 0.02])
    assert result.span.tolist() == [1.0] * 5


# --- checks that fail or are missing ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("observed", "tolerance", "failed"),
    [(0.01, None, False), (-0.01, None, False), (0.02, None, True), (0.02, 0.02, False), (0.01, 0.005, False)],
)
def test_one_resolution_step_is_no_failed_zero(observed: float, tolerance: float | None, failed: bool) -> None:
    """Common practice, no source (docs/methods/flags.md)."""
    facts = ChannelFacts(warm_up_s=0, resolution=0.01, zero_tolerance=tolerance)
    result = run(0.5, 0, zero(0, observed), facts=facts)
    assert bool(result.flags[0] & Flag.FIELD_CHECK_FAILED) is failed


def test_a_step_is_a_step_in_binary_fractions_too() -> None:
    """0.03 − 0.02 is a little more than 0.01 in binary; a zero gas of 0.02 read as 0.03 is one step off."""
    facts = ChannelFacts(warm_up_s=0, resolution=0.01)
    assert not run(0.5, 0, zero(0, 0.03, 0.02), facts=facts).flags.any()


@pytest.mark.parametrize(("observed", "failed"), [(0.91, False), (1.1, False), (0.89, True), (1.12, True)])
def test_a_span_beyond_its_tolerance_has_failed(observed: float, failed: bool) -> None:
    facts = ChannelFacts(warm_up_s=0, needs=frozenset(), span_tolerance=0.1)
    result = run(0.5, 0, span(0, observed), facts=facts)
    assert bool(result.flags[0] & Flag.FIELD_CHECK_FAILED) is failed
    assert result.value.tolist() == pytest.approx([0.5 / observed])


def test_a_failed_check_touches_the_readings_up_to_its_neighbours() -> None:
    facts = ChannelFacts(warm_up_s=0, resolution=0.01)
    checks = zero(0, 0.0), zero(2 * HOUR_MS, 0.05), zero(4 * HOUR_MS, 0.0)
    at = [HOUR_MS * n // 2 for n in range(-1, 11)]
    result = run([0.5] * len(at), at, *checks, facts=facts)
    failed = [t / HOUR_MS for t, flag in zip(at, result.flags, strict=True) if flag & Flag.FIELD_CHECK_FAILED]
    assert failed == [0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5]


def test_a_dead_sensor_fails_its_span_check_and_divides_nothing() -> None:
    result = run([0.5, 0.5], [MINUTE_MS, HOUR_MS], span(0, 1.25), zero(0, 0.0), span(HOUR_MS, 0.0))
    assert result.span.tolist() == [1.25, 1.25]
    assert all(flag & Flag.FIELD_CHECK_FAILED for flag in result.flags)
    alone = run(0.5, 0, zero(0, 0.1), span(0, 0.1))
    assert alone.span.tolist() == [1.0]
    assert alone.value.tolist() == pytest.approx([0.4])


@pytest.mark.parametrize(
    ("needs", "checks", "missing"),
    [
        ({"zero"}, (), True),
        ({"zero"}, (zero(0, 0.0),), False),
        ({"zero"}, (span(0, 1.0),), True),
        ({"zero", "span"}, (zero(0, 0.0),), True),
        ({"zero", "span"}, (zero(0, 0.0), span(0, 1.0)), False),
        (set(), (), False),
    ],
)
def test_a_channel_misses_the_checks_it_needs(needs: set[Kind], checks: tuple[Check, ...], missing: bool) -> None:
    result = run(0.5, HOUR_MS, *checks, facts=ChannelFacts(warm_up_s=0, needs=frozenset(needs)))
    assert result.flags.tolist() == [Flag.FIELD_CHECK_MISSING if missing else 0]


def test_a_check_of_long_ago_is_a_missing_one() -> None:
    facts = ChannelFacts(warm_up_s=0, check_every_s=8 * 3600)
    result = run([0.5] * 4, [-9 * HOUR_MS, -8 * HOUR_MS, 8 * HOUR_MS, 9 * HOUR_MS], zero(0, 0.0), facts=facts)
    assert [bool(flag & Flag.FIELD_CHECK_MISSING) for flag in result.flags] == [True, False, False, True]


def test_a_calibration_is_overdue_from_its_due_time() -> None:
    chain = Chain(PLAIN, (), (CalibrationLine(START, due_utc_ms=START + DAY_MS),))
    result = correct([START, START + DAY_MS - 1, START + DAY_MS], [1, 1, 1], chain)
    assert result.flags.tolist() == [0, 0, Flag.CALIBRATION_OVERDUE]


# --- flags of the visit -----------------------------------------------------------------------------------------------


def flagged(
    flag: Flag,
    at: list[int],
    facts: ChannelFacts,
    deployed: int | None = None,
    represents: StampConventions = StampConvention.SPOT,
) -> list[int]:
    """Which of the times ``at`` (seconds) are flagged."""
    times = START + SECOND_MS * np.array(at)
    chain = Chain(facts, (), IN_FORCE)
    extra = {} if deployed is None else {"standing_ms": np.int64(START + deployed * SECOND_MS)}
    result = correct(times, 1.0, chain, represents=represents, **extra)
    return [t for t, found in zip(at, result.flags, strict=True) if found & flag]


def test_warming_up_from_switching_on_and_again_after_a_gap() -> None:
    facts = ChannelFacts(interval_s=30, warm_up_s=60)
    at = [0, 30, 60, 90, 180, 271, 301, 331]  # 90 → 180 is three intervals, 180 → 271 is more
    assert flagged(Flag.WARMING_UP, at, facts) == [0, 30, 271, 301]


@pytest.mark.parametrize(
    ("t90", "interval", "last"),
    [(40, 30, 90), (40, 10, 110), (None, 30, 0), (5, 30, 0)],
)
def test_settling_for_three_t90_but_at_least_one_interval(t90: float | None, interval: int, last: int) -> None:
    """120 s after T90 = 40 s, half-open; where T90 is short or unknown, one interval."""
    facts = ChannelFacts(interval_s=interval, warm_up_s=0, t90_s=t90)
    at = list(range(-interval, 300, interval))
    assert flagged(Flag.SETTLING, at, facts, deployed=0)[-1] == last


def test_only_readings_in_a_deployment_settle() -> None:
    facts = ChannelFacts(interval_s=30, warm_up_s=0, t90_s=40)
    assert flagged(Flag.SETTLING, [0, 30], facts) == []


def test_a_mean_settles_until_all_of_its_interval_is_settled() -> None:
    """Stamped at its end, a 60-s mean at 150 s began at 90 s, before the 120 s are over."""
    facts = ChannelFacts(interval_s=60, warm_up_s=0, t90_s=40)
    assert flagged(Flag.SETTLING, [90, 150, 180, 240], facts, deployed=0, represents=StampConvention.END) == [90, 150]
    ends, starts = CONVENTIONS.index(StampConvention.END), CONVENTIONS.index(StampConvention.START)
    mixed = np.array([ends, ends, starts, starts], dtype=np.int8)  # the third begins at its stamp, on the second 120
    assert flagged(Flag.SETTLING, [90, 150, 119, 120], facts, deployed=0, represents=mixed) == [90, 150, 119]


def test_below_detection_is_judged_on_the_net_signal() -> None:
    facts = ChannelFacts(warm_up_s=0, needs=frozenset(), detection_limit=0.01, range_low=0.0)
    result = run([0.02, 0.03, 0.025, -0.001], [0, 1, 2, 3], zero(0, 0.02), facts=facts)
    assert [bool(flag & Flag.BELOW_DETECTION) for flag in result.flags] == [True, False, True, True]


def test_a_full_meter_may_stand_for_more() -> None:
    facts = ChannelFacts(warm_up_s=0, needs=frozenset(), range_high=5.0)
    result = run([4.99, 5.0, 5.2], [0, 1, 2], facts=facts)
    assert result.flags.tolist() == [0, Flag.OVER_RANGE, Flag.OVER_RANGE]


def test_outside_the_instruments_conditions() -> None:
    facts = ChannelFacts(warm_up_s=0, needs=frozenset(), temperature_low_c=0, temperature_high_c=40, humidity_high=90)
    times = START + np.arange(4)
    chain = Chain(facts, (), IN_FORCE)
    result = correct(times, 1.0, chain, temperature_c=[-0.1, 0, 40, np.nan], humidity=[50, 91, 90, 5])
    assert result.flags.tolist() == [Flag.OUTSIDE_CONDITIONS, Flag.OUTSIDE_CONDITIONS, 0, 0]


def test_flags_add_and_never_delete() -> None:
    before = int(Flag.EXCLUDED | Flag.CLOCK_DOUBTFUL | Flag.BELOW_DETECTION)
    result = correct([START], [0.5], Chain(ChannelFacts(), (), ()), flags=[before], standing_ms=START)
    added = Flag.WARMING_UP | Flag.SETTLING | Flag.CALIBRATION_OVERDUE | Flag.FIELD_CHECK_MISSING
    assert result.flags.tolist() == [before | added]


# --- for people -------------------------------------------------------------------------------------------------------


def test_the_chain_of_one_reading_step_by_step() -> None:
    """K-12 again, as a second professional would retrace it."""
    checks = zero(0, 0.0), span(0, 1.0), zero(8 * HOUR_MS, 0.02), span(8 * HOUR_MS, 0.98)
    stored, zeroed, spanned, calibrated, flags = explain_reading(run(0.500, 4 * HOUR_MS, *checks), 0)
    assert (stored.output, stored.inputs) == (0.5, ())
    assert zeroed.formula == "stored value − zero"
    assert [(i.name, i.value, i.at_utc_ms) for i in zeroed.inputs] == [
        ("stored value", 0.5, None),
        ("zero", 0.01, None),
        ("zero by the check", 0.0, START),
        ("zero by the check", 0.02, START + 8 * HOUR_MS),
    ]
    assert zeroed.output == pytest.approx(0.49)
    assert zeroed.note == "in a straight line between the zero checks before and after"
    assert spanned.output == calibrated.output == pytest.approx(0.5)
    assert calibrated.inputs[1].at_utc_ms == IN_FORCE[0].valid_from_utc_ms
    assert flags.note == "nothing"


def test_steps_say_what_was_not_there() -> None:
    late = explain_reading(run(0.5, HOUR_MS, zero(0, 0.01)), 0)
    assert late[1].note == "no zero check after this reading: the last one is held"
    assert late[2].note == "no span check: left as it is"
    early = explain_reading(run(0.5, -HOUR_MS, zero(0, 0.01)), 0)
    assert early[1].note == "no zero check before this reading: the first one is held"
    bare = explain_reading(correct([START], [np.nan], Chain(ChannelFacts(warm_up_s=0), (), ())), 0)
    assert bare[0].note == "no value"
    assert bare[3].note.startswith("no calibration on record")
    assert [step.output for step in bare] == [None] * 5
    assert "the logger stored an error or no value" in bare[4].note


@pytest.mark.parametrize("reference", [0.0, 0])
def test_a_span_check_needs_a_reference(reference: float) -> None:
    with pytest.raises(ValueError, match="other than zero"):
        Check(START, "span", reference, 1.0)


@pytest.mark.parametrize("slope", [0.0, -1.0, float("nan")])
def test_a_calibration_has_a_slope_above_zero(slope: float) -> None:
    with pytest.raises(ValueError, match="above zero"):
        CalibrationLine(START, slope)
