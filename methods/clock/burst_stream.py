"""Bursts of a file that comes in chunks, in memory that does not grow with its length."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from methods.clock.folds import steps_back, typical_gap_ms
from methods.clock.suggestion import bursts
from methods.quantities.arrays import Ints

#: More bursts than this tell nothing any more: the logger stored now and then.
MOST_BURSTS = 10_000


@dataclass(slots=True)
class BurstsSoFar:
    """Feed it the stamps of each chunk in file order; it gives what ``bursts`` gives for the whole file.

    The interval is the typical one of the first chunk that has any. ``result`` is None without an interval, or where
    there are too many bursts to keep.
    """

    interval_ms: int | None = None
    chunks: list[Ints] = field(default_factory=list)
    backwards: int = 0  # steps back in the file, less steps forward
    before: Ints = field(default_factory=lambda: np.empty(0, dtype=np.int64))  # the last stamp seen, once there is one
    count: int = 0
    waiting: list[int] = field(default_factory=list)  # single stamps from before the interval was known

    def see(self, stamps_ms: npt.ArrayLike) -> None:
        fresh = np.asarray(stamps_ms, dtype=np.int64)
        self.backwards += steps_back(np.concatenate((self.before, fresh)))
        self.before = fresh[-1:] if fresh.size else self.before
        stamps = np.concatenate((np.array(self.waiting, dtype=np.int64), fresh))
        self.interval_ms = self.interval_ms or typical_gap_ms(stamps)
        if self.interval_ms is None:
            self.waiting = np.unique(stamps).tolist()
            return
        self.waiting = []
        if self.count <= MOST_BURSTS and stamps.size:
            new_bursts = bursts(stamps, self.interval_ms)
            self.chunks.append(new_bursts)
            self.count += len(new_bursts)

    def result(self) -> Ints | None:
        """Bursts (k, 2) oldest first, each from its first stamp to one interval after its last."""
        if self.interval_ms is None or self.count > MOST_BURSTS or not self.chunks:
            return None
        edges = np.concatenate(self.chunks[::-1] if self.backwards > 0 else self.chunks)
        gaps = edges[1:, 0] - (edges[:-1, 1] - self.interval_ms)
        cut = (gaps > 3 * self.interval_ms) | (gaps < 0)
        first = np.concatenate(([True], cut))
        last = np.concatenate((cut, [True]))
        return np.column_stack((edges[first, 0], edges[last, 1]))
