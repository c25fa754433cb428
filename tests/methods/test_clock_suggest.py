"""The suggestion of a clock offset, against offsets that were put in and against the score worked out pair by pair."""

from __future__ import annotations

import time

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from methods.clock import bursts, fit_at, spoken, suggest_offset
from methods.clock.overlap import Spans, best_candidates
from methods.clock.suggestion import SILENT_BELOW, WINDOW_MS
from methods.quantities.arrays import Ints
from methods.quantities.durations import HOUR_MS, MINUTE_MS

START = 1_717_400_000_000


def walk(seed: int, rooms: int, minutes: float = 10, gap: tuple[float, float] = (1, 25)) -> tuple[Ints, Ints]:
    """A day's route: deployments of ``minutes`` + 3, and bursts of ``minutes`` begun within 2 min of them."""
    rng = np.random.default_rng(seed)
    lengths = np.full(rooms, (minutes + 3) * MINUTE_MS)
    starts = START + np.cumsum(lengths + rng.uniform(*gap, rooms) * MINUTE_MS)
    begun = starts + rng.uniform(0, 2, rooms) * MINUTE_MS
    deployments = np.column_stack((starts, starts + lengths)).astype(np.int64)
    return np.column_stack((begun, begun + minutes * MINUTE_MS)).astype(np.int64), deployments


def score(logged: Ints, deployments: Ints, shift: int) -> float:
    """Σ overlap − ½ Σ time outside, pair by pair (docs/methods/clock.md)."""
    total = 0.0
    for begin, end in (logged + shift).tolist():
        overlap = sum(max(0, min(end, b) - max(begin, a)) for a, b in deployments.tolist())
        total += overlap - 0.5 * (end - begin - overlap)
    return total


# --- bursts -----------------------------------------------------------------------------------------------------------


def test_a_gap_of_more_than_three_intervals_ends_a_burst() -> None:
    stamps = np.array([0, 1, 2, 5, 9, 10]) * MINUTE_MS
    assert (bursts(stamps, MINUTE_MS) // MINUTE_MS).tolist() == [[0, 6], [9, 11]]


def test_a_step_back_ends_a_burst_and_equal_stamps_do_not() -> None:
    assert bursts([10, 10, 11, 12, 5, 6], 1).tolist() == [[10, 13], [5, 7]]
    assert bursts([], MINUTE_MS).shape == (0, 2)
    assert bursts([7], MINUTE_MS).tolist() == [[7, 7 + MINUTE_MS]]


def test_a_file_newest_first_has_the_same_bursts() -> None:
    stamps = np.array([10, 9, 5, 2, 1, 0]) * MINUTE_MS
    assert (bursts(stamps, MINUTE_MS) // MINUTE_MS).tolist() == [[0, 6], [9, 11]]


# --- the suggestion ---------------------------------------------------------------------------------------------------


def test_a_meter_61_min_slow() -> None:
    """The example of docs/methods/clock.md: twelve bursts, one of them on no deployment."""
    logged, deployments = walk(1, 12)
    found = suggest_offset(logged - 61 * MINUTE_MS, np.delete(deployments, 4, axis=0))
    assert found.offset_ms is not None
    assert abs(found.offset_ms - 61 * MINUTE_MS) < 2 * MINUTE_MS
    assert (found.matched, found.total) == (11, 12)
    assert found.speaks
    assert found.sentence.endswith("slow; 11 of 12 bursts then fall on their deployments.")
    assert found.sentence.startswith("The meter's clock looks 6")


def test_the_sentence_is_exact_where_the_times_are() -> None:
    deployments = START + MINUTE_MS * np.array([[0, 10], [25, 35], [42, 52], [90, 100]])
    found = suggest_offset(deployments - 61 * MINUTE_MS, deployments)
    assert found.offset_ms == 61 * MINUTE_MS
    assert found.sentence == "The meter's clock looks 61 min slow; 4 of 4 bursts then fall on their deployments."
    right = suggest_offset(deployments, deployments)
    assert (
        right.sentence == "The meter's clock looks right to the minute; 4 of 4 bursts then fall on their deployments."
    )
    assert suggest_offset(deployments + 330 * MINUTE_MS, deployments).offset_ms == -330 * MINUTE_MS


@settings(max_examples=40, deadline=None)
@given(
    offset=st.integers(3 * MINUTE_MS - WINDOW_MS, WINDOW_MS - 3 * MINUTE_MS),
    rooms=st.integers(6, 40),
    seed=st.integers(0, 10_000),
)
def test_any_offset_within_26_hours_is_found(offset: int, rooms: int, seed: int) -> None:
    """To within the scatter between the meter's start and the deployment's: less than 3 min, hence the edges."""
    logged, deployments = walk(seed, rooms)
    found = suggest_offset(logged - offset, deployments)
    assert found.offset_ms is not None
    assert abs(found.offset_ms - offset) <= 3 * MINUTE_MS
    assert found.matched == rooms


@settings(max_examples=40, deadline=None)
@given(
    logged=st.lists(st.tuples(st.integers(0, 3000), st.integers(1, 60)), min_size=1, max_size=6),
    planned=st.lists(st.tuples(st.integers(1, 200), st.integers(1, 60)), min_size=1, max_size=6),
)
@example(logged=[(1600, 10), (1580, 10)], planned=[(40, 10)])  # one shift is exactly −26 h
def test_the_best_is_the_best_of_all_pairs(logged: list[tuple[int, int]], planned: list[tuple[int, int]]) -> None:
    begun = np.array([[start, start + length] for start, length in logged]) * MINUTE_MS
    edges = np.cumsum(np.array(planned).ravel()).reshape(-1, 2)
    deployments = edges * MINUTE_MS
    shifts = [int(d - b) for d in deployments[:, 0] for b in begun[:, 0] if abs(d - b) <= WINDOW_MS]
    found = suggest_offset(begun, deployments)
    if not shifts:
        assert found.offset_ms is None
        return
    best = max(score(begun, deployments, shift) for shift in shifts)
    assert found.offset_ms in shifts
    assert score(begun, deployments, found.offset_ms or 0) == best
    for candidate in found.runners_up:
        assert candidate.score_ms == score(begun, deployments, candidate.offset_ms) <= best


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000), bursts_count=st.integers(12, 30))
def test_bursts_that_fit_nowhere_get_no_offset(seed: int, bursts_count: int) -> None:
    """Logged at random moments of two days, with no relation to the deployments."""
    _, deployments = walk(seed, bursts_count)
    rng = np.random.default_rng(seed + 1)
    begun = np.sort(rng.integers(START - 12 * HOUR_MS, START + 36 * HOUR_MS, bursts_count))
    found = suggest_offset(np.column_stack((begun, begun + 10 * MINUTE_MS)), deployments)
    assert found.confidence < SILENT_BELOW
    assert not found.speaks
    assert found.runners_up
    assert found.sentence.startswith("No offset stands out.")
    assert found.sentence.endswith("Please enter a clock check.")


def test_an_evenly_spaced_route_is_as_good_one_room_on() -> None:
    """Twelve rooms at the same pace, one burst missing: shifting by a room fits as well, and that is said."""
    deployments = START + 15 * MINUTE_MS * np.arange(12)[:, None] + np.array([0, 12 * MINUTE_MS])
    logged = deployments[:11] - 61 * MINUTE_MS
    found = suggest_offset(logged, deployments)
    assert found.confidence == 0.0
    assert {found.offset_ms, found.runners_up[0].offset_ms} == {61 * MINUTE_MS, 76 * MINUTE_MS}
    assert found.runners_up[0].matched == found.matched == 11


def test_how_well_an_offset_fits() -> None:
    """Three bursts of 10 min; one offset lays them on their deployments, another two of them by 4 min each."""
    deployments = START + MINUTE_MS * np.array([[0, 10], [30, 40], [55, 65]])
    assert fit_at(deployments - 61 * MINUTE_MS, deployments, 61 * MINUTE_MS) == (3, 1.0)
    for late, count, share in ((6, 0, 0.4), (4, 2, 0.6)):
        matched, inside = fit_at(deployments[:2] + late * MINUTE_MS, deployments)
        assert (matched, inside) == (count, share)
    assert fit_at(deployments, []) == (0, 0.0)


def test_one_burst_proves_nothing() -> None:
    found = suggest_offset([[START, START + 10 * MINUTE_MS]], [[START + HOUR_MS, START + 2 * HOUR_MS]])
    assert (found.offset_ms, found.matched, found.confidence) == (HOUR_MS, 1, 0.0)


@pytest.mark.parametrize(
    ("logged", "planned", "words"),
    [
        ([], [[0, 1]], "nothing to compare"),
        ([[0, 1]], [], "nothing to compare"),
        ([[0, MINUTE_MS]], [[30 * HOUR_MS, 31 * HOUR_MS]], "No offset within 26 h"),
    ],
)
def test_without_a_pair_there_is_no_offset(logged: list[list[int]], planned: list[list[int]], words: str) -> None:
    found = suggest_offset(logged, planned)
    assert found.offset_ms is None
    assert not found.speaks
    assert words in found.sentence


@pytest.mark.parametrize(
    ("minutes", "words"),
    [(61, "61 min slow"), (-7, "7 min fast"), (-330, "5 h 30 min fast"), (120, "2 h slow"), (0.2, "right")],
)
def test_an_offset_in_words(minutes: float, words: str) -> None:
    assert spoken(round(minutes * MINUTE_MS)) == words


# --- ten thousand by ten thousand -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("minutes", "gap"),
    [
        pytest.param(5, (2, 8), id="over two months"),
        pytest.param(5, (1, 600), id="over six years"),
        pytest.param(0.1, (0.01, 0.3), id="within weeks"),
    ],
)
def test_ten_thousand_bursts_on_ten_thousand_deployments(minutes: float, gap: tuple[float, float]) -> None:
    """Under 1 s (docs/methods/clock.md) of the processor, which others may be using, too."""
    logged, deployments = walk(5, 10_000, minutes, gap)
    began = time.process_time()
    found = suggest_offset(logged - 61 * MINUTE_MS, np.delete(deployments, 17, axis=0))
    assert time.process_time() - began < 1.0
    assert found.offset_ms is not None
    assert abs(found.offset_ms - 61 * MINUTE_MS) <= 3 * MINUTE_MS
    assert found.matched >= 9_990


def test_the_way_for_many_pairs_finds_what_the_way_for_few_does(monkeypatch: pytest.MonkeyPatch) -> None:
    logged, deployments = walk(8, 60)
    spans, starts = Spans(logged - 200 * MINUTE_MS), deployments[:, 0]
    union = Spans(deployments).union()
    shifts, overlaps = best_candidates(spans, union, starts, WINDOW_MS, MINUTE_MS)
    monkeypatch.setattr("methods.clock.overlap.SWEEP_ALL_BELOW", 0)
    few_shifts, few_overlaps = best_candidates(spans, union, starts, WINDOW_MS, MINUTE_MS)
    assert len(few_shifts) < len(shifts)
    assert few_overlaps.max() == overlaps.max()
    assert (
        dict(zip(few_shifts.tolist(), few_overlaps.tolist(), strict=True)).items()
        <= dict(zip(shifts.tolist(), overlaps.tolist(), strict=True)).items()
    )
