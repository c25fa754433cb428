"""A tolerance that belongs to a rule moves its edge, and is said wherever the number is.

Performance verification guidebook of a building label, third quarter of 2025 (seen in a user's summary): 20 % are added
to the thresholds of particles and formaldehyde, 5 % to those of other compounds; 58 µg/m³ passes a test for 50.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from methods.limits.loader import load
from methods.limits.model import Operator, Rounding
from methods.uncertainty.budget import SPAN, ZERO, Budget, Component
from methods.verdicts import Estimate, Verdict, edges, is_met, judge
from methods.verdicts.comparability import Comparability, ComparabilityState
from methods.wording.findings import GoverningTold, statement
from methods.wording.limits import in_words, threshold
from tests.methods.limit_samples import a_limit, a_lower_limit

SAID = "50 µg/m³ with the rule's own tolerance of 20 %"
YES = Comparability(ComparabilityState.YES, "accepted", "")


@pytest.mark.parametrize(
    ("code", "share"), [("HCHO-WELL2", "0.20"), ("PM25-WELL2", "0.20"), ("PM10-WELL2", "0.20"), ("BZ-WELL2", "0.05")]
)
def test_the_rules_that_have_one(code: str, share: str) -> None:
    assert load()[code].tolerance == Decimal(share)
    assert sum(limit.tolerance is not None for limit in load().values()) == 4


@pytest.mark.parametrize(
    ("value", "u", "verdict", "is_met", "is_said"),
    [
        (58.0, 0.0, Verdict.BELOW, True, True),
        (60.0, 0.0, Verdict.BELOW, True, True),
        (60.1, 0.0, Verdict.ABOVE, False, False),
        (50.0, 0.0, Verdict.BELOW, True, False),
        (58.0, 3.0, Verdict.UNDECIDED, None, True),
    ],
)
def test_58_passes_50_under_a_tolerance_of_20_percent(
    value: float, u: float, verdict: Verdict, is_met: bool | None, is_said: bool
) -> None:
    estimate = Estimate(value=value, budget=Budget((Component(ZERO, u), Component(SPAN, 0.0))))
    judgement = judge(estimate, load()["HCHO-WELL2"], None, YES)
    assert (judgement.verdict, judgement.is_met) == (verdict, is_met)
    said = [reason.words for reason in judgement.reasons if reason.code == "within_tolerance"]
    assert bool(said) is is_said
    assert all("beyond 50 µg/m³" in words and "ends at 60 µg/m³" in words for words in said)


@given(st.decimals("0.01", "0.99", places=2), st.decimals("0.001", "1000", places=3))
def test_the_edge_moves_away_by_the_share(share: Decimal, value: Decimal) -> None:
    (upper,) = edges(a_limit(str(value), tolerance=share))
    (lower,) = edges(a_lower_limit(str(value), tolerance=share))
    assert (upper.value, lower.value) == (float(value * (1 + share)), float(value * (1 - share)))


def test_the_tolerance_comes_before_the_rounding() -> None:
    """≤ 9 in whole numbers with 20 % is ≤ 10.8: what rounds to 10 meets it, what rounds to 11 does not."""
    limit = a_limit("9", tolerance=Decimal("0.2"), rounding=Rounding.HALF_UP, rounding_digits=0)
    assert edges(limit)[0].value == 10.5
    assert [is_met(limit, x) for x in (10.49, 10.5)] == [True, False]
    strict = replace(limit, operator=Operator.BELOW, value=Decimal(10))
    assert edges(strict)[0].value == 11.5


def test_it_is_said_wherever_the_number_is() -> None:
    limit = load()["HCHO-WELL2"]
    assert limit.value_text() == f"≤ {SAID}"
    assert limit.text().startswith(f"≤ {SAID}, ")
    assert threshold(limit) == SAID
    assert in_words(limit).endswith(f"should not be above {SAID}.")
    told = GoverningTold(
        place="Office, centre", when="15 September", value="58 µg/m³", unit="µg/m³", verdict=Verdict.BELOW,
        words="below limit", edge=60.0, p_above=0.03, why="", indicative=False, of_visit=False, less_outdoors=False,
        points=1,
    )  # fmt: skip
    assert f"Against ≤ {SAID} (IWBI v2): below limit; the probability that the true value is above 60 µg/m³ is" in (
        statement(limit, told)
    )
