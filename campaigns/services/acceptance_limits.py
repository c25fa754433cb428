"""Acceptance limits of a campaign: set, taken from common practice, and which of them are in force.

A limit is never changed: a new one takes its place from then on. All raise ValidationError; then nothing has changed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Min
from django.utils import timezone

from campaigns.models import AcceptanceLimit, Campaign, User
from campaigns.services.locks import hold_campaign
from campaigns.services.records import all_or_nothing, check
from methods.quality.acceptance import MEASURES


@dataclass(frozen=True)
class InForce:
    """The limit of one measure. ``late``: set after measuring began; ``agreed``: then what was in force before that,
    None where nothing was."""

    row: AcceptanceLimit
    late: bool
    agreed: AcceptanceLimit | None = None

    @property
    def percent(self) -> float | None:
        return self.row.percent


def put(campaign: Campaign, wanted: Mapping[str, float | None], by: User | None, *, usual: bool = False) -> int:
    """Set what differs from what is in force, all or nothing; how many that were. ``wanted``: by code of the measure,
    in per cent, None for no limit. ``usual``: taken from common practice."""
    with all_or_nothing(AcceptanceLimit):
        hold_campaign(campaign)
        held, now = in_force(campaign), timezone.now()
        others = {code: percent for code, percent in wanted.items() if percent != _percent(held.get(code))}
        for code, percent in others.items():
            row = AcceptanceLimit(campaign=campaign, measure=code, percent=percent, is_usual=usual, set_at=now, by=by)
            check(row)
            row.save(force_insert=True)
    return len(others)


def put_usual(campaign: Campaign, by: User | None) -> int:
    """Start from common practice, for every measure that has no limit."""
    held = in_force(campaign)
    open_ones = {code: m.usual for code, m in MEASURES.items() if _percent(held.get(code)) is None}
    return put(campaign, open_ones, by, usual=True)


def in_force(campaign: Campaign) -> dict[str, InForce]:
    """By code of the measure; a limit that was taken back is in it, with no per cent. One query where there is none,
    else three."""
    by_measure: dict[str, list[AcceptanceLimit]] = {}
    for row in campaign.acceptance_limits.select_related("by"):
        by_measure.setdefault(row.measure, []).append(row)
    began = measuring_began(campaign) if by_measure else None
    return {code: _of(rows, began) for code, rows in by_measure.items()}


def measuring_began(campaign: Campaign) -> datetime | None:
    """When the first instrument was put anywhere, or into a run; None before that."""
    first = [rows.aggregate(first=Min("starts_at"))["first"] for rows in (campaign.deployments, campaign.quality_runs)]
    return min((at for at in first if at is not None), default=None)


def _of(rows: list[AcceptanceLimit], began: datetime | None) -> InForce:
    """``rows`` of one measure in order of time."""
    row = rows[-1]
    if began is None or row.set_at < began:
        return InForce(row, late=False)
    before = [each for each in rows if each.set_at < began]
    return InForce(row, late=True, agreed=before[-1] if before else None)


def _percent(held: InForce | None) -> float | None:
    return None if held is None else held.percent
