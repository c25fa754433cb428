"""The different texts of a column, told apart as bytes: text by text would take as long as reading the values."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from methods.logs.text.block import BACK, Block, Grid, texts_of, trim
from methods.quantities.arrays import Bools, Bytes, Ints

_WORD = 8
#: Odd, so that no bit of a word is lost. Which numbers they are does not matter: a collision is seen.
_FACTORS = np.array([0x9E3779B97F4A7C15 + 2 * k for k in range(BACK // _WORD)], dtype=np.uint64)


#: So many are sooner looked for one by one than by sorting all.
_FEW = 12
#: By number of bytes: a word of which only so many are kept.
_MASKS = np.array([(1 << (8 * n)) - 1 for n in range(_WORD + 1)], dtype=np.uint64)

Words = npt.NDArray[np.uint64]


def distinct_texts(block: Block, grid: Grid, at: int) -> tuple[list[str], Ints]:
    """The texts in the order of their first lines, without blanks around them, and for each line of ``grid`` which of
    them it holds."""
    starts, ends = trim(block, grid.starts[:, at], grid.ends[:, at])
    longest = int((ends - starts).max(initial=0))
    if not len(starts) or longest > BACK:
        return _one_by_one(texts_of(block, grid, at))
    width = max(1, -(-longest // _WORD))
    words = _words(block.data, starts, ends - starts, width)
    keys = words[:, 0] if width == 1 else (words * _FACTORS[:width]).sum(axis=1, dtype=np.uint64)
    first, which = _numbered(keys)
    if width > 1 and not np.array_equal(words, words[first[which]]):
        return _one_by_one(texts_of(block, grid, at))
    return [block.cell(int(starts[i]), int(ends[i])) for i in first], which


def _numbered(keys: Words) -> tuple[Ints, Ints]:
    """Where each different key stands first, in that order, and for each key which of them it is."""
    which = np.full(len(keys), -1, dtype=np.int64)
    first: list[int] = []
    while len(first) < _FEW:
        at = int(np.argmax(which < 0))
        if which[at] >= 0:
            return np.array(first, dtype=np.int64), which
        which[keys == keys[at]] = len(first)
        first.append(at)
    _, places, which = np.unique(keys, return_index=True, return_inverse=True)
    order = np.argsort(places)
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    return places[order], rank[which]


def begins_otherwise(block: Block, starts: Ints) -> Bools:
    """Of each cell but the first, whether its first ten bytes are not those of the one before. A date is in them."""
    anywhere = _anywhere(block.data)
    first, last = anywhere[starts], anywhere[starts + 2]
    other: Bools = (first[1:] != first[:-1]) | (last[1:] != last[:-1])
    return other


def _anywhere(data: Bytes) -> Words:
    """The eight bytes from each byte on, as one number."""
    return np.ndarray(len(data) - _WORD + 1, dtype="<u8", buffer=data, strides=(1,))


def _words(data: Bytes, starts: Ints, lengths: Ints, width: int) -> Words:
    """[lines, width] cells as numbers of eight bytes each, zero behind their ends."""
    anywhere = _anywhere(data)
    words = np.empty((len(starts), width), dtype=np.uint64)
    for k in range(width):
        words[:, k] = anywhere[starts + k * _WORD] & _MASKS[np.clip(lengths - k * _WORD, 0, _WORD)]
    return words


def _one_by_one(texts: list[str]) -> tuple[list[str], Ints]:
    known: dict[str, int] = {}
    which = [known.setdefault(text, len(known)) for text in texts]
    return list(known), np.array(which, dtype=np.int64)
