"""What may be done with the stays of one instrument at points: moving edges, splitting, merging. Pure.

A stay is a deployment without its paper: a point, a start, an end (None: it is still there), half-open.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np

from methods.quantities.arrays import Ints
from methods.quantities.gaps import BRIDGED_INTERVALS


class CannotEdit(ValueError):
    """It would not leave each instrument at one place at a time, or not mean anything. The message is for people."""


@dataclass(frozen=True)
class Stay:
    point: int
    starts_at: datetime
    ends_at: datetime | None

    def overlaps(self, other: Stay) -> bool:
        return (other.ends_at is None or other.ends_at > self.starts_at) and (
            self.ends_at is None or self.ends_at > other.starts_at
        )


def moved(stay: Stay, starts_at: datetime, ends_at: datetime | None, others: Iterable[Stay] = ()) -> Stay:
    """The stay from ``starts_at`` to ``ends_at``. Raises :class:`CannotEdit` if it is empty or meets another."""
    if ends_at is not None and ends_at <= starts_at:
        raise CannotEdit("A deployment ends after it starts.")
    new = replace(stay, starts_at=starts_at, ends_at=ends_at)
    if any(new.overlaps(other) for other in others):
        raise CannotEdit("The instrument is at another point at that time.")
    return new


def split(stay: Stay, at: datetime, point: int | None = None) -> tuple[Stay, Stay]:
    """Two stays that meet at ``at``; the second at ``point``, or where the first is."""
    if at <= stay.starts_at or (stay.ends_at is not None and at >= stay.ends_at):
        raise CannotEdit("A deployment is split at a moment after its start and before its end.")
    second = Stay(stay.point if point is None else point, at, stay.ends_at)
    return replace(stay, ends_at=at), second


def merged(first: Stay, second: Stay, others: Iterable[Stay] = ()) -> Stay:
    """One stay from the start of the first to the end of the second, which come next to each other at one point.

    ``others``: all other stays of the instrument. Raises :class:`CannotEdit`.
    """
    if first.starts_at > second.starts_at:
        first, second = second, first
    if first.point != second.point:
        raise CannotEdit("Only deployments at the same point can be merged.")
    if first.ends_at is None or first.overlaps(second):
        raise CannotEdit("Only deployments that follow each other can be merged.")
    new = replace(first, ends_at=second.ends_at)
    if any(new.overlaps(other) for other in others):
        raise CannotEdit("Between the two the instrument is at another point: they cannot be merged.")
    return new


def standing_since(starts_ms: Ints, ends_ms: Ints, points: Ints, interval_ms: int) -> Ints:
    """Since when the instrument stands where it is in each of its stays, UTC ms (m,); stays (m,) in any order.

    A stay goes on with the one before it at the same point with no time between, or no more than means bridge at this
    logging interval (docs/methods/flags.md): a diary cut them, nobody moved the meter.
    """
    order = np.argsort(starts_ms, kind="stable")
    starts, ends, point = starts_ms[order], ends_ms[order], points[order]
    moved_in = np.ones(len(order), dtype=np.bool_)
    moved_in[1:] = (point[1:] != point[:-1]) | (starts[1:] - ends[:-1] > BRIDGED_INTERVALS * interval_ms)
    since = np.empty(len(order), dtype=np.int64)
    since[order] = starts[np.maximum.accumulate(np.where(moved_in, np.arange(len(order)), 0))]
    return since
