"""What a stored value stands for: a moment, or an interval that its stamp ends, begins or halves (METHODS M3). Pure.

Mostly one word holds for all readings at hand. Where files say different things, each reading has the place of its
word in ``WORDS`` as a code.
"""

from __future__ import annotations

from typing import Literal

import numpy as np

from methods.quantities.arrays import Bools, Codes, Ints

Represents = Literal["spot", "end", "start", "middle"]
WORDS: tuple[Represents, ...] = ("spot", "end", "start", "middle")

#: One word for all, or codes (n,).
Standing = Represents | Codes

#: By code: how many halves of its interval lie before the stamp. A moment has nothing before it.
_HALVES_BEFORE = np.array([0, 2, 0, 1])
#: By code: how many halves of an interval lie between the stamp and the middle of what it stands for.
_HALVES_TO_MIDDLE = np.array([0, -1, 1, 0])


def codes(standing: Standing) -> Codes:
    """Codes (n,), or the one code of a word, shape ()."""
    return np.asarray(WORDS.index(standing) if isinstance(standing, str) else standing, dtype=np.int8)


def halves_before(standing: Standing) -> Ints:
    """How many halves of its interval lie before the stamp: (n,), or () for one word."""
    return np.asarray(_HALVES_BEFORE[codes(standing)], dtype=np.int64)


def is_moment(standing: Standing) -> Bools:
    """(n,), or () for one word."""
    return np.asarray(codes(standing) == WORDS.index("spot"))


def began_ms(times_ms: Ints, standing: Standing, interval_ms: float) -> Ints:
    """When the air that each reading (n,) stands for began to be measured, ms."""
    if isinstance(standing, str) and standing in ("spot", "start"):
        return times_ms
    lead: Ints = np.rint(halves_before(standing) * (interval_ms / 2)).astype(np.int64)
    return times_ms - lead


def alike(times_ms: Ints, standing: Standing, interval_ms: int) -> tuple[Represents, Ints]:
    """One word for readings (n,), the one that most of them bear, and their times as if all did.

    Where words differ, a reading is moved so that the middle of what it stands for stays where it is. A moment counts
    as the middle of its own interval.
    """
    if isinstance(standing, str):
        return standing, times_ms
    word = int(np.bincount(standing, minlength=1).argmax())
    moved = (_HALVES_TO_MIDDLE[standing] - _HALVES_TO_MIDDLE[word]) * interval_ms // 2
    return WORDS[word], times_ms + moved
