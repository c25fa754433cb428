"""Rooms of a zone against one limit, in words: each of them, all together, and what is chance among many. Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from methods.limits.model import Bound
from methods.verdicts.many_rooms import ByChance, ComparedRoom
from methods.wording.numbers import plain, probability
from methods.wording.results import NO_VALUE
from methods.wording.summary import NOT_MEASURED

#: How a result that does not meet a limit lies to it.
NOT_MET = {Bound.UPPER: "above the limit", Bound.LOWER: "below the lower limit", Bound.RANGE: "outside the range"}


@dataclass(frozen=True, slots=True)
class RoomTold:
    """The result that speaks for a room. value: with U and unit, in words; words: of the verdict; why: it cannot be
    compared, or is only an indication, "" otherwise."""

    room: str
    value: str
    words: str
    why: str = ""


def sentence(told: RoomTold) -> str:
    """ "Office 1.02: 0.123 ± 0.021 mg/m³, above limit." """
    value = "" if told.value == NO_VALUE else f"{told.value}, "
    why = f" {told.why}" if told.why else ""
    return f"{told.room}: {value}{told.words}.{why}"


def each(rooms: Sequence[tuple[str, str, str, str]]) -> str:
    """ "Room by room, 1 of 2 rooms above, 1 below: Den 0.123 ± 0.021 mg/m³, above limit, an indication; …" of names,
    values in words ("" or ``NO_VALUE`` for none), verdicts, and what stands beside these ("" for nothing)."""
    told = "; ".join(
        f"{name} {', '.join(said for said in (value, words, beside) if said not in ('', NO_VALUE))}"
        for name, value, words, beside in rooms
    )
    return f"Room by room, {counted([words for _, _, words, _ in rooms])}: {told}."


def undecided(room: str, p_above: float, edge: str, advice: str) -> str:
    """ "Den is undecided: the probability that the true value is above 0.1 mg/m³ is 92 %. What would decide it: …"
    ``edge``: of the limit, with its unit."""
    decides = f" What would decide it: {advice}" if advice else ""
    return (
        f"{room} is undecided: the probability that the true value is above {edge} is {probability(p_above)}.{decides}"
    )


def unmeasured(room: str) -> str:
    return f"{room}: {NOT_MEASURED}."


def counted(words: Sequence[str]) -> str:
    """ "1 of 3 rooms above, 1 undecided, 1 not measured" from the words of the rooms' verdicts, what concerns most
    first; "all 3 rooms below"; "" where there is one room or none, which needs no counting."""
    if len(words) < 2:
        return ""
    (first, count), *rest = Counter(map(_short, words)).items()
    if not rest:
        return f"both rooms {first}" if count == 2 else f"all {count} rooms {first}"
    return ", ".join([f"{count} of {len(words)} rooms {first}", *(f"{n} {said}" for said, n in rest)])


def worst(words: Sequence[str]) -> str:
    """The same with what concerns most alone: "1 of 3 rooms above"."""
    return counted(words).split(",")[0]


def _short(words: str) -> str:
    return words.removesuffix(" limit") if words in ("above limit", "below limit") else words


def by_chance(chance: ByChance, bound: Bound, things: str = "rooms") -> str:
    """What chance alone would do among many; "" for fewer than two."""
    if chance.n < 2:
        return ""
    return (
        f"If all {chance.n} compared {things} lay exactly at the limit, {_number(chance.expected)} would be expected "
        f"to be called {NOT_MET[bound].removesuffix(' the limit')} by chance, and at least one with a probability of "
        f"{probability(chance.at_least_one)}."
    )


def at_least_one(p: float, n: int, bound: Bound) -> str:
    """How likely it is that one of them is what the limit forbids; "" for fewer than two."""
    if n < 2:
        return ""
    return f"The probability that at least one of these {n} rooms truly lies {NOT_MET[bound]} is {probability(p)}."


def what_is_shared(rooms: Sequence[ComparedRoom]) -> str:
    """What was taken to go together among ``rooms``; "" where nothing did."""
    sources = Counter(room.source for room in rooms if room.source and room.shared > 0)
    if not any(count > 1 for count in sources.values()):
        return ""
    return (
        "Rooms that one instrument measured share its errors of zero, span, drift, temperature and interference; "
        "all else is taken as independent."
    )


def comparisons(n: int, expected: float) -> str:
    """Of many criteria at once; "" for fewer than two comparisons."""
    if n < 2:
        return ""
    return (
        f"These are {n} comparisons of rooms with limits: if each lay exactly at its limit, {_number(expected)} of "
        "them would be expected to be called not met by chance."
    )


def _number(expected: float) -> str:
    return f"{expected:.1f}" if 0.095 <= expected < 100 else plain(expected)
