"""What people say about a clock that was set: how each piece of a log is then placed, against truth put in by hand."""

from __future__ import annotations

from datetime import datetime

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.clock import Basis, ClockModel, NotedCheck, ResetAnswer, resets
from methods.quantities.durations import HOUR_MS, MINUTE_MS
from methods.quantities.flags import Flag
from methods.quantities.moments import stamp_ms

DOUBTFUL = int(Flag.CLOCK_DOUBTFUL)
UTC = Basis.utc()


def wall(text: str) -> int:
    return stamp_ms(datetime.fromisoformat(f"2024-06-03T{text}"))


def log(start: str, count: int) -> list[int]:
    return [wall(start) + k * MINUTE_MS for k in range(count)]


# An hour's log from 09:00; then the clock was put back by 47 min (shown 09:59 → 09:13) and logged on.
STAMPS = log("09:00", 60) + log("09:13", 60)
PLACE = (STAMPS[59], STAMPS[60])
BY = 47 * MINUTE_MS


def moved(*answers: ResetAnswer, checks: tuple[NotedCheck, ...] = ()) -> tuple[list[int], list[int]]:
    """Offset of each piece in minutes, and the flags."""
    moments, flags = ClockModel(UTC, checks, answers).to_utc(STAMPS)
    found = (moments - np.array(STAMPS)) // MINUTE_MS
    assert len(set(found[:60].tolist())) == len(set(found[60:].tolist())) == 1
    return [int(found[0]), int(found[60])], flags.tolist()


def test_without_an_answer_the_neighbours_are_doubtful() -> None:
    offsets, flags = moved()
    assert offsets == [0, 0]
    assert [k for k, flag in enumerate(flags) if flag] == [59, 60]


def test_set_to_the_true_time() -> None:
    """Right afterwards, so before it was 47 min fast; the log then runs on without a step."""
    offsets, flags = moved(ResetAnswer(PLACE, "right-after", BY))
    assert offsets == [-47, 0]
    assert not any(flags)


def test_right_up_to_here() -> None:
    offsets, flags = moved(ResetAnswer(PLACE, "right-before", BY))
    assert offsets == [0, 47]
    assert not any(flags)


def test_set_by_a_known_step_with_a_check_on_one_side() -> None:
    """7 min fast at 09:30 shown, then put back by 47 min: 40 min slow. One check is enough for both sides."""
    before = NotedCheck(wall("09:02"), wall("09:09"))  # 09:09 was shown before the step only
    offsets, flags = moved(ResetAnswer(PLACE, "set", BY), checks=(before,))
    assert offsets == [-7, 40]
    assert not any(flags)
    after = NotedCheck(wall("10:45"), wall("10:05"))
    assert moved(ResetAnswer(PLACE, "set", BY), checks=(after,))[0] == [-7, 40]


def test_set_by_an_unknown_step_needs_a_check_on_each_side() -> None:
    offsets, flags = moved(ResetAnswer(PLACE, "set"))
    assert offsets == [0, 0]
    assert flags == [DOUBTFUL] * 120
    before = NotedCheck(wall("09:02"), wall("09:09"))
    offsets, flags = moved(ResetAnswer(PLACE, "set"), checks=(before,))
    assert flags == [0] * 60 + [DOUBTFUL] * 60


def test_own_checks_are_stronger_than_an_answer() -> None:
    after = NotedCheck(wall("10:08"), wall("10:05"))  # 3 min slow after it "was set right"
    assert moved(ResetAnswer(PLACE, "right-after", BY), checks=(after,))[0] == [-44, 3]


def test_not_set_leaves_the_log_in_one_piece() -> None:
    """Two downloads in one file, say: one offset for all, and nothing is doubtful."""
    check = NotedCheck(wall("09:02"), wall("09:09"))
    offsets, flags = moved(ResetAnswer(PLACE, "not-set"), checks=(check,))
    assert offsets == [-7, -7]
    assert not any(flags)


def test_an_answer_elsewhere_changes_nothing() -> None:
    offsets, flags = moved(ResetAnswer((1, 0), "right-after", BY))
    assert offsets == [0, 0]
    assert np.flatnonzero(flags).tolist() == [59, 60]


def test_a_file_newest_first_takes_the_same_answer() -> None:
    model = ClockModel(UTC, answers=(ResetAnswer(PLACE, "right-after", BY),))
    moments, flags = model.to_utc(STAMPS[::-1])
    assert moments.tolist() == model.to_utc(STAMPS)[0].tolist()[::-1]
    assert not flags.any()


def test_the_place_of_a_jump_is_where_a_person_says() -> None:
    """Two checks an hour apart in offset and no gap in the log: without a word the cut falls anywhere in between."""
    stamps = log("08:00", 240)
    checks = (NotedCheck(wall("08:10"), wall("08:10")), NotedCheck(wall("12:30"), wall("11:30")))
    (jump,) = resets(stamps, checks)
    assert jump.place == (wall("08:10"), wall("11:30"))
    said = ResetAnswer(jump.place, "set", last_shown_ms=wall("09:59"))
    moments, flags = ClockModel(UTC, checks, (said,)).to_utc(stamps)
    assert ((moments - stamps) // HOUR_MS).tolist() == [0] * 120 + [1] * 120
    assert not flags.any()


@settings(deadline=None, max_examples=60)
@given(
    sizes=st.lists(st.integers(2, 30), min_size=2, max_size=4),
    backs=st.lists(st.integers(31, 300), min_size=3, max_size=3),
    right=st.integers(0, 3),
    newest_first=st.booleans(),
)
def test_one_known_side_places_every_piece(sizes: list[int], backs: list[int], right: int, newest_first: bool) -> None:
    """Put back several times by known steps, and right in one piece: the truth comes back to the millisecond."""
    right %= len(sizes)
    truth: list[int] = []
    stamps: list[int] = []
    answers: list[ResetAnswer] = []
    at, slow = wall("08:00"), 0
    total_before = sum(backs[:right])
    for k, size in enumerate(sizes):
        slow = sum(backs[:k]) - total_before  # minutes slow in this piece; 0 where it is right
        times = at + MINUTE_MS * np.arange(size)
        shown = times - slow * MINUTE_MS
        if k:
            answer = "right-after" if k == right else "right-before" if k - 1 == right else "set"
            # the clock went on for one interval between the two stamps
            by = backs[k - 1] * MINUTE_MS
            answers.append(ResetAnswer((stamps[-1], int(shown[0])), answer, by))  # type: ignore[arg-type]
        truth += times.tolist()
        stamps += shown.tolist()
        at = int(times[-1]) + MINUTE_MS
    turned = slice(None, None, -1 if newest_first else 1)
    moments, flags = ClockModel(UTC, answers=tuple(answers)).to_utc(stamps[turned])
    assert moments.tolist() == truth[turned]
    assert not flags.any()
