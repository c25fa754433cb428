"""What people noted of a logger's clock, and what each note says of its offset.

Sign: ``offset = true − shown``. A clock 61 min slow has an offset of +61 min, and true time = shown time + 61 min.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from methods.clock.basis import Basis
from methods.clock.zones import transitions

#: More than this between neighbouring checks is no drift: the clock was set anew (docs/methods/clock.md).
MOST_DRIFT_MS = 120_000


@dataclass(frozen=True, slots=True, order=True)
class NotedCheck:
    """The logger showed ``shown_ms`` (a stamp) when it was truly ``true_utc_ms``."""

    true_utc_ms: int
    shown_ms: int


@dataclass(frozen=True, slots=True)
class CheckedOffset:
    """One clock check as read on a basis.

    ``residual_ms``: how far its offset lies from the one straight line through all of them, that is from a clock that
    gains or loses evenly; 0 with fewer than three.
    """

    check: NotedCheck
    offset_ms: int
    residual_ms: int

    @property
    def nominal_ms(self) -> int:
        """UTC as the basis alone reads what was shown."""
        return self.check.true_utc_ms - self.offset_ms


def is_jump(earlier: CheckedOffset, later: CheckedOffset) -> bool:
    return abs(later.offset_ms - earlier.offset_ms) > MOST_DRIFT_MS


def checked_offsets(basis: Basis, checks: Iterable[NotedCheck]) -> list[CheckedOffset]:
    """The checks, earliest first, each with its offset and residual."""
    in_turn = sorted(checks)
    offsets = [check.true_utc_ms - _nominal(basis, check) for check in in_turn]
    residuals = _residuals([check.true_utc_ms for check in in_turn], offsets)
    return [CheckedOffset(*fields) for fields in zip(in_turn, offsets, residuals, strict=True)]


def _residuals(times: list[int], offsets: list[int]) -> list[int]:
    if len(set(times)) < 3:
        return [0] * len(times)
    t = np.array(times, dtype=np.float64) - times[0]
    y = np.array(offsets, dtype=np.float64)
    slope = np.sum((t - t.mean()) * (y - y.mean())) / np.sum((t - t.mean()) ** 2)
    return [int(r) for r in np.rint(y - y.mean() - slope * (t - t.mean()))]


def _nominal(basis: Basis, check: NotedCheck) -> int:
    """UTC the basis alone gives for what was shown: in a repeated hour, the pass nearer to the true time."""
    first = int(basis.to_utc([check.shown_ms])[0][0])
    readings = [first]
    if basis.kind == "zone":
        table = transitions(basis.zone, check.shown_ms, check.shown_ms)
        inside = (table.early() <= check.shown_ms) & (check.shown_ms < table.late())
        back = (table.offsets[:-1] - table.offsets[1:])[inside]
        readings += [first + int(step) for step in back if step > 0]
    return min(readings, key=lambda nominal: abs(check.true_utc_ms - nominal))
