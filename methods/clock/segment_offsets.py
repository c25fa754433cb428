"""Which offsets hold in each piece of a log: its own checks, and what follows from a person's answers."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np

from methods.clock.checks import CheckedOffset, NotedCheck
from methods.clock.reset_answers import Place, ResetAnswer
from methods.clock.segments import Segment
from methods.quantities.arrays import Ints


def place_of(before: Segment, after: Segment, stamps: Ints) -> Place:
    """The place between two pieces that follow each other; ``stamps`` (n,) oldest first."""
    if after.begun == "jump":
        return before.checks[-1].check.shown_ms, after.checks[0].check.shown_ms
    return int(stamps[after.start - 1]), int(stamps[after.start])


def spoken_for(
    clock_segments: Sequence[Segment], stamps: Ints, nominal: Ints, answers: Mapping[Place, ResetAnswer]
) -> list[tuple[CheckedOffset, ...]]:
    """For each piece the offsets that hold in it: its own checks, else what an answer says, else none.

    A piece without checks has the offset of its neighbour, changed by how far the clock was put back between them: a
    clock put back by an hour is an hour slower than before.
    """
    own = [list(piece.checks) for piece in clock_segments]
    steps = answered(clock_segments, stamps, answers)
    for k, said in steps:
        last, first = clock_segments[k + 1].start - 1, clock_segments[k + 1].start
        if said.answer == "right-after" and not own[k + 1]:
            own[k + 1] = [_exact(stamps, nominal, first, 0)]
        if said.answer == "right-before" and not own[k]:
            own[k] = [_exact(stamps, nominal, last, 0)]
    for k, said in steps:
        if said.by_ms is not None and own[k] and not own[k + 1]:
            first = clock_segments[k + 1].start
            own[k + 1] = [_exact(stamps, nominal, first, offset_at(own[k], int(nominal[first - 1])) + said.by_ms)]
    for k, said in reversed(steps):
        if said.by_ms is not None and own[k + 1] and not own[k]:
            last = clock_segments[k + 1].start - 1
            own[k] = [_exact(stamps, nominal, last, offset_at(own[k + 1], int(nominal[last + 1])) - said.by_ms)]
    return [tuple(offsets) for offsets in own]


def answered(
    clock_segments: Sequence[Segment], stamps: Ints, answers: Mapping[Place, ResetAnswer]
) -> list[tuple[int, ResetAnswer]]:
    """The answers between pieces: (index of the piece before, answer)."""
    if not answers:
        return []
    return [
        (k, answers[place])
        for k, (before, after) in enumerate(pairwise(clock_segments))
        if after.start < len(stamps) and (place := place_of(before, after, stamps)) in answers
    ]


def offset_at(checks: Sequence[CheckedOffset], nominal_ms: int) -> int:
    return int(interpolated(np.array([nominal_ms], dtype=np.int64), checks)[0])


def interpolated(nominal: Ints, checks: Sequence[CheckedOffset]) -> Ints:
    """Offset over nominal UTC: a line between checks, held outside; of two at one shown time the later holds."""
    by_time = {check.nominal_ms: check.offset_ms for check in checks}
    at = np.array(sorted(by_time), dtype=np.int64)
    offsets = np.array([by_time[t] for t in at.tolist()], dtype=np.float64)
    return np.rint(np.interp(nominal, at, offsets)).astype(np.int64)


def _exact(stamps: Ints, nominal: Ints, at: int, offset: int) -> CheckedOffset:
    """As if a check had been made at the stamp with this index."""
    return CheckedOffset(NotedCheck(int(nominal[at]) + offset, int(stamps[at])), offset, 0)
