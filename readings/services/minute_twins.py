"""The same memory handed in with and without its seconds: each reading is held once, under the finer stamp.

Of a file without seconds that comes second, readings of minutes that are held with their seconds are not stored again.
One that came first is read anew after the finer file is stored: what both hold is then held from the finer one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from campaigns.models import User
from methods.clock.minute_stamps import is_coarse, look_up, minute_match, minutes_of
from methods.logs.types import LogProblem
from methods.logs.values.memory_alignment import Edges, Values, align
from methods.quantities.arrays import Bools, Ints
from methods.quantities.durations import MINUTE_MS
from readings.models import Upload
from readings.queries.aside_stretches import AsideStretch, held_rows, stretches_of
from readings.queries.rows import Rows
from readings.services import reading_anew
from readings.services.receive import is_running
from readings.services.withdrawing import held as held_row
from readings.services.withdrawing import mark_withdrawn
from readings.store import Batch

CODE, LEFT = "same-minutes", "held-apart"
#: The ends of a group are never known: the finer file may begin or end within the minute, and so may this one.
ANY = Edges(begins=True, ends=True, held_begins=True, held_ends=True)


@dataclass
class MinuteTwins:
    """What one file has in common with files whose stamps are finer or coarser than its own.

    ``ways``: of channels of a coarse file, how minutes were made of the finer stamps. ``coarse``: of a fine file, the
    files that are to be read anew after it. ``held`` counts readings that were held with their seconds.
    """

    upload: Upload
    ways: dict[int, str] = field(default_factory=dict)
    coarse: set[int] = field(default_factory=set)
    other: int = 0
    held: int = 0
    stretches: dict[int, list[AsideStretch]] = field(default_factory=dict)

    def look(self, batches: Iterable[Batch]) -> None:
        """Before anything is stored: at the first readings of the file, channel by channel."""
        if self.upload.twin == Upload.Twin.APART:
            return
        batches = [batch for batch in batches if len(batch)]
        self.stretches = stretches_of([batch.channel_id for batch in batches])
        for batch in batches:
            order = np.argsort(batch.stamp, kind="stable")
            stamps, values = batch.stamp[order], batch.raw[order]
            theirs = self._held(batch)
            mine = is_coarse(stamps)
            theirs = theirs[_of_kind(theirs, coarse=not mine)]
            pair = (stamps, values), (theirs["stamp"], theirs["raw"])
            coarse, fine = pair if mine else pair[::-1]
            match = minute_match(*coarse, *fine) if len(theirs) else None
            if match is None:
                continue
            self.other = int(np.bincount(theirs["upload_id"]).argmax())
            if mine:
                self.ways[batch.channel_id] = match.way
            else:
                self.coarse.update(np.unique(theirs["upload_id"]).tolist())

    def without_held(self, batch: Batch) -> tuple[Batch, list[LogProblem]]:
        """``batch`` without the readings of minutes that are held with their seconds, and what is said of those that
        are not the same."""
        way = self.ways.get(batch.channel_id)
        if way is None or not len(batch):
            return batch, []
        fine = self._held(batch)
        fine = fine[_of_kind(fine, coarse=False)]
        minutes = minutes_of(fine["stamp"], way)
        inside = np.isin(batch.stamp, minutes)
        if not inside.any():
            return batch, []
        at, there = look_up(batch.stamp, batch.nth, minutes)
        same = there & _same(batch.raw, fine["raw"][at])
        for stamp in np.unique(batch.stamp[inside & ~same]).tolist():
            rows = np.flatnonzero(batch.stamp == stamp)
            same[rows] = _found(batch, rows, fine[minutes == stamp])
        apart = np.flatnonzero(inside & ~same)
        self.held += int(np.count_nonzero(inside & same))
        return batch.only(~inside), [_left_out(batch, apart)] if len(apart) else []

    def told(self) -> list[LogProblem]:
        """What is said of the whole file."""
        if not self.held:
            return []
        name = Upload.objects.get(pk=self.other).filename
        message = (
            f"This file holds the memory of “{name}” without its seconds: {self.held:,} of its readings are held from "
            "there, with theirs, and were not stored again."
        )
        return [LogProblem(0, "", name, CODE, message)]

    def read_coarse_anew(self) -> tuple[list[LogProblem], bool]:
        """Of a fine file that is stored: have the coarser ones read anew, beside it; and whether that could be done.

        In the caller's transaction.
        """
        by = self.upload.uploaded_by
        done = [_read_anew(pk, self.upload, by) for pk in sorted(self.coarse)]
        return [problem for problem, _ in done], all(is_done for _, is_done in done)

    def _held(self, batch: Batch) -> Rows:
        low, high = int(batch.stamp.min()) - MINUTE_MS, int(batch.stamp.max()) + MINUTE_MS
        rows = held_rows(batch.channel_id, low, high, self.stretches.get(batch.channel_id, []))
        others: Rows = rows[rows["upload_id"] != self.upload.pk]
        return others


def _of_kind(rows: Rows, *, coarse: bool) -> Bools:
    """Which rows are of files whose stamps are all on whole minutes, or are not."""
    if not len(rows):
        return np.zeros(0, dtype=np.bool_)
    _, file = np.unique(rows["upload_id"], return_inverse=True)
    fine: Bools = np.bincount(file, rows["stamp"] % MINUTE_MS != 0) > 0
    kind: Bools = fine[file] != coarse
    return kind


def _same(a: np.ndarray, b: np.ndarray) -> Bools:
    same: Bools = (a == b) | (np.isnan(a) & np.isnan(b))
    return same


def _found(batch: Batch, rows: Ints, fine: Rows) -> Bools:
    """Which readings of one minute are among those that are held of it, wherever one of the files was cut off."""
    place = align(_values(batch.raw[rows], batch.flag[rows]), _values(fine["raw"], fine["flag"]), ANY)
    if place is None:
        return np.zeros(len(rows), dtype=np.bool_)
    at = place.shift + np.arange(len(rows))
    found: Bools = (at >= 0) & (at < len(fine))
    return found


def _values(raw: np.ndarray, flag: np.ndarray) -> Values:
    return [(None if x != x else x, said) for x, said in zip(raw.tolist(), flag.tolist(), strict=True)]


def _left_out(batch: Batch, apart: Ints) -> LogProblem:
    count = len(apart)
    message = (
        f"{count:,} reading{'s' * (count != 1)} from this line on {'are' if count != 1 else 'is'} of minutes that are "
        "held with their seconds from another file, with other values. The held ones stay."
    )
    return LogProblem(int(batch.line[apart[0]]), "", str(count), LEFT, message)


def _read_anew(pk: int, fine: Upload, by: User | None) -> tuple[LogProblem, bool]:
    row = held_row(Upload(pk=pk))
    start = f"“{row.filename}” holds the same memory without its seconds"
    if not row.withdrawn and (by is None or is_running(row)):
        message = f"{start}, and could not be read anew just now: withdraw it, so that no reading counts twice."
        return LogProblem(0, "", row.filename, CODE, message), False
    if not row.withdrawn and by is not None:
        mark_withdrawn(row, f"Its readings are held with their seconds from “{fine.filename}”."[:300], by)
        reading_anew.read_in(row, by, instrument=row.instrument, twin=row.twin, outside=row.outside)
    message = f"{start}: it is read anew, and what both hold counts with the stamps of this file."
    return LogProblem(0, "", row.filename, CODE, message), True
