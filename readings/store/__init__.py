"""The only writer of readings."""

from readings.store.merge import Batch, Clash, Tally, write
from readings.store.repeats import Repeats

__all__ = ["Batch", "Clash", "Repeats", "Tally", "write"]
