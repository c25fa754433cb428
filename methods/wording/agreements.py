"""What is agreed with a client before a visit, as plain terms, and how what was done differs from it. Pure.

The decision to be taken, the limit, the statistic and the tolerable error are agreed first (EPA QA/G-4, steps 2 to 6;
ISO/IEC 17025:2017, 7.1.3 and 7.8.6; ILAC-G8:2019; all from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from methods.limits.model import LimitDefinition
from methods.quantities.digits import percent
from methods.quantities.substances import SUBSTANCES
from methods.quantities.units import Reference
from methods.wording.limits import conditions
from methods.wording.numbers import length, mid_sentence
from methods.wording.results import place

OUTDOORS = "Outdoors"

#: Sentences to begin with, of what follows where the rule decides nothing. Common practice, no source.
UNDECIDED_STARTS = (
    "The point is measured again for longer, as long as the report says would decide it.",
    "A laboratory sample is taken at the point, by a method that is validated for the limit.",
    "Until more is known the place is treated as if it lay above the limit.",
    "The meter is checked against zero air and a known gas, and the point is measured once more.",
    "The client is told at once and decides whether more is measured; until then nothing is concluded.",
)


@dataclass(frozen=True, slots=True)
class AgreedLimit:
    """A limit as it stood: ``value`` with its sign and unit, ``averaging``: over how long, "" where none is stated,
    ``tolerance``: the rule's own, in per cent, "" without one."""

    code: str
    parameter: str
    value: str
    unit: str
    statistic: str
    averaging: str
    tolerance: str
    edition: str
    conditions: str

    @property
    def text(self) -> str:
        """One line: what, how much, as which statistic, by whose edition."""
        at = f"; {self.conditions}" if self.conditions else ""
        return f"{self.parameter} {self.value}, {self.statistic} – {self.edition}{at}"


@dataclass(frozen=True, slots=True)
class AgreedPoint:
    """A point to be measured. key: names it whatever it is called later. building, floor, zone: "" outdoors."""

    key: str
    building: str
    floor: str
    zone: str
    place: str

    @property
    def text(self) -> str:
        return f"{self.zone or OUTDOORS}: {self.place}"


@dataclass(frozen=True, slots=True)
class AgreedZone:
    """The points of one zone; ``where``: building and floor."""

    name: str
    where: str
    places: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AgreedAcceptance:
    """What quality control has to keep to. measure: its name; limit: ``at most 10 % of the reference``."""

    code: str
    measure: str
    limit: str

    @property
    def text(self) -> str:
        return f"{self.measure}: {self.limit}"


@dataclass(frozen=True, slots=True)
class AgreedTerms:
    """Everything that judging and measuring are held against.

    objective: the question of the campaign. above, below: probabilities, 0 to 1. shift: how a work shift is counted,
    use: the times of use, both only where a limit asks for them. first_day, last_day: ISO 8601 dates.
    acceptance: of quality control; None in an agreement of a time when it was no part of it.
    """

    site: str
    objective: str
    protocol: str
    parameters: tuple[str, ...]
    limits: tuple[AgreedLimit, ...]
    above: float
    below: float
    shift: str
    use: tuple[str, ...]
    points: tuple[AgreedPoint, ...]
    first_day: str
    last_day: str
    acceptance: tuple[AgreedAcceptance, ...] | None = ()

    @property
    def zones(self) -> tuple[AgreedZone, ...]:
        """Points by zone, in their order, outdoors last."""
        found: dict[tuple[str, str], list[str]] = {}
        for point in self.points:
            where = ", ".join(part for part in (point.building, point.floor) if part)
            found.setdefault((point.zone or OUTDOORS, where), []).append(point.place)
        zones = [AgreedZone(name, where, tuple(places)) for (name, where), places in found.items()]
        return tuple(sorted(zones, key=lambda zone: zone.where == ""))

    @property
    def buildings(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(point.building for point in self.points if point.building))


def limit_of(limit: LimitDefinition, reference: Reference | None) -> AgreedLimit:
    """``reference``: conditions at which its air is counted, None where none are needed."""
    return AgreedLimit(
        code=limit.code,
        parameter=SUBSTANCES[limit.parameter].name,
        value=limit.value_text(),
        unit=limit.unit,
        statistic=limit.statistic,
        averaging=length(limit.averaging_minutes) if limit.averaging_minutes else "",
        tolerance=limit.tolerance_percent,
        edition=f"{limit.body} {limit.edition}".strip(),
        conditions=conditions(limit, reference),
    )


def point_of(key: str, name: str, room: str = "", zone: str = "", floor: str = "", building: str = "") -> AgreedPoint:
    return AgreedPoint(key=key, building=building, floor=floor, zone=zone, place=place(room, name))


def error_words(above: float, below: float) -> str:
    """How often the rule may call wrongly, for a true value at the limit (JCGM 106:2012; simulated)."""
    return (
        f"Where the true value lies exactly at the limit, at most {percent(1 - above)} of results may be called above "
        f"it, and at most {percent(below)} below it."
    )


# --- what differs -----------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class TermDifference:
    """One item that is not as it was agreed: what was agreed, and what was done."""

    item: str
    agreed: str
    used: str

    @property
    def words(self) -> str:
        return f"{self.item}: agreed {self.agreed}; now {self.used}"


#: What a limit is compared by, and what it is called. What a document is cited as is part of the edition.
LIMIT_ITEMS = {
    "parameter": "parameter",
    "value": "value",
    "unit": "unit",
    "statistic": "statistic",
    "averaging": "averaging time",
    "tolerance": "tolerance",
    "edition": "edition",
    "conditions": "reference conditions",
}
NOTHING = "nothing"


def differences(agreed: AgreedTerms, used: AgreedTerms) -> tuple[TermDifference, ...]:
    """What was judged by or measured otherwise than agreed, the rule first, then limits, then the scope.

    ``used``: its points are those that were measured, its days the first and the last one of measuring.
    """
    return (
        *_plain("Called above from", percent(agreed.above), percent(used.above)),
        *_plain("Called below up to", percent(agreed.below), percent(used.below)),
        *_limits(agreed.limits, used.limits),
        *_plain("How a work shift is counted", agreed.shift, used.shift),
        *_plain("Time of use", "; ".join(agreed.use), "; ".join(used.use)),
        *_plain("Parameters", ", ".join(agreed.parameters), ", ".join(used.parameters)),
        *_plain("The question", _quoted(agreed.objective), _quoted(used.objective)),
        *_plain("Protocol", _quoted(agreed.protocol), _quoted(used.protocol)),
        *_plain("Site", agreed.site, used.site),
        *_acceptance(agreed.acceptance, used.acceptance),
        *_points(agreed.points, used.points),
        *_days(agreed, used),
    )


def _plain(item: str, agreed: str, used: str) -> Iterator[TermDifference]:
    if agreed != used:
        yield TermDifference(item, agreed or NOTHING, used or NOTHING)


def _quoted(text: str) -> str:
    return f"“{text}”" if text else ""


def _limits(agreed: Sequence[AgreedLimit], used: Sequence[AgreedLimit]) -> Iterator[TermDifference]:
    before, after = ({limit.code: limit for limit in limits} for limits in (agreed, used))
    for code, limit in before.items():
        if code not in after:
            yield TermDifference("Limit", limit.text, "not judged by")
            continue
        for name, called in LIMIT_ITEMS.items():
            yield from _plain(
                f"{limit.parameter} {limit.value} ({limit.edition}), {called}",
                getattr(limit, name),
                getattr(after[code], name),
            )
    yield from (
        TermDifference("Limit", NOTHING, f"judged by {limit.text}")
        for code, limit in after.items()
        if code not in before
    )


def _acceptance(
    agreed: Sequence[AgreedAcceptance] | None, used: Sequence[AgreedAcceptance] | None
) -> Iterator[TermDifference]:
    if agreed is None or used is None:
        return
    before, after = ({each.code: each for each in limits} for limits in (agreed, used))
    for code, each in (before | after).items():
        held, now = before.get(code), after.get(code)
        yield from _plain(
            f"Acceptance limit, {mid_sentence(each.measure)}", held.limit if held else "", now.limit if now else ""
        )


def _points(agreed: Iterable[AgreedPoint], used: Iterable[AgreedPoint]) -> Iterator[TermDifference]:
    before, after = ({point.key: point for point in points} for points in (agreed, used))
    if left := [point.text for key, point in before.items() if key not in after]:
        yield TermDifference("Points", "; ".join(left), "not measured")
    if more := [point.text for key, point in after.items() if key not in before]:
        yield TermDifference("Further points", NOTHING, f"measured: {'; '.join(more)}")


def _days(agreed: AgreedTerms, used: AgreedTerms) -> Iterator[TermDifference]:
    """Measuring on fewer days than agreed is no departure: what it leaves out shows in the points."""
    if used.first_day < agreed.first_day or used.last_day > agreed.last_day:
        yield TermDifference(
            "Dates of the visit",
            f"{agreed.first_day} to {agreed.last_day}",
            f"measured {used.first_day} to {used.last_day}",
        )
