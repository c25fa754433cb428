"""What a logger's clock is meant to show: UTC, a fixed offset, or the local time of a zone with its clock changes.

Sign, everywhere in this package: wall clock = UTC + offset of the basis.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Self

import numpy as np
import numpy.typing as npt

from methods.clock.folds import second_pass
from methods.clock.zones import Transitions, transitions
from methods.quantities.arrays import Flags, Ints
from methods.quantities.durations import MINUTE_MS
from methods.quantities.flags import Flag


@dataclass(frozen=True, slots=True)
class Basis:
    """Declared meaning of stamps. Use :meth:`utc`, :meth:`fixed` or :meth:`in_zone`.

    ``offset_minutes`` is ahead of UTC: 345 for a clock on +05:45.
    """

    kind: Literal["utc", "fixed", "zone"]
    offset_minutes: int = 0
    zone: str = ""

    @classmethod
    def utc(cls) -> Self:
        return cls("utc")

    @classmethod
    def fixed(cls, offset_minutes: int) -> Self:
        return cls("fixed", offset_minutes=offset_minutes)

    @classmethod
    def in_zone(cls, zone: str) -> Self:
        """Raises :class:`methods.clock.zones.UnknownZone` at once, not at the first stamp."""
        transitions(zone, 0, 0)
        return cls("zone", zone=zone)

    @property
    def text(self) -> str:
        if self.kind == "zone":
            return f"local time in {self.zone}"
        sign, minutes = ("−" if self.offset_minutes < 0 else "+"), abs(self.offset_minutes)
        return "UTC" if minutes == 0 else f"UTC{sign}{minutes // 60:02d}:{minutes % 60:02d}"

    def to_utc(self, stamps_ms: npt.ArrayLike) -> tuple[Ints, Flags]:
        """Stamps (n,) of one file, in file order, → UTC ms (n,) and flags (n,).

        A stamp in a missing hour is read with the offset before the change and flagged. One in a repeated hour is the
        first or second pass by the file's backward step; without a step it is read as the first and flagged.
        """
        stamps = np.asarray(stamps_ms, dtype=np.int64)
        flags = np.zeros(stamps.shape, dtype=np.int32)
        if self.kind != "zone":
            return stamps - self.offset_minutes * MINUTE_MS, flags
        if stamps.size == 0:
            return stamps.copy(), flags
        table = transitions(self.zone, int(stamps.min()), int(stamps.max()))
        if table.at.size == 0:
            return stamps - table.offsets[0], flags
        return _zone_to_utc(stamps, flags, table)

    def from_utc(self, utc_ms: npt.ArrayLike) -> Ints:
        """UTC ms (n,) → what a clock on this basis shows then."""
        utc = np.asarray(utc_ms, dtype=np.int64)
        if self.kind != "zone":
            return utc + self.offset_minutes * MINUTE_MS
        if utc.size == 0:
            return utc.copy()
        table = transitions(self.zone, int(utc.min()), int(utc.max()))
        return utc + table.offsets[np.searchsorted(table.at, utc, side="right")]

    def shown_and_meant(self, stamps_ms: npt.ArrayLike, *, in_utc: bool) -> tuple[Ints, Ints, Flags]:
        """Stamps (n,) of one file, in file order, → what the clock showed (n,), UTC ms (n,) and flags (n,).

        ``in_utc``: the file gives them in UTC, so that nothing about them is in doubt.
        """
        stamps = np.asarray(stamps_ms, dtype=np.int64)
        if not in_utc:
            return stamps, *self.to_utc(stamps)
        return self.from_utc(stamps), stamps.copy(), np.zeros(stamps.shape, dtype=np.int32)


def _zone_to_utc(stamps: Ints, flags: Flags, table: Transitions) -> tuple[Ints, Flags]:
    first = np.searchsorted(table.late(), stamps, side="right")
    utc = stamps - table.offsets[first]
    two_ways = np.flatnonzero(first != np.searchsorted(table.early(), stamps, side="right"))
    if two_ways.size == 0:
        return utc, flags
    before, after = table.offsets[first[two_ways]], table.offsets[first[two_ways] + 1]
    missing = after > before
    flags[two_ways[missing]] |= Flag.CLOCK_DOUBTFUL
    repeated, length = two_ways[~missing], (before - after)[~missing]
    second, resolved = second_pass(stamps, repeated, first[repeated], length)
    utc[repeated[second]] += length[second]
    flags[repeated[~resolved]] |= Flag.CLOCK_DOUBTFUL
    return utc, flags
