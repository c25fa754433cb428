"""Many cells at once: numbers and stamps decoded from bytes with array arithmetic.

Both decoders say which cells they understood; the rest goes to the careful path. What they understand they decode
to exactly what the careful path gives: a number of up to 15 digits is an integer below 2**53 divided by a power of ten
up to 10**15, both exact, so the one rounding is the correct one (Clinger 1990, the fast path of decimal reading).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from readings.formats.block import BACK, Block, Bools
from readings.formats.moments import (
    FIRST_YEAR,
    LAST_YEAR,
    MONTHS_3,
    MS_PER_DAY,
    PIVOT,
    StampFormat,
    days_from_civil,
)
from readings.formats.types import Floats, Ints

Words = npt.NDArray[np.uint64]
Table = npt.NDArray[np.uint8]

_POWERS = 10.0 ** np.arange(20)
_ONES = np.uint64(0x0101010101010101)
_ZEROS = np.uint64(0x3030303030303030)
_HIGH = np.uint64(0x8080808080808080)
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
    """The last ``length`` (0–8) bytes of each word as an integer, its decimals, whether it has a point, if it is one."""
    shift = ((8 - length) * 8).astype(np.uint64)
    keep = np.where(length > 0, _FULL << np.minimum(shift, _u(56)), _u(0))
    words = (words & keep) | (_ZEROS & ~keep)
    differs = words ^ (_u(point) * _ONES)
    marks = ~(((differs & _LOW7) + _LOW7) | differs | _LOW7)  # 0x80 where the byte is the point
    has_point = marks != 0
    one = marks >> _u(7)
    below = one - has_point.astype(np.uint64)
    closed = ((words & below) << _u(8)) | (words & ~(below | (one * _u(255)))) | _u(0x30)
    digits = np.where(has_point, closed, words)
    is_digits = ((digits & _NIBBLE) == _ZEROS) & (((digits + _SIXES) & _NIBBLE) == _ZEROS)
    valid = is_digits & ((one & (one - has_point.astype(np.uint64))) == 0)
    decimals = ((one * _PLACE) >> _u(56)).astype(np.int64)
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
    values = mantissa.astype(np.float64) / _POWERS[decimals]
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


# --- stamps -----------------------------------------------------------------------------------------------------------


def stamps(block: Block, starts: Ints, ends: Ints, form: StampFormat) -> tuple[Ints, Bools]:
    """Milliseconds since 1970-01-01T00:00:00 of trimmed cells, and which were understood.

    Cells are grouped by where their digits stand; each group is decoded by the places that one of them shows.
    """
    n = len(starts)
    result, valid = np.zeros(n, dtype=np.int64), np.zeros(n, dtype=bool)
    lengths = ends - starts
    width = int(lengths.max(initial=0))
    if form.regex is None or not 0 < width <= min(BACK, 48):
        return result, valid
    windows = np.lib.stride_tricks.sliding_window_view(block.data, width)
    table = windows[starts]
    if int(lengths.min()) != width:
        table[np.arange(width) >= lengths[:, None]] = 0
    for group in _groups(table, lengths):
        cells = table if group is None else table[group]
        decoded, good = _decode_alike(cells, int(lengths[0 if group is None else group[0]]), form)
        if group is None:
            return decoded, good
        result[group], valid[group] = decoded, good
    return result, valid


def _groups(table: Table, lengths: Ints) -> list[Ints] | list[None]:
    """Rows whose digits stand at the same places; ``[None]`` = all of them do."""
    bits = np.packbits((table - np.uint8(48)) <= 9, axis=1)
    keys = np.zeros((len(table), 8), dtype=np.uint8)
    keys[:, : bits.shape[1]] = bits
    keys[:, 7] = lengths
    key = keys.view(np.uint64)[:, 0]
    if bool((key == key[0]).all()):
        return [None]
    _, inverse = np.unique(key, return_inverse=True)
    order = np.argsort(inverse, kind="stable")
    edges = np.flatnonzero(np.diff(inverse[order])) + 1
    return list(np.split(order, edges))


def _decode_alike(cells: Table, length: int, form: StampFormat) -> tuple[Ints, Bools]:
    sample = cells[0, :length].tobytes()
    match = form.regex.fullmatch(sample.decode("ascii", errors="replace")) if form.regex else None
    if match is None or not sample.isascii():
        return np.zeros(len(cells), dtype=np.int64), np.zeros(len(cells), dtype=bool)
    parts = {name: match.span(name) for name, text in match.groupdict().items() if text}
    good = _same_marks(cells, sample, parts)
    days, known = _days(cells, parts)
    clock, sensible = _clock(cells, parts)
    offset, signed = _offset(cells, parts)
    return days * MS_PER_DAY + clock - offset, good & known & sensible & signed


def _same_marks(cells: Table, sample: bytes, parts: dict[str, tuple[int, int]]) -> Bools:
    """Everything but the decoded parts is the same, byte for byte."""
    free = {at for name, span in parts.items() if name != "z" for at in range(*span)}
    fixed = [at for at in range(len(sample)) if at not in free]
    good = np.ones(len(cells), dtype=bool)
    for at in fixed:
        good &= cells[:, at] == sample[at]
    return good


def _number(cells: Table, span: tuple[int, int]) -> Ints:
    value = cells[:, span[0]].astype(np.int64) - 48
    for at in range(span[0] + 1, span[1]):
        value = value * 10 + cells[:, at] - 48
    return value


@lru_cache(maxsize=1)
def _calendar() -> tuple[Ints, Ints]:
    """Days since 1970 of the first of each month, and each month's length; index = (year − FIRST_YEAR)·12 + month − 1."""
    months = [(year, month) for year in range(FIRST_YEAR, LAST_YEAR + 2) for month in range(1, 13)]
    firsts = np.array([days_from_civil(y, m, 1) if y <= LAST_YEAR else 0 for y, m in months], dtype=np.int64)
    last = (LAST_YEAR - FIRST_YEAR + 1) * 12
    firsts[last] = firsts[last - 1] + 31
    return firsts[:last], np.diff(firsts)[:last]


def _days(cells: Table, parts: dict[str, tuple[int, int]]) -> tuple[Ints, Bools]:
    n = len(cells)
    if "d" not in parts:
        return np.zeros(n, dtype=np.int64), np.ones(n, dtype=bool)
    day = _number(cells, parts["d"])
    month = _month_names(cells, parts["b"]) if "b" in parts else _number(cells, parts["m"])
    if "Y" in parts:
        year = _number(cells, parts["Y"])
    else:
        year = _number(cells, parts["y"])
        year = year + np.where(year < PIVOT, 2000, 1900)
    known = (year >= FIRST_YEAR) & (year <= LAST_YEAR) & (month >= 1) & (month <= 12)
    firsts, lengths = _calendar()
    index = np.where(known, (year - FIRST_YEAR) * 12 + month - 1, 0)
    known &= (day >= 1) & (day <= lengths[index])
    return firsts[index] + day - 1, known


def _month_names(cells: Table, span: tuple[int, int]) -> Ints:
    """0 where the name is not one of three plain letters: the careful path knows more languages."""
    if span[1] - span[0] != 3:
        return np.zeros(len(cells), dtype=np.int64)
    names = np.array([int.from_bytes(name, "big") for name in sorted(MONTHS_3)], dtype=np.int64)
    months = np.array([MONTHS_3[name] for name in sorted(MONTHS_3)], dtype=np.int64)
    lower = (cells[:, span[0] : span[1]] | 0x20).astype(np.int64)
    key = (lower[:, 0] << 16) | (lower[:, 1] << 8) | lower[:, 2]
    at = np.minimum(np.searchsorted(names, key), len(names) - 1)
    return np.where(names[at] == key, months[at], 0)


def _clock(cells: Table, parts: dict[str, tuple[int, int]]) -> tuple[Ints, Bools]:
    zero = np.zeros(len(cells), dtype=np.int64)
    hour, minute, second = (_number(cells, parts[p]) if p in parts else zero for p in (_hour(parts), "M", "S"))
    good = (hour <= 23) & (minute <= 59) & (second <= 59)  # 24:00 is for the careful path
    if "p" in parts:
        half = cells[:, parts["p"][0]] | 0x20
        good &= (hour >= 1) & (hour <= 12) & ((half == ord("a")) | (half == ord("p")))
        hour = hour % 12 + np.where(half == ord("p"), 12, 0)
    fraction = zero
    if "f" in parts:
        start, end = parts["f"]
        fraction = _number(cells, (start, min(end, start + 3))) * 10 ** max(0, 3 - (end - start))
    return ((hour * 60 + minute) * 60 + second) * 1000 + fraction, good


def _hour(parts: dict[str, tuple[int, int]]) -> str:
    return "I" if "I" in parts else "H"


def _offset(cells: Table, parts: dict[str, tuple[int, int]]) -> tuple[Ints, Bools]:
    n = len(cells)
    if "zs" not in parts:
        return np.zeros(n, dtype=np.int64), np.ones(n, dtype=bool)
    sign = cells[:, parts["zs"][0]]
    minutes = _number(cells, parts["zh"]) * 60
    if "zm" in parts:
        minutes = minutes + _number(cells, parts["zm"])
    minus = sign == ord("-")
    return np.where(minus, -minutes, minutes) * 60_000, minus | (sign == ord("+"))
