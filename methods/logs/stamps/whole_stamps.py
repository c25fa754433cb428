"""Stamps that lack something are made whole in the order of the file: times of day, elapsed time, dates without year.

What a person said (``Layout.start_ms``) is where the file begins; midnights and turns of the year are seen in the order
of the stamps, counted and told.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from methods.logs.messages import problem
from methods.logs.stamps.stamp_formats import NO_YEAR, days_from_civil, show, start_of
from methods.logs.types import Chunk, Layout, LogProblem
from methods.quantities.arrays import Bools, Ints
from methods.quantities.durations import DAY_MS, HOUR_MS, MINUTE_MS
from methods.quantities.moments import EPOCH, MS

#: A time of day that goes back by more than this is one of the next day, by less a clock that was set (common practice,
#: no source); a date without a year that goes back by more than a month is one of the next year.
BACK_DAY, BACK_YEAR = 2 * HOUR_MS, 31 * DAY_MS
_FIRST_DAY = days_from_civil(NO_YEAR, 1, 1) or 0
#: (line from which on it holds, midnight of the date said there).
Sections = Sequence[tuple[int, int]]


class StampCompleter:
    """Sees the chunks of a file in order and makes their stamps whole."""

    def __init__(self, layout: Layout) -> None:
        self.kind = start_of(layout.stamp_format)
        self.start = layout.start_ms or 0
        self.newest_first = layout.newest_first
        self.has_start, self.is_ordinal = layout.start_ms is not None, "%j" in layout.stamp_format
        self.turns = 0  #: days or years passed since the start, or since the last section
        self._last: int | None = None
        self._first: int | None = None
        self.stopped_at: int | None = None
        self._section = 0
        self._said: tuple[int, int] | None = None
        self._count = 0

    def place(self, chunk: Chunk, sections: Sections = ()) -> None:
        """``chunk`` with whole stamps, without the rows of days that there are not, and of no day at all."""
        if not self.kind or not len(chunk.lines):
            return
        if self.kind == "start":
            self._place_elapsed(chunk)
        elif self.kind == "date":
            self._place_times(chunk, sections)
        else:
            turns = self._turned(chunk.lines, chunk.stamps)
            stamps, good = self._in_years(chunk.stamps, turns)
            for line, raw in zip(chunk.lines[~good].tolist(), chunk.stamps[~good].tolist(), strict=True):
                chunk.problems.append(problem(line, "", show(raw)[5:], "no_such_day"))
            chunk.stamps = stamps
            _keep(chunk, good)

    def _place_elapsed(self, chunk: Chunk) -> None:
        """Up to where it starts again: the start of what is below is not known."""
        raw = chunk.stamps
        if self.stopped_at is None:
            self._first = int(raw[0]) if self._first is None else self._first
            before = np.concatenate((raw[:1] if self._last is None else [self._last], raw[:-1]))
            again = np.flatnonzero((raw < before) & ((raw <= self._first) | (before - raw > MINUTE_MS)))
            if len(again):
                self.stopped_at = int(chunk.lines[again[0]])
                chunk.problems.append(problem(self.stopped_at, "", _gone_by(int(raw[again[0]])), "starts_again"))
            self._last = int(raw[-1])
        chunk.stamps = raw + self.start
        if self.stopped_at is not None:
            _keep(chunk, chunk.lines < self.stopped_at)

    def _place_times(self, chunk: Chunk, sections: Sections) -> None:
        stamps, good = np.zeros(len(chunk.lines), dtype=np.int64), np.ones(len(chunk.lines), dtype=bool)
        under = np.searchsorted(np.array([line for line, _ in sections], dtype=np.int64), chunk.lines, side="right")
        for section in np.unique(under).tolist():
            own = under == section
            if section != self._section:
                self.start, self._section = sections[section - 1][1], section
                self.turns, self._last = 0, None
            if not section and not self.has_start:
                good &= ~own
                chunk.problems.append(problem(int(chunk.lines[own][0]), "", f"{int(own.sum())}", "before_its_date"))
                continue
            raw = chunk.stamps[own]
            stamps[own] = self.start + self._turned(chunk.lines[own], raw) * DAY_MS + raw
        chunk.stamps = stamps
        _keep(chunk, good)

    def _turned(self, lines: Ints, raw: Ints) -> Ints:
        """How many days or years each stamp lies behind the start (before it, where the newest comes first)."""
        before = raw[:1] if self._last is None else np.array([self._last], dtype=np.int64)
        steps = np.diff(np.concatenate((before, raw)))
        limit = BACK_DAY if self.kind == "date" else BACK_YEAR
        passed = steps > limit if self.newest_first else steps < -limit
        turns = self.turns + np.cumsum(passed) * (-1 if self.newest_first else 1)
        self.turns, self._last = int(turns[-1]), int(raw[-1])
        at = np.flatnonzero(passed)
        self._count += len(at)
        if self._said is None and len(at):
            self._said = int(lines[at[0]]), int(raw[at[0]])
        return np.asarray(turns, dtype=np.int64)

    def _in_years(self, raw: Ints, turns: Ints) -> tuple[Ints, Bools]:
        first = (EPOCH + self.start * MS).year
        stamps, good = np.zeros(len(raw), dtype=np.int64), np.zeros(len(raw), dtype=bool)
        for turn in np.unique(turns).tolist():
            begin, after = days_from_civil(first + turn, 1, 1), days_from_civil(first + turn + 1, 1, 1)
            if begin is None or after is None:
                continue
            own = turns == turn
            days, is_leap = raw[own] // DAY_MS - _FIRST_DAY, after - begin == 366
            late = np.zeros(len(days), dtype=np.int64) if is_leap or self.is_ordinal else (days > 59).astype(np.int64)
            stamps[own] = (begin + days - late) * DAY_MS + raw[own] % DAY_MS
            if self.is_ordinal:
                good[own] = raw[own] - _FIRST_DAY * DAY_MS <= (after - begin) * DAY_MS
            else:
                good[own] = is_leap | (days != 59)
        return stamps, good

    def closing(self) -> list[LogProblem]:
        """That the file passed midnights or turns of the year that nothing but its order tells."""
        if self._said is None:
            return []
        line, raw = self._said
        code = "next_days" if self.kind == "date" else "next_years"
        shown = show(raw)[11:] if self.kind == "date" else show(raw)[5:10]
        return [problem(line, "", shown, code, count="once" if self._count == 1 else f"{self._count:,} times")]


def _gone_by(ms: int) -> str:
    return f"{ms // HOUR_MS}:{ms // MINUTE_MS % 60:02d}:{ms // 1000 % 60:02d}"


def _keep(chunk: Chunk, good: Bools) -> None:
    if bool(good.all()):
        return
    chunk.lines, chunk.stamps = chunk.lines[good], chunk.stamps[good]
    chunk.values, chunk.flags = chunk.values[good], chunk.flags[good]
