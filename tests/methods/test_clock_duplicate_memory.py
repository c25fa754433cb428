"""The same memory under another clock is recognised; another memory, a quiet room and the same file are not."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from methods.clock import BurstsSoFar, bursts, twin_of
from methods.quantities.arrays import Floats
from methods.quantities.durations import HOUR_MS, MINUTE_MS

START = 1_717_400_000_000 // (15 * MINUTE_MS) * 15 * MINUTE_MS


def room(seed: int, n: int = 300, step: float = 0.001) -> Floats:
    """Readings that wander in steps of the resolution, as a formaldehyde meter's do in a room."""
    rng = np.random.default_rng(seed)
    return np.round(np.round((0.02 + np.cumsum(rng.normal(0, 0.0007, n))) / step) * step, 6)


@settings(deadline=None, max_examples=40)
@given(
    seed=st.integers(0, 10_000),
    quarters=st.integers(-104, 104).filter(bool),
    interval_s=st.sampled_from([5, 10, 60, 180]),
    begin=st.integers(0, 200),
)
def test_any_shift_by_quarter_hours_is_found(seed: int, quarters: int, interval_s: int, begin: int) -> None:
    """Also where the second export begins later than the first."""
    values = room(seed, 600)
    held = START + interval_s * 1000 * np.arange(600, dtype=np.int64)
    shift = quarters * 15 * MINUTE_MS
    found = twin_of(held[begin:] - shift, values[begin:], held, values)
    assert found is not None
    assert (found.shift_ms, found.same) == (shift, found.compared)


@settings(deadline=None, max_examples=40)
@given(seed=st.integers(0, 10_000), hours=st.integers(-5, 5))
def test_another_log_is_no_twin(seed: int, hours: int) -> None:
    held = START + MINUTE_MS * np.arange(1000, dtype=np.int64)
    assert twin_of(held + hours * HOUR_MS, room(seed + 1, 1000), held, room(seed, 1000)) is None


def test_the_same_download_again_is_no_twin() -> None:
    held = START + MINUTE_MS * np.arange(500, dtype=np.int64)
    assert twin_of(held, room(3, 500), held, room(3, 500)) is None


def test_a_regular_pattern_is_no_proof() -> None:
    """Alike at every hour: a shift by one hour says nothing."""
    held = START + MINUTE_MS * np.arange(1200, dtype=np.int64)
    values = np.tile(np.arange(15) % 5 * 0.001, 80)
    assert twin_of(held[:600] - HOUR_MS, values[:600], held, values) is None


@pytest.mark.parametrize("values", [np.full(400, 0.01), np.full(400, np.nan)])
def test_a_quiet_room_or_nothing_says_nothing(values: Floats) -> None:
    held = START + MINUTE_MS * np.arange(400, dtype=np.int64)
    assert twin_of(held - HOUR_MS, values, held, values) is None


def test_a_few_readings_prove_nothing() -> None:
    held = START + MINUTE_MS * np.arange(15, dtype=np.int64)
    assert twin_of(held - HOUR_MS, room(5, 15), held, room(5, 15)) is None


# --- bursts of a file in chunks ---------------------------------------------------------------------------------------


@settings(deadline=None, max_examples=80)
@example(visits=[(2, 5), (2, 5)], chunk=3, newest_first=True)  # the last chunk is one stamp and has no direction
@given(
    visits=st.lists(st.tuples(st.integers(2, 60), st.integers(5, 400)), min_size=1, max_size=12),
    chunk=st.integers(1, 50),
    newest_first=st.booleans(),
)
def test_chunks_give_the_bursts_of_the_whole(visits: list[tuple[int, int]], chunk: int, newest_first: bool) -> None:
    stamps, at = [], START
    for count, gap in visits:
        stamps += [at + k * MINUTE_MS for k in range(count)]
        at = stamps[-1] + gap * MINUTE_MS
    filed = stamps[::-1] if newest_first else stamps
    seen = BurstsSoFar(interval_ms=MINUTE_MS)
    for k in range(0, len(filed), chunk):
        seen.see(np.array(filed[k : k + chunk]))
    found = seen.result()
    assert found is not None
    assert found.tolist() == bursts(filed, MINUTE_MS).tolist()


def test_the_interval_is_told_from_the_first_chunk_that_has_one() -> None:
    seen = BurstsSoFar()
    seen.see([START])
    assert seen.result() is None
    seen.see([START + 10_000 * k for k in range(1, 5)])
    found = seen.result()
    assert found is not None
    assert (seen.interval_ms, found.tolist()) == (10_000, [[START, START + 50_000]])
