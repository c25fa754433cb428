"""What goes into the store, and what became of it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from methods.quantities.arrays import Bools, Floats, Indexes, Ints


@dataclass(frozen=True, slots=True)
class Batch:
    """Readings of one channel: arrays (n,), ``raw`` nan where the logger stored no value."""

    channel_id: int
    upload_id: int
    stamp: Ints
    nth: Ints
    raw: Floats
    flag: Ints
    line: Ints

    def __len__(self) -> int:
        return len(self.stamp)

    def only(self, rows: Bools | Indexes) -> Batch:
        return Batch(
            self.channel_id, self.upload_id, self.stamp[rows], self.nth[rows], self.raw[rows], self.flag[rows],
            self.line[rows],
        )  # fmt: skip

    def behind(self, earlier: Batch | None) -> Batch:
        """Both as one, of the same file and channel."""
        if earlier is None:
            return self
        both = (np.concatenate((getattr(earlier, name), getattr(self, name))) for name in COLUMNS)
        return Batch(self.channel_id, self.upload_id, *both)


COLUMNS = ("stamp", "nth", "raw", "flag", "line")


@dataclass(frozen=True, slots=True)
class Clash:
    """A held key came with another value."""

    channel_id: int
    stamp: int
    line: int
    held: float
    held_flag: int
    held_line: int
    new: float
    new_flag: int


@dataclass(frozen=True, slots=True)
class Loose:
    """``count`` readings under one stamp, the first at ``line``, of which values do not tell where they stand among
    the ``held`` ones. ``left_out`` of them were not stored; with 0, as few as can be new were stored.
    """

    channel_id: int
    stamp: int
    line: int
    count: int
    held: int
    left_out: int


@dataclass(slots=True)
class StoreTally:
    stored: int = 0  # rows that this upload put into the database, in this run or in one that was cut short
    held: int = 0
    clashes: list[Clash] = field(default_factory=list)
    loose: list[Loose] = field(default_factory=list)

    def add(self, other: StoreTally) -> None:
        self.stored += other.stored
        self.held += other.held
        self.clashes += other.clashes
        self.loose += other.loose
