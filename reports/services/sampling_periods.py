"""One stay at a point: the readings of one deployment, or of consecutive ones, taken together.

Method: docs/methods/averages.md.

A window may lie across the moment an instrument was changed or read out, as long as nobody left the point: what counts
is that the gap would be bridged inside one deployment.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any, NamedTuple

import numpy as np

from campaigns.models import Deployment
from methods.quantities.durations import HOUR_MS
from methods.quantities.flags import EXCLUDES
from methods.quantities.gaps import BRIDGED_INTERVALS
from methods.quantities.moments import utc_ms
from readings.queries import Placed

#: Deployments further apart than this are never looked at together: two intervals of an hour.
MOST_APART_MS = 2 * HOUR_MS


class StayNames(NamedTuple):
    """What the results of a stay say of it in their trace: see ``ResultTrace``."""

    instrument: str
    channel: str
    deployments: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class SamplingPeriod:
    """``parts`` in order of time, one per deployment, all of one parameter and at one point."""

    parts: tuple[Placed, ...]

    @cached_property
    def taken(self) -> dict[Any, Any]:
        """Kept by ``estimates.Taken``: the stay in the terms of the limits it was held against."""
        return {}

    @cached_property
    def noise(self) -> dict[int, Any]:
        """Kept by ``estimates.Taken``: by channel its noise as the limit that asked first has it, with their slope."""
        return {}

    @property
    def first(self) -> Placed:
        return self.parts[0]

    @property
    def deployment(self) -> Deployment:
        """The one that the result is kept under."""
        return self.parts[0].deployment

    @property
    def deployments(self) -> list[Deployment]:
        return [part.deployment for part in self.parts]

    @property
    def parameter(self) -> str:
        return str(self.first.channel.spec.parameter)

    @cached_property
    def names(self) -> StayNames:
        return StayNames(
            instrument=_each(str(part.deployment.instrument) for part in self.parts),
            channel=_each(str(part.channel.spec) for part in self.parts),
            deployments=tuple(str(deployment.key) for deployment in self.deployments),
        )

    @cached_property
    def u_references(self) -> dict[int, float | None]:
        """By deployment: the uncertainty of the reference of its last calibration, None where none is known."""
        return {part.deployment.pk: _u_reference(part) for part in self.parts}

    @property
    def interval_ms(self) -> int:
        return max(part.interval_ms for part in self.parts)

    def at(self, k: int) -> tuple[Placed, int]:
        """The part that holds the ``k``-th reading of all, and its place in it."""
        for part in self.parts:
            if k < len(part):
                return part, k
            k -= len(part)
        raise IndexError("beyond the last reading")

    def slices(self, first: int, last: int) -> Iterator[tuple[Placed, slice]]:
        """Per part that has any of the readings ``first`` to ``last`` (inclusive, counted over all): its own slice."""
        begin = 0
        for part in self.parts:
            low, high = max(first - begin, 0), min(last + 1 - begin, len(part))
            if low < high:
                yield part, slice(low, high)
            begin += len(part)

    def stretches(self, first: int, last: int) -> Iterator[tuple[Placed, int, int]]:
        """The same parts with the UTC ms of the first and the last of their readings."""
        for part, inside in self.slices(first, last):
            yield part, int(part.utc_ms[inside.start]), int(part.utc_ms[inside.stop - 1])


def usable_ms(part: Placed) -> int:
    """How long the readings that count stand for, by their interval; ms."""
    counts = np.isfinite(part.value) & ((part.flags & int(EXCLUDES)) == 0)
    return int(np.count_nonzero(counts)) * part.interval_ms


def _u_reference(part: Placed) -> float | None:
    day = part.deployment.starts_at.date()
    earlier = [c for c in part.channel.calibrations.all() if c.date <= day]
    return max(earlier, key=lambda c: c.date).u_reference if earlier else None


def _each(names: Iterable[str]) -> str:
    return "; ".join(dict.fromkeys(names))


def stays_of(placed: Iterable[Placed], deployments: Iterable[Deployment]) -> Iterator[SamplingPeriod]:
    """Readings of lone deployments as they come; those of deployments that follow each other when all are there."""
    runs = following(deployments)
    waiting: dict[int, list[Placed]] = defaultdict(list)
    for part in placed:
        run = runs.get(part.deployment.pk)
        if run is None:
            yield SamplingPeriod((part,))
        else:
            waiting[run].append(part)
    for parts in waiting.values():
        yield from _joined(parts)


def following(deployments: Iterable[Deployment]) -> dict[int, int]:
    """Deployment → number of its run, for those that have a neighbour at the same point."""
    by_point: dict[int, list[Deployment]] = defaultdict(list)
    for deployment in sorted(deployments, key=lambda d: d.starts_at):
        by_point[deployment.point_id].append(deployment)
    runs: dict[int, int] = {}
    for here in by_point.values():
        for earlier, later in pairwise(here):
            if earlier.ends_at and 0 <= utc_ms(later.starts_at) - utc_ms(earlier.ends_at) <= MOST_APART_MS:
                runs[later.pk] = runs.setdefault(earlier.pk, earlier.pk)
    return runs


def _joined(parts: Iterable[Placed]) -> Iterator[SamplingPeriod]:
    """Per parameter and probe, and where an instrument has several channels for it per unit, the stays of one run."""
    by_probe: dict[tuple[str, str], dict[int, list[Placed]]] = defaultdict(lambda: defaultdict(list))
    for part in sorted(parts, key=lambda p: p.deployment.starts_at):
        spec = part.channel.spec
        by_probe[spec.parameter, spec.probe][part.deployment.pk].append(part)
    for per_deployment in by_probe.values():
        units = dict.fromkeys(part.unit for channels in per_deployment.values() for part in channels)
        wanted = units if any(len(channels) > 1 for channels in per_deployment.values()) else list(units)[:1]
        for unit in wanted:
            chosen = [
                next((p for p in channels if p.unit == unit), channels[0]) for channels in per_deployment.values()
            ]
            yield from _split(chosen)


def _split(parts: Sequence[Placed]) -> Iterator[SamplingPeriod]:
    """Parted wherever the gap is longer than would be bridged inside one deployment."""
    run = [parts[0]]
    for earlier, later in pairwise(parts):
        if _follows(earlier, later):
            run.append(later)
        else:
            yield SamplingPeriod(tuple(run))
            run = [later]
    yield SamplingPeriod(tuple(run))


def _follows(earlier: Placed, later: Placed) -> bool:
    if earlier.deployment.ends_at is None or earlier.represents != later.represents:
        return False
    gap = utc_ms(later.deployment.starts_at) - utc_ms(earlier.deployment.ends_at)
    return 0 <= gap <= BRIDGED_INTERVALS * max(earlier.interval_ms, later.interval_ms)
