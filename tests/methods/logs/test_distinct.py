"""The different texts of a column as bytes, against the same text by text."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from methods.logs.text import distinct
from methods.logs.text.block import delimited_grid, make_block
from methods.logs.text.distinct import distinct_texts

LONG = ("x" * 63, "x" * 64, "x" * 65, "y" * 200)
CELL = st.text(alphabet="ab é0 µ", max_size=30) | st.sampled_from(["", *map(str, range(20)), *LONG])
CELLS = st.lists(CELL, max_size=40)


def told(cells: list[str]) -> tuple[Counter[str], list[str]]:
    block = make_block("".join(f"{cell};1\n" for cell in cells).encode(), 1)
    texts, which = distinct_texts(block, delimited_grid(block, ";", 2), 0)
    return Counter(texts[k] for k in which), texts


@given(CELLS)
def test_as_text_by_text(cells: list[str]) -> None:
    bare = [cell.strip(" ") for cell in cells]
    assert told(cells) == (Counter(bare), list(dict.fromkeys(bare)))


@given(CELLS)
def test_texts_that_share_a_number_are_told_apart(cells: list[str]) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(distinct, "_FACTORS", distinct._FACTORS * 0)
        test_as_text_by_text.hypothesis.inner_test(cells)  # type: ignore[attr-defined]
