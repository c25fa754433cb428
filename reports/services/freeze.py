"""The content of a report: every sentence, number and digest that is signed, as plain JSON.

The client's pages and the PDF are made from it and from nothing else, so that nothing done to the campaign afterwards
shows in a report. It holds no notes, no drafts and no key but those of the zones, which name their pages.
The same inputs give the same content, and so the same digest.
"""

from __future__ import annotations

from typing import Any

from campaigns.models import Campaign, Criterion
from campaigns.services.limits_library import checks_in
from methods.quantities.substances import SUBSTANCES
from methods.quantities.units import standard_pressure_kpa
from methods.verdicts import Levels
from methods.wording import report
from readings.models import Upload
from reports.content.canonical import digest, number
from reports.models import Evaluation
from reports.services import digests
from reports.services.freezing import zones
from reports.services.freezing.conditions import OUTDOORS, WANTED, conditions_of
from reports.services.freezing.courses import courses_of
from reports.services.freezing.kit import instruments_of
from reports.services.freezing.limits import limit_content
from reports.services.freezing.summary import needs, plain, sentence, tally

__all__ = ["FORMAT", "digest", "freeze", "zones_of"]

#: Raised when the shape of the content changes, so that pages know how to read an old report.
#: Since 2 floors carry their drawing, and each criterion says which zones need something; since 3 zones the course of
#: the readings.
FORMAT = 3

Json = dict[str, Any]


def freeze(campaign: Campaign) -> Json:
    """What a revision of the campaign's report says, as of now, without its signature.

    A constant number of queries in findings and points; readings are read for the conditions and for the courses.
    """
    site = campaign.site
    criteria = list(campaign.criteria.select_related("limit"))
    refs = {criterion.pk: f"C{n}" for n, criterion in enumerate(criteria, 1)}
    deployments = list(campaign.deployments.select_related("point__room", "instrument").order_by("starts_at", "pk"))
    usual = {criterion.pk: criterion.limit.as_library().reason for criterion in criteria}
    found = zones.held(campaign, refs, usual, deployments)
    found.climate = conditions_of(campaign, deployments)
    found.courses = courses_of(campaign, criteria, found, deployments)
    levels = Levels(campaign.level_above, campaign.level_below)
    content: Json = {
        "format": FORMAT,
        "organisation": site.organisation.name,
        "client": site.client.name if site.client else "",
        "site": _site(campaign),
        "campaign": _campaign(campaign, criteria),
        "levels": {"above": number(levels.above), "below": number(levels.below), "words": levels.words},
        "criteria": _criteria(criteria, refs, campaign),
        "buildings": zones.buildings_of(campaign, found),
        "outdoor": zones.outdoor_of(found),
        "outdoor_unmeasured": found.missing_outdoors,
        "outdoor_conditions": found.climate.get(OUTDOORS, []),
        "instruments": instruments_of(campaign, deployments, {c.limit.parameter for c in criteria} | set(WANTED)),
        "cautions": list(report.CAUTIONS),
        "judging": list(report.judging(levels)),
        "uncertainty": list(report.UNCERTAINTY),
        "references": list(report.REFERENCES),
        "meanings": report.meanings(levels),
        "method": digests.METHOD,
        "inputs_digest": _inputs_digest(campaign),
    }
    _summarise(content)
    content["files"] = _files(campaign, content)
    return content


def _inputs_digest(campaign: Campaign) -> str:
    return Evaluation.objects.filter(campaign=campaign).values_list("digest", flat=True).first() or ""


def zones_of(content: Json) -> list[Json]:
    """All zones of a content, building by building, floor by floor from the top."""
    return [zone for building in content["buildings"] for floor in building["floors"] for zone in floor["zones"]]


def _site(campaign: Campaign) -> Json:
    site = campaign.site
    return {
        "name": site.name,
        "address": site.address,
        "time_zone": site.time_zone,
        "altitude_m": number(site.altitude_m),
        "pressure_kpa": number(round(standard_pressure_kpa(site.altitude_m), 1)),
    }


def _campaign(campaign: Campaign, criteria: list[Criterion]) -> Json:
    parameters = dict.fromkeys(criterion.limit.parameter for criterion in criteria)
    return {
        "name": campaign.name,
        "objective": campaign.objective,
        "protocol": campaign.protocol,
        "starts_on": campaign.starts_on.isoformat(),
        "ends_on": campaign.ends_on.isoformat(),
        "parameters": [SUBSTANCES[code].name for code in parameters],
    }


def _criteria(criteria: list[Criterion], refs: dict[int, str], campaign: Campaign) -> list[Json]:
    checks = checks_in(campaign.site.organisation_id, [criterion.limit_id for criterion in criteria])
    told = []
    for criterion in criteria:
        row = criterion.limit
        check = checks.get(row.pk)
        by = str(check.by or "a former colleague") if check else ""
        limit = limit_content(row.as_library(), confirmed_by=by, needs_check=row.needs_check)
        told.append({"ref": refs[criterion.pk], **limit})
    return told


def _summarise(content: Json) -> None:
    """Counts and sentences, from the zones that are already in the content."""
    everywhere = zones_of(content)
    for criterion in content["criteria"]:
        criterion["tally"] = tally(everywhere, criterion["ref"])
        criterion["sentence"] = sentence(criterion, everywhere)
        criterion["needs"] = needs(criterion, everywhere)
    limits = {criterion["ref"]: criterion for criterion in content["criteria"]}
    for finding in (finding for zone in everywhere for finding in zone["findings"]):
        finding["plain"] = plain(limits[finding["criterion"]], finding)
    content["zone_count"] = len(everywhere)
    content["unmeasured"] = [zone["name"] for zone in everywhere if not zone["measured"]]
    content["summary"] = [criterion["sentence"] for criterion in content["criteria"]]


def _files(campaign: Campaign, content: Json) -> list[Json]:
    """The original files that the printed results came from."""
    used = set(_hashes(content))
    uploads = Upload.objects.filter(sha256__in=used, campaign__site__organisation=campaign.site.organisation_id)
    found = {u.sha256: u for u in uploads.select_related("instrument").order_by("pk")}
    return [
        {
            "name": upload.filename,
            "sha256": upload.sha256,
            "size": upload.size,
            "lines": upload.lines,
            "instrument": upload.instrument.name if upload.instrument else "",
            "serial": upload.instrument.serial if upload.instrument else "",
        }
        for upload in sorted(found.values(), key=lambda u: (u.filename, u.sha256))
    ]


def _hashes(content: Json) -> list[str]:
    return [
        reading["sha256"]
        for result in results_of(content)
        for reading in (result["chain"]["first"], result["chain"]["last"])
        if reading
    ]


def results_of(content: Json) -> list[Json]:
    """Every result of a content, in the order of the numbers they carry."""
    inside = [
        result
        for zone in zones_of(content)
        for finding in zone["findings"]
        for result in ([finding["result"]] if finding["result"] else []) + finding["others"] + finding["beside"]
    ]
    return inside + [result for group in content["outdoor"] for result in group["results"]]
