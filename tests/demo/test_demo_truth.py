"""No wrong verdict: the demo's house is simulated, and each verdict is held against what was truly in its air.

Twenty houses are one command, ``python -m tests.demo.truth``, whose table is docs/methods/demo-truth.md.
"""

from __future__ import annotations

import pytest

from demo.simulate import SEED
from methods.verdicts import Verdict
from tests.demo.judged_truth import CALLED, Called, CalledHouse, called
from tests.demo.truth import page
from tests.worlds import Undone


@pytest.mark.slow
@pytest.mark.parametrize("seed", [SEED, 1])
def test_no_verdict_of_a_simulated_house_is_wrong(undone: Undone, seed: int) -> None:
    with undone():
        house = called(seed)
        assert not house.wrong, "\n".join(map(str, house.wrong))
        assert sum(each.is_called for each in house.results) > 100
        assert {each.verdict for each in house.findings} >= set(CALLED)
        assert {each.true > each.edge for each in house.findings if each.is_called} == {True, False}


@pytest.mark.parametrize(
    ("verdict", "true", "is_wrong"),
    [
        (Verdict.ABOVE, 0.11, False),
        (Verdict.ABOVE, 0.09, True),
        (Verdict.BELOW, 0.11, True),
        (Verdict.BELOW, 0.09, False),
        (Verdict.UNDECIDED, 0.09, False),
        (Verdict.UNDECIDED, 0.11, False),
    ],
)
def test_what_is_wrong(verdict: Verdict, true: float, is_wrong: bool) -> None:
    assert Called("a room", verdict.value, true, 0.1).is_wrong is is_wrong


def test_the_page_names_what_is_wrong() -> None:
    right, wrong = Called("den", "above", 2.0, 1.0), Called("attic", "below", 2.0, 1.0)
    text = page([CalledHouse(7, [right, wrong], [right])])
    assert "| 7 | 2 | 1 | 0 | 1 | 0 | 0 |" in text
    assert text.endswith("* seed 7, attic: called below, truly 2 against 1\n")
