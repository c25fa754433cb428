"""Where a logger's clock was set anew: a stamp that steps back, or two checks that no drift explains (METHODS M2)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
import numpy.typing as npt

from readings.clock.basis import Basis
from readings.clock.folds import backward_steps
from readings.clock.model import ClockCheck, ClockModel
from readings.clock.zones import Ints

MOST_DRIFT_MS = 120_000


@dataclass(frozen=True, slots=True)
class Reset:
    """The clock was set anew before the stamp at ``index`` of the file.

    ``backward``: the stamps before and at ``index``. ``jump``: what two neighbouring checks showed; ``index`` is then
    the first stamp after the longest gap between them, a proposal to confirm, or None if no stamp lies between.
    ``size_ms``: how far the clock went back (backward), or by how much the offset true − shown changed (jump).
    """

    kind: Literal["backward", "jump"]
    index: int | None
    before_ms: int
    after_ms: int
    size_ms: int


def resets(stamps_ms: npt.ArrayLike, checks: Sequence[ClockCheck] = (), basis: Basis | None = None) -> list[Reset]:
    """Clock resets in the stamps (n,) of one file, in file order, and between neighbouring clock checks.

    A step back that a repeated hour of ``basis`` explains is none. A file that lists its latest reading first is read
    from its end. Whatever is returned is for a person to confirm: nothing here splits anything.
    """
    stamps = np.asarray(stamps_ms, dtype=np.int64)
    model = ClockModel(basis or Basis.utc(), tuple(checks))
    return _backward(stamps, model.basis) + _jumps(stamps, model)


def _backward(stamps: Ints, basis: Basis) -> list[Reset]:
    utc, _ = basis.to_utc(stamps)
    return [
        Reset("backward", int(i), int(stamps[i - 1]), int(stamps[i]), int(abs(stamps[i] - stamps[i - 1])))
        for i in backward_steps(stamps, utc)
    ]


def _jumps(stamps: Ints, model: ClockModel) -> list[Reset]:
    offsets = model.offsets()
    found = []
    for one, two in pairwise(offsets):
        change = two.offset_ms - one.offset_ms
        if abs(change) > MOST_DRIFT_MS:
            shown = one.check.shown_ms, two.check.shown_ms
            found.append(Reset("jump", _longest_gap(stamps, *sorted(shown)), *shown, change))
    return found


def _longest_gap(stamps: Ints, low: int, high: int) -> int | None:
    inside = np.flatnonzero((stamps > low) & (stamps <= high))
    if inside.size == 0:
        return None
    edges = np.concatenate(([low], stamps[inside]))
    return int(inside[np.argmax(np.diff(edges))])
