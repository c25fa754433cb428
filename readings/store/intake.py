"""One file on its way into the store: what must be remembered of it from chunk to chunk."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from methods.logs.values.memory_alignment import LONGEST
from methods.quantities.arrays import Bools
from readings.queries.rows import Rows
from readings.store.batches import Batch


@dataclass(slots=True)
class Intake:
    """``last``: the file ends with the batches that come now. ``first``: the stamp with which it begins, by channel.
    ``rest``: readings of a group that may go on in the next chunk, by channel. ``base``: the nth at which the file's
    readings of a (channel, stamp) begin, where that is not 0.

    Batches that come without one are taken for the middle of a file.
    """

    last: bool = False
    first: dict[int, int] = field(default_factory=dict)
    rest: dict[int, Batch] = field(default_factory=dict)
    base: dict[tuple[int, int], int] = field(default_factory=dict)

    def see(self, batch: Batch) -> Batch:
        """Before its first batch is written: with which stamp the file begins."""
        if len(batch):
            self.first.setdefault(batch.channel_id, int(batch.stamp[0]))
        return batch

    def with_rest(self, batches: list[Batch]) -> dict[int, Batch]:
        """Batches that are not empty, behind what was kept back of their channels."""
        whole = dict(self.rest)
        for batch in batches:
            if len(batch):
                whole[batch.channel_id] = batch.behind(self.rest.get(batch.channel_id))
        return whole

    def waits(self, batch: Batch, held: Rows) -> Bools:
        """Rows to be looked at with the next chunk only: the last group, where readings are held under its stamp.

        How it stands among them shows when the whole of it is there.
        """
        group: Bools = batch.stamp == batch.stamp[-1]
        if self.last or not (held["stamp"] == batch.stamp[-1]).any() or np.count_nonzero(group) > LONGEST:
            return np.zeros(len(batch), dtype=np.bool_)
        return group
