"""What is said of the rooms of a zone."""

from __future__ import annotations

import pytest

from methods.limits.model import Bound
from methods.verdicts.many_rooms import ByChance
from methods.wording.rooms import RoomTold, at_least_one, by_chance, comparisons, counted, sentence, worst


@pytest.mark.parametrize(
    ("words", "said", "short"),
    [
        (["above limit", "undecided", "below limit"], "1 of 3 rooms above, 1 undecided, 1 below", "1 of 3 rooms above"),
        (["above limit"] * 2 + ["not measured"], "2 of 3 rooms above, 1 not measured", "2 of 3 rooms above"),
        (["below limit"] * 3, "all 3 rooms below", "all 3 rooms below"),
        (["undecided"] * 2, "both rooms undecided", "both rooms undecided"),
        (
            ["above the range", "within the range"],
            "1 of 2 rooms above the range, 1 within the range",
            "1 of 2 rooms above the range",
        ),
        (["above limit"], "", ""),
        ([], "", ""),
    ],
)
def test_rooms_are_counted_by_their_verdicts(words: list[str], said: str, short: str) -> None:
    assert (counted(words), worst(words)) == (said, short)


@pytest.mark.parametrize(
    ("told", "said"),
    [
        (
            RoomTold("Office 1.02", "0.123 ± 0.021 mg/m³", "above limit"),
            "Office 1.02: 0.123 ± 0.021 mg/m³, above limit.",
        ),
        (RoomTold("Den", "no value", "not comparable", "It is short."), "Den: not comparable. It is short."),
    ],
)
def test_a_room_has_a_sentence_of_its_own(told: RoomTold, said: str) -> None:
    assert sentence(told) == said


def test_chance_is_told_for_many_only() -> None:
    assert by_chance(ByChance(6, 0.3, 0.21), Bound.UPPER) == (
        "If all 6 compared rooms lay exactly at the limit, 0.3 would be expected to be called above by chance, and at "
        "least one with a probability of 21 %."
    )
    assert at_least_one(0.978, 6, Bound.LOWER).endswith("truly lies below the lower limit is 97.8 %.")
    assert "18 comparisons of rooms with limits: if each lay exactly at its limit, 0.9 of" in comparisons(18, 0.9)
    assert by_chance(ByChance(1, 0.05, 0.05), Bound.UPPER) == at_least_one(0.5, 1, Bound.UPPER) == ""
    assert comparisons(1, 0.05) == ""
