"""Quality control in a report: one table of what was asked of the measurements, and what two instruments contradict."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ReportedQualityRow:
    """outcome: "failed", "not_assessed" or "passed"; word: as printed. parameter: its name, "" for all. about: which
    instrument, run or point it is. percent: the value, None where there is none; value: with what it is of, as printed.
    limit, set_when: as printed, "" where no limit is set. late: set after measuring began. why: it was not assessed."""

    outcome: str
    word: str
    measure: str
    parameter: str
    about: str
    percent: float | None
    value: str
    limit: str
    set_when: str
    late: bool
    why: str


@dataclass(frozen=True, slots=True)
class ReportedDisagreement:
    """Two instruments at one point, further apart than both U or the acceptance limit allow. zone: key of the zone,
    "" outdoors. sentence: all of it in words."""

    zone: str
    parameter: str
    sentence: str


@dataclass(frozen=True, slots=True)
class ReportedQuality:
    """rows: what failed first. detection: what zero runs say of the detection limit of each meter, sentences."""

    rows: tuple[ReportedQualityRow, ...]
    disagreements: tuple[ReportedDisagreement, ...]
    detection: tuple[str, ...]
