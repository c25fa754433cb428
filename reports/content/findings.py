"""What was found: the finding of a zone, the results it rests on, and the way from each to the lines of a file."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ChainReading:
    """A reading where it stands in its original file. stamp: as the instrument wrote it. stored: in the unit of the
    file; corrected: in the channel's unit; None where the instrument gave no number."""

    file: str
    sha256: str
    line: int
    stamp: str
    stored: float | None
    corrected: float | None


@dataclass(frozen=True, slots=True)
class ReportedChain:
    """first, last: readings of the window that the result rests on; None for a result without a value. lines: both in
    words. method: version of the calculation. digest: SHA-256 of the inputs."""

    instrument: str
    serial: str
    channel: str
    first: ChainReading | None
    last: ChainReading | None
    lines: str
    method: str
    digest: str


@dataclass(frozen=True, slots=True)
class PointResult:
    """What a table of points shows of a result.

    ref: "R17", the number of its chain. kind: of the point, with its word. value, expanded: the value and its expanded
    uncertainty U in ``unit``, None where there is none. text: both with the unit; number, spread: each alone.
    start, end: ISO 8601 with the site's offset, "" without a window; when: the same in words. indication: what is
    printed beside the verdict where it is only an indication, else "". evidence: what is said of
    the meter behind it, in words, "" for nothing; accepted: which failed check behind it was accepted, by whom, when
    and why, "" where none was; calibration: that its calibration was overdue, and since when, "" where it was not.
    """

    ref: str
    point: str
    room: str
    kind: str
    kind_word: str
    verdict: str
    word: str
    value: float | None
    expanded: float | None
    unit: str
    text: str
    number: str
    spread: str
    when: str
    start: str
    end: str
    indication: str
    evidence: str
    accepted: str
    calibration: str
    chain: ReportedChain


@dataclass(frozen=True, slots=True)
class ReportedOutdoor:
    """The outdoor air that goes with a result. value, u: in the result's unit, u a standard uncertainty. words: where
    and when. difference, ratio: as text, "" where they mean nothing. taken_off: whether the limit asks for the value
    less this one."""

    value: float
    u: float
    text: str
    words: str
    difference: str
    ratio: str
    taken_off: bool


@dataclass(frozen=True, slots=True)
class ReportedBudgetPart:
    """A part of the uncertainty. u: standard, in the result's unit. share: of the variance, 0 to 1. missing: nobody
    knows it, and it is not counted."""

    name: str
    u: float | None
    share: float | None
    source: str
    missing: bool


@dataclass(frozen=True, slots=True)
class ReportedResult(PointResult):
    """Everything about the result that speaks for a zone.

    height_m: of the point above the floor, m. p_above: probability that the true value is above ``edge``, the end of
    the limit that it was compared with, in ``unit``. statistic: where it is not simply what the limit asks for, else
    "". coverage: share of the window that readings stand for, 0 to 1. interval: between readings, in words. outdoor:
    None where there is none, ``outdoor_missing`` may then say why. place_kind: the kind of place it was judged as.
    unit_text: the unit with its reference conditions.
    """

    place: str
    height_m: float
    p_above: float | None
    statistic: str
    probability: str
    edge: float | None
    readings: int
    coverage: float | None
    interval: str
    comparability: str
    reasons: tuple[str, ...]
    assumptions: tuple[str, ...]
    details: tuple[tuple[str, str], ...]
    outdoor: ReportedOutdoor | None
    outdoor_missing: str
    place_kind: str
    unit_text: str
    budget: tuple[ReportedBudgetPart, ...]


@dataclass(frozen=True, slots=True)
class ReportedFinding:
    """One zone against one criterion.

    criterion: its ``ref``. verdict: above, below, undecided, not_comparable or unmeasured; word: the same as printed.
    met: whether the limit is met, None while nobody can say. fraction: value as a fraction of an upper limit. result:
    what speaks for the zone, None for one that is not measured. others: further room-air points; beside: enclosed
    spaces and supply air, which do not speak for it. plain: in a sentence without a measured number. digest: SHA-256
    over the results.
    """

    criterion: str
    verdict: str
    word: str
    met: bool | None
    fraction: float | None
    fraction_text: str
    statement: str
    advice: str
    digest: str
    result: ReportedResult | None
    others: tuple[PointResult, ...]
    beside: tuple[PointResult, ...]
    plain: str

    @property
    def results(self) -> tuple[PointResult, ...]:
        """The one that speaks for the zone first."""
        return (*((self.result,) if self.result else ()), *self.others, *self.beside)


@dataclass(frozen=True, slots=True)
class OutdoorResults:
    """What was measured outdoors in the terms of one criterion."""

    criterion: str
    results: tuple[PointResult, ...]
