"""Is a file the memory of another one, exported under another clock? Told before anything of it is stored."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from methods.clock import MemoryMatch, twin_of
from methods.clock.suggestion import WINDOW_MS
from methods.logs.types import LOCAL, LogProblem
from methods.quantities.durations import MINUTE_MS
from readings.models import Upload
from readings.queries.aside_stretches import held_rows, stretches_of
from readings.queries.rows import Rows
from readings.store import Batch

CODE = "same-memory"
BASES = {True: "on the clock of the instrument", False: "in UTC, as it says itself"}


class SameMemory(Exception):
    """Nothing of the file is stored: a person is to say what it is, or has said that it is the same."""

    def __init__(self, problem: LogProblem, state: str) -> None:
        super().__init__(problem.message)
        self.problem, self.state = problem, state


def refuse_the_same_memory(upload: Upload, basis: str, batches: Iterable[Batch]) -> None:
    """Raises SameMemory where a batch holds values that are held from another file under other stamps."""
    if upload.twin == Upload.Twin.APART:
        return
    batches = [batch for batch in batches if len(batch)]
    stretches = stretches_of([batch.channel_id for batch in batches])
    for batch in batches:
        low, high = int(batch.stamp.min()) - WINDOW_MS, int(batch.stamp.max()) + WINDOW_MS
        held = held_rows(batch.channel_id, low, high, stretches.get(batch.channel_id, []))
        held = held[held["upload_id"] != upload.pk]
        order = np.argsort(batch.stamp, kind="stable")
        match = twin_of(batch.stamp[order], batch.raw[order], held["stamp"], held["raw"])
        if match is not None:
            raise _same(upload, basis, match, _other(match, batch, held))


def _other(match: MemoryMatch, batch: Batch, held: Rows) -> Upload:
    """The file from which most of the same readings are held."""
    there = held[np.isin(held["stamp"], batch.stamp + match.shift_ms)]
    ids, counts = np.unique(there["upload_id"], return_counts=True)
    return Upload.objects.get(pk=int(ids[counts.argmax()]))


def _same(upload: Upload, basis: str, match: MemoryMatch, other: Upload) -> SameMemory:
    minutes = abs(match.shift_ms) // MINUTE_MS
    hours, rest = divmod(minutes, 60)
    apart = " ".join(part for part in (f"{hours} h" if hours else "", f"{rest} min" if rest else "") if part)
    way = "earlier" if match.shift_ms > 0 else "later"
    ours, theirs = basis == LOCAL, (other.layout or {}).get("basis", LOCAL) == LOCAL
    clocks = (
        f"This file has its times {BASES[ours]}, that one {BASES[theirs]}."
        if ours != theirs
        else "Perhaps one was exported in local time and the other in UTC."
    )
    start = (
        f"This looks like the same memory as “{other.filename}”, written {apart} {way}: {match.same:,} of "
        f"{match.compared:,} compared changes are the same. {clocks} "
    )
    if upload.twin == Upload.Twin.SAME:
        message = start + "It was left out, as decided: every reading is counted once."
        return SameMemory(LogProblem(0, "", other.filename, CODE, message), Upload.State.READ)
    message = start + "Nothing of it is stored, so that no reading counts twice. Say which it is; export one way."
    return SameMemory(LogProblem(0, "", other.filename, CODE, message), Upload.State.ATTENTION)
