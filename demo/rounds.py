"""From visits to power-on sessions: when each instrument was on, what air it drew, and when its memory stored.

Pure. Staff start and stop the memory of meters A and C in each room, a little after arriving and a little before
leaving; meter B and the loggers store from switch-on to switch-off, corridors and zero air included.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

import numpy as np

from demo.shapes import DemoFieldCheck, DemoVisit, Scenario

ZERO_AIR, SPAN_GAS = "zero air", "span gas"
GAS_BEFORE, GAS_AFTER = timedelta(minutes=4), timedelta(seconds=30)
STARTS_AND_STOPS = ("A", "C")


@dataclass(frozen=True, slots=True)
class InstrumentStay:
    """The inlet draws from ``place`` (a room code, "out", or a gas) between two times; ``level`` is for gases."""

    start: datetime
    end: datetime
    place: str
    level: float = 0.0


@dataclass(frozen=True, slots=True)
class Session:
    """One stretch from switch-on to switch-off with the stretches the memory stored."""

    instrument: str
    on: datetime
    off: datetime
    stays: tuple[InstrumentStay, ...]
    stored: tuple[tuple[datetime, datetime], ...] = field(default=())


def sessions(scenario: Scenario, instrument: str, random: np.random.Generator) -> Iterator[Session]:
    """The instrument's sessions in time order."""
    if instrument == "A":
        yield _zero_check_burst()
    groups: dict[datetime, list[DemoVisit]] = {}
    for visit in scenario.visits_of(instrument):
        groups.setdefault(visit.switched_on, []).append(visit)
    for on, group in groups.items():
        yield _session(scenario, instrument, on, group, random)


def _session(
    scenario: Scenario, instrument: str, on: datetime, group: list[DemoVisit], random: np.random.Generator
) -> Session:
    places = {p.key: p.room or "out" for p in scenario.site.points}
    # An enclosed space is a place of its own, not the room it stands in.
    places.update({p.key: p.key for p in scenario.site.points if p.kind == "enclosed"})
    stays = [InstrumentStay(v.start, v.end, places[v.point]) for v in group]
    last = max(v.end for v in group)
    if instrument in ("B", "C"):
        checks = [c for c in scenario.field_checks if c.instrument == instrument and on <= c.at <= last + _HALF_HOUR]
        stays += [_gas(check) for check in checks]
        last = max([last, *(c.at for c in checks)])
    off = last + timedelta(minutes=15 if instrument.startswith("L") else 2)
    stored: tuple[tuple[datetime, datetime], ...] = ((on, off),)
    if instrument in STARTS_AND_STOPS:
        stored = tuple((v.start + _seconds(random, 15, 75), v.end - _seconds(random, 5, 60)) for v in group)
    return Session(instrument, on, off, tuple(stays), stored)


_HALF_HOUR = timedelta(minutes=30)


def _seconds(random: np.random.Generator, low: int, high: int) -> timedelta:
    return timedelta(seconds=int(random.integers(low, high)))


def _gas(check: DemoFieldCheck) -> InstrumentStay:
    place = ZERO_AIR if check.kind == "zero" else SPAN_GAS
    return InstrumentStay(check.at - GAS_BEFORE, check.at + GAS_AFTER, place, check.reference)


def _zero_check_burst() -> Session:
    """Meter A was left storing during its first zero and span check: a burst that belongs to no room."""
    on = datetime(2026, 9, 14, 6, 10, tzinfo=UTC)
    zero, span, off = on + timedelta(minutes=4), on + timedelta(minutes=12), on + timedelta(minutes=17)
    stays = InstrumentStay(zero, span, ZERO_AIR, 0.0), InstrumentStay(span, off, SPAN_GAS, 0.5)
    return Session("A", on, off, stays, ((on + timedelta(minutes=2), off),))
