"""Which readings of a batch are held already, which are new, and which speak against what is held.

A key is (stamp, nth). Where several readings share a stamp and the file's own count cannot be that of the memory,
because one of the downloads was cut off in the middle of them, the values tell
(:mod:`methods.logs.values.memory_alignment`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from methods.logs.values.memory_alignment import Edges, GroupPosition, Value, agreeing, align
from methods.quantities.arrays import Bools, Floats, Ints
from readings.models import Upload
from readings.queries.rows import Rows
from readings.store.batches import Batch, Clash, Loose, StoreTally
from readings.store.intake import Intake

#: Codes of problems of readings that were not stored because of those that are held.
LEFT_OUT = (APART, DIFFERING) = ("held-apart", "held-differently")
#: nth is a 16-bit number with a sign.
NTH_BITS, LOWEST, HIGHEST = 16, -(2**15), 2**15 - 1


def compare(batch: Batch, held: Rows, file: Intake) -> tuple[Batch, StoreTally]:
    """The rows of ``batch`` that are new, under the nth they get, and what became of all of them.

    ``held``: all rows of the channel from the batch's lowest to its highest stamp.
    """
    if not len(held) or not len(batch):
        return batch, StoreTally(stored=len(batch))
    beside = _Beside(_renumbered(batch, file), held, file)
    left_out, loose = beside.align()
    batch, (place, is_held, same) = beside.batch, beside.looked_up()
    mine = same & (held["upload_id"][place] == batch.upload_id)  # written before this run was cut short
    clashes = [_clash(batch, held[place[i]], i) for i in np.flatnonzero(is_held & ~same & ~left_out).tolist()]
    new = batch.only(~is_held & ~left_out)
    return new, StoreTally(len(new) + int(mine.sum()), int((same & ~mine).sum()), clashes, loose)


def _renumbered(batch: Batch, file: Intake) -> Batch:
    """By what was found out in earlier chunks of the file."""
    for (channel_id, stamp), base in file.base.items():
        if channel_id != batch.channel_id:
            continue
        rows = np.flatnonzero(batch.stamp == stamp)
        if len(rows) and batch.nth[rows[0]] > 0:
            batch = _shifted(batch, stamp, base)
    return batch


def _shifted(batch: Batch, stamp: int, base: int) -> Batch:
    return replace(batch, nth=batch.nth + base * (batch.stamp == stamp))


@dataclass
class _Beside:
    """A batch beside what is held in its range."""

    batch: Batch
    held: Rows
    file: Intake

    def looked_up(self) -> tuple[Ints, Bools, Bools]:
        """Where each row of the batch stands in the held rows, whether it is there at all, and with the same value."""
        place, is_held = look_up(self.held["stamp"], self.held["nth"], self.batch)
        there = self.held[place]
        same = is_held & _equal(there["raw"], self.batch.raw) & (there["flag"] == self.batch.flag)
        return place, is_held, same

    def align(self) -> tuple[Bools, list[Loose]]:
        """Give the groups whose count is not that of the memory their place. Rows that get none, and what to say."""
        _, is_held, same = self.looked_up()
        left_out, loose = np.zeros(len(self.batch), dtype=np.bool_), []
        for stamp in self._doubtful(is_held & ~same):
            rows = np.flatnonzero(self.batch.stamp == stamp)
            if self.batch.nth[rows[0]] == 0:  # else its place was found in an earlier chunk
                told = self._align_group(stamp, rows, left_out)
                loose += [told] if told else []
        return left_out, loose

    def _doubtful(self, differing: Bools) -> Iterator[int]:
        """Stamps of several readings of which some differ, or at which the file begins or ends."""
        stamps = [self.batch.stamp[differing], self.held["stamp"][self.held["nth"] < 0]]
        ends = [first] if (first := self.file.first.get(self.batch.channel_id)) is not None else []
        ends += [int(self.batch.stamp[-1])] if ends and self.file.last else []
        stamps.append(np.array(ends, dtype=np.int64))
        asked = np.unique(np.concatenate(stamps))
        here, there = _counts(np.sort(self.batch.stamp), asked), _counts(self.held["stamp"], asked)
        yield from asked[(here > 0) & (there > 0) & (here + there > 2)].tolist()

    def _align_group(self, stamp: int, rows: Ints, left_out: Bools) -> Loose | None:
        held = self.held[slice(*np.searchsorted(self.held["stamp"], [stamp, stamp + 1]))]
        place = self._place(stamp, rows, held)
        base = int(held["nth"][0]) + (place.shift if place else 0)
        if not LOWEST <= base <= HIGHEST - int(self.batch.nth[rows[-1]]):
            base = 0
        self.file.base[self.batch.channel_id, stamp] = base
        self.batch = _shifted(self.batch, stamp, base)
        surplus = 0
        if place is None:
            new, there = self._values(rows), _values(held)
            changed = 2 * agreeing(new, there) >= min(len(new), len(there))  # the same readings, some of them changed
            apart = rows[len(there) :] if changed else rows
            left_out[apart], surplus = True, len(apart)
        if not surplus and not (place and place.unsure):
            return None
        line = int(self.batch.line[rows[0]])
        return Loose(self.batch.channel_id, stamp, line, len(rows), len(held), surplus)

    def _place(self, stamp: int, rows: Ints, held: Rows) -> GroupPosition | None:
        """Where the rows stand among the held ones of their stamp; None where the values do not tell.

        What this file itself stored in a run that was cut short stays where it is.
        """
        mine = held["upload_id"] == self.batch.upload_id
        others, own = held[~mine], held[mine]
        position = align(self._values(rows), _values(others), self._edges(stamp)) if len(others) else GroupPosition(0)
        if not len(own):
            return position
        at = np.flatnonzero(self.batch.line[rows] == own["line"][0])
        shift = int(own["nth"][0] - held["nth"][0]) - int(at[0]) if len(at) else 0
        return GroupPosition(shift, unsure=position is not None and position.unsure)

    def _edges(self, stamp: int) -> Edges:
        first, last = self.file.first.get(self.batch.channel_id), int(self.batch.stamp[-1])
        before = any(low < stamp <= high for low, high in self._other_files)
        after = any(low <= stamp < high for low, high in self._other_files)
        if first is not None and first > last:  # the file lists its latest reading first, and so did the others
            before, after = after, before
        return Edges(first == stamp, self.file.last and stamp == last, not before, not after)

    @cached_property
    def _other_files(self) -> list[tuple[int, int]]:
        """First and last stamps of the other files of the channel's instrument, all of whose readings are held."""
        files = Upload.objects.filter(instrument__channels=self.batch.channel_id).exclude(pk=self.batch.upload_id)
        files = files.exclude(state=Upload.State.WITHDRAWN)
        files = files.exclude(problems__code__in=LEFT_OUT)
        return [
            (first, last)
            for first, last in files.values_list("first_stamp_ms", "last_stamp_ms")
            if first is not None and last is not None
        ]

    def _values(self, rows: Ints) -> list[Value]:
        return _pairs(self.batch.raw[rows], self.batch.flag[rows])


def _values(held: Rows) -> list[Value]:
    return _pairs(held["raw"], held["flag"])


def _pairs(raw: Floats, flag: Ints) -> list[Value]:
    return [(None if x != x else x, said) for x, said in zip(raw.tolist(), flag.tolist(), strict=True)]


def _counts(ordered: Ints, asked: Ints) -> Ints:
    return np.searchsorted(ordered, asked, "right") - np.searchsorted(ordered, asked, "left")


def look_up(stamp: Ints, nth: Ints, batch: Batch) -> tuple[Ints, Bools]:
    """Where each row of the batch stands in the held rows (sorted by stamp, nth), and whether it is there at all."""
    # stamps of two centuries span less than 2^43 ms: both fit one integer.
    base = min(int(stamp.min()), int(batch.stamp.min()))
    held_key = ((stamp - base) << NTH_BITS) + nth
    key = ((batch.stamp - base) << NTH_BITS) + batch.nth
    place = np.minimum(np.searchsorted(held_key, key), len(held_key) - 1)
    return place, held_key[place] == key


def _equal(a: Floats, b: Floats) -> Bools:
    same: Bools = (a == b) | (np.isnan(a) & np.isnan(b))
    return same


def _clash(batch: Batch, held: Rows, i: int) -> Clash:
    return Clash(
        batch.channel_id, int(batch.stamp[i]), int(batch.line[i]), float(held["raw"]), int(held["flag"]),
        int(held["line"]), float(batch.raw[i]), int(batch.flag[i]),
    )  # fmt: skip
