"""Offset, drift and resets of a logger's clock. Sign: offset = true − shown, a slow clock has a positive one."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.clock import Basis, ClockModel, NotedCheck, Reset, resets
from methods.quantities.durations import DAY_MS, HOUR_MS, MINUTE_MS, SECOND_MS
from methods.quantities.flags import Flag
from methods.quantities.moments import stamp_ms, utc_ms

BERLIN = Basis.in_zone("Europe/Berlin")
DOUBTFUL = int(Flag.CLOCK_DOUBTFUL)


def wall(text: str) -> int:
    return stamp_ms(datetime.fromisoformat(text))


def utc(text: str) -> int:
    return utc_ms(datetime.fromisoformat(text).replace(tzinfo=UTC))


def check(true: str, shown: str) -> NotedCheck:
    return NotedCheck(utc(f"2024-06-03T{true}"), wall(f"2024-06-03T{shown}"))


def log(start: str, end: str, minutes: int = 1) -> list[int]:
    return list(range(wall(f"2024-06-03T{start}"), wall(f"2024-06-03T{end}"), minutes * MINUTE_MS))


# --- offset and drift -------------------------------------------------------------------------------------------------


def test_z15_a_clock_7_min_fast_moves_every_reading_by_minus_7_min() -> None:
    model = ClockModel(Basis.utc(), (check("08:00", "08:07"),))
    stamps = log("07:00", "18:00", 30)
    moments, flags = model.to_utc(stamps)
    assert (moments - stamps).tolist() == [-7 * MINUTE_MS] * len(stamps)
    assert [item.offset_ms for item in model.offsets()] == [-7 * MINUTE_MS]
    assert not flags.any()


def test_a_clock_61_min_slow_is_behind_true_time() -> None:
    """In local time: shown 09:00 in Berlin's summer is truly 10:01, which is 08:01 UTC."""
    model = ClockModel(BERLIN, (check("08:01", "09:00"),))
    assert model.offsets()[0].offset_ms == 61 * MINUTE_MS
    assert model.to_utc([wall("2024-06-03T09:00")])[0].tolist() == [utc("2024-06-03T08:01")]


def test_two_checks_make_a_straight_line_held_outside() -> None:
    """Offset 0 at 08:00 and +80 s at 16:00 (by the clock): 20 s at 10:00, 40 s at noon, nothing more after."""
    model = ClockModel(Basis.utc(), (check("16:01:20", "16:00"), check("08:00", "08:00")))
    stamps = np.array([wall(f"2024-06-03T{text}") for text in ("06:00", "08:00", "10:00", "12:00", "16:00", "20:00")])
    assert (model.to_utc(stamps)[0] - stamps).tolist() == [0, 0, 20_000, 40_000, 80_000, 80_000]


def test_three_checks_run_from_one_to_the_next() -> None:
    model = ClockModel(Basis.utc(), (check("08:00", "08:00"), check("10:01", "10:00"), check("12:01", "12:00")))
    stamps = np.array([wall(f"2024-06-03T{text}") for text in ("09:00", "11:00", "13:00")])
    assert (model.to_utc(stamps)[0] - stamps).tolist() == [30_000, 60_000, 60_000]


def test_residuals_tell_even_from_uneven_drift() -> None:
    even = ClockModel(Basis.utc(), tuple(NotedCheck(t + t // 1000, t) for t in (0, 10_000_000, 30_000_000)))
    assert [item.residual_ms for item in even.offsets()] == pytest.approx([0, 0, 0], abs=10)
    # least squares through (0, 0), (1, 60), (2, 0) is the level 20: residuals −20, 40, −20
    uneven = ClockModel(
        Basis.utc(), tuple(NotedCheck(h * HOUR_MS, h * HOUR_MS - d * SECOND_MS) for h, d in enumerate((0, 60, 0)))
    )
    assert [item.residual_ms for item in uneven.offsets()] == [-20_000, 40_000, -20_000]
    assert [item.residual_ms for item in ClockModel(Basis.utc(), uneven.checks[:2]).offsets()] == [0, 0]


@pytest.mark.parametrize(("true", "offset"), [("2024-10-27T00:31", 1), ("2024-10-27T01:29", -1)])
def test_a_check_in_a_repeated_hour_says_itself_which_pass_it_was(true: str, offset: int) -> None:
    """Z-03: 02:30 shown twice, at 00:30Z and 01:30Z."""
    model = ClockModel(BERLIN, (NotedCheck(utc(true), wall("2024-10-27T02:30")),))
    assert model.offsets()[0].offset_ms == offset * MINUTE_MS


@settings(deadline=None)
@given(
    offset=st.integers(-26 * HOUR_MS, 26 * HOUR_MS),
    rate=st.floats(-1e-4, 1e-4),
    basis=st.sampled_from([Basis.utc(), Basis.fixed(-210), BERLIN]),
    hours=st.lists(st.integers(0, 47), min_size=1, max_size=6, unique=True),
)
def test_an_evenly_drifting_clock_is_undone(offset: int, rate: float, basis: Basis, hours: list[int]) -> None:
    """Checks at both ends: every moment between comes back to the millisecond, ±2 for rounding."""
    start = utc("2024-06-03")
    truth = start + HOUR_MS * np.sort(np.array([0, *hours, 48]))
    shown = basis.from_utc(truth - offset - np.rint((truth - start) * rate).astype(np.int64))
    if 48 * HOUR_MS * abs(rate) > 2 * MINUTE_MS:
        rate = 0.0
        shown = basis.from_utc(truth - offset)
    model = ClockModel(basis, tuple(NotedCheck(int(truth[i]), int(shown[i])) for i in (0, -1)))
    moments, flags = model.to_utc(shown)
    np.testing.assert_allclose(moments, truth, rtol=0, atol=2)
    assert not flags.any()


def test_without_stamps_there_is_nothing() -> None:
    moments, flags = ClockModel(BERLIN, (check("08:00", "08:07"),)).to_utc([], [])
    assert moments.size == flags.size == 0


# --- several files ----------------------------------------------------------------------------------------------------


def test_the_step_between_two_files_is_no_clock_change_and_no_reset() -> None:
    stamps = [wall(f"2024-10-27T02:{minute:02d}") for minute in (10, 50, 5, 30)]
    assert not ClockModel(BERLIN).to_utc(stamps)[1].any()
    moments, flags = ClockModel(BERLIN).to_utc(stamps, [1, 1, 2, 2])
    assert flags.tolist() == [DOUBTFUL] * 4
    assert moments.tolist() == [stamp - 2 * HOUR_MS for stamp in stamps]
    assert not ClockModel(Basis.utc()).to_utc(stamps, [1, 1, 2, 2])[1].any()


def test_each_file_keeps_its_own_clock_change() -> None:
    """The memory was read twice, and the rows of both are interleaved: each file steps back once."""
    once = [wall(f"2024-10-27T{text}") for text in ("01:50", "02:20", "02:50", "02:20", "02:50", "03:20")]
    moments, flags = ClockModel(BERLIN).to_utc(np.repeat(once, 2), np.tile([8, 7], 6))
    assert not flags.any()
    assert moments[::2].tolist() == moments[1::2].tolist()
    assert np.diff(moments[::2]).tolist() == [30 * MINUTE_MS] * 5


# --- resets -----------------------------------------------------------------------------------------------------------


def test_a_clock_set_back_is_found_and_each_side_goes_by_its_own_check() -> None:
    """An hour fast until noon (shown 13:00), then set right: the stamps repeat 12:00 to 13:00."""
    stamps = log("09:00", "13:00") + log("12:00", "16:00")
    checks = (check("08:00", "09:00"), check("15:30", "15:30"))
    cut = 4 * 60
    assert resets(stamps, checks) == [Reset("backward", cut, stamps[cut - 1], stamps[cut], 59 * MINUTE_MS)]
    moments, flags = ClockModel(Basis.utc(), checks).to_utc(stamps)
    truth = np.array(stamps) - np.where(np.arange(len(stamps)) < cut, HOUR_MS, 0)
    np.testing.assert_array_equal(moments, truth)
    assert np.flatnonzero(flags).tolist() == [cut - 1, cut]
    assert set(flags[[cut - 1, cut]].tolist()) == {DOUBTFUL}


def test_the_same_log_newest_first() -> None:
    stamps = (log("09:00", "13:00") + log("12:00", "16:00"))[::-1]
    checks = (check("08:00", "09:00"), check("15:30", "15:30"))
    (reset,) = resets(stamps, checks)
    assert reset.index == 4 * 60 - 1
    assert (reset.before_ms, reset.after_ms) == (wall("2024-06-03T12:59"), wall("2024-06-03T12:00"))
    moments, flags = ClockModel(Basis.utc(), checks).to_utc(stamps)
    assert (moments - stamps)[[0, 239, 240, -1]].tolist() == [0, 0, -HOUR_MS, -HOUR_MS]
    assert np.flatnonzero(flags).tolist() == [239, 240]


def test_a_piece_without_a_check_is_doubtful_where_the_other_has_one() -> None:
    stamps = log("09:00", "13:00") + log("12:00", "16:00")
    _, flags = ClockModel(Basis.utc(), (check("15:30", "15:30"),)).to_utc(stamps)
    assert np.flatnonzero(flags).tolist() == list(range(241))
    _, flags = ClockModel(Basis.utc()).to_utc(stamps)
    assert np.flatnonzero(flags).tolist() == [239, 240]


def test_a_check_that_fits_both_sides_decides_neither() -> None:
    stamps = log("09:00", "13:00") + log("12:00", "16:00")
    _, flags = ClockModel(Basis.utc(), (check("12:30", "12:30"),)).to_utc(stamps)
    assert flags.tolist() == [DOUBTFUL] * len(stamps)


def test_two_checks_that_fit_both_sides_are_told_apart_by_their_offsets() -> None:
    """12:30 was shown twice, once an hour fast and once right: no drift explains both under one setting."""
    stamps = log("09:00", "13:00") + log("12:00", "16:00")
    moments, flags = ClockModel(Basis.utc(), (check("11:30", "12:30"), check("12:30", "12:30"))).to_utc(stamps)
    assert (moments - stamps).tolist() == [-HOUR_MS] * 240 + [0] * 240
    assert np.flatnonzero(flags).tolist() == [239, 240]


def test_a_repeated_hour_is_no_reset() -> None:
    stamps = BERLIN.from_utc(utc("2024-10-26T22:00") + 10 * MINUTE_MS * np.arange(40))
    assert resets(stamps, basis=BERLIN) == []
    assert len(resets(stamps)) == 1  # on UTC nothing explains the step back


def test_two_checks_apart_by_more_than_drift_cut_at_the_longest_gap() -> None:
    """Set forward by 5 min over lunch: offset −5 min would be fast, so the change of true − shown is −5 min."""
    stamps = log("09:00", "12:00") + log("13:00", "17:00")
    checks = (check("08:30", "08:30"), check("16:00", "16:05"))
    assert resets(stamps, checks) == [Reset("jump", 180, stamps[179], stamps[180], -5 * MINUTE_MS)]
    moments, flags = ClockModel(Basis.utc(), checks).to_utc(stamps)
    assert (moments - stamps).tolist() == [0] * 180 + [-5 * MINUTE_MS] * 240
    assert np.flatnonzero(flags).tolist() == [179, 180]


@pytest.mark.parametrize(("seconds", "count"), [(120, 0), (121, 1)])
def test_up_to_two_minutes_is_drift(seconds: int, count: int) -> None:
    checks = (NotedCheck(0, 0), NotedCheck(8 * HOUR_MS + seconds * SECOND_MS, 8 * HOUR_MS))
    assert len(resets(np.arange(0, 8 * HOUR_MS, MINUTE_MS), checks)) == count


def test_a_jump_between_checks_around_all_stamps_is_still_asked_about() -> None:
    """The log ends at noon, the second check is from 17:00: the clock may have been set at any time between."""
    stamps = log("09:00", "12:00")
    checks = (check("08:30", "08:30"), check("17:00", "18:00"))
    assert resets(stamps, checks) == [Reset("jump", None, stamps[-1], wall("2024-06-03T18:00"), -HOUR_MS)]


def test_a_jump_between_other_days_does_not_touch_a_log() -> None:
    stamps = log("09:00", "12:00")
    day = [
        NotedCheck(item.true_utc_ms + n * DAY_MS, item.shown_ms + n * DAY_MS)
        for n, item in enumerate([check("08:00", "08:00")] * 3)
    ]
    checks = (day[0], day[1], NotedCheck(day[2].true_utc_ms + HOUR_MS, day[2].shown_ms))
    assert resets(stamps, checks) == []
    moments, flags = ClockModel(Basis.utc(), checks).to_utc(stamps)
    assert moments.tolist() == stamps
    assert not flags.any()


def test_a_jump_without_a_stamp_between_the_checks_keeps_each_on_its_side() -> None:
    """An hour fast in the morning, set right at noon while it was off: 12:30 was shown before 11:45 was."""
    stamps = log("09:00", "11:00") + log("13:00", "15:00")
    checks = (check("11:30", "12:30"), check("11:45", "11:45"))
    moments, _ = ClockModel(Basis.utc(), checks).to_utc(stamps)
    assert (moments - stamps).tolist() == [-HOUR_MS] * 120 + [0] * 120


def test_a_file_in_no_order_is_flagged_and_not_cut_to_pieces() -> None:
    stamps = [t for pair in zip(log("08:00", "11:00", 2), log("09:00", "12:00", 2), strict=True) for t in pair]
    moments, flags = ClockModel(Basis.utc(), (check("08:00", "08:07"),)).to_utc(stamps)
    assert (moments - stamps).tolist() == [-7 * MINUTE_MS] * len(stamps)
    assert flags.tolist() == [0, *[DOUBTFUL] * (len(stamps) - 2), 0]


@settings(deadline=None)
@given(
    sizes=st.lists(st.integers(3, 40), min_size=1, max_size=4),
    offsets=st.lists(st.integers(-300, 300), min_size=4, max_size=4),
    newest_first=st.booleans(),
)
def test_any_clock_set_back_between_checked_pieces_is_undone(
    sizes: list[int], offsets: list[int], newest_first: bool
) -> None:
    """Each setting shows less than the one before; a check on its first and last stamp tells each apart."""
    steps = np.cumsum([0, *(abs(o) + 41 * 10 for o in offsets)])[: len(sizes)]  # each set back by more than it logged
    truth, stamps, checks = [], [], []
    at = utc("2024-06-03T08:00")
    for size, behind in zip(sizes, steps.tolist(), strict=True):
        times = at + 10 * MINUTE_MS * np.arange(size)
        truth += times.tolist()
        stamps += (times - behind * MINUTE_MS).tolist()
        checks += [NotedCheck(int(t), int(t) - behind * MINUTE_MS) for t in (times[0], times[-1])]
        at = int(times[-1]) + 10 * MINUTE_MS
    order = slice(None, None, -1 if newest_first else 1)
    moments, _ = ClockModel(Basis.utc(), tuple(dict.fromkeys(checks))).to_utc(stamps[order])
    assert moments.tolist() == truth[order]


# --- bounds of a query ------------------------------------------------------------------------------------------------


ODD_ZONES = ("Pacific/Apia", "Australia/Lord_Howe")  # a day left out; half an hour repeated
CHANGES = [utc(text) for text in ("2024-03-31T01:00", "2024-10-27T01:00", "2011-12-30T10:00", "2024-04-06T15:00")]


@settings(deadline=None)
@given(
    basis=st.sampled_from([Basis.utc(), Basis.fixed(345), BERLIN, *map(Basis.in_zone, ODD_ZONES)]),
    around=st.sampled_from(CHANGES),
    start=st.integers(-30 * 60, 30 * 60),
    length=st.integers(0, 10 * 60),
    offsets=st.lists(st.integers(-26 * 60, 26 * 60), max_size=3),
)
def test_every_stamp_of_a_stretch_lies_within_its_bounds(
    basis: Basis, around: int, start: int, length: int, offsets: list[int]
) -> None:
    checks = tuple(
        NotedCheck(around + n * 6 * HOUR_MS, around + n * 6 * HOUR_MS - o * MINUTE_MS) for n, o in enumerate(offsets)
    )
    model = ClockModel(basis, checks)
    low, high = around + start * MINUTE_MS, around + (start + length) * MINUTE_MS
    lo, hi = model.stamp_bounds(low, high)
    stamps = around + 7 * MINUTE_MS * np.arange(-900, 900)
    moments, _ = model.to_utc(stamps)
    inside = stamps[(moments >= low) & (moments <= high)]
    assert np.all((lo <= inside) & (inside <= hi))


def test_bounds_take_in_the_whole_repeated_hour_with_its_neighbours() -> None:
    """So that a query for the second pass alone still sees the step back."""
    lo, hi = ClockModel(BERLIN).stamp_bounds(utc("2024-10-27T01:20"), utc("2024-10-27T01:40"))
    assert lo <= wall("2024-10-27T01:59")
    assert hi >= wall("2024-10-27T03:01")


def test_bounds_are_not_wider_than_they_must_be() -> None:
    """Away from clock changes they are exact, for the offset too."""
    model = ClockModel(BERLIN, (check("08:01", "09:00"),))
    bounds = model.stamp_bounds(utc("2024-06-03T08:01"), utc("2024-06-03T10:01"))
    assert bounds == (wall("2024-06-03T09:00"), wall("2024-06-03T11:00"))


# --- files that say UTC -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("checks", [(), (check("12:00:20", "14:00"),)], ids=["unchecked", "checked"])
@given(gaps=st.lists(st.integers(1, 40), min_size=1, max_size=60), turned=st.booleans())
def test_stamps_that_their_file_gives_in_utc_are_never_in_doubt(
    checks: tuple[NotedCheck, ...], gaps: list[int], turned: bool
) -> None:
    """Through the repeated hour of 2024-10-27, with any gaps and in either order: no step and no order tells more."""
    stamps = utc("2024-10-27T00:10") + MINUTE_MS * np.cumsum(gaps)
    stamps = stamps[::-1] if turned else stamps
    moments, flags = ClockModel(BERLIN, checks).to_utc(stamps, in_utc=True)
    assert (moments - stamps).tolist() == [20 * SECOND_MS * len(checks)] * len(stamps)
    assert not flags.any()
    assert resets(stamps, checks, BERLIN, in_utc=True) == []
