"""Time-weighted means, rolling windows and blocks, held against published rules and brute force.

Method: docs/methods/averages.md.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import inf
from time import perf_counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.averages import (
    Series,
    best_coverage,
    blocks,
    ceiling,
    whole,
    window,
    worst_window,
)
from methods.quantities.durations import HOUR_MS, MINUTE_MS
from methods.quantities.flags import Flag
from methods.quantities.stamp_convention import StampConvention
from tests.methods.series_samples import series


def hourly(values: list[float | None]) -> Series:
    """Hourly means stamped at their ends; None is a missing hour."""
    kept = [(60.0 * (k + 1), value) for k, value in enumerate(values) if value is not None]
    return series(
        [t for t, _ in kept],
        [v for _, v in kept],
        interval=60.0,
        end=60.0 * len(values),
        represents=StampConvention.END,
    )


class TestCompleteness:
    """Directive 2008/50/EC Annex VII A.2 and 40 CFR 50.8(c): R-01, R-02, and the cases R-07 to R-09."""

    def test_r07_two_of_eight_hours_missing(self) -> None:
        found = worst_window(hourly([8, 9, 10, None, None, 11, 12, 10]), 480)
        assert found is not None
        assert found.mean == pytest.approx(10.0, abs=1e-12)
        assert found.coverage == pytest.approx(0.75)

    def test_r08_three_of_eight_hours_missing(self) -> None:
        assert worst_window(hourly([8, 9, 10, None, None, None, 11, 12]), 480) is None

    @pytest.mark.parametrize(("missing", "valid"), [(15, True), (16, False)])
    def test_r09_minutes_of_an_hour(self, missing: int, valid: bool) -> None:
        stamps = [float(m + 1) for m in range(60) if not 20 <= m < 20 + missing]
        one_minute = series(stamps, [1.0] * len(stamps), end=60.0, represents=StampConvention.END)
        assert (worst_window(one_minute, 60) is not None) is valid
        assert (len(blocks(one_minute, 60)) == 1) is valid

    @pytest.mark.parametrize(("present", "valid"), [(18, True), (17, False)])
    def test_r01_hours_of_a_day(self, present: int, valid: bool) -> None:
        hours: list[float | None] = [20.0] * present + [None] * (24 - present)
        found = worst_window(hourly(hours), 24 * 60)
        assert (found is not None) is valid


class TestWhatReadingsStandFor:
    def test_a_spot_value_stands_for_half_the_gap_to_each_neighbour(self) -> None:
        # 0 and 2 min apart by two intervals (bridged), then a gap of three (not bridged).
        found = whole(series([10, 12, 15], [1.0, 2.0, 4.0], end=30))
        assert found is not None
        # 10: 9.5–11 (1.5 min), 12: 11–12.5 (1.5 min), 15: 14.5–15.5 (1 min)
        assert found.covered_minutes == pytest.approx(4.0)
        assert found.mean == pytest.approx((1.5 * 1 + 1.5 * 2 + 1 * 4) / 4)

    def test_a_logged_mean_stands_for_its_interval_only(self) -> None:
        for represents, lo in ((StampConvention.END, 0), (StampConvention.START, 1), (StampConvention.MIDDLE, 0.5)):
            cells = series([1, 2, 4], [1.0, 2.0, 3.0], end=10, represents=represents).cells
            assert list(cells.lo / MINUTE_MS) == [lo, lo + 1, lo + 3]
            assert list(cells.hi / MINUTE_MS) == [lo + 1, lo + 2, lo + 4]

    def test_stretches_are_cut_to_the_deployment(self) -> None:
        cells = series([0, 1, 2], [1.0, 2.0, 3.0], start=0.25, end=2.1).cells
        assert list(cells.lo / MINUTE_MS) == [0.25, 0.5, 1.5]
        assert list(cells.hi / MINUTE_MS) == [0.5, 1.5, 2.1]

    def test_excluded_and_missing_readings_stand_for_nothing_but_keep_their_place(self) -> None:
        found = whole(
            series(
                [0, 1, 2, 3, 4],
                [9.0, 1.0, float("nan"), 3.0, 7.0],
                start=-0.5,
                end=4.5,
                flags=[Flag.SETTLING, 0, 0, 0, Flag.EXCLUDED],
                represents=StampConvention.MIDDLE,
            )
        )
        assert found is not None
        assert (found.mean, found.n, found.first, found.last) == (2.0, 2, 1, 3)
        assert found.coverage == pytest.approx(2 / 5)

    def test_flags_that_do_not_exclude_leave_the_mean_alone(self) -> None:
        flags = [Flag.CALIBRATION_OVERDUE, Flag.OUTSIDE_CONDITIONS, Flag.FIELD_CHECK_MISSING]
        found = whole(series([0, 1, 2], [1.0, 2.0, 3.0], start=-0.5, end=2.5, flags=list(map(int, flags))))
        assert found is not None
        assert (found.mean, found.n) == (2.0, 3)

    def test_negative_values_are_kept(self) -> None:
        found = whole(series([0, 1], [-0.02, 0.04], start=-0.5, end=1.5))
        assert found is not None
        assert found.mean == pytest.approx(0.01)

    def test_a_constant_series_has_exactly_its_constant_as_mean(self) -> None:
        found = worst_window(series(list(map(float, range(500))), [0.08] * 500), 30)
        assert found is not None
        assert found.mean == 0.08

    @settings(deadline=None)
    @given(st.lists(st.integers(0, 400), min_size=1, max_size=40), st.sampled_from(StampConvention))
    def test_stretches_never_overlap(self, gaps: list[int], represents: StampConvention) -> None:
        t = np.cumsum(np.array(gaps, np.int64)) * 1000
        cells = Series(
            t, np.ones(len(t)), np.zeros(len(t), np.int16), MINUTE_MS, -HOUR_MS, 100 * HOUR_MS, represents
        ).cells
        assert np.all(cells.hi > cells.lo)
        assert np.all(cells.lo[1:] >= cells.hi[:-1])
        assert np.all(cells.hi - cells.lo <= 2 * MINUTE_MS)

    @pytest.mark.parametrize(
        ("changes", "message"),
        [
            ({"interval_ms": 0}, "interval"),
            ({"end_ms": 0}, "end"),
            ({"value": np.zeros(3)}, "equal length"),
            ({"utc_ms": np.array([5, 4], np.int64)}, "backwards"),
        ],
    )
    def test_impossible_series_are_refused(self, changes: dict[str, object], message: str) -> None:
        good = {
            "utc_ms": np.array([0, 1], np.int64),
            "value": np.zeros(2),
            "flags": np.zeros(2, np.int16),
            "interval_ms": 1,
            "start_ms": 0,
            "end_ms": 2,
        }
        with pytest.raises(ValueError, match=message):
            Series(**(good | changes))  # type: ignore[arg-type]


def by_plain_loops(data: Series, minutes: float, ends: Iterable[int]) -> list[float]:
    """Means of the windows that end at ``ends``, lie inside the deployment and hold enough."""
    length = round(minutes * MINUTE_MS)
    cells = list(zip(data.cells.lo.tolist(), data.cells.hi.tolist(), data.cells.value.tolist(), strict=True))
    means = []
    for end in ends:
        begin = end - length
        held = [(min(hi, end) - max(lo, begin), v) for lo, hi, v in cells if hi > begin and lo < end]
        covered = sum(part for part, _ in held)
        if begin >= data.start_ms and end <= data.end_ms and covered >= 0.75 * length and len(held) > 2:
            means.append(sum(part * v for part, v in held) / covered)
    return means


def every_edge(data: Series, minutes: float) -> set[int]:
    edges = {*data.cells.lo.tolist(), *data.cells.hi.tolist(), data.start_ms, data.end_ms}
    return edges | {edge + round(minutes * MINUTE_MS) for edge in edges}


class TestWorstWindow:
    @settings(max_examples=80, deadline=None)
    @given(
        st.lists(st.tuples(st.integers(1, 200), st.floats(-1, 100)), min_size=3, max_size=60),
        st.sampled_from(StampConvention),
        st.sampled_from([3.0, 10.0, 17.5]),
    )
    def test_agrees_with_plain_loops(
        self, rows: list[tuple[int, float]], represents: StampConvention, minutes: float
    ) -> None:
        t = np.cumsum(np.array([gap for gap, _ in rows], np.int64)) * 1000
        values = np.array([value for _, value in rows])
        data = Series(t, values, np.zeros(len(t), np.int16), MINUTE_MS, 0, int(t[-1]) + MINUTE_MS, represents)
        at_edges = by_plain_loops(data, minutes, every_edge(data, minutes))
        worst = worst_window(data, minutes)
        if worst is None:
            assert not at_edges
        else:
            assert by_plain_loops(data, minutes, [worst.end_ms]) == [pytest.approx(worst.mean, abs=1e-9)]
            assert worst.mean >= max(at_edges, default=-inf) - 1e-9
            assert worst.minutes == minutes

    def test_agrees_with_a_reference_library_on_regular_data(self) -> None:
        """pandas' trailing rolling mean over one-minute means stamped at their ends."""
        import pandas as pd

        rng = np.random.default_rng(20240611)
        values = rng.lognormal(-3, 0.6, 2000)
        data = series(list(map(float, range(1, 2001))), list(values), end=2000, represents=StampConvention.END)
        rolling = pd.Series(values).rolling(30).mean()
        found = worst_window(data, 30)
        assert found is not None
        assert found.mean == pytest.approx(float(rolling.max()), rel=1e-12)
        assert found.last == int(np.nanargmax(rolling.to_numpy()))
        assert found.first == found.last - 29
        assert found.n == 30

    def test_a_visit_exactly_as_long_as_the_window_has_one(self) -> None:
        data = series([m + 0.2 for m in range(30)], [1.0] * 30, end=30)
        found = worst_window(data, 30)
        assert found is not None
        assert (found.start_ms, found.end_ms) == (0, 30 * MINUTE_MS)

    def test_a_visit_shorter_than_the_window_has_none(self) -> None:
        assert worst_window(series([m + 0.2 for m in range(29)], [1.0] * 29, end=29.9), 30) is None

    def test_settling_time_counts_against_coverage(self) -> None:
        def visit(settling: int) -> Series:
            flags = [int(Flag.SETTLING)] * settling + [0] * (30 - settling)
            return series([m + 0.5 for m in range(30)], [1.0] * 30, end=30, flags=flags)

        assert worst_window(visit(7), 30) is not None
        assert worst_window(visit(8), 30) is None

    def test_at_least_three_readings(self) -> None:
        two = series([5.0, 15.0], [1.0, 1.0], interval=10, end=20)
        assert worst_window(two, 20) is None
        assert worst_window(two, 20, min_readings=2) is not None

    def test_the_lowest_window_for_limits_that_must_not_be_undercut(self) -> None:
        over = [0] * 9 + [int(Flag.OVER_RANGE)]
        data = series(list(map(float, range(10))), [20, 20, 17, 16, 17, 20, 21, 22, 22, 22], interval=1, flags=over)
        low, high = worst_window(data, 3, lowest=True), worst_window(data, 3)
        assert low is not None
        assert high is not None
        assert low.mean == pytest.approx(50 / 3)
        assert not low.is_lower_bound
        assert high.mean == pytest.approx(22)
        assert high.is_lower_bound

    def test_the_earliest_of_equal_windows(self) -> None:
        found = worst_window(series(list(map(float, range(60))), [0.1 + 0.2] * 60), 15)
        assert found is not None
        assert found.start_ms == 0

    def test_indices_lead_back_to_the_readings(self) -> None:
        values = [1.0] * 20 + [5.0] * 10 + [1.0] * 20
        found = worst_window(series([float(m + 1) for m in range(50)], values, represents=StampConvention.END), 10)
        assert found is not None
        assert (found.first, found.last) == (20, 29)
        assert found.mean == 5.0

    def test_two_million_readings_in_well_under_a_second_per_pass(self) -> None:
        n = 2_000_000
        rng = np.random.default_rng(5)
        data = Series(
            np.arange(n, dtype=np.int64) * MINUTE_MS,
            rng.normal(50, 10, n),
            np.zeros(n, np.int16),
            MINUTE_MS,
            -MINUTE_MS,
            n * MINUTE_MS,
        )
        data.cells  # noqa: B018 - shared by every criterion of the deployment, so timed apart
        begin = perf_counter()
        found = worst_window(data, 30)
        took = perf_counter() - begin
        assert found is not None
        assert found.mean > 55
        assert took < 4.0  # 0.4 s on an idle core; the machine that runs tests may be busy

    def test_nothing_to_average(self) -> None:
        empty = Series(np.zeros(0, np.int64), np.zeros(0), np.zeros(0, np.int16), MINUTE_MS, 0, HOUR_MS)
        assert worst_window(empty, 30) is None
        assert whole(empty) is None
        assert blocks(empty, 15) == []
        assert ceiling(empty) is None
        assert best_coverage(empty, 30) == (0.0, 0)

    def test_the_best_covered_window_is_not_the_one_with_most_readings(self) -> None:
        stamps = [0.1 * m for m in range(50)] + [m + 0.5 for m in range(20, 40)]
        data = series(stamps, [1.0] * 70, end=40, represents=StampConvention.END)
        assert best_coverage(data, 10) == (10.0, 10)

    def test_a_window_without_length_is_refused(self) -> None:
        data = series([1.0], [1.0])
        with pytest.raises(ValueError, match="longer than nothing"):
            worst_window(data, 0)
        with pytest.raises(ValueError, match="after it starts"):
            window(data, 5, 5)


class TestBelowDetectionAndOverRange:
    def test_the_mean_is_bounded_not_guessed(self) -> None:
        """docs/methods/nondetects.md: readings below detection at zero, and at their limit."""
        flags = [int(Flag.BELOW_DETECTION)] * 20 + [0] * 10
        found = worst_window(series([m + 0.5 for m in range(30)], [0.01] * 20 + [0.04] * 10, end=30, flags=flags), 30)
        assert found is not None
        assert found.lower == pytest.approx(0.04 * 10 / 30)
        assert found.upper == pytest.approx((0.01 * 20 + 0.04 * 10) / 30)
        assert found.mean == found.upper
        assert found.is_censored

    def test_bounds_are_those_of_the_worst_mean_even_from_two_windows(self) -> None:
        # 0–10: one high reading among "<1"; 10–20: all measured. Highest upper bound in the first, lower in the second.
        values = [30.0] + [1.0] * 9 + [3.5] * 10
        flags = [0] + [int(Flag.BELOW_DETECTION)] * 9 + [0] * 10
        found = worst_window(series([m + 0.5 for m in range(20)], values, end=20, flags=flags), 10)
        assert found is not None
        assert found.upper == pytest.approx(3.9)
        assert found.lower == pytest.approx(3.5)
        assert (found.first, found.last) == (0, 9)

    def test_over_range_makes_a_lower_bound(self) -> None:
        values, flags = [1.0] * 9 + [5.0], [0] * 9 + [int(Flag.OVER_RANGE)]
        found = worst_window(series([m + 0.5 for m in range(10)], values, end=10, flags=flags), 5)
        assert found is not None
        assert found.is_lower_bound
        assert not found.is_censored

    def test_over_range_outside_every_accepted_window_says_nothing_of_the_worst_one(self) -> None:
        stamps = [m + 0.5 for m in range(20)] + [40.5]
        flags = [0] * 20 + [int(Flag.OVER_RANGE)]
        found = worst_window(series(stamps, [1.0] * 20 + [5.0], end=41, flags=flags), 10)
        assert found is not None
        assert not found.is_lower_bound
