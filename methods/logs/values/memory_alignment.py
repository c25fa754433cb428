"""Where the readings of one stamp in a file stand among those that are held under the same stamp.

A logger that prints whole minutes stores several readings under one stamp, and a memory may be read out in the middle
of such a minute: the third reading of the minute is then the first of the file. Counting does not tell; values do.
Pure.
"""

from __future__ import annotations

from dataclasses import dataclass

#: What was stored: the value (None = no value) and what the logger said of it.
Value = tuple[float | None, int]
Values = list[Value]

#: Longer groups are of a clock that stood still; they are not tried against each other.
LONGEST = 2_000


@dataclass(frozen=True, slots=True)
class Edges:
    """Where a group may be incomplete: the file ``begins`` or ``ends`` with its stamp; of the held ones no other file
    is known that has what comes before them (``held_begins``) or after them (``held_ends``)."""

    begins: bool = False
    ends: bool = False
    held_begins: bool = False
    held_ends: bool = False


@dataclass(frozen=True, slots=True)
class GroupPosition:
    """``shift``: where among the held readings (0 = the first) the file's first one stands; negative before them.

    ``unsure``: equal values leave more than one way; this is the one that adds fewest readings.
    """

    shift: int
    unsure: bool = False


def align(new: Values, held: Values, edges: Edges) -> GroupPosition | None:
    """None where no way of laying them beside each other agrees in every value.

    Of the ways that the edges allow, the longest overlap; without one, the way by which one of the two holds the other
    whole: a file that begins in a repeated hour lacks its first pass.
    """
    if len(new) + len(held) > LONGEST:
        return GroupPosition(0) if _agree(new, held, 0) else None
    fits = [shift for shift in range(1 - len(new), len(held)) if _agree(new, held, shift)]
    lawful = [shift for shift in fits if _is_lawful(shift, len(new), len(held), edges)]
    if lawful:
        shift = _longest(lawful, new, held)
        outcomes = {tuple(_together(new, held, way)) for way in lawful}
        return GroupPosition(shift, unsure=len(outcomes) > 1 or _is_weak(new, held, shift))
    whole = [shift for shift in fits if _overlap(shift, new, held) == min(len(new), len(held))]
    return GroupPosition(_longest(whole, new, held)) if whole else None


def agreeing(new: Values, held: Values) -> int:
    """How many stand in the same place with the same value."""
    return sum(a == b for a, b in zip(new, held, strict=False))


def _agree(new: Values, held: Values, shift: int) -> bool:
    start, stop = max(0, shift), min(len(held), shift + len(new))
    return new[start - shift : stop - shift] == held[start:stop]


def _is_lawful(shift: int, new: int, held: int, edges: Edges) -> bool:
    """Only what is cut off may lack something that the other one has."""
    begins_late, begins_early = shift > 0, shift < 0
    ends_early, ends_late = shift + new < held, shift + new > held
    lacks = (begins_late and not edges.begins) or (ends_early and not edges.ends)
    missed = (begins_early and not edges.held_begins) or (ends_late and not edges.held_ends)
    return not (lacks or missed)


def _is_weak(new: Values, held: Values, shift: int) -> bool:
    """Whether one goes on where the other ends, and all they share is a value that may just have come again."""
    shared = _overlap(shift, new, held)
    return shared < min(len(new), len(held)) and len(set(held[max(0, shift) :][:shared])) < 2


def _overlap(shift: int, new: Values, held: Values) -> int:
    return min(len(held), shift + len(new)) - max(0, shift)


def _longest(shifts: list[int], new: Values, held: Values) -> int:
    return max(shifts, key=lambda shift: (_overlap(shift, new, held), -abs(shift)))


def _together(new: Values, held: Values, shift: int) -> Values:
    if shift < 0:
        return [*new[:-shift], *held, *new[len(held) - shift :]]
    return [*held, *new[len(held) - shift :]]
