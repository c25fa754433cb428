"""What a stored value stands for: a moment, or an interval that its stamp ends, begins or halves. Pure.

Method: docs/methods/placing.md.

Mostly one convention holds for all readings at hand. Where files say different things, each reading has the place of
its convention in ``CONVENTIONS`` as a code.
"""

from __future__ import annotations

from enum import StrEnum

import numpy as np

from methods.quantities.arrays import Bools, Codes, Ints


class StampConvention(StrEnum):
    """Its value is what the database and the API call it, ``label`` what people read."""

    SPOT = "spot"
    END = "end"
    START = "start"
    MIDDLE = "middle"

    @property
    def label(self) -> str:
        if self is StampConvention.SPOT:
            return "A momentary value"
        return f"A mean of the logging interval, stamped at its {self.value}"

    @property
    def clause(self) -> str:
        """The same inside a sentence: “a mean of the logging interval, stamped at its end”."""
        return self.label[:1].lower() + self.label[1:]


CONVENTIONS = tuple(StampConvention)

#: One for all, or codes (n,).
StampConventions = StampConvention | Codes

#: By code: how many halves of its interval lie before the stamp. A moment has nothing before it.
_HALVES_BEFORE = np.array([0, 2, 0, 1])
#: By code: how many halves of an interval lie between the stamp and the middle of what it stands for.
_HALVES_TO_MIDDLE = np.array([0, -1, 1, 0])


def codes(represents: StampConventions) -> Codes:
    """Codes (n,), or the one code of a convention, shape ()."""
    return np.asarray(CONVENTIONS.index(represents) if isinstance(represents, str) else represents, dtype=np.int8)


def halves_before(represents: StampConventions) -> Ints:
    """How many halves of its interval lie before the stamp: (n,), or () for one convention."""
    return np.asarray(_HALVES_BEFORE[codes(represents)], dtype=np.int64)


def is_moment(represents: StampConventions) -> Bools:
    """(n,), or () for one convention."""
    return np.asarray(codes(represents) == CONVENTIONS.index(StampConvention.SPOT))


def began_ms(times_ms: Ints, represents: StampConventions, interval_ms: float) -> Ints:
    """When the air that each reading (n,) stands for began to be measured, ms."""
    if isinstance(represents, str) and represents in (StampConvention.SPOT, StampConvention.START):
        return times_ms
    lead: Ints = np.rint(halves_before(represents) * (interval_ms / 2)).astype(np.int64)
    return times_ms - lead


def alike(times_ms: Ints, represents: StampConventions, interval_ms: int) -> tuple[StampConvention, Ints]:
    """One convention for readings (n,), the one that most of them bear, and their times as if all did.

    Where they differ, a reading is moved so that the middle of what it stands for stays where it is. A moment counts
    as the middle of its own interval.
    """
    if isinstance(represents, str):
        return represents, times_ms
    code = int(np.bincount(represents, minlength=1).argmax())
    moved = (_HALVES_TO_MIDDLE[represents] - _HALVES_TO_MIDDLE[code]) * interval_ms // 2
    return CONVENTIONS[code], times_ms + moved
