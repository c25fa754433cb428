"""The content of a report: every sentence, number and digest that is signed, as a record.

Nothing done to the campaign afterwards shows in it. It holds no notes, no drafts and no key but those of the zones,
which name their pages. The same inputs give the same content, and so the same digest. What it says in words comes from
``methods.wording`` and what judging stored, never from a function that pages word their cells with.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from campaigns.models import Campaign, Criterion, Deployment
from campaigns.services.alert_levels import level_words
from methods.quantities.substances import SUBSTANCES
from methods.quantities.units import standard_pressure_kpa
from methods.wording import meters, report
from methods.wording.numbers import mid_sentence
from readings.models import Upload
from reports.content.canonical import number
from reports.content.findings import OutdoorResults, PointResult
from reports.content.instruments import ReportedInstrument
from reports.content.places import ReportedBuilding
from reports.content.record import (
    ReportContent,
    ReportedCampaign,
    ReportedFile,
    ReportedLevels,
    ReportedMeaning,
    ReportedSite,
    results_of,
    zones_of,
)
from reports.content.upgrades import FORMAT
from reports.models import Evaluation
from reports.services import digests
from reports.services.freezing import zones
from reports.services.freezing.agreements import agreed_of
from reports.services.freezing.alerts import alerts_of
from reports.services.freezing.clock_questions import clock_questions_of
from reports.services.freezing.conditions import OUTDOORS, WANTED, conditions_of
from reports.services.freezing.courses import courses_of
from reports.services.freezing.criteria import criteria_of
from reports.services.freezing.instruments import instruments_of
from reports.services.freezing.overdue import OverdueMarks
from reports.services.freezing.rooms import among_all
from reports.services.quality.told import reported_quality


def freeze(campaign: Campaign) -> ReportContent:
    """What a revision of the report says as of now, without its signature. Queries: as many whatever was found."""
    criteria, deployments = _entered(campaign)
    found = _found(campaign, criteria, deployments)
    levels, buildings, outdoor = found.levels, zones.buildings_of(campaign, found), zones.outdoor_of(found)
    judged = criteria_of(campaign, criteria, found.refs, everywhere := zones_of(buildings), found.day)
    instruments = instruments_of(campaign, deployments, {c.parameter for c in judged} | set(WANTED))
    late = OverdueMarks(instruments, {c.ref: c.parameter for c in judged})
    buildings, outdoor = late.buildings(buildings), late.outdoor(outdoor)
    return ReportContent(
        format=FORMAT,
        organisation=campaign.site.organisation.name,
        client=campaign.site.client.name if campaign.site.client else "",
        site=_site(campaign),
        campaign=_campaign(campaign, criteria),
        levels=ReportedLevels(number(levels.above), number(levels.below), levels.words),
        criteria=judged,
        buildings=buildings,
        outdoor=outdoor,
        outdoor_unmeasured=tuple(found.missing_outdoors),
        outdoor_conditions=found.climate.get(OUTDOORS, ()),
        instruments=instruments,
        clock_questions=clock_questions_of(campaign),
        agreed=agreed_of(campaign),
        alerts=alerts_of(campaign),
        quality=reported_quality(campaign),
        cautions=report.cautions(level_words(campaign)),
        judging=(*report.judging(levels), *among_all(found.findings.values(), found.definitions, found.refs, levels)),
        uncertainty=report.UNCERTAINTY,
        references=report.REFERENCES,
        meanings=tuple(ReportedMeaning(term, meaning) for term, meaning in report.meanings(levels).items()),
        method=digests.METHOD,
        inputs_digest=_inputs_digest(campaign),
        zone_count=len(everywhere),
        unmeasured=tuple(zone.name for zone in everywhere if not zone.measured),
        summary=tuple(criterion.sentence for criterion in judged),
        meters=(*late.sentences(), *_failed(instruments), *meters.sentences(_evidence(results_of(buildings, outdoor)))),
        files=_files(campaign, buildings, outdoor),
        undecided_logs=_undecided(campaign),
    )


def _entered(campaign: Campaign) -> tuple[list[Criterion], list[Deployment]]:
    deployments = campaign.deployments.select_related("point__room", "instrument").order_by("starts_at", "pk")
    return list(campaign.criteria.select_related("limit")), list(deployments)


def _failed(instruments: Iterable[ReportedInstrument]) -> Iterator[str]:
    """A sentence for each instrument with failed checks, for each that was accepted, and for each check that its
    certificate does not allow."""
    for instrument in instruments:
        checks = [check for channel in instrument.channels for check in channel.checks]
        if failed := sum(bool(check.failed) for check in checks):
            yield meters.failed_words(instrument.name, failed, len(checks))
        for check in checks:
            if check.failed and check.accepted:
                yield meters.accepted_words(instrument.name, check.kind, check.at, check.accepted)
        contradicting = [words for channel in instrument.channels for words in channel.contradictions]
        yield from (f"{instrument.name}: {mid_sentence(words)}" for words in contradicting)


def _evidence(results: Iterable[PointResult]) -> Iterator[str]:
    codes = {words: code for code, words in meters.BESIDE.items()}
    return (codes.get(result.evidence, "") for result in results)


def _found(campaign: Campaign, criteria: list[Criterion], deployments: list[Deployment]) -> zones.CampaignFindings:
    found = zones.held(campaign, criteria, deployments)
    found.climate = conditions_of(campaign, deployments)
    found.courses = courses_of(campaign, criteria, found, deployments)
    return found


def _inputs_digest(campaign: Campaign) -> str:
    return Evaluation.objects.filter(campaign=campaign).values_list("digest", flat=True).first() or ""


def _site(campaign: Campaign) -> ReportedSite:
    site = campaign.site
    return ReportedSite(
        name=site.name,
        address=site.address,
        time_zone=site.time_zone,
        altitude_m=number(site.altitude_m),
        pressure_kpa=number(round(standard_pressure_kpa(site.altitude_m), 1)),
    )


def _campaign(campaign: Campaign, criteria: Sequence[Criterion]) -> ReportedCampaign:
    parameters = dict.fromkeys(criterion.limit.parameter for criterion in criteria)
    return ReportedCampaign(
        name=campaign.name,
        objective=campaign.objective,
        protocol=campaign.protocol,
        starts_on=campaign.starts_on.isoformat(),
        ends_on=campaign.ends_on.isoformat(),
        parameters=tuple(SUBSTANCES[code].name for code in parameters),
    )


def _undecided(campaign: Campaign) -> tuple[str, ...]:
    waiting = campaign.uploads.filter(state=Upload.State.ATTENTION).order_by("filename", "pk")
    return tuple(waiting.values_list("filename", flat=True))


def _files(
    campaign: Campaign, buildings: tuple[ReportedBuilding, ...], outdoor: tuple[OutdoorResults, ...]
) -> tuple[ReportedFile, ...]:
    """The original files that the printed results came from."""
    chains = [result.chain for result in results_of(buildings, outdoor)]
    used = {(reading.sha256, chain.serial) for chain in chains for reading in (chain.first, chain.last) if reading}
    uploads = Upload.objects.filter(
        sha256__in={sha256 for sha256, _ in used}, campaign__site__organisation=campaign.site.organisation_id
    ).exclude(state=Upload.State.WITHDRAWN)
    by_serial = {
        (u.sha256, u.instrument.serial if u.instrument else ""): u
        for u in uploads.select_related("instrument").order_by("pk")
    }  # the same bytes may be held as another instrument's, too
    found = {key: upload for key, upload in by_serial.items() if key in used}
    return tuple(
        ReportedFile(
            name=upload.filename,
            sha256=upload.sha256,
            size=upload.size,
            lines=upload.lines,
            instrument=upload.instrument.name if upload.instrument else "",
            serial=upload.instrument.serial if upload.instrument else "",
        )
        for upload in sorted(found.values(), key=lambda u: (u.filename, u.sha256))
    )
