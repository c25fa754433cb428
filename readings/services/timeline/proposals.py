"""Visits of which nobody kept the times: proposed from the log in the order of the plan, never applied.

Method: docs/methods/placing.md.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from campaigns.models import Campaign, Deployment, SamplingPoint
from methods.placing import OPEN_MS, NoProposal, free_part, propose_visits
from methods.placing.boundaries import WEAK_BELOW
from methods.quantities.moments import utc_ms
from readings.queries.logged_series import Logged


@dataclass(frozen=True)
class ProposedVisit:
    """UTC ms, half-open. ``strength``: by how many standard deviations of the noise the level changes at the weaker of
    its edges; None where the log pauses at both, or where there is no neighbour."""

    point: SamplingPoint
    start_ms: int
    end_ms: int
    strength: float | None

    @property
    def weak(self) -> bool:
        return self.strength is not None and self.strength < WEAK_BELOW

    @property
    def why(self) -> str:
        if self.strength is None:
            return "the log pauses at its edges"
        word = "weak" if self.weak else "clear"
        return f"{word}: the level changes by {self.strength:.1f} standard deviations of the noise"


@dataclass(frozen=True)
class Proposed:
    visits: list[ProposedVisit] = field(default_factory=list)
    note: str = ""


def unmeasured(campaign: Campaign, parameter: str) -> list[SamplingPoint]:
    """Planned points at which nothing stood that measures ``parameter``, in the order of the plan."""
    measuring = campaign.deployments.filter(instrument__channels__spec__parameter=parameter)
    planned = campaign.planned_points.exclude(point__in=measuring.values("point"))
    return [row.point for row in planned.select_related("point__room__zone")]


def proposed(logged: Logged, deployments: Sequence[Deployment], points: Sequence[SamplingPoint]) -> Proposed:
    """One visit for each of ``points``, in their order, laid on the readings outside every one of ``deployments``."""
    outside = logged.outside(deployments)
    try:
        proposal = propose_visits(logged.utc_ms[outside], logged.raw[outside], len(points))
    except NoProposal as error:
        return Proposed(note=str(error))
    taken = [(utc_ms(d.starts_at), utc_ms(d.ends_at) if d.ends_at else OPEN_MS) for d in deployments]
    edges = np.concatenate(([np.nan], proposal.steps, [np.nan]))
    visits = []
    for k, point in enumerate(points):
        start, end = proposal.visits[k].tolist()
        part = free_part((start, end), taken)
        if part is not None:
            strength = np.nanmin(edges[k : k + 2]) if np.isfinite(edges[k : k + 2]).any() else None
            visits.append(ProposedVisit(point, *part, None if strength is None else float(strength)))
    return Proposed(visits)
