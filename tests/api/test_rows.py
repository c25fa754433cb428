"""Texts of whole columns against the same texts made one by one."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from methods.quantities.moments import stamp_text
from readings.api.rows import stamp_texts, utc_texts
from readings.api.walk import WalkPosition

MOMENTS = st.integers(min_value=0, max_value=4_102_444_800_000)  # 1970 to 2100


@given(st.lists(MOMENTS, max_size=20))
def test_stamps_are_written_as_everywhere_else(ms: list[int]) -> None:
    assert stamp_texts(np.array(ms, dtype=np.int64)) == [stamp_text(each) for each in ms]


@given(st.lists(MOMENTS.map(lambda ms: ms - ms % 1000), max_size=20))
def test_whole_seconds_have_no_milliseconds(ms: list[int]) -> None:
    assert stamp_texts(np.array(ms, dtype=np.int64)) == [stamp_text(each) for each in ms]


@given(st.lists(MOMENTS, max_size=20))
def test_times_are_read_back_by_the_standard_library(ms: list[int]) -> None:
    read = [datetime.fromisoformat(text + "Z") for text in utc_texts(np.array(ms, dtype=np.int64))]
    assert [round(moment.timestamp() * 1000) for moment in read] == ms
    assert all(moment.tzinfo == UTC for moment in read)


@given(st.uuids(), st.uuids(), st.integers(-(2**45), 2**45), st.integers(-(2**15), 2**15 - 1))
def test_a_cursor_leads_back_to_its_place(instrument: object, spec: object, stamp: int, nth: int) -> None:
    place = WalkPosition(str(instrument), "co2", str(spec), stamp, nth)
    assert WalkPosition.from_text(place.to_text()) == place


@given(st.text(max_size=60))
def test_anything_else_is_no_cursor(text: str) -> None:
    with pytest.raises(ValueError, match=r"."):
        WalkPosition.from_text(text)
