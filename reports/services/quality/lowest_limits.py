"""The lowest limit that a channel is judged by, in the unit of the channel."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from campaigns.models import ChannelSpec
from campaigns.services.limit_terms import terms
from methods.limits.model import LimitDefinition
from methods.quantities.units import NotConvertible


@dataclass(frozen=True, slots=True)
class LowestLimit:
    """``value`` in the channel's unit; ``text``: the limit as it is printed."""

    value: float
    text: str


def lowest_limit(spec: ChannelSpec, limits: Iterable[LimitDefinition]) -> LowestLimit | None:
    """None where none of them has an upper end above nothing, or there is no way from one unit into the other."""
    found = [told for limit in limits if (told := _in_channel_unit(spec, limit)) is not None]
    return min(found, key=lambda told: told.value, default=None)


def _in_channel_unit(spec: ChannelSpec, limit: LimitDefinition) -> LowestLimit | None:
    upper = limit.upper
    if spec.parameter != limit.parameter or upper is None or not upper > 0 or spec.substance.is_climate:
        return None
    try:
        slope = terms(spec, limit).slope
    except NotConvertible:
        return None
    return LowestLimit(float(upper) / slope, limit.value_text()) if slope > 0 else None
