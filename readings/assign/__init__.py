"""Which deployment a reading belongs to; where visits began if nobody noted it (METHODS M3). Pure."""

from readings.assign.boundaries import NoProposal, Proposal, change_points, propose_visits
from readings.assign.placing import (
    OPEN_MS,
    UNPLACED,
    OverlappingDeployments,
    Represents,
    assign,
    typical_interval_ms,
)

__all__ = [
    "OPEN_MS",
    "UNPLACED",
    "NoProposal",
    "OverlappingDeployments",
    "Proposal",
    "Represents",
    "assign",
    "change_points",
    "propose_visits",
    "typical_interval_ms",
]
