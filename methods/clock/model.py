"""Logger stamp ↔ UTC: a basis, then an offset, then a drift, anew after each reset (docs/methods/clock.md).

Sign: ``offset = true − shown``. A clock 61 min slow has an offset of +61 min, and true time = shown time + 61 min.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from methods.clock.basis import Basis
from methods.clock.checks import CheckedOffset, NotedCheck, checked_offsets
from methods.clock.reset_answers import Place, ResetAnswer
from methods.clock.segment_offsets import answered, interpolated, spoken_for
from methods.clock.segments import Segment, open_steps, segments
from methods.clock.zones import transitions
from methods.quantities.arrays import Flags, Ints
from methods.quantities.durations import DAY_MS
from methods.quantities.flags import Flag


@dataclass(frozen=True, slots=True)
class ClockModel:
    """``basis`` and any number of ``checks`` → UTC.

    No check: the basis alone. One: a constant offset. More: a straight line between neighbours, held outside them.
    ``answers``: what people said about the places where the clock seems to have been set.
    """

    basis: Basis
    checks: tuple[NotedCheck, ...] = ()
    answers: tuple[ResetAnswer, ...] = ()

    def offsets(self) -> list[CheckedOffset]:
        """The checks, earliest first, each with its offset (true − shown) and its residual from an even drift."""
        return checked_offsets(self.basis, self.checks)

    def to_utc(
        self, stamps_ms: npt.ArrayLike, upload: npt.ArrayLike | None = None, in_utc: npt.ArrayLike = False
    ) -> tuple[Ints, Flags]:
        """Stamps (n,) in file order → UTC ms (n,) int64 and flags (n,) int32 (``CLOCK_DOUBTFUL`` or none).

        ``upload`` (n,) tells the stamps of several files apart: a step back between two files means nothing. Where
        the clock was set anew, each piece goes by the checks made during it; both neighbours of the reset are
        doubtful, and so is a whole piece that has no check where others have, or perhaps another's.

        ``in_utc`` (n,) or one for all: stamps that their file gives in UTC, alike within a file. What the clock showed
        then follows, and which pass of a repeated hour it was is not in question.
        """
        stamps = np.asarray(stamps_ms, dtype=np.int64)
        utc, flags = np.empty_like(stamps), np.empty(stamps.shape, dtype=np.int32)
        offsets = self.offsets()
        said = np.broadcast_to(np.asarray(in_utc, dtype=np.bool_), stamps.shape)
        for rows in _files(stamps, upload):
            in_file = stamps[rows]
            utc[rows], flags[rows] = self._file_to_utc(in_file, offsets, in_utc=bool(in_file.size and said[rows][0]))
        return utc, flags

    def _file_to_utc(self, stamps: Ints, offsets: list[CheckedOffset], *, in_utc: bool) -> tuple[Ints, Flags]:
        stamps, nominal, flags = self.basis.shown_and_meant(stamps, in_utc=in_utc)
        said = {answer.place: answer for answer in self.answers}
        steps = open_steps(stamps, nominal, said)
        flags[steps] |= Flag.CLOCK_DOUBTFUL
        flags[steps - 1] |= Flag.CLOCK_DOUBTFUL
        if not len(stamps) or not (offsets or said):
            return nominal, flags
        clock_segments, reverse = segments(stamps, nominal, offsets, said)
        turned = slice(None, None, -1 if reverse else 1)
        held = spoken_for(clock_segments, stamps[turned], nominal[turned], said)
        known = bool(offsets or answered(clock_segments, stamps[turned], said))
        utc = nominal.copy()
        for piece, own in zip(clock_segments, held, strict=True):
            rows = _rows(piece, len(stamps), reverse)
            if own or offsets:
                utc[rows] += interpolated(nominal[rows], own or offsets)
            if known and not (own and piece.sure):
                flags[rows] |= Flag.CLOCK_DOUBTFUL
        flags[_beside_jumps(clock_segments, stamps[turned], reverse, said)] |= Flag.CLOCK_DOUBTFUL
        return utc, flags

    def stamp_bounds(self, utc_start_ms: int, utc_end_ms: int) -> tuple[int, int]:
        """``(lo, hi)`` such that every stamp placed in [utc_start, utc_end] lies in lo ≤ stamp ≤ hi.

        Wide on purpose, for a query by range: it may hold readings from outside, and where it touches a repeated hour
        it takes in the whole of it with its neighbours, because only these tell the first pass from the second.
        """
        offsets = [item.offset_ms for item in self.offsets()] or [0]
        if self.answers:
            moved = sum(abs(answer.by_ms or 0) for answer in self.answers)
            offsets = [0, *offsets, max(offsets) + moved, min(offsets) - moved]
        low, high = utc_start_ms - max(offsets), utc_end_ms - min(offsets)
        if self.basis.kind != "zone":
            lo, hi = self.basis.from_utc([low, high]).tolist()
            return lo, hi
        table = transitions(self.basis.zone, low, high)
        near = (table.at >= low - 2 * DAY_MS) & (table.at <= high + 2 * DAY_MS)
        first = int(np.searchsorted(table.at, low - 2 * DAY_MS))
        held = table.offsets[first : first + int(near.sum()) + 1]
        lo, hi = low + int(held.min()), high + int(held.max())
        for start, end in zip(table.early()[near].tolist(), table.late()[near].tolist(), strict=True):
            if start <= hi and lo <= end:
                lo, hi = min(lo, start - (end - start)), max(hi, end + (end - start))
        return lo, hi


def _files(stamps: Ints, upload: npt.ArrayLike | None) -> Iterator[Ints | slice]:
    """Rows of each file, in file order."""
    if upload is None:
        yield slice(None)
        return
    files = np.asarray(upload)
    order = np.argsort(files, kind="stable")
    yield from np.split(order, np.flatnonzero(np.diff(files[order])) + 1)


def _rows(piece: Segment, count: int, reverse: bool) -> slice:
    return slice(count - piece.stop, count - piece.start) if reverse else slice(piece.start, piece.stop)


def _beside_jumps(
    clock_segments: list[Segment], stamps: Ints, reverse: bool, said: Mapping[Place, ResetAnswer]
) -> Ints:
    """Indices, in file order, of the neighbours of each jump whose place nobody confirmed; ``stamps`` oldest first."""
    count = len(stamps)
    confirmed = {
        clock_segments[k + 1].start
        for k, _ in answered(clock_segments, stamps, said)
        if clock_segments[k + 1].begun == "jump"
    }
    starts = {p.start for p in clock_segments if p.begun == "jump" and 0 < p.start < count} - confirmed
    cuts = np.array(sorted(starts), dtype=np.int64)
    beside = np.concatenate((cuts - 1, cuts))
    return count - 1 - beside if reverse else beside
