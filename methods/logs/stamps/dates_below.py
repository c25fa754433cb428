"""Dates that are written once a day, in the first of its lines, and hold for the lines below with times alone."""

from __future__ import annotations

from itertools import pairwise

from methods.logs.sketch import Sketch
from methods.logs.stamps.stamp_formats import StampFormat, compiled
from methods.logs.stamps.whole_stamps import BACK_DAY


def dates_below(sketch: Sketch, date: int, time: int, form: str) -> int:
    """Not 0 where most lines have a time of day and no date, and no date is written twice in a row: then 1, or -1 where
    the newest lines stand first. ``form`` reads the times of day.

    Where most lines have one, a date that is missing was lost, and the day of its line is not that of the one above.
    """
    rows = [(row[date].strip(), row[time].strip()) for row in sketch.data if max(date, time) < len(row)]
    written = [day for day, _ in rows if day]
    blank = sum(bool(clock) and not day for day, clock in rows)
    if not rows or not rows[0][0] or blank < max(1, len(written)) or any(a == b for a, b in pairwise(written)):
        return 0
    clocks = [(day, compiled(form).parse(clock)) for day, clock in rows]
    steps = [b - a for (_, a), (day, b) in pairwise(clocks) if not day and a is not None and b is not None]
    return -1 if 2 * sum(step < 0 for step in steps) > len(steps) else 1


class DateCarrier:
    """Sees the lines of a file in order: the texts of each stamp, its date first. ``way``: as ``dates_below`` says."""

    def __init__(self, form: StampFormat, way: int) -> None:
        self._form, self._way = form, way
        self._date = ""  #: the one that holds; "" = none does
        self._last = 0

    def stamp_of(self, texts: list[str]) -> int | None:
        """Milliseconds since 1970; None where the line cannot be read, or no date holds for it: a clock that goes back
        without a new date may be of any day below."""
        if not texts or (not texts[0] and not any(texts)):
            return None
        if texts[0]:
            stamp = self._form.parse(" ".join(texts))
            if stamp is not None or any(map(str.isdigit, texts[0])):  # names that are repeated say no other date
                self._date = texts[0] if stamp is not None else ""
        else:
            stamp = self._form.parse(" ".join([self._date, *texts[1:]])) if self._date else None
            if stamp is not None and (stamp - self._last) * self._way < -BACK_DAY:
                self._date, stamp = "", None
        self._last = self._last if stamp is None else stamp
        return stamp
