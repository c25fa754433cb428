"""Temperature and humidity while the instruments stood in a zone: a finding holds for these conditions."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

import numpy as np

from campaigns.models import Campaign, Deployment
from methods.quantities.flags import EXCLUDES
from methods.quantities.substances import SUBSTANCES
from methods.wording.results import extremes
from readings.queries import placed_in
from reports.content.canonical import number
from reports.content.places import ReportedCondition

#: The climate that a finding holds for.
WANTED = tuple(substance.code for substance in SUBSTANCES.values() if substance.is_climate)
OUTDOORS = 0


def conditions_of(campaign: Campaign, deployments: list[Deployment]) -> dict[int, tuple[ReportedCondition, ...]]:
    """Zone id (``OUTDOORS`` for outdoor points) → lowest, mean and highest corrected reading that counts.

    ``deployments``: with their point and room. Enclosed spaces and supply air say nothing about the room's climate.
    """
    shown = [d for d in deployments if d.point.kind in ("room_air", "outdoor")]
    found: dict[tuple[int, str, str], list[Any]] = defaultdict(list)
    for parameter in WANTED:
        for placed in placed_in(campaign, parameter=parameter, deployments=shown):
            counts = placed.value[((placed.flags & int(EXCLUDES)) == 0) & np.isfinite(placed.value)]
            if len(counts):
                room = placed.deployment.point.room
                found[room.zone_id if room else OUTDOORS, parameter, placed.unit].append(counts)
    zones: dict[int, list[ReportedCondition]] = defaultdict(list)
    for (zone, parameter, unit), parts in found.items():
        zones[zone].append(_condition(parameter, unit, np.concatenate(parts)))
    return {zone: tuple(conditions) for zone, conditions in zones.items()}


def _condition(parameter: str, unit: str, values: Any) -> ReportedCondition:
    low, mean, high = float(values.min()), float(values.mean()), float(values.max())
    return ReportedCondition(
        parameter=parameter,
        name=SUBSTANCES[parameter].name,
        unit=unit,
        low=number(low),
        mean=number(mean),
        high=number(high),
        text=extremes(low, mean, high, unit, digits=SUBSTANCES[parameter].decimals or 0),
    )
