"""What the page of alert levels shows of each, and the words that cautions name them with."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from campaigns.links import anchor
from campaigns.models import AlertLevel, Campaign, Channel
from campaigns.services.alert_terms import in_terms_of
from methods.alerts.levels import CONFIDENCE, minutes_text
from methods.quantities.units import NotConvertible


@dataclass(frozen=True)
class LevelLine:
    """One level of the page. ``cannot``: for each channel that cannot be held against it, why."""

    row: AlertLevel
    anchor: str
    told: str
    within: str
    confidence: str
    cannot: tuple[str, ...]


def levels(campaign: Campaign) -> list[LevelLine]:
    """Those that are on first, by parameter. Two queries."""
    rows = list(campaign.alert_levels.order_by("-is_on", "parameter", "value", "pk"))
    measured = Channel.objects.filter(
        instrument__organisation=campaign.site.organisation_id, spec__parameter__in={row.parameter for row in rows}
    )
    channels = list(measured.select_related("spec__instrument_type").order_by("spec", "pk"))
    return [
        LevelLine(
            row,
            anchor(row),
            row.told or "nobody by mail",
            minutes_text(row.within_minutes),
            CONFIDENCE.get(row.confidence, ""),
            tuple(_cannot(row, channels)),
        )
        for row in rows
    ]


def _cannot(level: AlertLevel, channels: Iterable[Channel]) -> list[str]:
    said: dict[str, None] = {}
    for channel in channels:
        if channel.spec.parameter != level.parameter:
            continue
        try:
            in_terms_of(level, channel.spec)
        except NotConvertible as refused:
            said[f"{channel.spec.instrument_type}: {refused}"] = None
    return list(said)
