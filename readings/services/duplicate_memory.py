"""Is a file the memory of another one, exported under another clock? Told before anything of it is stored."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import chain

import numpy as np

from campaigns.models import Channel
from methods.clock import MemoryMatch, twin_of
from methods.clock.other_unit import FactorMatch, conversion_of, factor_of, same_keys
from methods.clock.suggestion import WINDOW_MS
from methods.logs.types import LOCAL, LogProblem
from methods.quantities.digits import in_digits
from methods.quantities.durations import MINUTE_MS
from methods.quantities.substances import SUBSTANCES
from readings.models import Upload
from readings.queries.aside_stretches import AsideStretch, held_rows, stretches_of
from readings.queries.rows import Rows
from readings.store import Batch

CODE = "same-memory"
LEFT_OUT = "It was left out, as decided: every reading is counted once."
MEASURED = ("spec__parameter", "spec__unit")
BASES = {True: "on the clock of the instrument", False: "in UTC, as it says itself"}


class SameMemory(Exception):
    """Nothing of the file is stored: a person is to say what it is, or has said that it is the same."""

    def __init__(self, problem: LogProblem, state: str) -> None:
        super().__init__(problem.message)
        self.problem, self.state = problem, state


def refuse_the_same_memory(
    upload: Upload, basis: str, batches: Iterable[Batch], channels: Iterable[Channel | None] = ()
) -> None:
    """Raises SameMemory where a batch holds values that are held from another file under other stamps, or in another
    unit."""
    if upload.twin == Upload.Twin.APART:
        return
    batches = [batch for batch in batches if len(batch)]
    siblings = _siblings(channels)
    stretches = stretches_of([*(batch.channel_id for batch in batches), *chain.from_iterable(siblings.values())])
    for batch in batches:
        low, high = int(batch.stamp.min()) - WINDOW_MS, int(batch.stamp.max()) + WINDOW_MS
        held = held_rows(batch.channel_id, low, high, stretches.get(batch.channel_id, []))
        held = held[held["upload_id"] != upload.pk]
        order = np.argsort(batch.stamp, kind="stable")
        match = twin_of(batch.stamp[order], batch.raw[order], held["stamp"], held["raw"])
        if match is not None:
            raise _same(upload, basis, match, _other(match, batch, held))
        if (found := _in_another_unit(batch, held, siblings.get(batch.channel_id, []), stretches)) is not None:
            raise _same_in_another_unit(upload, batch, *found)


def _siblings(channels: Iterable[Channel | None]) -> dict[int, list[int]]:
    """For each channel the others of its instrument that measure the same in another unit."""
    known = [channel for channel in channels if channel is not None]
    if not known:
        return {}
    of_one = Channel.objects.filter(instrument=known[0].instrument_id)
    measured = {pk: (parameter, unit) for pk, parameter, unit in of_one.values_list("pk", *MEASURED)}
    return {c.pk: [pk for pk, of in measured.items() if _differ_in_unit(of, measured[c.pk])] for c in known}


def _differ_in_unit(one: tuple[str, str], other: tuple[str, str]) -> bool:
    return one[0] == other[0] and one[1] != other[1]


def _in_another_unit(
    batch: Batch, held: Rows, siblings: list[int], stretches: dict[int, list[AsideStretch]]
) -> tuple[FactorMatch, Upload] | None:
    """Of the same channel, or of another one of the parameter where this channel has none of the readings itself."""
    ours, theirs = same_keys(batch.stamp, batch.nth, held["stamp"], held["nth"])
    own = np.zeros(len(batch), dtype=np.bool_)
    own[ours] = True
    tried = [(batch.raw[ours], held[theirs])]
    low, high = int(batch.stamp.min()), int(batch.stamp.max())
    for pk in siblings:
        rows = held_rows(pk, low, high, stretches.get(pk, []))
        rows = rows[rows["upload_id"] != batch.upload_id]
        new = batch.only(~own)
        ours, theirs = same_keys(new.stamp, new.nth, rows["stamp"], rows["nth"])
        tried.append((new.raw[ours], rows[theirs]))
    for values, rows in tried:
        if (match := factor_of(values, rows["raw"])) is not None:
            return match, Upload.objects.get(pk=int(np.bincount(rows["upload_id"]).argmax()))
    return None


def _same_in_another_unit(upload: Upload, batch: Batch, match: FactorMatch, other: Upload) -> SameMemory:
    parameter = Channel.objects.values_list("spec__parameter", flat=True).get(pk=batch.channel_id)
    told = conversion_of(match, parameter) if parameter in SUBSTANCES else ""
    start = (
        f"This looks like the same memory as “{other.filename}” in another unit: {match.same:,} of {match.compared:,} "
        f"values are {in_digits(match.factor, 4)} times those under the same times{f', {told}' if told else ''}. "
    )
    if upload.twin == Upload.Twin.SAME:
        return SameMemory(LogProblem(0, "", other.filename, CODE, start + LEFT_OUT), Upload.State.READ)
    ways = "Nothing of it is stored, so that no reading counts twice. Say which it is; export in one unit."
    return SameMemory(LogProblem(0, "", other.filename, CODE, start + ways), Upload.State.ATTENTION)


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
        message = start + LEFT_OUT
        return SameMemory(LogProblem(0, "", other.filename, CODE, message), Upload.State.READ)
    message = start + "Nothing of it is stored, so that no reading counts twice. Say which it is; export one way."
    return SameMemory(LogProblem(0, "", other.filename, CODE, message), Upload.State.ATTENTION)
