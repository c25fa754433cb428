"""Which parts of the readings of a channel need not be read, as far as their envelopes tell."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from campaigns.models import Channel
from methods.clock.zones import transitions
from methods.quantities.arrays import Bools
from methods.quantities.durations import DAY_MS, MINUTE_MS
from methods.quantities.gaps import BRIDGED_INTERVALS
from readings.queries.envelopes import HeldParts, held
from readings.queries.placed import PlacingTask
from readings.queries.stamp_ranges import LEAD_MS, getting_ready_s, is_local, stamps_of

#: As many parts as a figure has use for, and a few more.
MOST_PARTS = 2_400
#: Of rarer readings there are never many; and the clock's rules for a repeated hour look at the interval.
COARSEST_MS = 20 * MINUTE_MS
#: What is certainly the interval: more than half of the steps, with something to spare for what was not counted.
CERTAIN = 0.52


class Unsure(Exception):
    """The envelopes do not tell what reading everything would."""


@dataclass(frozen=True)
class StampWindow:
    """``low`` ≤ t < ``high``, UTC ms."""

    low: int
    high: int


def laid_out(asked: PlacingTask, channel: Channel, window: StampWindow) -> tuple[int, HeldParts, Bools, Bools]:
    """The logging interval, ms; the parts (k,), some of them several in one; which of them are near the window, and
    which have to be read. Raises Unsure."""
    if not is_local(asked.clock):
        raise Unsure
    reaches = np.array(asked.reaches, dtype=np.int64)
    parts = held(channel.pk, int(reaches[0, 0]), int(reaches[-1, 1]))
    lows, highs = reaches.T
    within = np.searchsorted(lows, parts.parts["last"], "right") > np.searchsorted(highs, parts.parts["first"])
    parts = parts if within.all() else parts.only(within)
    inside = np.searchsorted(lows, parts.parts["first"], "right") > np.searchsorted(highs, parts.parts["last"])
    interval = _interval(parts, inside)
    near = parts.touching(*_stamps_near(asked, window))
    ordered = parts.alone() & (parts.parts["order"] != 0)
    plain = ordered & inside & (parts.parts["said"] == 0) & (parts.parts["gap"] <= BRIDGED_INTERVALS * interval)
    plain &= ~_beside_changes(asked, parts)
    parts, plain, near, ordered = _coarser(parts, plain, near, ordered, interval)
    read = near & ~plain
    if asked.clock.checks:  # where the file steps back its clock was set anew
        read |= ~ordered
    return interval, parts, near, read


def _interval(held_parts: HeldParts, inside: Bools) -> int:
    """The typical step between stamps, if it is that of more than half of them, so that no other can be."""
    parts = held_parts.parts
    known = inside & (parts["order"] != 0) & (parts["step"] > 0)
    steps, which = np.unique(parts["step"][known], return_inverse=True)
    if not len(steps):
        raise Unsure
    sums = np.bincount(which, parts["steady"][known])
    step = int(steps[np.argmax(sums)])
    if sums.max() <= CERTAIN * (parts["rises"].sum() + len(parts)) or step >= COARSEST_MS:
        raise Unsure
    return step


def _stamps_near(asked: PlacingTask, window: StampWindow) -> tuple[int, int]:
    """The window with what tells about warming up before it, in stamps, rather too wide."""
    margin = LEAD_MS + round(1000 * getting_ready_s(asked.instrument))
    spans = asked.spans
    low = max(window.low, int(spans[:, 0].min())) - margin
    high = max(low, min(window.high, int(spans[:, 1].max()), asked.reaches[-1][1] + DAY_MS)) + LEAD_MS
    (near,) = stamps_of(np.array([[low, high]]), asked.clock, bool(asked.files.in_utc))
    return near


def _beside_changes(asked: PlacingTask, parts: HeldParts) -> Bools:
    """(k,): within two hours of an hour that the clock repeats or leaves out."""
    beside = np.zeros(len(parts), dtype=np.bool_)
    basis = asked.clock.basis
    if basis.kind != "zone" or not len(parts):
        return beside
    about = DAY_MS if asked.files.in_utc else LEAD_MS
    table = transitions(basis.zone, int(parts.parts["first"].min()), int(parts.parts["last"].max()))
    for early, late in zip(table.early().tolist(), table.late().tolist(), strict=True):
        beside |= parts.touching(early - about, late + about)
    return beside


def _coarser(
    held_parts: HeldParts, plain: Bools, near: Bools, ordered: Bools, interval_ms: int
) -> tuple[HeldParts, Bools, Bools, Bools]:
    """Plain neighbours together, so that there are no more parts than a figure has use for."""
    size = -(-len(held_parts) // MOST_PARTS)
    if size == 1:
        return held_parts, plain, near, ordered
    parts, upload = held_parts.parts, held_parts.upload
    apart = parts["first"][1:] - parts["last"][:-1] > BRIDGED_INTERVALS * interval_ms
    apart |= parts["order"][1:] != parts["order"][:-1]
    apart |= (upload[1:] != upload[:-1]) | (near[1:] != near[:-1]) | ~plain[1:] | ~plain[:-1]
    breaks = np.append([True], apart)
    at = np.append(held_parts.parts["first"], np.iinfo(np.int64).max)
    coarse = held_parts.coarser(breaks, size)
    kept = np.searchsorted(at, coarse.parts["first"])
    return coarse, plain[kept], near[kept], ordered[kept]
