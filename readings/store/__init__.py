"""The only writer of readings."""

from readings.store.batches import Batch, Clash, Loose, Tally
from readings.store.intake import Intake
from readings.store.merge import write
from readings.store.stamp_counts import Repeats

__all__ = ["Batch", "Clash", "Intake", "Loose", "Repeats", "Tally", "write"]
