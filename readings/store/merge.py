"""Putting a batch of readings beside what is already held: new rows go in, held rows stay as they are.

Nothing is ever overwritten. A row that is held with the same value counts as already held; one that is held with a
different value is a clash, which the caller shows to a person.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from django.db import IntegrityError, connection, transaction

from readings.queries.rows import rows
from readings.store import postgres, sqlite

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]
RACES = 5


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

    def only(self, rows: npt.NDArray[np.bool_] | npt.NDArray[np.intp]) -> Batch:
        return Batch(
            self.channel_id, self.upload_id, self.stamp[rows], self.nth[rows], self.raw[rows], self.flag[rows],
            self.line[rows],
        )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Clash:
    """A held key came with another value."""

    channel_id: int
    stamp: int
    line: int
    held: float
    held_flag: int
    held_upload_id: int
    held_line: int
    new: float
    new_flag: int


@dataclass(slots=True)
class Tally:
    stored: int = 0  # rows that this upload put into the database, in this run or in one that was cut short
    held: int = 0
    clashes: list[Clash] = field(default_factory=list)

    def add(self, other: Tally) -> None:
        self.stored += other.stored
        self.held += other.held
        self.clashes += other.clashes


def write(batches: list[Batch]) -> Tally:
    """Store the batches in the caller's transaction, all or nothing.

    Two workers may bring the same key at the same moment: the later one is told by the primary key, looks again, and
    finds the row held.
    """
    for attempt in range(RACES):
        try:
            with transaction.atomic():
                return _write(batches)
        except IntegrityError:
            if attempt == RACES - 1:
                raise
    raise AssertionError("unreachable")


def _write(batches: list[Batch]) -> Tally:
    tally, fresh = Tally(), []
    for batch in sorted(batches, key=lambda batch: batch.channel_id):
        if len(batch):
            new, part = _compare(batch)
            tally.add(part)
            fresh.append(_in_key_order(new))
    insert = postgres.insert if connection.vendor == "postgresql" else sqlite.insert
    insert(fresh)
    return tally


def _in_key_order(batch: Batch) -> Batch:
    """All writers insert in one order, so that two who bring the same keys wait for each other one way only."""
    steps, turns = np.diff(batch.stamp), np.diff(batch.nth)
    if np.all((steps > 0) | ((steps == 0) & (turns > 0))):
        return batch
    return batch.only(np.lexsort((batch.nth, batch.stamp)))


def _compare(batch: Batch) -> tuple[Batch, Tally]:
    held = rows(batch.channel_id, int(batch.stamp.min()), int(batch.stamp.max()))
    if not len(held):
        return batch, Tally(stored=len(batch))
    place, found = _look_up(held["stamp"], held["nth"], batch)
    there = held[place]
    same = found & _equal(there["raw"], batch.raw) & (there["flag"] == batch.flag)
    mine = same & (there["upload_id"] == batch.upload_id)  # written before this run was cut short
    clashing = np.flatnonzero(found & ~same)
    clashes = [
        Clash(
            batch.channel_id, int(batch.stamp[i]), int(batch.line[i]), float(there["raw"][i]), int(there["flag"][i]),
            int(there["upload_id"][i]), int(there["line"][i]), float(batch.raw[i]), int(batch.flag[i]),
        )
        for i in clashing
    ]  # fmt: skip
    new = batch.only(~found)
    return new, Tally(len(new) + int(mine.sum()), int((same & ~mine).sum()), clashes)


def _look_up(stamp: Ints, nth: Ints, batch: Batch) -> tuple[Ints, npt.NDArray[np.bool_]]:
    """Where each row of the batch stands in the held rows (sorted by stamp, nth), and whether it is there at all."""
    # nth is below 2^15 (SmallIntegerField) and stamps span less than 2^47 ms: both fit one integer.
    base = min(int(stamp.min()), int(batch.stamp.min()))
    held_key = (stamp - base) * 32768 + nth
    key = (batch.stamp - base) * 32768 + batch.nth
    place = np.minimum(np.searchsorted(held_key, key), len(held_key) - 1)
    return place, held_key[place] == key


def _equal(a: Floats, b: Floats) -> npt.NDArray[np.bool_]:
    same: npt.NDArray[np.bool_] = (a == b) | (np.isnan(a) & np.isnan(b))
    return same
