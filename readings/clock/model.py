"""Logger stamp ↔ UTC: a basis, then an offset, then a drift (METHODS M2).

Sign: ``offset = true − shown``. A clock 61 min slow has an offset of +61 min, and true time = shown time + 61 min.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from readings.clock.basis import Basis, Flags
from readings.clock.folds import backward_steps
from readings.clock.zones import DAY_MS, Ints, transitions
from readings.flags import Flag


@dataclass(frozen=True, slots=True, order=True)
class ClockCheck:
    """The logger showed ``shown_ms`` (a stamp) when it was truly ``true_utc_ms``."""

    true_utc_ms: int
    shown_ms: int


@dataclass(frozen=True, slots=True)
class CheckedOffset:
    """One clock check as read on the model's basis; ``residual_ms`` is against the one best constant offset."""

    check: ClockCheck
    offset_ms: int
    residual_ms: int


@dataclass(frozen=True, slots=True)
class ClockModel:
    """``basis`` and any number of ``checks`` → UTC.

    No check: the basis alone. One: a constant offset. More: a straight line between neighbours, held outside them.
    """

    basis: Basis
    checks: tuple[ClockCheck, ...] = ()

    def offsets(self) -> list[CheckedOffset]:
        """Offset of each check, earliest first, with its residual from their mean: what drift has done."""
        checks = sorted(self.checks)
        if not checks:
            return []
        found = [check.true_utc_ms - _nominal(self.basis, check) for check in checks]
        mean = round(sum(found) / len(found))
        return [CheckedOffset(check, offset, offset - mean) for check, offset in zip(checks, found, strict=True)]

    def to_utc(self, stamps_ms: npt.ArrayLike, upload: npt.ArrayLike | None = None) -> tuple[Ints, Flags]:
        """Stamps (n,) in file order → UTC ms (n,) int64 and flags (n,) int32 (``CLOCK_DOUBTFUL`` or none).

        ``upload`` (n,), when stamps of several files are passed together, tells them apart: a step back between two
        files means nothing.
        """
        stamps = np.asarray(stamps_ms, dtype=np.int64)
        nominal, flags = self.basis.to_utc(stamps, upload)
        self._flag_resets(stamps, nominal, flags, upload)
        knots, offsets = self._line()
        if knots.size == 0:
            return nominal, flags
        if knots.size == 1:
            return nominal + offsets[0], flags
        return nominal + np.rint(np.interp(nominal, knots, offsets)).astype(np.int64), flags

    @staticmethod
    def _flag_resets(stamps: Ints, nominal: Ints, flags: Flags, upload: npt.ArrayLike | None) -> None:
        """A clock set back makes both neighbours doubtful: which of the two sides the checks hold for is not known."""
        at = backward_steps(stamps, nominal)
        if upload is not None and at.size:
            files = np.asarray(upload)
            at = at[files[at] == files[at - 1]]
        flags[at] |= Flag.CLOCK_DOUBTFUL
        flags[at - 1] |= Flag.CLOCK_DOUBTFUL

    def _line(self) -> tuple[Ints, Ints]:
        """Offsets over nominal UTC, increasing: where two checks show the same time the later one holds."""
        offsets = {item.check.true_utc_ms - item.offset_ms: item.offset_ms for item in self.offsets()}
        knots = sorted(offsets)
        return np.array(knots, dtype=np.int64), np.array([offsets[knot] for knot in knots], dtype=np.int64)

    def stamp_bounds(self, utc_start_ms: int, utc_end_ms: int) -> tuple[int, int]:
        """``(lo, hi)`` such that every stamp placed in [utc_start, utc_end] lies in lo ≤ stamp ≤ hi.

        Wide on purpose, for a query by range: it may hold readings from outside, and where it touches a repeated hour
        it takes in the whole of it with its neighbours, because only these tell the first pass from the second.
        """
        _, offsets = self._line()
        low = utc_start_ms - (int(offsets.max()) if offsets.size else 0)
        high = utc_end_ms - (int(offsets.min()) if offsets.size else 0)
        if self.basis.kind != "zone":
            return tuple(int(v) for v in self.basis.from_utc([low, high]))  # type: ignore[return-value]
        table = transitions(self.basis.zone, low, high)
        near = (table.at >= low - 2 * DAY_MS) & (table.at <= high + 2 * DAY_MS)
        first = int(np.searchsorted(table.at, low - 2 * DAY_MS, side="right"))
        held = table.offsets[first : first + int(near.sum()) + 1]
        lo, hi = low + int(held.min()), high + int(held.max())
        for start, end in zip(table.early()[near].tolist(), table.late()[near].tolist(), strict=True):
            if start <= hi and lo <= end:
                lo, hi = min(lo, start - (end - start)), max(hi, end + (end - start))
        return lo, hi


def _nominal(basis: Basis, check: ClockCheck) -> int:
    """UTC the basis alone gives for what was shown: in a repeated hour, the pass nearer to the true time."""
    first = int(basis.to_utc([check.shown_ms])[0][0])
    # a check's own true time says which pass it was, so both are tried: the second is later by the change of offset
    shifts = {0}
    if basis.kind == "zone":
        table = transitions(basis.zone, check.shown_ms, check.shown_ms)
        inside = (
            (table.offsets[:-1] > table.offsets[1:])
            & (table.early() <= check.shown_ms)
            & (check.shown_ms < table.late())
        )
        shifts |= {step for step in (table.offsets[:-1] - table.offsets[1:])[inside].tolist() if step > 0}
    return min((first + shift for shift in shifts), key=lambda nominal: abs(check.true_utc_ms - nominal))
