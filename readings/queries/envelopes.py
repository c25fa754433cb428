"""Envelopes of readings as they are held: where readings lie, how many, and how low and how high they go."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from methods.figures.block_summary import PART, Parts, together
from methods.quantities.arrays import Bools, Ints
from readings.models import Envelope
from readings.queries.stamp_ranges import Stamps


@dataclass(frozen=True, eq=False)
class HeldParts:
    """Parts (k,) of the readings of a channel by their first stamp, with the upload of each. No reading is outside."""

    parts: Parts
    upload: Ints

    def __len__(self) -> int:
        return len(self.parts)

    def only(self, which: Bools | Ints) -> HeldParts:
        return HeldParts(self.parts[which], self.upload[which])

    def touching(self, low: int, high: int) -> Bools:
        """(k,): which hold stamps from ``low`` to ``high``."""
        touching: Bools = (self.parts["last"] >= low) & (self.parts["first"] <= high)
        return touching

    def alone(self) -> Bools:
        """(k,): whether neither stamps nor lines of another part lie between those of the part."""
        lines = np.sort(np.stack((self.parts["first_line"], self.parts["last_line"])).astype(np.int64), axis=0)
        lines += np.unique(self.upload, return_inverse=True)[1] << 33
        return _apart(self.parts["first"], self.parts["last"]) & _apart(lines[0], lines[1])

    def coarser(self, breaks: Bools, size: int) -> HeldParts:
        """Neighbours as one, ``size`` at most, and none across ``breaks`` (k,): before which part one begins."""
        begins = breaks.copy()
        begins[:1] = True
        runs = np.flatnonzero(begins)
        place = np.arange(len(self)) - runs[np.cumsum(begins) - 1]
        starts = np.flatnonzero(place % size == 0)
        return replace(self, parts=together(self.parts, starts), upload=self.upload[starts])


def _apart(low: Ints, high: Ints) -> Bools:
    """Which of the stretches from ``low`` to ``high``, both included, meet no other."""
    order = np.argsort(low, kind="stable")
    meets = low[order][1:] <= np.maximum.accumulate(high[order])[:-1]
    apart = np.ones(len(low), dtype=np.bool_)
    apart[order] = ~(np.append(meets, False) | np.append([False], meets))
    return apart


def held(channel_id: int, low: int, high: int) -> HeldParts:
    """Of the readings with stamps from ``low`` to ``high``, and some around them. One query."""
    envelopes = Envelope.objects.filter(channel=channel_id, first_stamp__lte=high, last_stamp__gte=low)
    asked = envelopes.order_by("first_stamp").values_list("upload_id", "parts")
    uploads, several = [], []
    for upload, data in asked:
        parts = np.frombuffer(data, dtype=PART)
        several.append(parts)
        uploads.append(np.full(len(parts), upload, dtype=np.int64))
    if not several:
        return HeldParts(np.empty(0, dtype=PART), np.empty(0, dtype=np.int64))
    whole = HeldParts(np.concatenate(several), np.concatenate(uploads))
    if np.all(whole.parts["first"][1:] >= whole.parts["first"][:-1]):
        return whole
    return whole.only(np.argsort(whole.parts["first"], kind="stable"))


def about(reaches: Mapping[int, Sequence[Stamps]]) -> dict[int, float]:
    """How many readings there are, by channel, between the stamps ``reaches``, taken as evenly spread. One query."""
    counts = dict.fromkeys(reaches, 0.0)
    rows = Envelope.objects.filter(channel__in=list(reaches))
    for channel, first, last, count in rows.values_list("channel_id", "first_stamp", "last_stamp", "count"):
        counts[channel] += count * _share(first, last, reaches[channel])
    return counts


def _share(first: int, last: int, reaches: Iterable[Stamps]) -> float:
    inside = sum(max(0, min(last, high) - max(first, low) + 1) for low, high in reaches)
    return inside / (last - first + 1)
