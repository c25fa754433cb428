"""What can be said against each reading, from the channel's facts and the visit. Flags only add.

Method: docs/methods/flags.md.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from methods.correction.facts import ChannelFacts
from methods.quantities.arrays import Bools, Floats, Ints

#: In ``standing_ms``: the reading lies in no deployment.
NOT_DEPLOYED = int(np.iinfo(np.int64).min)


def switched_on_ms(utc: Ints, began: Ints, facts: ChannelFacts, unbroken: npt.ArrayLike = False) -> Ints:
    """When the meter was last switched on before each reading (n,): at the first one, and at every one after a gap of
    more than 3 intervals; ``NOT_DEPLOYED`` for a type that is ready at once, of which a gap tells nothing.

    ``began`` (n,): when the air that each reading stands for began to be measured. ``unbroken`` (n,): readings before
    which there is no gap, although the ones between were not passed.
    """
    last = np.full(utc.shape, NOT_DEPLOYED, dtype=np.int64)
    if utc.size == 0 or facts.warm_up_s <= 0:
        return last
    order = slice(None) if np.all(np.diff(utc) >= 0) else np.argsort(utc, kind="stable")
    times, begins = utc[order], began[order]
    on = np.concatenate(([True], np.diff(times) > 3000 * facts.interval_s))
    on[1:] &= ~np.broadcast_to(np.asarray(unbroken, dtype=bool), utc.shape)[order][1:]
    last[order] = begins[on][np.cumsum(on) - 1]
    return last


def warming_up(began: Ints, switched_on: Ints, facts: ChannelFacts) -> Bools:
    """Within ``warm_up_s`` of switching on (``switched_on_ms``)."""
    if facts.warm_up_s <= 0:
        return np.zeros(began.shape, dtype=bool)
    return np.asarray(began - switched_on < 1000 * facts.warm_up_s)


def settling(began: Ints, standing_ms: Ints, switched_on: Ints, facts: ChannelFacts) -> Bools:
    """Within 3 × T90, at least one interval, of the move to where the meter stands (``standing_ms``) or of switching
    on, whichever came later; readings in no deployment do not settle."""
    known = standing_ms != NOT_DEPLOYED
    since = began - np.where(known, np.maximum(standing_ms, switched_on), began)
    return np.asarray(known & (since < 1000 * facts.settling_s))


def outside(values: npt.ArrayLike | None, low: float | None, high: float | None, shape: tuple[int, ...]) -> Bools:
    """Which of ``values`` are outside [low, high]; none where either is unknown."""
    flagged = np.zeros(shape, dtype=bool)
    if values is None:
        return flagged
    array: Floats = np.broadcast_to(np.asarray(values, dtype=np.float64), shape)
    if low is not None:
        flagged |= array < low
    if high is not None:
        flagged |= array > high
    return flagged


def over_range(raw: Floats, facts: ChannelFacts) -> Bools:
    """At or above the end of the range: a meter that is full shows its last value, so that value may be more."""
    return np.zeros(raw.shape, dtype=bool) if facts.range_high is None else np.asarray(raw >= facts.range_high)


def below_detection(raw: Floats, value: Floats, facts: ChannelFacts) -> Bools:
    """Corrected value under the detection limit, which is defined on the net signal; or raw under the range."""
    flagged = np.zeros(raw.shape, dtype=bool)
    if facts.detection_limit is not None:
        # 0.03 − 0.02 is a little less than 0.01 in binary, and not below it
        flagged |= value < facts.detection_limit - 1e-9 * abs(facts.detection_limit)
        if facts.range_low is not None:
            flagged |= raw < facts.range_low
    return flagged
