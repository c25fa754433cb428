"""Whether a limit for occupied time can be compared: is it known when the place is in use, and was it measured then.

Method: docs/methods/comparability.md, docs/methods/averages.md#time-of-use.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from methods.averages import MIN_COVERAGE
from methods.limits.model import LimitDefinition, Occupied
from methods.verdicts.rulings import ComparabilityState, Reason, Ruling


@dataclass(frozen=True, slots=True)
class TimeInUse:
    """What a timetable of use leaves of a stay: minutes in use that usable readings stand for, and how many of its days
    have enough of theirs covered; ``is_assumed``: nobody who uses the place has said so."""

    covered_minutes: float
    days: int
    is_assumed: bool = False


NO_TIMETABLE = Reason(
    "no_timetable",
    "The limit is for occupied time, and no timetable of use says when this place is in use. Enter one, or take the "
    "usual one of such a place, marked as assumed.",
)
_NOT_IN_USE = Reason("not_in_use", "By its timetable of use the place was not in use while it was measured.")
_SHORT_DAY = Reason(
    "occupied_day_short",
    f"The limit is for the mean of an occupied day, and of no day {MIN_COVERAGE * 100:.0f} % of the time of use are "
    "covered.",
)
_ASSUMED = Reason(
    "timetable_assumed", "The timetable of use is assumed; nobody who uses the place has said so or was counted there."
)


def by_use(limit: LimitDefinition, in_use: TimeInUse | None, *, laboratory: bool = False) -> Iterator[Ruling]:
    """Whether it is known when the place is in use, and whether it was measured then. Of a laboratory sample nobody
    knows here when it was taken: that is the document's own matter."""
    if limit.occupied is None or laboratory:
        return
    if in_use is None:
        yield ComparabilityState.NO, NO_TIMETABLE
    elif in_use.covered_minutes <= 0:
        yield ComparabilityState.NO, _NOT_IN_USE
    elif limit.occupied is Occupied.DAY and not in_use.days:
        yield ComparabilityState.NO, _SHORT_DAY
    elif in_use.is_assumed:
        yield ComparabilityState.YES, _ASSUMED
