"""The only reader of readings: rows as stored, and readings placed in time and room and corrected."""

from readings.queries.bursts import Laid, Stretch, laid
from readings.queries.downsampling.long_deployments import few_in
from readings.queries.downsampling.mixture import Few
from readings.queries.placed import Placed, placed_in
from readings.queries.rows import Rows, rows
from readings.queries.upload_placement import Placement, anything_from, placement_of

__all__ = [
    "Few",
    "Laid",
    "Placed",
    "Placement",
    "Rows",
    "Stretch",
    "anything_from",
    "few_in",
    "laid",
    "placed_in",
    "placement_of",
    "rows",
]
