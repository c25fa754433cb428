"""Blocks, joined deployments and the highest single reading (docs/methods/averages.md)."""

from __future__ import annotations

import numpy as np
import pytest

from methods.averages import blocks, ceiling, joined, worst_window
from methods.quantities.durations import MINUTE_MS
from methods.quantities.flags import Flag
from methods.quantities.stamp_convention import StampConvention
from tests.methods.series_samples import series


class TestBlocks:
    def test_whole_hours_from_a_ragged_start(self) -> None:
        data = series([float(m) for m in range(50, 200)], [float(m // 60) for m in range(50, 200)], start=50, end=200)
        found = blocks(data, 60, origin_ms=0)
        assert [(b.start_ms // MINUTE_MS, b.end_ms // MINUTE_MS) for b in found] == [(60, 120), (120, 180)]
        assert [round(b.mean, 2) for b in found] == [1.01, 2.01]  # half a minute of the next hour's first reading

    def test_agree_with_a_reference_library(self) -> None:
        import pandas as pd

        rng = np.random.default_rng(8)
        values = rng.normal(400, 50, 600)
        data = series([float(m + 1) for m in range(600)], list(values), end=600, represents=StampConvention.END)
        expected = pd.Series(values).groupby(np.arange(600) // 15).mean()
        assert [b.mean for b in blocks(data, 15)] == pytest.approx(list(expected))

    def test_an_incomplete_block_is_missing(self) -> None:
        stamps = [float(m + 1) for m in range(30) if not 10 <= m < 20]
        data = series(stamps, [1.0] * 20, end=30, represents=StampConvention.END)
        assert [b.start_ms // MINUTE_MS for b in blocks(data, 10)] == [0, 20]


class TestJoined:
    def test_consecutive_deployments_at_a_point_make_one_series(self) -> None:
        one = series([float(m) for m in range(20)], [1.0] * 20, end=20)
        two = series([float(m) for m in range(20, 40)], [3.0] * 20, start=20, end=40)
        assert worst_window(one, 30) is None
        found = worst_window(joined([two, one]), 30)
        assert found is not None
        assert found.covered_minutes == pytest.approx(29.5)  # the last spot value stands for half a minute beyond it
        assert found.mean == pytest.approx((9.5 * 1 + 20 * 3) / 29.5)

    def test_visits_apart_are_not_joined(self) -> None:
        one = series([float(m) for m in range(20)], [1.0] * 20, end=20)
        later = series([float(m) for m in range(60, 80)], [1.0] * 20, start=60, end=80)
        with pytest.raises(ValueError, match="follow"):
            joined([one, later])

    def test_other_kinds_of_value_are_not_joined(self) -> None:
        one = series([1.0], [1.0], end=2)
        two = series([3.0], [1.0], start=2, end=4, represents=StampConvention.END)
        with pytest.raises(ValueError, match="stands for"):
            joined([one, two])
        with pytest.raises(ValueError, match="nothing"):
            joined([])


class TestHighestReading:
    def test_never_says_complies(self) -> None:
        found = ceiling(series([0, 1, 2], [0.1, 0.3, 0.2]))
        assert found is not None
        assert (found.value, found.index) == (0.3, 1)
        assert found.words == "not seen above 0.3 at this logging interval (60 s)"

    def test_says_when_the_range_was_left(self) -> None:
        found = ceiling(series([0, 1], [0.1, 5.0], flags=[0, int(Flag.OVER_RANGE)]))
        assert found is not None
        assert found.is_lower_bound
        assert "over range" in found.words

    def test_a_measured_value_says_more_than_the_same_below_detection(self) -> None:
        found = ceiling(series([0, 1], [0.01, 0.01], flags=[int(Flag.BELOW_DETECTION), 0]))
        assert found is not None
        assert found.index == 1
        assert (found.lower, found.upper) == (0.01, 0.01)

    def test_bounds_where_the_highest_is_below_detection(self) -> None:
        found = ceiling(series([0, 1], [0.02, 0.01], flags=[int(Flag.BELOW_DETECTION), 0]))
        assert found is not None
        assert (found.index, found.lower, found.upper) == (0, 0.01, 0.02)

    def test_the_lowest_reading(self) -> None:
        found = ceiling(series([0, 1, 2], [20.0, 17.5, 50.0], flags=[0, 0, int(Flag.OVER_RANGE)]), lowest=True)
        assert found is not None
        assert (found.value, found.index, found.is_lower_bound) == (17.5, 1, False)
        assert found.words.startswith("not seen below 17.5")
