"""What a file cannot mean because its readings would lie behind the day on which it was handed in."""

from __future__ import annotations

from datetime import date

from methods.logs.sketch import Sketch
from methods.logs.stamps.stamp_formats import SERIAL_DAY_0, compiled
from methods.quantities.durations import DAY_MS
from methods.quantities.moments import EPOCH


def leave_out_future(sketch: Sketch, handed_in: date | None) -> None:
    """Of day numbers that may count from two days, the one that puts all readings seen behind ``handed_in`` goes.

    The two lie four years apart (Z-14): no clock is ahead by so much. Where both do, the question stays as it is. The
    order of day and month is not settled so: there, a clock that is a month ahead would be read wrong without a word.
    """
    question = next((q for q in sketch.questions if q.code == "serial_epoch"), None)
    if question is None or question.column is None or handed_in is None:
        return
    end = (handed_in.toordinal() - EPOCH.toordinal() + 2) * DAY_MS  # the next day is over everywhere on earth
    able = [form for form in SERIAL_DAY_0 if _first(form, sketch.cells(question.column)) < end]
    if len(able) == 1:
        sketch.put(stamp_format=able[0])
        sketch.questions.remove(question)


def _first(form: str, cells: list[str]) -> int:
    """The earliest stamp of ``cells``."""
    return min((ms for cell in cells if (ms := compiled(form).parse(cell)) is not None), default=0)
