"""The timeline of an instrument in a campaign: what people do to its deployments, each thing undoable."""

from readings.services.timeline.edits import Who, accept, create, merge, move, remove, split
from readings.services.timeline.proposals import Proposed, proposed
from readings.services.timeline.undoing import latest_done, next_undone, redo, steps_of, undo

__all__ = [
    "Proposed",
    "Who",
    "accept",
    "create",
    "latest_done",
    "merge",
    "move",
    "next_undone",
    "proposed",
    "redo",
    "remove",
    "split",
    "steps_of",
    "undo",
]
