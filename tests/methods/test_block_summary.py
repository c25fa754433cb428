"""Parts of a batch against the readings themselves."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from methods.figures.block_summary import PART, Parts, parts_of, together
from methods.quantities.arrays import Bools, Floats, Ints


@dataclass(frozen=True)
class StoredBatch:
    """Rows of one channel as a store would hand them over."""

    stamp: Ints
    nth: Ints
    raw: Floats
    flag: Ints
    line: Ints

    def __len__(self) -> int:
        return len(self.stamp)

    def only(self, rows: Bools) -> StoredBatch:
        return StoredBatch(*(getattr(self, field.name)[rows] for field in fields(self)))


@st.composite
def batches(draw: st.DrawFn) -> StoredBatch:
    """In the order of keys: steps mostly of one length, several readings to a stamp, values missing, lines anyhow."""
    steps = np.array(
        draw(st.lists(st.sampled_from([0, 0, 10, 10, 10, 10, 25, 5_000_000_000]), max_size=60)), dtype="i8"
    )
    n = len(steps)
    stamp = 1_700_000_000_000 + np.cumsum(steps)
    nth = np.array([int(np.count_nonzero(stamp[:k] == stamp[k])) for k in range(n)], dtype=np.int64)
    values = st.sampled_from([np.nan, -0.5, 0.0, 0.25, 0.5])
    raw = np.array(draw(st.lists(values, min_size=n, max_size=n)), dtype=np.float64)
    flag = np.array(draw(st.lists(st.sampled_from([0, 0, 0, 0, 1, 2]), min_size=n, max_size=n)), dtype=np.int64)
    line = np.arange(n)[:: draw(st.sampled_from([1, -1]))]
    line = np.random.default_rng(draw(st.integers(0, 9))).permutation(line) if draw(st.booleans()) else line
    return StoredBatch(stamp, nth, raw, flag, line.astype(np.int64))


def rows_in(part: Parts, batch: StoredBatch) -> StoredBatch:
    return batch.only((batch.stamp >= part["first"]) & (batch.stamp <= part["last"]))


@given(batches(), st.integers(1, 20))
def test_each_part_says_what_its_readings_say(batch: StoredBatch, size: int) -> None:
    parts = parts_of(batch, size)
    assert parts["count"].sum() == len(batch)
    assert np.all(parts["last"][:-1] < parts["first"][1:]), "no stamp is in two parts"
    for part in parts:
        here = rows_in(part, batch)
        gaps, turns = np.diff(here.stamp), np.diff(here.line)
        assert len(here) == part["count"]
        assert (here.stamp[0], here.stamp[-1], here.line[0], here.line[-1]) == (
            part["first"], part["last"], part["first_line"], part["last_line"],
        )  # fmt: skip
        assert part["gap"] == min(gaps.max(initial=0), 2**32 - 1)
        assert part["rises"] == np.count_nonzero(gaps)
        assert part["steady"] == (np.count_nonzero(gaps == part["step"]) if part["step"] else 0)
        assert part["said"] == (here.flag.any() or np.isnan(here.raw).any())
        assert part["order"] == (1 if np.all(turns > 0) else -1 if np.all(turns < 0) else 0)


@given(batches(), st.integers(1, 20))
def test_extremes_are_readings_the_earliest_of_equal_ones(batch: StoredBatch, size: int) -> None:
    for part in parts_of(batch, size):
        here = rows_in(part, batch)
        if np.isnan(here.raw).all():
            assert np.isnan(part["low_raw"])
            assert np.isnan(part["high_raw"])
            continue
        for name, at in (("low", np.nanargmin(here.raw)), ("high", np.nanargmax(here.raw))):
            assert (part[f"{name}_stamp"], part[f"{name}_nth"]) == (here.stamp[at], here.nth[at])
            assert part[f"{name}_raw"] == here.raw[at]


@given(batches(), st.integers(1, 20))
def test_parts_are_no_longer_than_said(batch: StoredBatch, size: int) -> None:
    """But for what shares a stamp with the reading at which they would end."""
    for part in parts_of(batch, size):
        here = rows_in(part, batch)
        assert np.count_nonzero(here.stamp < here.stamp[-1]) < size


@given(batches(), st.integers(1, 9), st.integers(1, 3))
def test_neighbours_together_are_as_if_they_had_been_one(batch: StoredBatch, size: int, several: int) -> None:
    """Where no value is missing in any of them, and lines run one way."""
    whole = parts_of(
        replace(batch, raw=np.nan_to_num(batch.raw), line=np.arange(len(batch)), flag=0 * batch.flag), size
    )
    starts = np.arange(0, len(whole), several)
    for found, first in zip(together(whole, starts), starts, strict=True) if len(whole) else ():
        these = whole[first : first + several]
        rows = batch.only((batch.stamp >= these["first"][0]) & (batch.stamp <= these["last"][-1]))
        gaps = np.diff(rows.stamp)
        raw = np.nan_to_num(rows.raw)
        assert (found["first"], found["last"], found["count"]) == (rows.stamp[0], rows.stamp[-1], len(rows))
        assert found["rises"] == np.count_nonzero(gaps)
        assert found["steady"] == (np.count_nonzero(gaps == found["step"]) if found["step"] else 0)
        assert found["gap"] == min(gaps.max(initial=0), 2**32 - 1)
        assert (found["low_stamp"], found["low_raw"]) == (rows.stamp[raw.argmin()], raw.min())
        assert (found["high_nth"], found["high_raw"]) == (rows.nth[raw.argmax()], raw.max())


def test_a_part_is_small() -> None:
    """64 readings are 4 to 6 kB in either database."""
    assert PART.itemsize <= 96


def test_no_readings_have_no_parts() -> None:
    nothing = np.zeros(0, dtype=np.int64)
    assert len(parts_of(StoredBatch(nothing, nothing, nothing.astype(float), nothing, nothing))) == 0
