"""The rooms of a zone on a page: a row and a sentence for each, colours for the plan, and what is chance among many."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.urls import reverse

from campaigns.models import Campaign
from campaigns.pages.chosen_criteria import Chosen
from methods.limits.model import LimitDefinition
from methods.wording import rooms as wording
from reports.models import Finding, Result
from reports.services import result_cells
from reports.services.result_values import indication_of
from reports.services.room_verdicts import chance_of, chance_said
from reports.services.zone_findings import governing
from reports.trace.rooms import RoomVerdict

COLUMNS: list[dict[str, Any]] = [
    {"label": "Room"},
    {"label": "Fraction of the limit"},
    {"label": "Verdict"},
    {"label": "Governing point"},
]


def table(finding: Finding, results: Sequence[Result]) -> list[list[Any]]:
    """A row for each room of the zone, none for a zone of one room; ``results`` of its room air."""
    rooms = finding.by_room.rooms
    by_room: dict[str, list[Result]] = {}
    for result in results:
        by_room.setdefault(str(result.point.room.key) if result.point.room else "", []).append(result)
    speaking = {room: governing(there) for room, there in by_room.items()}
    return [_row(room, speaking.get(room.room)) for room in rooms] if len(rooms) > 1 else []


def _row(room: RoomVerdict, result: Result | None) -> list[Any]:
    if result is None:
        return [room.sentence, "–", {"verdict": room.verdict}, "–"]
    return [
        {"text": room.sentence, "url": reverse("result", args=[result.key])},
        result_cells.fraction_cell(result, room.fraction),
        {"verdict": room.verdict, "said": room.words, "note": indication_of(result)},
        {"text": result.point.name, "note": result_cells.taken_with(result)},
    ]


def counted(finding: Finding) -> str:
    """ "1 of 3 rooms above, 1 undecided, 1 below"; "" for a zone of one room."""
    return wording.counted([room.words for room in finding.by_room.rooms])


def worst(finding: Finding) -> str:
    """ "1 of 3 rooms above" """
    return wording.worst([room.words for room in finding.by_room.rooms])


# --- many -------------------------------------------------------------------------------------------------------------


def among(campaign: Campaign, limit: LimitDefinition, findings: Iterable[Finding]) -> list[str]:
    """What chance does among the compared rooms of these zones, and how likely it is that one does not meet the limit:
    sentences, none for a single room."""
    rooms = [room for finding in findings for room in finding.by_room.compared]
    said = chance_said(rooms, limit, campaign.level_above, campaign.level_below)
    return [*said, shared] if said and (shared := wording.what_is_shared(rooms)) else said


def of_criteria(campaign: Campaign, criteria: Iterable[Chosen], findings: Mapping[int, Finding]) -> str:
    """How many of all comparisons of rooms with limits chance alone would call; ``findings`` by criterion."""
    chances = [
        chance_of(
            findings[chosen.criterion.pk].by_room.compared, chosen.limit, campaign.level_above, campaign.level_below
        )
        for chosen in criteria
        if chosen.criterion.pk in findings
    ]
    if len(chances) < 2:
        return ""
    return wording.comparisons(sum(c.n for c in chances), sum(c.expected for c in chances))


# --- drawn ------------------------------------------------------------------------------------------------------------


def looks(finding: Finding, url: str) -> dict[str, dict[str, Any]]:
    """How each room looks on a plan, by its key; see ``methods.floorplans.dress``."""
    return {room.room: look(room, url) for room in finding.by_room.rooms}


def look(room: RoomVerdict, url: str) -> dict[str, Any]:
    return {
        "name": room.name,
        "url": url,
        "measured": room.is_measured,
        "number": room.number,
        "unit": room.unit,
        "fraction": room.fraction,
        "verdict": room.verdict,
        "sentence": room.sentence.removesuffix("."),
    }
