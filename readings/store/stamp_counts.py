"""Counting equal stamps in file order, in constant memory.

A logger that prints whole minutes stores several points under one stamp, and an hour repeats when clocks go back. The
``nth`` of a reading is how many lines of the same file carried its stamp before it.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass, field

import numpy as np

from methods.quantities.arrays import Ints


@dataclass(frozen=True, slots=True)
class _Seen:
    low: int
    high: int
    packed: bytes  # differences of the sorted stamps: a regular log packs to almost nothing

    @classmethod
    def of(cls, stamps: Ints) -> _Seen:
        ordered = np.sort(stamps)
        return cls(int(ordered[0]), int(ordered[-1]), zlib.compress(np.diff(ordered, prepend=0).tobytes(), 1))

    def stamps(self) -> Ints:
        return np.cumsum(np.frombuffer(zlib.decompress(self.packed), dtype=np.int64))


@dataclass(slots=True)
class StampCounts:
    """Feed it the stamps of a file chunk by chunk; it answers with the nth of each line."""

    _seen: list[_Seen] = field(default_factory=list)

    def number(self, stamps: Ints) -> Ints:
        """nth of each of ``stamps`` (n,), counting this chunk and all before it."""
        if not len(stamps):
            return np.zeros(0, dtype=np.int64)
        nth = _within(stamps) + self._before(stamps)
        self._seen.append(_Seen.of(stamps))
        return nth

    def _before(self, stamps: Ints) -> Ints:
        low, high = stamps.min(), stamps.max()
        count = np.zeros(len(stamps), dtype=np.int64)
        for seen in self._seen:
            if seen.low <= high and seen.high >= low:
                earlier = seen.stamps()
                count += np.searchsorted(earlier, stamps, "right") - np.searchsorted(earlier, stamps, "left")
        return count


def _within(stamps: Ints) -> Ints:
    """How many equal stamps stand before each one in the same chunk."""
    order = np.argsort(stamps, kind="stable")
    ordered = stamps[order]
    starts = np.flatnonzero(np.r_[True, ordered[1:] != ordered[:-1]])
    lengths = np.diff(np.r_[starts, len(ordered)])
    nth = np.empty(len(stamps), dtype=np.int64)
    nth[order] = np.arange(len(stamps)) - np.repeat(starts, lengths)
    return nth
