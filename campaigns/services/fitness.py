"""Before the visit: what the channels of an instrument type can decide about a limit (docs/methods/verdicts.md)."""

from __future__ import annotations

import numpy as np

from campaigns.models import Campaign, ChannelSpec
from campaigns.services.limit_terms import Terms, terms
from methods.limits.model import LimitDefinition
from methods.quantities.units import NotConvertible
from methods.verdicts import ChannelAbilities, Fitness, Levels, fitness


def fit(spec: ChannelSpec, limit: LimitDefinition, campaign: Campaign) -> Fitness | str:
    """The fitness of a channel for a limit at the campaign's levels; where no conversion exists, why.

    The drift of one day is counted, as if zero and span were checked daily; the scatter is not known before the visit.
    """
    try:
        how = terms(spec, limit)
    except NotConvertible as error:
        return str(error)
    return fitness(_facts(spec, how), limit, Levels(campaign.level_above, campaign.level_below))


def _facts(spec: ChannelSpec, how: Terms) -> ChannelAbilities:
    return ChannelAbilities(
        resolution=abs(spec.resolution * how.slope),
        detection_limit=_scaled(spec.detection_limit, how),
        range_high=float(how.values(np.array([spec.range_high]))[0]),
        zero_u=_scaled(spec.u_zero, how),
        span_u_rel=spec.u_span,
        drift_u=_scaled(spec.u_drift, how),
        span_drift_u_rel=spec.u_span_drift,
        temperature_u=_scaled(spec.u_temperature, how),
        interference_u=_scaled(spec.u_interference, how),
        noise=_scaled(spec.repeatability, how),
    )


def _scaled(value: float | None, how: Terms) -> float | None:
    return None if value is None else abs(value * how.slope)
