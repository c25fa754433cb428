"""Many stamps at once, decoded from bytes with array arithmetic; what is not understood is left to the careful path."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from methods.logs.block import BACK, Block, Grid, trim
from methods.logs.calendar_words import MONTHS_3
from methods.logs.stamp_formats import (
    EPOCH_MS,
    FIRST_MS,
    FIRST_YEAR,
    LAST_MS,
    LAST_YEAR,
    NUMERIC,
    PIVOT,
    SERIAL_DAY_0,
    StampFormat,
)
from methods.logs.vector_numbers import numbers
from methods.logs.zone_names import MINUTES_EAST
from methods.quantities.arrays import Bools, Bytes, Ints
from methods.quantities.durations import DAY_MS, MINUTE_MS


def stamps_of(block: Block, grid: Grid, columns: tuple[int, ...], forms: tuple[StampFormat, ...]) -> tuple[Ints, Bools]:
    """Milliseconds since 1970-01-01T00:00:00 for each line of the grid, and which of them were understood.

    ``columns`` are the grid's columns of cells, with a form for each: the stamp is the sum of their parts. One form
    for several columns reads the text from the first to the last of them.
    """
    if len(forms) < len(columns):
        starts, ends = trim(block, grid.starts[:, columns[0]], grid.ends[:, columns[-1]])
        return stamps(block, starts, ends, forms[0])
    total, good = np.zeros(len(grid.rows), dtype=np.int64), np.ones(len(grid.rows), dtype=bool)
    for at, form in zip(columns, forms, strict=True):
        starts, ends = trim(block, grid.starts[:, at], grid.ends[:, at])
        ms, valid = (counts if form.text in NUMERIC else stamps)(block, starts, ends, form)
        total += ms
        good &= valid
    return total, good


def counts(block: Block, starts: Ints, ends: Ints, form: StampFormat) -> tuple[Ints, Bools]:
    """Cells that count seconds, milliseconds or days."""
    count, valid = numbers(block, starts, ends, ".")
    if form.text in EPOCH_MS:
        ms = np.rint(count * EPOCH_MS[form.text])
    else:
        ms = np.rint((count + SERIAL_DAY_0[form.text]) * DAY_MS)
    valid &= (ms >= FIRST_MS) & (ms < LAST_MS)
    return np.where(valid, ms, 0).astype(np.int64), valid


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


def _groups(table: Bytes, lengths: Ints) -> list[Ints] | list[None]:
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


def _decode_alike(cells: Bytes, length: int, form: StampFormat) -> tuple[Ints, Bools]:
    sample = cells[0, :length].tobytes()
    match = form.regex.fullmatch(sample.decode("ascii", errors="replace")) if form.regex else None
    if match is None or not sample.isascii() or form.language or match.groupdict().get("pw"):
        return np.zeros(len(cells), dtype=np.int64), np.zeros(len(cells), dtype=bool)
    parts = {name: match.span(name) for name, text in match.groupdict().items() if text}
    good = _same_marks(cells, sample, parts)
    days, known = _days(cells, parts)
    clock, sensible = _clock(cells, parts)
    offset, signed = _offset(cells, sample, parts)
    return days * DAY_MS + clock - offset, good & known & sensible & signed


def _same_marks(cells: Bytes, sample: bytes, parts: dict[str, tuple[int, int]]) -> Bools:
    """Everything but the decoded parts is the same, byte for byte."""
    free = {at for name, span in parts.items() if name not in ("z", "zn") for at in range(*span)}
    fixed = [at for at in range(len(sample)) if at not in free]
    good = np.ones(len(cells), dtype=bool)
    for at in fixed:
        good &= cells[:, at] == sample[at]
    return good


def _number(cells: Bytes, span: tuple[int, int]) -> Ints:
    value = cells[:, span[0]].astype(np.int64) - 48
    for at in range(span[0] + 1, span[1]):
        value = value * 10 + cells[:, at] - 48
    return value


@lru_cache(maxsize=1)
def _calendar() -> tuple[Ints, Ints]:
    """Days since 1970 of the first of each month, and its length; index = (year − FIRST_YEAR)·12 + month − 1."""
    months = np.arange(f"{FIRST_YEAR}-01", f"{LAST_YEAR + 1}-02", dtype="datetime64[M]")
    firsts = months.astype("datetime64[D]").astype(np.int64)
    return firsts[:-1], np.diff(firsts)


def _days(cells: Bytes, parts: dict[str, tuple[int, int]]) -> tuple[Ints, Bools]:
    n = len(cells)
    if "d" not in parts:
        return np.zeros(n, dtype=np.int64), np.full(n, "m" not in parts and "b" not in parts)
    if not ("b" in parts or "m" in parts) or not ("Y" in parts or "y" in parts):
        return np.zeros(n, dtype=np.int64), np.zeros(n, dtype=bool)
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


def _month_names(cells: Bytes, span: tuple[int, int]) -> Ints:
    """0 where the name is not one of three plain letters: the careful path knows more languages."""
    if span[1] - span[0] != 3:
        return np.zeros(len(cells), dtype=np.int64)
    names = np.array([int.from_bytes(name, "big") for name in sorted(MONTHS_3)], dtype=np.int64)
    months = np.array([MONTHS_3[name] for name in sorted(MONTHS_3)], dtype=np.int64)
    lower = (cells[:, span[0] : span[1]] | 0x20).astype(np.int64)
    key = (lower[:, 0] << 16) | (lower[:, 1] << 8) | lower[:, 2]
    at = np.minimum(np.searchsorted(names, key), len(names) - 1)
    return np.where(names[at] == key, months[at], 0)


def _clock(cells: Bytes, parts: dict[str, tuple[int, int]]) -> tuple[Ints, Bools]:
    zero = np.zeros(len(cells), dtype=np.int64)
    hour, minute, second = (_number(cells, parts[p]) if p in parts else zero for p in (_hour(parts), "M", "S"))
    good = (hour <= 23) & (minute <= 59) & (second <= 59)  # 24:00 is for the careful path
    if "I" in parts:
        good &= (hour >= 1) & (hour <= 12)
        hour = hour % 12
    if "p" in parts:
        half = cells[:, parts["p"][0]] | 0x20
        good &= (half == ord("a")) | (half == ord("p"))
        hour = hour + np.where(half == ord("p"), 12, 0)
    fraction = zero
    if "f" in parts:
        start, end = parts["f"]
        fraction = _number(cells, (start, min(end, start + 3))) * 10 ** max(0, 3 - (end - start))
    return ((hour * 60 + minute) * 60 + second) * 1000 + fraction, good


def _hour(parts: dict[str, tuple[int, int]]) -> str:
    return "I" if "I" in parts else "H"


def _offset(cells: Bytes, sample: bytes, parts: dict[str, tuple[int, int]]) -> tuple[Ints, Bools]:
    n = len(cells)
    if "zn" in parts:  # the same name in all of them
        east = MINUTES_EAST[sample[slice(*parts["zn"])].decode().upper()]
        return np.full(n, east * MINUTE_MS, dtype=np.int64), np.ones(n, dtype=bool)
    if "zs" not in parts:
        return np.zeros(n, dtype=np.int64), np.ones(n, dtype=bool)
    sign = cells[:, parts["zs"][0]]
    minutes = _number(cells, parts["zh"]) * 60
    if "zm" in parts:
        minutes = minutes + _number(cells, parts["zm"])
    minus = sign == ord("-")
    return np.where(minus, -minutes, minutes) * MINUTE_MS, minus | (sign == ord("+"))
