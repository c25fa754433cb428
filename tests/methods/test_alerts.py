"""Alert levels: the rows of the file, and when readings have reached one."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from methods.alerts import AlertAveraging, AlertRule, ReachedLevel, load_levels, reached
from methods.alerts.levels import DATA, AlertDataError, read_levels
from methods.averages import Series
from methods.averages.windows import worst_window
from methods.quantities.durations import MINUTE_MS
from methods.quantities.flags import Flag
from tests.methods.series_samples import series

ANY = AlertRule(300, AlertAveraging.ANY)
MEAN_15 = AlertRule(2, AlertAveraging.MEAN, 15)
SUSTAINED_10 = AlertRule(100, AlertAveraging.SUSTAINED, 10)

#: Transcribed a second time. Of the texts behind them none was at hand (from memory).
WANTED = {
    "CO-SUSTAINED-30": ("co", 30, "ppm", "sustained", 120),
    "CO-ALARM-50": ("co", 50, "ppm", "sustained", 60),  # EN 50291-1: 60 to 90 min
    "CO-ALARM-100": ("co", 100, "ppm", "sustained", 10),  # EN 50291-1: 10 to 40 min
    "CO-ALARM-300": ("co", 300, "ppm", "any", 0),  # EN 50291-1: less than 3 min
    "CO-WHO-15M": ("co", 100, "mg/m³", "mean", 15),  # WHO 2010, indoor air
    "HCHO-STEL-2": ("formaldehyde", 2, "ppm", "mean", 15),  # 29 CFR 1910.1048
    "CO2-5000": ("co2", 5000, "ppm", "any", 0),  # one reading: project rule
    "RADON-1000": ("radon", 1000, "Bq/m³", "mean", 2880),  # two days: project rule
}


def minutely(*values: float, flags: list[int] | None = None) -> Series:
    return series(list(map(float, range(len(values)))), list(values), flags=flags)


class TestTheFile:
    def test_holds_each_level_as_it_was_asked_for(self) -> None:
        rows = load_levels()
        assert {
            code: (row.parameter, row.rule.value, row.unit, row.rule.averaging.value, row.rule.minutes)
            for code, row in rows.items()
        } == WANTED

    def test_nothing_is_claimed_to_have_been_seen(self) -> None:
        assert {row.confidence for row in load_levels().values()} == {"M"}

    def test_words(self) -> None:
        rows = load_levels()
        assert rows["HCHO-STEL-2"].words == "above 2 ppm as mean of 15 min"
        assert rows["CO-SUSTAINED-30"].words == "above 30 ppm without a break for 2 h"
        assert rows["CO-ALARM-300"].words == "above 300 ppm, one reading is enough"

    @pytest.mark.parametrize("name", ["code", "parameter", "value", "unit", "averaging", "minutes", "advice", "source"])
    def test_a_row_that_says_less_stops_the_program(self, name: str) -> None:
        first, second = DATA.read_text("utf-8").split("[[level]]")[1:3]
        row = "\n".join(line for line in second.splitlines() if not line.startswith(f"{name} ="))
        with pytest.raises(AlertDataError):
            read_levels(f"[[level]]{first}[[level]]{row}")

    @pytest.mark.parametrize(
        ("before", "after", "field"),
        [
            ('parameter = "co"', 'parameter = "soot"', "parameter"),
            ('unit = "ppm"', 'unit = "Bq/m³"', "unit"),
            ('unit = "ppm"', 'unit = "mg/m³"', "temperature_c"),
            ("minutes = 120", "minutes = 0", "averaging"),
            ('averaging = "sustained"', 'averaging = "any"', "averaging"),
            ("value = 30", "value = 0", "averaging"),
            ('confidence = "M"', 'confidence = "certain"', "confidence"),
            ("value = 30", 'value = 30\nceiling = "no"', "ceiling"),
        ],
    )
    def test_a_row_that_says_what_cannot_be_stops_it_too(self, before: str, after: str, field: str) -> None:
        row = "[[level]]" + DATA.read_text("utf-8").split("[[level]]")[1].replace(before, after)
        with pytest.raises(AlertDataError) as refused:
            read_levels(row)
        assert refused.value.field == field


class TestOneReading:
    def test_is_enough(self) -> None:
        (found,) = reached(minutely(1, 300, 301, 5), ANY)
        assert found == ReachedLevel(120_000, 90_000, 150_000, 2, 2, 301.0, False, 1.0, False)

    def test_at_the_level_is_not_above_it(self) -> None:
        assert reached(minutely(300, 300), ANY) == []

    def test_over_range_counts_wherever_the_range_ends(self) -> None:
        (found,) = reached(minutely(1, 50, 5, flags=[0, Flag.OVER_RANGE, 0]), ANY)
        assert (found.highest, found.is_at_least) == (50, True)

    def test_over_range_without_a_value_counts(self) -> None:
        (found,) = reached(minutely(1, np.nan, 5, flags=[0, Flag.OVER_RANGE, 0]), ANY)
        assert (found.highest, found.is_at_least) == (300, True)

    def test_errors_and_what_was_excluded_do_not_count(self) -> None:
        flags = [int(Flag.SENSOR_ERROR), int(Flag.EXCLUDED), int(Flag.BELOW_DETECTION)]
        assert reached(minutely(999, 999, 999, flags=flags), ANY) == []

    def test_an_hour_apart_is_another_event(self) -> None:
        quiet = [1.0] * 60
        assert len(reached(minutely(400, *quiet, 400), ANY)) == 1
        assert len(reached(minutely(400, *quiet, 1, 400), ANY)) == 2

    def test_nothing_was_logged(self) -> None:
        assert reached(minutely(np.nan), ANY) == []


class TestSustained:
    def test_for_as_long_as_it_says(self) -> None:
        (found,) = reached(minutely(*[0] * 20, *[150] * 10, *[0] * 20), SUSTAINED_10)
        assert (found.first, found.last, found.minutes, found.is_partial) == (20, 29, 10.0, False)
        assert found.reached_ms == found.end_ms

    def test_a_minute_less_is_no_alert(self) -> None:
        assert reached(minutely(*[0] * 20, *[150] * 9, *[0] * 20), SUSTAINED_10) == []

    def test_one_reading_below_breaks_it(self) -> None:
        assert reached(minutely(*[0] * 9, *[150] * 6, 99, *[150] * 6, *[0] * 9), SUSTAINED_10) == []

    def test_a_log_that_ends_above_after_a_quarter_of_the_time(self) -> None:
        """What came after nobody knows."""
        (found,) = reached(minutely(*[0] * 20, 150, 150, 150), SUSTAINED_10)
        assert (found.minutes, found.is_partial) == (3.0, True)
        assert reached(minutely(*[0] * 20, 150, 150), SUSTAINED_10) == []

    def test_a_gap_does_not_say_that_it_was_below(self) -> None:
        minutes = [*map(float, range(20)), 20.0, 21.0, 22.0, 29.0, 30.0, *map(float, range(31, 50))]
        values = [0.0] * 20 + [150.0] * 5 + [0.0] * 19
        (found,) = reached(series(minutes, values), SUSTAINED_10)
        assert (found.first, found.last, found.is_partial) == (20, 24, True)

    def test_an_error_of_the_logger_neither_breaks_nor_carries_it(self) -> None:
        values, flags = [0.0] * 5 + [150.0] * 12 + [0.0] * 5, [0] * 22
        values[10], flags[10] = np.nan, int(Flag.SENSOR_ERROR)
        (found,) = reached(minutely(*values, flags=flags), SUSTAINED_10)
        assert (found.first, found.last) == (5, 16)


class TestMean:
    def test_the_highest_is_the_worst_window_of_the_averages(self) -> None:
        air = minutely(*[0.1] * 30, *[3.0] * 15, *[0.1] * 30)
        (found,) = reached(air, MEAN_15)
        worst = worst_window(air, 15)
        assert worst is not None
        assert found.highest == pytest.approx(worst.mean)
        assert not found.is_partial
        assert 39.5 * MINUTE_MS == found.reached_ms < worst.end_ms

    def test_a_peak_of_five_minutes_in_a_long_log_is_none(self) -> None:
        assert reached(minutely(*[0.1] * 30, *[3.0] * 5, *[0.1] * 30), MEAN_15) == []

    def test_a_visit_of_five_minutes_speaks_for_itself(self) -> None:
        (found,) = reached(minutely(*[3.0] * 5), MEAN_15)
        assert found.highest == pytest.approx(3.0)
        assert found.is_partial

    def test_less_than_a_quarter_does_not(self) -> None:
        assert reached(minutely(*[3.0] * 3), MEAN_15) == []

    def test_unless_it_is_enough_for_the_whole(self) -> None:
        """31 ppm for a minute is a mean over 15 minutes of more than 2, whatever the other 14 were."""
        (found,) = reached(minutely(31.0), MEAN_15)
        assert found.highest == pytest.approx(31 / 15)
        assert reached(minutely(29.0), MEAN_15) == []

    def test_below_detection_is_above_nothing(self) -> None:
        assert reached(minutely(*[5.0] * 20, flags=[int(Flag.BELOW_DETECTION)] * 20), MEAN_15) == []

    def test_over_range_in_a_low_mean(self) -> None:
        flags = [0] * 40
        flags[20] = int(Flag.OVER_RANGE)
        (found,) = reached(minutely(*[0.1] * 20, 5.0, *[0.1] * 19, flags=flags), MEAN_15)
        assert (found.first, found.last, found.highest, found.is_at_least) == (20, 20, 5.0, True)


logged = st.lists(st.sampled_from([0.0, 1.0, 50.0, 99.0, 101.0, 200.0, 400.0]), min_size=1, max_size=80)
rules = st.sampled_from(
    [
        AlertRule(100, AlertAveraging.ANY),
        AlertRule(100, AlertAveraging.SUSTAINED, 10),
        AlertRule(100, AlertAveraging.MEAN, 15),
    ]
)
steps = st.lists(st.integers(min_value=1, max_value=9), min_size=80, max_size=80)


def uneven(values: list[float], gaps: list[int]) -> Series:
    """A reading a minute, with gaps of up to eight minutes where the step says so."""
    minutes = np.cumsum([1 if gap < 7 else gap for gap in gaps[: len(values)]]).astype(float)
    return series(minutes.tolist(), values)


def told(found: list[ReachedLevel]) -> set[int]:
    """Positions that belong to any event."""
    return {k for event in found for k in range(event.first, event.last + 1)}


@given(logged, steps, rules, st.integers(min_value=-(10**12), max_value=10**12))
def test_a_shift_of_time_changes_nothing_else(values: list[float], gaps: list[int], rule: AlertRule, by: int) -> None:
    air = uneven(values, gaps)
    moved = replace(air, utc_ms=air.utc_ms + by, start_ms=air.start_ms + by, end_ms=air.end_ms + by)
    back = [
        replace(e, reached_ms=e.reached_ms - by, start_ms=e.start_ms - by, end_ms=e.end_ms - by)
        for e in reached(moved, rule)
    ]
    assert back == reached(air, rule)


@given(logged, steps, rules, st.floats(min_value=1.0, max_value=4.0))
def test_a_higher_level_is_never_reached_sooner_or_more_often(
    values: list[float], gaps: list[int], rule: AlertRule, times: float
) -> None:
    air = uneven(values, gaps)
    low, high = reached(air, rule), reached(air, replace(rule, value=rule.value * times))
    if high:
        assert low
        assert low[0].reached_ms <= high[0].reached_ms
        assert max(e.highest for e in low) >= max(e.highest for e in high) - 1e-9
        starts = {k for e in high for k in (e.first, e.last)}
        assert starts <= told(low)


@given(logged, steps, rules)
def test_higher_air_reaches_what_lower_air_did(values: list[float], gaps: list[int], rule: AlertRule) -> None:
    low, high = uneven(values, gaps), uneven([value * 1.5 for value in values], gaps)
    assert {k for e in reached(low, rule) for k in (e.first, e.last)} <= told(reached(high, rule))


@given(logged, steps, rules)
def test_whatever_would_be_called_by_full_windows_is_an_alert(
    values: list[float], gaps: list[int], rule: AlertRule
) -> None:
    """Against the windows that results are judged by: the rule for alerts only adds to them."""
    air = uneven(values, gaps)
    if rule.averaging is not AlertAveraging.MEAN:
        return
    worst = worst_window(air, rule.minutes, min_readings=1)
    if worst is not None and worst.mean > rule.value + 1e-9:
        assert any(e.first <= worst.last and e.last >= worst.first for e in reached(air, rule))


@given(logged, steps, rules)
def test_events_are_in_order_and_apart(values: list[float], gaps: list[int], rule: AlertRule) -> None:
    found = reached(uneven(values, gaps), rule)
    for event in found:
        assert event.start_ms < event.end_ms
        assert event.start_ms <= event.reached_ms <= event.end_ms
        assert 0 < event.minutes <= (event.end_ms - event.start_ms) / MINUTE_MS + 1e-9
    for before, after in pairwise(found):
        assert before.last < after.first
        assert after.start_ms - before.end_ms >= 60 * MINUTE_MS
