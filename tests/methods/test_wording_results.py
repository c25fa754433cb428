"""A result in words and numbers."""

from __future__ import annotations

import pytest

from methods.wording.results import (
    MeasuredValue,
    in_full,
    interval,
    lines,
    number_text,
    place,
    spread_text,
    statistic,
)


@pytest.mark.parametrize(
    ("said", "full", "number", "spread"),
    [
        # GUM 7.2.6: at most two significant digits of the uncertainty, and the value to the same place.
        (MeasuredValue(0.12345, 0.0213, "mg/m³"), "0.123 ± 0.021 mg/m³", "0.123", "± 0.021"),
        (MeasuredValue(0.12345, None, "ppm"), "0.123 ppm", "0.123", ""),
        (MeasuredValue(None, None, "ppm"), "no value", "no value", ""),
        (MeasuredValue(0.004, 0.001, "ppm", 0.0, 0.012), "below 0.0120 ppm", "< 0.0120", ""),
        (MeasuredValue(0.6, 0.02, "ppm", at_least=True), "at least 0.600 ± 0.020 ppm", "≥ 0.600", "± 0.020"),
        (MeasuredValue(0.6, 0.2, "ppm", 0.2, 0.6), "0.20 to 0.60 ± 0.20 ppm", "0.20 to 0.60", "± 0.20"),
    ],
)  # fmt: skip
def test_a_value_says_what_it_leaves_open(said: MeasuredValue, full: str, number: str, spread: str) -> None:
    assert (in_full(said), number_text(said), spread_text(said)) == (full, number, spread)


def test_where_it_lies_in_the_files() -> None:
    assert lines(("a.csv", 3), ("a.csv", 92), same_file=True) == "lines 3 to 92"
    assert lines(("a.csv", 3), ("a.csv", 3), same_file=True) == "line 3"
    assert lines(("a.csv", 3), ("b.csv", 9), same_file=False) == "line 3 of a.csv to line 9 of b.csv"


def test_where_and_how_often() -> None:
    assert (place("Office", "centre"), place("", "lawn")) == ("Office, centre", "lawn")
    assert [interval(s) for s in (5, 60, 90, None, 0)] == ["5 s", "1 min", "1.5 min", "", ""]
    assert [interval(s) for s in (59.997, 0.5, 4.9996)] == ["1 min", "0.5 s", "5 s"]  # a clock that runs off


def test_the_statistic_is_named_where_it_is_another_one() -> None:
    assert statistic(of_visit=False, less_outdoors=False) == ""
    assert statistic(of_visit=True, less_outdoors=True) == "mean of the visit, less the outdoor value"
