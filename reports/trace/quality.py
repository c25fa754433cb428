"""What quality control measured in a campaign, as a judging keeps it: pages and report say it without reading a log.

Values are in the unit of the channel, or where instruments differ in that of the limit; shares are fractions. Whether
something was good enough is not kept: acceptance limits decide that when they are looked at.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from campaigns.frozen.records import Codec

#: Raised whenever a field of these records comes, goes or changes its meaning. It is made anew with each judging, so
#: one of another format tells nothing until then.
FORMAT = 2


@dataclass(frozen=True, slots=True)
class MeterBias:
    """``bias`` against the median of all, of two against the other one; ``expanded``: its U. ``relative``: to the
    median, None where that is no size of anything."""

    meter: str
    mean: float
    bias: float
    expanded: float
    relative: float | None


@dataclass(frozen=True, slots=True)
class MeterPair:
    first: str
    second: str
    u: float


@dataclass(frozen=True, slots=True)
class BesideMeasured:
    """A side-by-side run and one parameter. ``run``: its key; ``why``: what is missing, then the rest is empty."""

    run: str
    name: str
    when: str
    parameter: str
    unit: str
    step_s: int
    steps: int
    median: float | None
    meters: tuple[MeterBias, ...]
    pairs: tuple[MeterPair, ...]
    between: float | None
    between_relative: float | None
    why: str


@dataclass(frozen=True, slots=True)
class ZeroMeasured:
    """All zero runs of one channel. ``rule``: of methods.quality.zero_runs.DetectionRule; ``makers``: detection limit
    that its type states, by which results are censored; ``share``: the larger of the two, of the lowest limit it is
    judged by, which is ``against``."""

    meter: str
    parameter: str
    unit: str
    runs: int
    n: int
    mean: float | None
    s: float | None
    limit: float | None
    rule: str
    makers: float | None
    share: float | None
    against: str
    why: str


@dataclass(frozen=True, slots=True)
class DuplicateMeasured:
    """Two instruments at one point at a time. ``zone``: key, "" outdoors; ``apart``: further than both U allow;
    ``left_out``: why it is no pair of the statistics, "" where it is."""

    parameter: str
    unit: str
    point: str
    zone: str
    when: str
    first: str
    second: str
    value_first: float
    expanded_first: float
    value_second: float
    expanded_second: float
    relative: float | None
    apart: bool
    left_out: str


@dataclass(frozen=True, slots=True)
class DuplicatesTogether:
    """``pooled``: s of single values; ``bound``: upper bound of their coefficient of variation."""

    parameter: str
    unit: str
    n: int
    pooled: float | None
    bound: float | None
    largest: float | None


@dataclass(frozen=True, slots=True)
class ParameterComplete:
    """``points`` with a usable result, of ``planned_points`` that count for the parameter; ``elsewhere``: planned ones
    that do not, as only instruments for something else stood there."""

    parameter: str
    points: int
    planned_points: int
    elsewhere: int
    valid_h: float
    planned_h: float


@dataclass(frozen=True, slots=True)
class CheckPoint:
    """``here``: made in this campaign."""

    at: str
    value: float
    outside: bool
    here: bool


@dataclass(frozen=True, slots=True)
class ChartMeasured:
    """All checks of a kind ("zero" or "span") of one channel up to the end of the campaign. ``unit``: "%" of a span."""

    meter: str
    parameter: str
    kind: str
    unit: str
    centre: float | None
    lower: float | None
    upper: float | None
    points: tuple[CheckPoint, ...]
    why: str


@dataclass(frozen=True, slots=True)
class DriftMeasured:
    """The largest change from one check to the next in the campaign: in ``unit``, and as a ``share`` of ``against``."""

    meter: str
    parameter: str
    kind: str
    unit: str
    change: float
    at: str
    share: float | None
    against: str


@dataclass(frozen=True, slots=True)
class QualityMeasured:
    format: int
    beside: tuple[BesideMeasured, ...] = ()
    zeros: tuple[ZeroMeasured, ...] = ()
    duplicates: tuple[DuplicateMeasured, ...] = ()
    together: tuple[DuplicatesTogether, ...] = ()
    complete: tuple[ParameterComplete, ...] = ()
    charts: tuple[ChartMeasured, ...] = ()
    drifts: tuple[DriftMeasured, ...] = ()

    @property
    def apart(self) -> tuple[DuplicateMeasured, ...]:
        """Instruments at one point that contradict each other."""
        return tuple(pair for pair in self.duplicates if pair.apart)


NOTHING_MEASURED = QualityMeasured(FORMAT)
QUALITY = Codec(QualityMeasured)


def without_quality() -> dict[str, int]:
    """What is kept before the first judging that knows of it."""
    return {"format": 0}


def read_quality(stored: Any) -> QualityMeasured:
    """That of another format tells nothing. Raises RecordError where it is no such record."""
    if isinstance(stored, dict) and stored.get("format") != FORMAT:
        return NOTHING_MEASURED
    return QUALITY.read(stored)
