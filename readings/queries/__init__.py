"""The only reader of readings: rows as stored, and readings placed in time and room and corrected."""

from readings.queries.bursts import Laid, Stretch, laid
from readings.queries.few import few_in
from readings.queries.mixture import Few
from readings.queries.placed import Placed, placed_in
from readings.queries.placement import Placement, anything_from, placement_of
from readings.queries.rows import Rows, rows

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
