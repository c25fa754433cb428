"""Shift averages, longer shifts and rounding, held against regulations' own examples."""

from __future__ import annotations

import numpy as np
import pytest

from methods.averages import (
    Series,
    UnsampledTime,
    daily_shift_factor,
    half_up,
    shift_twa,
    truncate,
)
from methods.quantities.durations import HOUR_MS
from methods.quantities.flags import Flag
from methods.quantities.stamp_convention import StampConvention


def shift(values: list[float], end_hours: float = 8.0, flags: list[int] | None = None) -> Series:
    """Half-hourly means stamped at their ends."""
    n = len(values)
    return Series(
        np.arange(1, n + 1, dtype=np.int64) * (HOUR_MS // 2),
        np.array(values),
        np.array(flags or [0] * n, np.int16),
        HOUR_MS // 2,
        0,
        round(end_hours * HOUR_MS),
        StampConvention.END,
    )


class TestShiftAverage:
    """29 CFR 1910.1000(d)(1)(ii), T-01: 2 h at 150, 2 h at 75, 4 h at 50 ppm give 81.25 ppm."""

    T01 = [150.0] * 4 + [75.0] * 4 + [50.0] * 8

    def test_t01_from_a_log(self) -> None:
        found = shift_twa(shift(self.T01), 0, 8 * HOUR_MS)
        assert found is not None
        assert found.value == pytest.approx(81.25, abs=1e-9)
        assert found.assumption == "the whole shift was sampled"

    def test_unsampled_time_is_as_sampled_or_zero_and_says_so(self) -> None:
        data = shift(self.T01[:12])  # six of eight hours: 2 h at 150, 2 h at 75, 2 h at 50
        like, zero = shift_twa(data, 0, 8 * HOUR_MS, "as_sampled"), shift_twa(data, 0, 8 * HOUR_MS, UnsampledTime.ZERO)
        assert like is not None
        assert zero is not None
        assert like.value == pytest.approx(550 / 6)
        assert zero.value == pytest.approx(550 / 8)
        assert (like.sampled_minutes, like.shift_minutes) == (360.0, 480.0)
        assert "like the sampled part" in like.assumption
        assert "free of exposure" in zero.assumption

    def test_a_longer_shift_weighs_more_than_its_mean(self) -> None:
        found = shift_twa(shift([10.0] * 24, 12.0), 0, 12 * HOUR_MS)
        assert found is not None
        assert found.value == pytest.approx(15.0)

    def test_below_detection_and_over_range(self) -> None:
        flags = [int(Flag.BELOW_DETECTION)] * 8 + [0] * 7 + [int(Flag.OVER_RANGE)]
        found = shift_twa(shift([1.0] * 8 + [3.0] * 8, flags=flags), 0, 8 * HOUR_MS)
        assert found is not None
        assert (found.lower, found.upper) == (1.5, 2.0)
        assert found.is_lower_bound

    def test_an_unknown_assumption_is_refused_and_nothing_gives_nothing(self) -> None:
        with pytest.raises(ValueError, match="perhaps"):
            shift_twa(shift([1.0]), 0, HOUR_MS, "perhaps")
        assert shift_twa(shift([1.0]), 2 * HOUR_MS, 3 * HOUR_MS) is None


@pytest.mark.parametrize(("hours", "factor"), [(8, 1), (10, 0.7), (12, 0.5), (16, 0.25)])
def test_t06_longer_days(hours: float, factor: float) -> None:
    """Brief and Scala's daily reduction factor, T-06 (8 h and 12 h seen, the others from the formula)."""
    assert daily_shift_factor(hours) == pytest.approx(factor, abs=1e-9)


@pytest.mark.parametrize(("hours", "limit"), [(8, 50.0), (10, 40.0), (12, 33.3)])
def test_t08_lead(hours: float, limit: float) -> None:
    """29 CFR 1910.1025(c)(2), T-08: 400/h µg/m³ over a longer day is 50 µg/m³ over eight hours, as T-01 weights."""
    found = shift_twa(shift([limit] * round(2 * hours), hours), 0, round(hours * HOUR_MS))
    assert found is not None
    assert found.value == pytest.approx(50.0, abs=0.05 * hours / 8)


def test_a_short_shift_never_raises_a_limit() -> None:
    assert daily_shift_factor(4) == 1.0


def test_an_impossible_shift_is_refused() -> None:
    with pytest.raises(ValueError, match="more than 0"):
        daily_shift_factor(0)


class TestRounding:
    @pytest.mark.parametrize(("x", "rounded"), [(9.4, 9), (9.5, 10), (8.5, 9), (34.5, 35), (35.5, 36)])
    def test_r03_halves_go_up(self, x: float, rounded: int) -> None:
        """40 CFR 50.8(d), R-03. Python's own round() fails at 8.5 and 34.5."""
        assert half_up(x) == rounded

    def test_the_bankers_trap_is_real(self) -> None:
        assert (round(8.5), round(34.5)) == (8, 34)

    @pytest.mark.parametrize("x", [1e26, -1e30, 1.7e308, float("inf")])
    def test_large_numbers_have_nothing_to_round(self, x: float) -> None:
        assert half_up(x, 2) == truncate(x, 2) == x

    @pytest.mark.parametrize(("x", "cut"), [(0.0709, 0.070), (0.0710, 0.071), (0.07099999, 0.070)])
    def test_r05_ozone_is_truncated(self, x: float, cut: float) -> None:
        """40 CFR 50 App. I §2.1.1, R-04 and R-05."""
        assert truncate(x, 3) == cut
        assert half_up(0.0709, 3) == 0.071

    def test_binary_noise_does_not_decide(self) -> None:
        assert truncate(0.1 * 0.71, 3) == truncate(0.071, 3) == 0.071
        assert half_up(9.499999999999998) == 10
        assert truncate(0.07099999999999999, 3) == 0.071

    def test_decimals_and_signs(self) -> None:
        assert half_up(1.25, 1) == 1.3
        assert half_up(-0.5) == -1
        assert truncate(-0.79, 1) == -0.7
        assert half_up(1234.0, -2) == 1200.0
