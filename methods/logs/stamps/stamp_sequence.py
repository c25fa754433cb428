"""What the order of the stamps gives away: hours of half a day without AM and PM, dates that a spreadsheet swapped."""

from __future__ import annotations

import numpy as np

from methods.logs.messages import problem
from methods.logs.stamps.date_order import orders
from methods.logs.stamps.stamp_formats import days_from_civil, show, start_of
from methods.logs.types import LayoutQuestion, LogProblem
from methods.quantities.arrays import Ints
from methods.quantities.durations import DAY_MS, HOUR_MS
from methods.quantities.moments import EPOCH, MS

#: A clock of twelve hours goes back by this at most and at least, once in each half of a day.
_BACK_MOST, _BACK_LEAST = 12 * HOUR_MS, 6 * HOUR_MS
#: At midnight a clock goes back by this at least.
_BACK_MIDNIGHT = 12 * HOUR_MS
SWAPPED = "swapped_dates"
#: A swapped date lies at least so far off, and so near once it is put right.
_FAR, _NEAR = 20 * DAY_MS, 2 * DAY_MS


class StampSequence:
    """Sees the stamps of a file in ``form``, as they are written, with their lines. Lines count from 1. ``still``: all
    dates seen so far are the same."""

    def __init__(self, form: str, *, still: bool = False) -> None:
        self._may_stand_still = still
        self._stood: tuple[int, int, int] | None = None
        self._may_be_half = "%H" in form and "%p" not in form
        self._may_be_swapped = len(orders(form)) > 1 and not start_of(form)
        self._half: tuple[int, int, int] | None = None
        self._swapped: tuple[int, int, int] | None = None
        self._last: tuple[int, int] | None = None

    @property
    def is_settled(self) -> bool:
        """Nothing that is still to come could tell more."""
        return not self.needs_hours and (not self._may_be_swapped or self._swapped is not None)

    @property
    def has_swapped(self) -> bool:
        """Whether dates have been seen that fit where day and month change places."""
        return self._swapped is not None

    @property
    def needs_hours(self) -> bool:
        """Whether times of day still tell something; if not, lines around a new date tell as much as all."""
        return self._may_be_half or self._may_stand_still

    def see(self, lines: Ints, stamps: Ints) -> None:
        if not len(lines) or not (self.needs_hours or self._may_be_swapped):
            return
        if self._last is not None:
            lines = np.concatenate(([self._last[0]], lines))
            stamps = np.concatenate(([self._last[1]], stamps))
        self._last = int(lines[-1]), int(stamps[-1])
        steps = np.diff(stamps)
        if self._may_be_half:
            self._see_hours(lines, stamps, steps)
        if self._may_stand_still:
            self._see_midnights(lines, stamps, steps)
        if self._may_be_swapped and self._swapped is None:
            self._see_dates(lines, stamps, steps)

    def _see_hours(self, lines: Ints, stamps: Ints, steps: Ints) -> None:
        hours = stamps // HOUR_MS % 24
        if int(hours.max()) > 12 or int(hours.min()) < 1:
            self._may_be_half = False
            return
        back = np.flatnonzero((steps <= -_BACK_LEAST) & (steps >= -_BACK_MOST) & (hours[:-1] >= 11))
        if len(back) and self._half is None:
            at = int(back[0])
            self._half = int(lines[at + 1]), int(stamps[at]), int(stamps[at + 1])

    def _see_midnights(self, lines: Ints, stamps: Ints, steps: Ints) -> None:
        """Of dates that are all the same times go back by hours: at midnight it was not written anew."""
        if int(stamps.min()) // DAY_MS != int(stamps.max()) // DAY_MS:
            self._may_stand_still = False
            return
        back = np.flatnonzero(steps <= -_BACK_MIDNIGHT)
        if len(back) and self._stood is None:
            at = int(back[0])
            self._stood = int(lines[at + 1]), int(stamps[at]), int(stamps[at + 1])

    def _see_dates(self, lines: Ints, stamps: Ints, steps: Ints) -> None:
        for at in np.flatnonzero(np.abs(steps) >= _FAR):
            before, after = int(stamps[at]), int(stamps[at + 1])
            ends = [before, after, _swapped(before), _swapped(after)]
            if any(a is not None and b is not None and abs(a - b) <= _NEAR for a, b in _pairs(ends)):
                self._swapped = int(lines[at + 1]), before, after
                return

    def closing(self) -> list[LogProblem]:
        said = []
        if self._half is not None and self._may_be_half:
            line, before, after = self._half
            said.append(problem(line, "", "", "twelve_hours", before=show(before)[11:], after=show(after)[11:]))
        if self._stood is not None and self._may_stand_still:
            line, before, after = self._stood
            shown = {"date": show(after)[:10], "before": show(before)[11:], "after": show(after)[11:]}
            said.append(problem(line, "", "", "still_date", **shown))
        if self._swapped is not None:
            line, before, after = self._swapped
            said.append(problem(line, "", "", SWAPPED, before=show(before)[:10], after=show(after)[:10]))
        return said


def sequence_questions(sequence: StampSequence) -> list[LayoutQuestion]:
    """What is to be said before anything of such a file is stored."""
    choices = (("as_is", "the stamps are right as they stand"),)
    return [LayoutQuestion(said.code, f"Line {said.line:,}: {said.message}", choices) for said in sequence.closing()]


def _pairs(ends: list[int | None]) -> tuple[tuple[int | None, int | None], ...]:
    before, after, before_swapped, after_swapped = ends
    return (before, after_swapped), (before_swapped, after)


def _swapped(ms: int) -> int | None:
    """The same stamp with day and month the other way round; None where there is no such day."""
    moment = EPOCH + ms * MS
    days = days_from_civil(moment.year, moment.day, moment.month) if moment.day <= 12 else None
    return None if days is None else days * DAY_MS + ms % DAY_MS
