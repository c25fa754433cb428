"""What the stamps of a file alone tell while it is read: a clock that went back, a clock that stood still.

In constant memory: the first steps are kept, the others counted.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from methods.clock import Basis
from methods.logs.types import LogProblem
from methods.quantities.durations import DAY_MS, HOUR_MS, MINUTE_MS
from methods.quantities.moments import stamp_text
from readings.store import Batch

LISTED = 20
#: A reading's place among equal stamps is stored in 15 bits.
MOST_EQUAL = 2**15
UNITS = ((DAY_MS, "d"), (HOUR_MS, "h"), (MINUTE_MS, "min"), (1000, "s"), (1, "ms"))


@dataclass(frozen=True, slots=True)
class StampStep:
    """Neighbours in the file: the line of the second, and both stamps."""

    line: int
    first: int
    second: int


@dataclass(slots=True)
class _Column:
    """Steps between neighbouring readings of one channel, both ways: which of them are odd shows at the end."""

    last: int | None = None
    back: list[StampStep] = field(default_factory=list)
    forward: list[StampStep] = field(default_factory=list)
    back_count: int = 0
    forward_count: int = 0

    def see(self, batch: Batch) -> None:
        if not len(batch):
            return
        stamps = batch.stamp if self.last is None else np.concatenate(([self.last], batch.stamp))
        lines = batch.line[1:] if self.last is None else batch.line
        steps = np.diff(stamps)
        self.last = int(stamps[-1])
        self.back_count += self._note(self.back, steps < 0, stamps, lines)
        self.forward_count += self._note(self.forward, steps > 0, stamps, lines)

    @staticmethod
    def _note(kept: list[StampStep], where: np.ndarray, stamps: np.ndarray, lines: np.ndarray) -> int:
        positions = np.flatnonzero(where)
        for i in positions[: LISTED - len(kept)]:
            kept.append(StampStep(int(lines[i]), int(stamps[i]), int(stamps[i + 1])))
        return len(positions)

    def odd(self) -> tuple[list[StampStep], int]:
        """Steps against the direction of the file, in the order in which the clock made them, and how many there were.

        A file that lists its latest reading first has more steps back than forward.
        """
        if self.back_count > self.forward_count:
            return [StampStep(step.line, step.second, step.first) for step in self.forward], self.forward_count
        return self.back, self.back_count


@dataclass(slots=True)
class StampSteps:
    """Looks at each batch on its way to the store."""

    columns: dict[int, _Column] = field(default_factory=dict)
    still: StampStep | None = None  # where a stamp repeated once too often
    left_out: int = 0

    def see(self, batch: Batch) -> Batch:
        """The batch without the readings that no place is left for."""
        self.columns.setdefault(batch.channel_id, _Column()).see(batch)
        fits = batch.nth < MOST_EQUAL
        if fits.all():
            return batch
        first = int(np.flatnonzero(~fits)[0])
        self.still = self.still or StampStep(int(batch.line[first]), int(batch.stamp[first]), int(batch.stamp[first]))
        self.left_out += int(np.count_nonzero(~fits))
        return batch.only(fits)

    def problems(self, basis: Basis) -> Iterator[LogProblem]:
        """``basis`` is that of the stamps; where it explains a step by a repeated hour, nothing is wrong."""
        if self.still is not None:
            yield _stood_still(self.still, self.left_out)
        listed: dict[int, StampStep] = {}
        more = 0
        for steps, count in (column.odd() for column in self.columns.values()):
            listed |= {step.line: step for step in steps if _is_back(step, basis)}
            more = max(more, count - len(steps))
        for line in sorted(listed):
            yield _went_back(listed[line])
        if more:
            yield LogProblem(0, "", str(more), "more_problems", f"The stamps go back {more:,} more times.")


def _is_back(step: StampStep, basis: Basis) -> bool:
    # Two stamps before it show which way the clock runs: two alone could be a file with its latest reading first.
    stamps = np.array([step.first - 2, step.first - 1, step.first, step.second], dtype=np.int64)
    utc, _ = basis.to_utc(stamps)
    return bool(utc[3] < utc[2])


def _went_back(step: StampStep) -> LogProblem:
    first, second = stamp_text(step.first), stamp_text(step.second)
    message = (
        f"The stamps go back by {_length(step.first - step.second)} here, from {first} to {second}. Readings beside "
        "the step count as doubtful in time. If the clock was set back, enter a clock check from before and one from "
        "after it; if two downloads stand in one file, hand in each by itself."
    )
    return LogProblem(step.line, "", second, "clock_back", message)


def _stood_still(step: StampStep, left_out: int) -> LogProblem:
    message = (
        f"{MOST_EQUAL:,} readings already carry the stamp {stamp_text(step.first)}: the clock stood still. "
        f"{left_out:,} readings from this line on were left out."
    )
    return LogProblem(step.line, "", stamp_text(step.first), "clock_still", message)


def _length(ms: int) -> str:
    """The two largest parts of a length of time: 1 h 1 min."""
    parts = []
    for size, unit in UNITS:
        count, ms = divmod(ms, size)
        if count:
            parts.append(f"{count} {unit}")
    return " ".join(parts[:2])
