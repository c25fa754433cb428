"""Versions of an agreement as pages show them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.core.exceptions import ValidationError

from campaigns.frozen.agreement import AgreedContent
from campaigns.models import Agreement, Campaign
from campaigns.services.agreed_terms import measuring_began
from campaigns.services.agreements import content_of
from methods.wording.numbers import minute


@dataclass(frozen=True)
class AgreementVersion:
    """A version with what became of it, in words; ``answer``: who answered, when and how, "" without one."""

    row: Agreement
    offered: str
    answer: str

    @property
    def state(self) -> str:
        return str(Agreement.State(self.row.state).label)


@dataclass(frozen=True)
class AgreementPreview:
    """What a draft would freeze now; None, with the reason, where something is missing."""

    content: AgreedContent | None
    missing: str


def versions(rows: Iterable[Agreement], zone: ZoneInfo) -> list[AgreementVersion]:
    return [version_of(row, zone) for row in rows]


def version_of(row: Agreement, zone: ZoneInfo) -> AgreementVersion:
    return AgreementVersion(row, _at(row.offered_at, zone), answer_of(row, zone))


def answer_of(row: Agreement, zone: ZoneInfo) -> str:
    """ "accepted by A. Brindle, 2026-09-10 09:00"; of one recorded by a consultant also how, by whom and when."""
    if row.answered_at is None:
        return ""
    words = f"{Agreement.State(row.state).label} by {row.answered_name}, {_at(row.answered_at, zone)}"
    if row.recorded_at is None:
        return words
    return f"{words} ({row.answered_how}; recorded by {row.answered_by}, {_at(row.recorded_at, zone)})"


def begun(campaign: Campaign) -> str:
    """That an agreement now comes late, and what follows; "" before anything was measured. One query."""
    began = measuring_began(campaign)
    if began is None:
        return ""
    return (
        f"Measuring has begun: {_at(began, campaign.site.zone_info)}. What is accepted only now was not agreed before: "
        "the report prints that, and needs a reason to be released."
    )


def preview(draft: Agreement) -> AgreementPreview:
    try:
        return AgreementPreview(content_of(draft), "")
    except ValidationError as missing:
        return AgreementPreview(None, missing.messages[0])


#: Of these something is still to come.
WAITING = (Agreement.State.DRAFT, Agreement.State.OFFERED)


def standing_words(rows: Sequence[Agreement], zone: ZoneInfo) -> str:
    """In one line what is agreed and what waits. ``rows``: versions of a campaign, the latest first."""
    agreed = next((row for row in rows if row.state == Agreement.State.ACCEPTED), None)
    said = f"version {agreed.version}, {answer_of(agreed, zone)}" if agreed else "nothing yet"
    later = [row for row in rows if agreed is None or row.version > agreed.version]
    waiting = [row for row in reversed(later) if row.state in WAITING or row == rows[0]]
    return "; ".join([said, *(f"version {row.version} is {Agreement.State(row.state).label}" for row in waiting)])


def _at(moment: datetime | None, zone: ZoneInfo) -> str:
    return minute(moment, zone) if moment else ""
