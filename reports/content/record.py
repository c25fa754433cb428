"""What a report says, all of it: the record that is signed. Pages and the PDF are made from it and from nothing else.

It holds no notes, no drafts and no key but those of the zones, which name their pages. Figures come as numbers, in the
unit that stands beside them, and as the text that is printed; both are signed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from reports.content.agreements import ReportedAgreed
from reports.content.alerts import ReportedAlert
from reports.content.findings import OutdoorResults, PointResult
from reports.content.instruments import ReportedClockQuestion, ReportedInstrument
from reports.content.limits import ReportedCriterion
from reports.content.parts import values_of
from reports.content.places import ReportedBuilding, ReportedCondition, ReportedZone, UnmeasuredPoint
from reports.content.quality import ReportedQuality


@dataclass(frozen=True, slots=True)
class ReportedSite:
    """time_zone: IANA name; all times of the report are on its clock. altitude_m: metres above sea level. pressure_kpa:
    of the standard atmosphere there, kPa."""

    name: str
    address: str
    time_zone: str
    altitude_m: float
    pressure_kpa: float


@dataclass(frozen=True, slots=True)
class ReportedCampaign:
    """starts_on, ends_on: ISO 8601 dates. parameters: names, in the order of the criteria."""

    name: str
    objective: str
    protocol: str
    starts_on: str
    ends_on: str
    parameters: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ReportedLevels:
    """Probabilities (0 to 1) of being above the limit: from ``above`` on a result is above, up to ``below`` it is
    below; undecided between."""

    above: float
    below: float
    words: str


@dataclass(frozen=True, slots=True)
class ReportedMeaning:
    """A word of the report, and what it means in a sentence or two."""

    term: str
    meaning: str


@dataclass(frozen=True, slots=True)
class ReportedFile:
    """An original file that printed results rest on. size: bytes. instrument, serial: "" where nobody knows whose it
    is."""

    name: str
    sha256: str
    size: int
    lines: int
    instrument: str
    serial: str


@dataclass(frozen=True, slots=True)
class Signature:
    """signed_at: ISO 8601 with its offset. day, time: as printed, on the clock of the site."""

    name: str
    organisation: str
    signed_at: str
    day: str
    time: str


@dataclass(frozen=True, slots=True)
class ReportContent:
    """What a revision says, before it is signed. The same inputs give the same content.

    client: "" for a site without one. criteria: in the order of the campaign; findings name them by their ``ref``.
    unmeasured: names of zones. agreed: None in a report of a time when nothing was kept of it.
    summary: a sentence for each criterion. meters: what is to be known of
    the instruments behind the results, sentences. method: version of the calculation.
    inputs_digest: SHA-256 over all that the campaign's results rest on.
    undecided_logs: names of logs that waited for a decision, so that what they hold may be missing.
    """

    format: int
    organisation: str
    client: str
    site: ReportedSite
    campaign: ReportedCampaign
    levels: ReportedLevels
    criteria: tuple[ReportedCriterion, ...]
    buildings: tuple[ReportedBuilding, ...]
    outdoor: tuple[OutdoorResults, ...]
    outdoor_unmeasured: tuple[UnmeasuredPoint, ...]
    outdoor_conditions: tuple[ReportedCondition, ...]
    instruments: tuple[ReportedInstrument, ...]
    clock_questions: tuple[ReportedClockQuestion, ...]
    agreed: ReportedAgreed | None
    alerts: tuple[ReportedAlert, ...]
    quality: ReportedQuality
    cautions: tuple[str, ...]
    judging: tuple[str, ...]
    uncertainty: tuple[str, ...]
    references: tuple[str, ...]
    meanings: tuple[ReportedMeaning, ...]
    method: str
    inputs_digest: str
    zone_count: int
    unmeasured: tuple[str, ...]
    summary: tuple[str, ...]
    meters: tuple[str, ...]
    files: tuple[ReportedFile, ...]
    undecided_logs: tuple[str, ...]

    @property
    def zones(self) -> tuple[ReportedZone, ...]:
        """All zones, building by building, floor by floor from the top."""
        return zones_of(self.buildings)

    @property
    def results(self) -> tuple[PointResult, ...]:
        """Every result, in the order of the numbers they carry."""
        return tuple(results_of(self.buildings, self.outdoor))

    def meaning_of(self, word: str) -> str:
        """What a word means, "" for one that the report does not explain."""
        return next((said.meaning for said in self.meanings if said.term == word), "")


@dataclass(frozen=True, slots=True)
class SignedContent(ReportContent):
    """A signed revision. supersedes: number of the revision before; changes: what is said differently from it."""

    revision: int
    supersedes: int | None
    changes: tuple[str, ...]
    signature: Signature

    @classmethod
    def of(
        cls,
        content: ReportContent,
        *,
        revision: int,
        supersedes: int | None,
        changes: tuple[str, ...],
        signature: Signature,
    ) -> SignedContent:
        return cls(
            **values_of(content, ReportContent),
            revision=revision,
            supersedes=supersedes,
            changes=changes,
            signature=signature,
        )

    @property
    def unsigned(self) -> ReportContent:
        """What it says without what signing added, to be compared with a content of now."""
        return ReportContent(**values_of(self, ReportContent))


def zones_of(buildings: tuple[ReportedBuilding, ...]) -> tuple[ReportedZone, ...]:
    return tuple(zone for building in buildings for floor in building.floors for zone in floor.zones)


def results_of(buildings: tuple[ReportedBuilding, ...], outdoor: tuple[OutdoorResults, ...]) -> Iterator[PointResult]:
    for zone in zones_of(buildings):
        for finding in zone.findings:
            yield from finding.results
    for group in outdoor:
        yield from group.results
