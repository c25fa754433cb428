"""Which stamps have to be read for some deployments of an instrument: stretches around them, not all between them.

Each has two hours and the time to get ready before it, because they tell when the instrument was switched on, and two
hours after, because neighbours tell the two passes of a repeated hour apart.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from campaigns.models import Instrument
from methods.clock import ClockModel
from methods.clock.checks import is_jump
from methods.correction.facts import SETTLING_T90
from methods.quantities.arrays import Ints
from methods.quantities.durations import DAY_MS, HOUR_MS
from readings.models import Upload

#: Lowest and highest stamp.
Stamps = tuple[int, int]

#: Readings before a deployment are read too, because they tell when the instrument was switched on; and after it.
LEAD_MS = 2 * HOUR_MS
FAR_MS = 4_102_444_800_000  # 2100-01-01: where the query for a deployment that is still open ends


def merged(stretches: npt.ArrayLike) -> Ints:
    """Stretches (m, 2) in order, those that touch as one."""
    ordered = np.asarray(stretches, dtype=np.int64).reshape(-1, 2)
    ordered = ordered[np.argsort(ordered[:, 0], kind="stable")]
    reached = np.maximum.accumulate(ordered[:, 1])
    begins = np.flatnonzero(np.concatenate(([True], ordered[1:, 0] > reached[:-1])))
    return np.column_stack((ordered[begins, 0], np.maximum.reduceat(ordered[:, 1], begins)))


def getting_ready_s(instrument: Instrument) -> float:
    """For how long after it is switched on its readings do not count: warm-up, or settling of its slowest channel."""
    slowest = max((channel.spec.t90_s or 0.0 for channel in instrument.channels.all()), default=0.0)
    return max(float(instrument.type.warm_up_s), SETTLING_T90 * slowest)


def around(spans: Ints, ready_s: float) -> Ints:
    """UTC ms (k, 2) of what is read for deployments from start to end (m, 2)."""
    ends = np.minimum(spans[:, 1], FAR_MS)
    return merged(
        np.column_stack((spans[:, 0] - LEAD_MS - round(1000 * ready_s), np.maximum(ends, spans[:, 0]) + LEAD_MS))
    )


def stamps_of(stretches: Ints, clock: ClockModel, some_in_utc: bool) -> list[Stamps]:
    """Stamps that hold every reading in the ``stretches`` (m, 2), UTC ms. ``some_in_utc``: stamps of another basis
    may be among them, so a day wider on both sides."""
    wider = DAY_MS if some_in_utc else 0
    bounds = [clock.stamp_bounds(*stretch) for stretch in stretches.tolist()]
    return [(low, high) for low, high in merged([(low - wider, high + wider) for low, high in bounds]).tolist()]


def is_local(clock: ClockModel) -> bool:
    """Whether a reading's time rests on the checks and on readings near it, as long as its file is in order of time.

    Where the clock was set anew, the place at which it was and what holds on both sides are found in all of the file.
    """
    return not clock.answers and not any(is_jump(earlier, later) for earlier, later in pairwise(clock.offsets()))


def in_order(instruments: Collection[int]) -> Mapping[int, bool]:
    """By instrument, whether every one of its files is known to be in order of time. One query; none for none."""
    ordered = dict.fromkeys(instruments, True)
    if ordered:
        files = Upload.objects.filter(instrument__in=instruments).exclude(state=Upload.State.WITHDRAWN)
        for instrument, edges, interval in files.values_list("instrument_id", "bursts", "interval_ms"):
            ordered[instrument] &= edges is not None and _forward(edges, interval or 0)
    return ordered


def _forward(edges: list[list[int]], interval_ms: int) -> bool:
    """Bursts as an upload keeps them, oldest first: each from its first stamp to one interval after its last."""
    bursts = np.array(edges, dtype=np.int64).reshape(-1, 2)
    return bool(np.all(bursts[1:, 0] >= bursts[:-1, 1] - interval_ms))


def reaches_of(
    instruments: Mapping[int, Instrument],
    clocks: Mapping[int, ClockModel],
    spans: Mapping[int, Ints],
    some_in_utc: Mapping[int, bool],
) -> dict[int, list[Stamps]]:
    """By instrument the stamps to be read for its deployments ``spans`` (m, 2), UTC ms.

    All from the first to the last where times rest on more than what is near.
    """
    stretches = {pk: around(spans[pk], getting_ready_s(instrument)) for pk, instrument in instruments.items()}
    several = [pk for pk, ranges in stretches.items() if len(ranges) > 1]
    ordered = in_order([pk for pk in several if clocks[pk].checks and is_local(clocks[pk])])
    out = {}
    for pk, ranges in stretches.items():
        apart = pk not in several or not clocks[pk].checks or ordered.get(pk, False)
        apart = apart and is_local(clocks[pk])
        whole = np.array([[ranges[0, 0], ranges[-1, 1]]])
        out[pk] = stamps_of(ranges if apart else whole, clocks[pk], some_in_utc[pk])
    return out
