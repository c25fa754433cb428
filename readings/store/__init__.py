"""The only writer of readings."""

from readings.store.batches import Batch, Clash, Loose, StoreTally
from readings.store.compare import LEFT_OUT
from readings.store.intake import Intake
from readings.store.merge import write
from readings.store.stamp_counts import StampCounts

__all__ = ["LEFT_OUT", "Batch", "Clash", "Intake", "Loose", "StampCounts", "StoreTally", "write"]
