"""Putting a batch of readings beside what is already held: new rows go in, held rows stay as they are.

Nothing is ever overwritten. A row that is held with the same value counts as already held; one that is held with a
different value is a clash, which the caller shows to a person. Readings of a stretch that a person set aside are held
like others, and what is new of it is set aside with them: another download must not bring it back.
"""

from __future__ import annotations

import numpy as np
from django.db import IntegrityError, connection, transaction

from readings.queries.aside_stretches import held_rows, stretches_of
from readings.store import postgres, sqlite
from readings.store.aside import keep_aside, share_channels
from readings.store.batches import Batch, StoreTally
from readings.store.compare import compare
from readings.store.envelopes import envelope_of
from readings.store.intake import Intake

RACES = 5


def write(batches: list[Batch], file: Intake | None = None) -> StoreTally:
    """Store the batches in the caller's transaction, all or nothing.

    ``file`` goes with all batches of one file; what it keeps back comes with the next call, all of it with the
    :attr:`Intake.last`. Two workers may bring the same key at the same moment: the later one is told by the primary
    key, looks again, and finds the row held.
    """
    file = file or Intake(last=True)
    for attempt in range(RACES):
        try:
            with transaction.atomic():
                tally, rest = _write(batches, file)
        except IntegrityError:
            if attempt == RACES - 1:
                raise
        else:
            file.rest = rest
            return tally
    raise AssertionError("unreachable")


def _write(batches: list[Batch], file: Intake) -> tuple[StoreTally, dict[int, Batch]]:
    tally, fresh, rest = StoreTally(), [], {}
    whole = file.with_rest(batches)
    share_channels(whole)
    stretches = stretches_of(whole)
    for channel_id in sorted(whole):
        batch, aside = whole[channel_id], stretches.get(channel_id, [])
        held = held_rows(channel_id, int(batch.stamp.min()), int(batch.stamp.max()), aside)
        waits = file.waits(batch, held)
        if waits.any():
            rest[channel_id], batch = batch.only(waits), batch.only(~waits)
        new, part = compare(batch, held, file)
        tally.add(part)
        fresh.append(_in_key_order(keep_aside(new, aside)))
    into = postgres if connection.vendor == "postgresql" else sqlite
    into.insert(fresh)
    if kept := [envelope_of(new) for new in fresh if len(new)]:
        into.insert_envelopes(kept)
    return tally, rest


def _in_key_order(batch: Batch) -> Batch:
    """All writers insert in one order, so that two who bring the same keys wait for each other one way only."""
    steps, turns = np.diff(batch.stamp), np.diff(batch.nth)
    if np.all((steps > 0) | ((steps == 0) & (turns > 0))):
        return batch
    return batch.only(np.lexsort((batch.nth, batch.stamp)))
