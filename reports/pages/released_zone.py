"""The page of one zone of a report in the shapes that the template parts take. Nothing here asks the database."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from methods.quantities.digits import as_entered
from methods.wording.numbers import sentence_case
from methods.wording.results import place
from reports.content.drawn_series import CourseSheet, courses, drawn_beside
from reports.content.findings import PointResult, ReportedFinding, ReportedOutdoor, ReportedResult
from reports.content.limits import ReportedCriterion
from reports.content.places import ReportedZone
from reports.content.record import ReportContent
from reports.pages.released_report import spread


@dataclass(frozen=True, slots=True)
class ChainLink:
    """One step from the number to the lines of the original file, for ``parts/chain.html``."""

    name: str
    text: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class OtherPoint:
    """A point that does not speak for the zone. kind_note: "" for room air. meter: what is said of the meter behind
    it, "" for nothing."""

    where: str
    kind_note: str
    text: str
    verdict: str
    word: str
    indication: str
    meter: str
    when: str


@dataclass(frozen=True, slots=True)
class AgainstLimit:
    """A zone's finding against one limit. meaning: of its word. low, high: ends of value ± U as fractions of the
    limit. facts: (name, text). drawn_beside: name of the criterion beside which the course is drawn, "" for this one.
    """

    criterion: ReportedCriterion
    finding: ReportedFinding
    meaning: str
    low: float | None
    high: float | None
    facts: list[tuple[str, str]]
    chain: list[ChainLink]
    others: list[OtherPoint]
    course: CourseSheet | None
    drawn_beside: str


def zone_findings(content: ReportContent, zone: ReportedZone) -> list[AgainstLimit]:
    """The zone's findings, each with all that its page says of it."""
    drawn, beside = courses(zone), drawn_beside(zone)
    told = []
    for criterion in content.criteria:
        finding = zone.against(criterion.ref)
        low, high = spread(finding)
        told.append(
            AgainstLimit(
                criterion=criterion,
                finding=finding,
                meaning=content.meaning_of(finding.word),
                low=low,
                high=high,
                facts=_facts(finding.result, finding.advice, criterion) if finding.result else [],
                chain=chain_steps(finding.result) if finding.result else [],
                others=_others(finding.others + finding.beside),
                course=drawn.get(criterion.ref),
                drawn_beside=beside.get(criterion.ref, ""),
            )
        )
    return told


def _facts(result: ReportedResult, advice: str, criterion: ReportedCriterion) -> list[tuple[str, str]]:
    reference = f" {criterion.reference}" if criterion.reference else ""
    where = f"{place(result.room, result.point)}{f' – {result.place}' if result.place else ''}"
    statistic = f" ({result.statistic})" if result.statistic else ""
    rows = [
        ("Measured", f"{result.text}{reference}"),
        ("Limit", criterion.in_words),
        ("Published by", criterion.citation),
        ("Probability of being above", result.probability),
        ("Where", f"{where}, {as_entered(result.height_m)} m above the floor"),
        ("When", f"{result.when}{statistic}"),
        ("Readings", _readings(result)),
        ("Outdoor air", _outdoor(result.outdoor) if result.outdoor else ""),
        ("What would decide it", advice),
    ]
    return [(name, text) for name, text in rows if text]


def _outdoor(beside: ReportedOutdoor) -> str:
    """What was measured outdoors for it."""
    ratio = f"; indoors {beside.ratio} times as much" if beside.ratio else ""
    return f"{beside.text}, {beside.words}{ratio}{'; taken off' if beside.taken_off else ''}"


def _readings(result: ReportedResult) -> str:
    every = f", one every {result.interval}" if result.interval else ""
    covered = f", {100 * result.coverage:.0f} % of the time covered" if result.coverage is not None else ""
    return f"{result.readings}{every}{covered}" if result.readings else ""


def _others(results: Iterable[PointResult]) -> list[OtherPoint]:
    return [
        OtherPoint(
            where=place(r.room, r.point),
            kind_note="" if r.kind == "room_air" else r.kind_word.lower(),
            text=r.text,
            verdict=r.verdict,
            word=r.word,
            indication=r.indication,
            meter=" ".join(words for words in (_sentence(r.evidence), r.accepted, _sentence(r.calibration)) if words),
            when=r.when,
        )
        for r in results
    ]


def _sentence(words: str) -> str:
    return f"{sentence_case(words)}." if words else ""


def chain_steps(result: PointResult) -> list[ChainLink]:
    chain = result.chain
    steps = [
        ChainLink("Result", result.text, f"{result.ref} in the report, method {chain.method}"),
        ChainLink("Instrument", ", ".join(filter(None, (chain.instrument, chain.serial))), chain.channel),
    ]
    if chain.first:
        first = chain.first
        steps += [
            ChainLink("Original file", first.file, f"SHA-256 {first.sha256}"),
            ChainLink("Lines", chain.lines, f"the first stamped {first.stamp} by the instrument"),
        ]
    return [*steps, ChainLink("Digest of the inputs", chain.digest)]
