"""The same memory without its seconds, and in another unit, is recognised; another memory is not."""

from __future__ import annotations

import numpy as np
import pytest
from chemicals import MW
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.clock.minute_stamps import CUT, ROUNDED, minute_match, minutes_of
from methods.clock.other_unit import conversion_of, factor_of
from methods.quantities.durations import MINUTE_MS
from tests.examples import examples
from tests.methods.test_clock_duplicate_memory import START, room

CAS = {"formaldehyde": "50-00-0", "co2": "124-38-9", "no2": "10102-44-0", "o3": "10028-15-6"}


@settings(deadline=None, max_examples=examples(60))
@given(
    seed=st.integers(0, 10_000),
    way=st.sampled_from([CUT, ROUNDED]),
    second=st.integers(1, 59),
    every_s=st.sampled_from([5, 10, 60, 61, 180]),
    begin=st.integers(0, 200),
)
def test_a_memory_without_its_seconds_is_recognised(seed: int, way: str, second: int, every_s: int, begin: int) -> None:
    values = room(seed, 600)
    fine = START + 1000 * (second + every_s * np.arange(600, dtype=np.int64))
    coarse = minutes_of(fine, way)
    keep = coarse >= coarse[begin] + MINUTE_MS
    found = minute_match(coarse[keep], values[keep], fine, values)
    assert found is not None
    assert found.same >= 0.95 * found.compared


@settings(deadline=None, max_examples=examples(60))
@given(seed=st.integers(0, 10_000), second=st.integers(1, 59), every_s=st.sampled_from([10, 60]))
def test_another_memory_is_not(seed: int, second: int, every_s: int) -> None:
    fine = START + 1000 * (second + every_s * np.arange(600, dtype=np.int64))
    assert minute_match(minutes_of(fine, CUT), room(seed + 1, 600), fine, room(seed, 600)) is None
    assert minute_match(minutes_of(fine, CUT), np.full(600, 0.01), fine, np.full(600, 0.01)) is None


@settings(deadline=None, max_examples=examples(80))
@given(
    seed=st.integers(0, 10_000),
    parameter=st.sampled_from(sorted(CAS)),
    temperature=st.sampled_from([0.0, 20.0, 25.0]),
    decimals=st.integers(2, 4),
)
def test_a_memory_in_another_unit_is_recognised(seed: int, parameter: str, temperature: float, decimals: int) -> None:
    """Source of molar masses: the package chemicals; molar volume of the ideal gas by CODATA's R."""
    held = np.round(room(seed, 300) * 20, 3)
    factor = MW(CAS[parameter]) / (8.314462618 * (273.15 + temperature) / 101.325)
    found = factor_of(np.round(held * factor, decimals), held)
    assert found is not None
    assert found.low <= factor <= found.high
    assert found.factor == pytest.approx(factor, rel=0.02)
    assert conversion_of(found, parameter).startswith("as ")


@settings(deadline=None, max_examples=examples(40))
@given(seed=st.integers(0, 10_000))
def test_the_same_or_other_values_have_no_factor(seed: int) -> None:
    held = np.round(room(seed, 300) * 20, 3)
    assert factor_of(held, held) is None
    assert factor_of(np.round(held, 2), held) is None
    assert factor_of(np.round(room(seed + 1, 300) * 20, 3), held) is None
    assert factor_of(np.round(held + 0.3, 3), held) is None
