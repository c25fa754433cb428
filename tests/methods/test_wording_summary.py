"""The sentence that opens a report, and each finding in plain words."""

from __future__ import annotations

from dataclasses import replace

import pytest

from methods.wording.summary import LimitNamed, ZoneVerdict, plain, sentence

FORMALDEHYDE = LimitNamed(
    name="Formaldehyde", bound="upper", threshold="0.1 mg/m³", statistic="30-minute mean", body="A body",
    edition="2010", in_force=True,
)  # fmt: skip


def zones(*found: tuple[str, str, str, bool | None]) -> list[ZoneVerdict]:
    return [ZoneVerdict(*verdict) for verdict in found]


def test_the_sentence_names_what_is_above_and_undecided() -> None:
    met = [(f"Z{n}", "below", "below limit", True) for n in range(6)]
    rest = [
        ("Office", "above", "above limit", False),
        ("Store", "undecided", "undecided", None),
        ("Loft", "unmeasured", "not measured", None),
    ]
    said = sentence(FORMALDEHYDE, zones(*met, *rest))
    assert said == (
        "In 6 of 9 zones formaldehyde was below the limit of 0.1 mg/m³ (30-minute mean; A body 2010); above in 1 "
        "(Office); undecided in 1 (Store); not measured in 1."
    )


def test_where_nothing_is_below_it_does_not_say_none() -> None:
    said = sentence(FORMALDEHYDE, zones(("Hall", "not_comparable", "not comparable", None)))
    assert said == (
        "Formaldehyde against the limit of 0.1 mg/m³ (30-minute mean; A body 2010), in 1 zone: not comparable in 1."
    )


def test_many_names_are_shortened() -> None:
    said = sentence(FORMALDEHYDE, zones(*((f"Z{n}", "above", "above limit", False) for n in range(6))))
    assert "above in 6 (Z0, Z1, Z2 and 3 more)" in said


def test_below_a_lower_limit_is_not_good_news() -> None:
    cold = replace(FORMALDEHYDE, name="Temperature", bound="lower", threshold="18 °C")
    found = zones(("Hall", "above", "above the lower limit", True), ("Loft", "below", "below the lower limit", False))
    assert sentence(cold, found).startswith("In 1 of 2 zones temperature was above the lower limit of 18 °C")
    assert "below the lower limit in 1 (Loft)" in sentence(cold, found)


@pytest.mark.parametrize(
    ("bound", "threshold", "verdict", "word", "said"),
    [
        ("range", "20 to 26 °C", "below", "within the range", "Temperature was within the range 20 to 26 °C here."),
        ("range", "20 to 26 °C", "above", "above the range", "Temperature was above the range 20 to 26 °C here."),
        ("lower", "18 °C", "below", "below the lower limit", "Temperature was below the lower limit of 18 °C here."),
        ("upper", "26 °C", "above", "above limit", "Temperature was above the limit of 26 °C here."),
    ],
)
def test_plain_words_say_which_end_is_meant(bound: str, threshold: str, verdict: str, word: str, said: str) -> None:
    limit = replace(FORMALDEHYDE, name="Temperature", bound=bound, threshold=threshold)
    assert plain(limit, verdict, word) == said
