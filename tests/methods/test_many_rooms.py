"""Many rooms against one limit: chance calls and the probability of at least one, with what errors have in common."""

from __future__ import annotations

from math import asin, pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ndtri

from methods.verdicts.many_rooms import ComparedRoom, at_least_one, by_chance

PROBABILITIES = st.floats(0.0, 1.0)
NAMES = st.sampled_from(["", "meter A", "meter B"])
ROOMS = st.lists(st.builds(ComparedRoom, PROBABILITIES, PROBABILITIES, NAMES), max_size=6)


@pytest.mark.parametrize(("n", "expected", "once"), [(1, 0.05, 0.05), (3, 0.15, 0.142625), (20, 1.0, 0.641514)])
def test_rooms_that_share_nothing(n: int, expected: float, once: float) -> None:
    """1 − 0.95ⁿ, by hand."""
    said = by_chance([ComparedRoom(0.5)] * n, 0.05)
    assert said.n == n
    assert said.expected == pytest.approx(expected)
    assert said.at_least_one == pytest.approx(once, abs=1e-6)


def test_the_product_by_hand() -> None:
    """1 − 0.9 · 0.5 · 0.98 = 0.559"""
    assert at_least_one([ComparedRoom(0.1), ComparedRoom(0.5), ComparedRoom(0.02)]) == pytest.approx(0.559)
    assert at_least_one([]) == 0.0


@pytest.mark.parametrize("rho", [0.1, 0.5, 0.9, 0.99])
def test_two_rooms_at_even_odds(rho: float) -> None:
    """Both of two normal errors of correlation ρ are negative with probability 1/4 + asin(ρ)/2π (Sheppard 1899, from
    memory)."""
    together = [ComparedRoom(0.5, rho, "meter")] * 2
    assert at_least_one(together) == pytest.approx(1 - (0.25 + asin(rho) / (2 * pi)), abs=1e-9)


def test_what_is_wholly_shared_is_one_chance() -> None:
    rooms = [ComparedRoom(p, 1.0, "meter") for p in (0.05, 0.3, 0.2)]
    assert at_least_one(rooms) == pytest.approx(0.3, abs=0.005)
    assert by_chance(rooms, 0.05).at_least_one == pytest.approx(0.05, abs=0.005)
    assert by_chance(rooms, 0.05).expected == pytest.approx(0.15)


def test_hardly_anything_shared_is_nothing_shared() -> None:
    apart, hardly = ([ComparedRoom(0.2, rho, "meter")] * 6 for rho in (0.0, 1e-9))
    assert at_least_one(hardly) == pytest.approx(at_least_one(apart), abs=1e-6)


@pytest.mark.parametrize("rho", [0.3, 0.8, 0.97])
def test_against_drawn_errors(rho: float) -> None:
    """A simulation with a fixed seed: an error of the meter, and one of each room."""
    rng, p = np.random.default_rng(20260915), np.array([0.05, 0.1, 0.3, 0.02])
    common, own = rng.standard_normal((60_000, 1)), rng.standard_normal((60_000, len(p)))
    strays = np.sqrt(rho) * common + np.sqrt(1 - rho) * own
    drawn = (strays > -ndtri(p)).any(axis=1).mean()
    assert at_least_one([ComparedRoom(x, rho, "meter") for x in p]) == pytest.approx(drawn, abs=0.007)


def test_two_meters_err_apart() -> None:
    one, other = ([ComparedRoom(0.2, 0.6, name)] * 3 for name in ("meter A", "meter B"))
    each = at_least_one(one)
    assert at_least_one(one + other) == pytest.approx(1 - (1 - each) ** 2)


@given(ROOMS)
def test_it_lies_between_the_likeliest_room_and_the_sum(rooms: list[ComparedRoom]) -> None:
    p = at_least_one(rooms)
    assert max((room.p for room in rooms), default=0.0) - 0.007 <= p <= min(sum(room.p for room in rooms), 1) + 0.007


@given(ROOMS, st.builds(ComparedRoom, PROBABILITIES, PROBABILITIES, NAMES))
def test_one_more_room_makes_it_no_less_likely(rooms: list[ComparedRoom], more: ComparedRoom) -> None:
    assert at_least_one([*rooms, more]) >= at_least_one(rooms) - 0.007


@given(st.integers(2, 30), st.floats(0.0, 0.99), st.floats(0.0, 0.009))
def test_the_more_is_shared_the_fewer_occasions(n: int, rho: float, more: float) -> None:
    less, much = ([ComparedRoom(0.05, share, "meter")] * n for share in (rho, rho + more))
    assert at_least_one(much) <= at_least_one(less) + 1e-9


@pytest.mark.parametrize("wrong", [(-0.1, 0.0), (1.1, 0.0), (0.5, -0.1), (0.5, 1.1)])
def test_what_is_no_probability_is_refused(wrong: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="from zero to one"):
        ComparedRoom(*wrong)
