"""A log cut where its clock was set anew, and which clock checks speak for which piece (docs/methods/clock.md).

Checks carry a true time and a shown one. Pieces follow each other in true time, and so do checks, so checks go to
pieces in order: each to one whose stamps hold what was shown, and two that no drift explains not to the same one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from methods.clock.checks import CheckedOffset, is_jump
from methods.clock.folds import backward_steps, newest_first
from methods.clock.reset_answers import Place, ResetAnswer
from methods.quantities.arrays import Ints

#: A file with more steps back than this is in no order of time; it is not cut, only flagged at every step.
MOST_RESETS = 50

Kind = Literal["start", "backward", "jump"]


@dataclass(frozen=True, slots=True)
class Segment:
    """Stamps ``start`` ≤ i < ``stop``, oldest first, under one setting of the clock, with the checks made during it.

    ``begun``: what cut it off from the piece before. ``sure``: false where a check could belong to another piece too.
    """

    start: int
    stop: int
    begun: Kind
    checks: tuple[CheckedOffset, ...]
    sure: bool = True


def segments(
    stamps: Ints, nominal: Ints, checks: Sequence[CheckedOffset], said: Mapping[Place, ResetAnswer] | None = None
) -> tuple[list[Segment], bool]:
    """The pieces in order of time, and whether the file runs newest first (indices then count from its end).

    ``nominal``: UTC as the basis reads the ``stamps`` (n,), both in file order; ``checks`` in turn. ``said`` moves the
    place of a jump, and takes back a cut where the clock was not set.
    """
    said = said or {}
    reverse = newest_first(nominal)
    if reverse:
        stamps, nominal = stamps[::-1], nominal[::-1]
    cuts = [k for k in backward_steps(stamps, nominal).tolist() if not _is_no_cut(said.get(_between(stamps, k)))]
    if len(cuts) > MOST_RESETS:
        cuts = []
    edges = [0, *cuts, len(stamps)]
    spans = [(int(stamps[a:b].min()), int(stamps[a:b].max())) for a, b in pairwise(edges) if a < b]
    owners, unsure = _owners(spans, checks)
    clock_segments: list[Segment] = []
    for p, (start, stop) in enumerate(pairwise(edges)):
        own = [check for check, owner in zip(checks, owners, strict=True) if owner == p]
        begun: Kind = "backward" if p else "start"
        clock_segments += _cut_at_jumps(stamps, Segment(start, stop, begun, tuple(own), p not in unsure), said)
    return clock_segments, reverse


def open_steps(stamps: Ints, nominal: Ints, said: Mapping[Place, ResetAnswer]) -> Ints:
    """Indices, in file order, at which the clock went back and nobody said why."""
    steps = backward_steps(stamps, nominal)
    if not said:
        return steps
    turned = newest_first(nominal)
    places = [(int(stamps[k]), int(stamps[k - 1])) if turned else _between(stamps, k) for k in steps.tolist()]
    return steps[[place not in said for place in places]]


def _between(stamps: Ints, k: int) -> Place:
    return int(stamps[k - 1]), int(stamps[k])


def _is_no_cut(answer: ResetAnswer | None) -> bool:
    return answer is not None and answer.answer == "not-set"


def _cut_at_jumps(stamps: Ints, segment: Segment, said: Mapping[Place, ResetAnswer]) -> list[Segment]:
    """Cut where two neighbouring checks are no drift apart: where a person said so, else at the longest gap between
    what they showed."""
    cut, start, begun, own = [], segment.start, segment.begun, list(segment.checks)
    first = 0
    for k, (earlier, later) in enumerate(pairwise(own), start=1):
        if is_jump(earlier, later):
            inside = stamps[segment.start : segment.stop]
            answer = said.get((earlier.check.shown_ms, later.check.shown_ms))
            if answer is not None and answer.last_shown_ms is not None:
                stop = max(start, segment.start + int(np.count_nonzero(inside <= answer.last_shown_ms)))
            else:
                stop = max(start, segment.start + _longest_gap(inside, earlier, later))
            cut.append(Segment(start, stop, begun, tuple(own[first:k]), segment.sure))
            start, begun, first = stop, "jump", k
    return [*cut, Segment(start, segment.stop, begun, tuple(own[first:]), segment.sure)]


def _longest_gap(stamps: Ints, earlier: CheckedOffset, later: CheckedOffset) -> int:
    """Index of the first stamp after the longest gap between the two checks; of the next one if none lies between."""
    low, high = sorted((earlier.check.shown_ms, later.check.shown_ms))
    inside = np.flatnonzero((stamps > low) & (stamps <= high))
    if inside.size == 0:
        return int(np.count_nonzero(stamps <= low))
    edges = np.concatenate(([low], stamps[inside], [high]))
    return int(inside[0] + np.argmax(np.diff(edges)))


def _owners(spans: list[tuple[int, int]], checks: Sequence[CheckedOffset]) -> tuple[list[int], set[int]]:
    """For each check the piece it belongs to, never decreasing; and the pieces on which the stamps do not decide.

    ``spans``: first and last stamp of each piece.
    """
    if len(spans) <= 1 or not checks:
        return [0] * len(checks), set()
    far = np.array([[max(low - c.check.shown_ms, c.check.shown_ms - high, 0) for low, high in spans] for c in checks])
    owners = _cheapest(far, checks)
    price = _price(owners, far, checks)
    unsure = set()
    for k, owner in enumerate(owners):
        low = owners[k - 1] if k else 0
        high = owners[k + 1] if k + 1 < len(owners) else len(spans) - 1
        for other in range(low, high + 1):
            if other != owner and _price([*owners[:k], other, *owners[k + 1 :]], far, checks) == price:
                unsure |= {owner, other}
    return owners, unsure


def _strain(earlier: CheckedOffset, later: CheckedOffset) -> int:
    """Price of giving both to one piece."""
    return abs(later.offset_ms - earlier.offset_ms) if is_jump(earlier, later) else 0


def _price(owners: list[int], far: Ints, checks: Sequence[CheckedOffset]) -> int:
    price = sum(int(far[k, owner]) for k, owner in enumerate(owners))
    for (earlier, a), (later, b) in pairwise(zip(checks, owners, strict=True)):
        price += _strain(earlier, later) if a == b else 0
    return price


def _cheapest(far: Ints, checks: Sequence[CheckedOffset]) -> list[int]:
    """The never decreasing choice of least price, check by check."""
    count = far.shape[1]
    best, came = far[0].tolist(), []
    for k in range(1, len(checks)):
        strain = _strain(checks[k - 1], checks[k])
        step, price = [], []
        for p in range(count):
            options = [best[q] + (strain if q == p else 0) for q in range(p + 1)]
            step.append(int(np.argmin(options)))
            price.append(options[step[-1]] + int(far[k, p]))
        best = price
        came.append(step)
    owners = [int(np.argmin(best))]
    for step in reversed(came):
        owners.insert(0, step[owners[0]])
    return owners
