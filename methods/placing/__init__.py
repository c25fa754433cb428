"""Which deployment a reading belongs to; where visits began if nobody noted it (docs/methods/placing.md). Pure."""

from methods.placing.boundaries import NoProposal, Proposal, change_points, propose_visits
from methods.placing.logged_stretches import Span, free_part, spans, trace
from methods.placing.placing import (
    OPEN_MS,
    UNPLACED,
    OverlappingDeployments,
    assign,
    is_same_interval,
    steady_interval_ms,
    typical_interval_ms,
)
from methods.placing.stays import CannotEdit, Stay, merged, moved, split, standing_since

__all__ = [
    "OPEN_MS",
    "UNPLACED",
    "CannotEdit",
    "NoProposal",
    "OverlappingDeployments",
    "Proposal",
    "Span",
    "Stay",
    "assign",
    "change_points",
    "free_part",
    "is_same_interval",
    "merged",
    "moved",
    "propose_visits",
    "spans",
    "split",
    "standing_since",
    "steady_interval_ms",
    "trace",
    "typical_interval_ms",
]
