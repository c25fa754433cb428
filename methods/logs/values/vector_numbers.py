"""Many number cells at once, decoded from bytes with array arithmetic.

A number of up to 15 digits is an integer below 2**53 divided by a power of ten up to 10**15, both exact, so the one
rounding is the correct one (Clinger 1990, the fast path of decimal reading): the result is what Python's float() gives.
Cells that are not such numbers are left to the careful path.
"""

from __future__ import annotations

import numpy as np

from methods.logs.text.block import Block
from methods.quantities.arrays import Bools, Floats, Ints, Words

_POWERS = 10.0 ** np.arange(20)
_ONES = np.uint64(0x0101010101010101)
_ZEROS = np.uint64(0x3030303030303030)
_LOW7 = np.uint64(0x7F7F7F7F7F7F7F7F)
_NIBBLE = np.uint64(0xF0F0F0F0F0F0F0F0)
_SIXES = np.uint64(0x0606060606060606)
_PLACE = np.uint64(0x0706050403020100)
_FULL = np.uint64(0xFFFFFFFFFFFFFFFF)


def _u(number: int) -> np.uint64:
    return np.uint64(number)


def words_before(block: Block, ends: Ints) -> Words:
    """The eight bytes before each position, the last one in the highest byte."""
    data = block.data
    windows: Words = np.ndarray(shape=(len(data) - 7,), dtype="<u8", buffer=data.data, strides=(1,))
    return windows[ends - 8]


def _eight(words: Words, length: Ints, point: int) -> tuple[Words, Ints, Bools, Bools]:
    """The last ``length`` (0–8) bytes of each word: the integer, its decimals, whether it has a point, if it is one."""
    shift = ((8 - length) * 8).astype(np.uint64)
    keep = np.where(length > 0, _FULL << np.minimum(shift, _u(56)), _u(0))
    words = (words & keep) | (_ZEROS & ~keep)
    differs = words ^ (_u(point) * _ONES)
    marks = ~(((differs & _LOW7) + _LOW7) | differs | _LOW7)  # 0x80 where the byte is the point
    has_point = marks != 0
    ones = marks >> _u(7)
    below = ones - has_point.astype(np.uint64)
    closed = ((words & below) << _u(8)) | (words & ~(below | (ones * _u(255)))) | _u(0x30)
    digits = np.where(has_point, closed, words)
    is_digits = ((digits & _NIBBLE) == _ZEROS) & (((digits + _SIXES) & _NIBBLE) == _ZEROS)
    valid = is_digits & ((ones & (ones - has_point.astype(np.uint64))) == 0)
    decimals = ((ones * _PLACE) >> _u(56)).astype(np.int64)
    return _digits_to_int(digits), decimals, has_point, valid


def _digits_to_int(digits: Words) -> Words:
    value = digits & _u(0x0F0F0F0F0F0F0F0F)
    value = (value * _u(10) + (value >> _u(8))) & _u(0x00FF00FF00FF00FF)
    value = (value * _u(100) + (value >> _u(16))) & _u(0x0000FFFF0000FFFF)
    return (value * _u(10_000) + (value >> _u(32))) & _u(0xFFFFFFFF)


def numbers(block: Block, starts: Ints, ends: Ints, decimal: str) -> tuple[Floats, Bools]:
    """float64 of cells like ``-12.345`` and whether each is one. Cells are trimmed."""
    lead = block.data[starts]
    minus = lead == ord("-")
    starts = starts + (minus | (lead == ord("+")))
    length = ends - starts
    point = ord(decimal)
    low, decimals, has_point, valid = _eight(words_before(block, ends), np.clip(length, 0, 8), point)
    valid &= (length >= 1) & (length <= 16) & (length - has_point >= 1)
    mantissa = low
    if bool((length > 8).any()):
        mantissa, decimals, valid = _sixteen(block, ends, length, point, (low, decimals, has_point, valid))
    values = mantissa.astype(np.float64) / _POWERS[np.minimum(decimals, 19)]  # more only where there are several points
    return np.where(minus, -values, values), valid


def _sixteen(
    block: Block, ends: Ints, length: Ints, point: int, lower: tuple[Words, Ints, Bools, Bools]
) -> tuple[Words, Ints, Bools]:
    """Adds the eight bytes before: the point may stand in either half, but once."""
    low, decimals, has_point, valid = lower
    rest = np.clip(length - 8, 0, 8)
    high, high_decimals, high_point, high_valid = _eight(words_before(block, np.maximum(ends - 8, 8)), rest, point)
    mantissa = high * np.where(has_point, _u(10_000_000), _u(100_000_000)) + low
    places = np.where(high_point, 8 + high_decimals, decimals)
    points = has_point.astype(np.int64) + high_point
    return mantissa, places, valid & high_valid & (points <= 1) & (length - points <= 15)
