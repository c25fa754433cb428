"""Where a logger's clock was set anew: a stamp that steps back, or two checks that no drift explains.

Method: docs/methods/clock.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Literal

import numpy as np
import numpy.typing as npt

from methods.clock.basis import Basis
from methods.clock.checks import NotedCheck, checked_offsets
from methods.clock.reset_answers import Place
from methods.clock.segments import Segment, segments
from methods.quantities.arrays import Ints


@dataclass(frozen=True, slots=True)
class Reset:
    """The clock was set anew between the stamps ``before_ms`` and ``after_ms``, neighbours in the file.

    ``index``: the later in time of the two. ``backward``: the stamps say so; ``size_ms`` is how far back they step.
    ``jump``: two checks say so, and the place, the longest gap between them, is a proposal to confirm; ``size_ms`` is
    by how much the offset true − shown changed. Where that gap is before the first or after the last stamp, ``index``
    is None and the check's own shown time stands in for the stamp that is not there.
    """

    kind: Literal["backward", "jump"]
    index: int | None
    before_ms: int
    after_ms: int
    size_ms: int
    shown: Place | None = field(default=None, compare=False)  # at the two checks that say so

    @property
    def place(self) -> Place:
        """What an answer to it names it by."""
        return self.shown or (self.before_ms, self.after_ms)


def resets(
    stamps_ms: npt.ArrayLike, checks: Sequence[NotedCheck] = (), basis: Basis | None = None, *, in_utc: bool = False
) -> list[Reset]:
    """Clock resets in the stamps (n,) of one file, in file order, by the stamps and by the clock checks.

    A step back that a repeated hour of ``basis`` (UTC if not given) explains is none. A file that lists its latest
    reading first is read from its end. ``in_utc``: the file gives its stamps in UTC; a reset is told in what the clock
    showed all the same. A person is to confirm them; ``ClockModel`` splits at the same places.
    """
    stamps = np.asarray(stamps_ms, dtype=np.int64)
    if stamps.size == 0:
        return []
    basis = basis or Basis.utc()
    stamps, nominal, _ = basis.shown_and_meant(stamps, in_utc=in_utc)
    clock_segments, reverse = segments(stamps, nominal, checked_offsets(basis, checks))
    oldest_first = stamps[::-1] if reverse else stamps
    made = [_reset(before, after, oldest_first) for before, after in pairwise(clock_segments)]
    if reverse:
        made = [r and replace(r, index=None if r.index is None else stamps.size - 1 - r.index) for r in made]
    return [reset for reset in made if reset]


def _reset(one: Segment, two: Segment, stamps: Ints) -> Reset | None:
    """None for a jump between two checks of which the stamps all lie on one side: it does not touch them."""
    inside = 0 < two.start < stamps.size
    if two.begun == "backward":
        before, after = int(stamps[two.start - 1]), int(stamps[two.start])
        return Reset("backward", two.start, before, after, before - after)
    earlier, later = one.checks[-1], two.checks[0]
    low, high = sorted((earlier.check.shown_ms, later.check.shown_ms))
    if not inside and not np.any((stamps > low) & (stamps <= high)):
        return None
    before = int(stamps[two.start - 1]) if two.start > 0 else earlier.check.shown_ms
    after = int(stamps[two.start]) if two.start < stamps.size else later.check.shown_ms
    size = later.offset_ms - earlier.offset_ms
    shown = (earlier.check.shown_ms, later.check.shown_ms)
    return Reset("jump", two.start if inside else None, before, after, size, shown)
