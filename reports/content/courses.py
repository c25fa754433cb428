"""The course of the readings: few points of the stays that speak for a zone, corrected.

Times are the wall clock of the site, in seconds since 1970 as it would count them, so that a report is drawn as the
people there read the clock, whatever becomes of rules for it.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ReportedStay:
    """A stay of an instrument at a point.

    start: second of the wall clock; length: s. readings: how many there were; thinned: not all are kept. lowest,
    highest: of those kept, as text in the course's unit. t: s after ``start``, v: the value then, in the course's
    unit; below, over, breaks: places in both, of readings below detection, over range, and after a gap.
    """

    where: str
    instrument: str
    when: str
    start: int
    length: int
    readings: int
    thinned: bool
    lowest: str
    highest: str
    t: tuple[int, ...]
    v: tuple[float, ...]
    below: tuple[int, ...]
    over: tuple[int, ...]
    breaks: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class CourseLimit:
    """A line among the readings: one end of a limit, in the course's unit. ref: of its criterion."""

    ref: str
    at: float
    label: str


@dataclass(frozen=True, slots=True)
class CourseResult:
    """The window of the result that speaks for the zone, from second to second of the wall clock, at its mean as it
    was measured, in the course's unit."""

    begin: int
    end: int
    at: float
    text: str


@dataclass(frozen=True, slots=True)
class ReportedCourse:
    """One parameter in one zone. criteria: names of those that it was judged against; it is drawn beside the first, in
    the terms of that one's limit. unit_text: the unit with its reference conditions."""

    parameter: str
    name: str
    criteria: tuple[str, ...]
    unit: str
    unit_text: str
    limits: tuple[CourseLimit, ...]
    result: CourseResult | None
    stays: tuple[ReportedStay, ...]
