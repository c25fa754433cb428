"""Many stamps at once, decoded from bytes with array arithmetic; what is not understood is left to the careful path."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from methods.logs.stamps.calendar_words import MONTHS_3
from methods.logs.stamps.stamp_formats import (
    COUNT_MS,
    DATE_PARTS,
    EPOCH_MS,
    FIRST_MS,
    FIRST_YEAR,
    LAST_MS,
    LAST_YEAR,
    MOST_AHEAD,
    MOST_BEHIND,
    NEAR_MS,
    NO_YEAR,
    NUMERIC,
    OFFSET_MINUTES,
    PIVOT,
    SERIAL_DAY_0,
    StampFormat,
)
from methods.logs.stamps.zone_names import MINUTES_EAST
from methods.logs.text.block import BACK, Block, Grid, trim
from methods.logs.values.vector_numbers import numbers
from methods.quantities.arrays import Bools, Bytes, Ints
from methods.quantities.durations import DAY_MS, HOUR_MS, MINUTE_MS


def stamps_of(block: Block, grid: Grid, columns: tuple[int, ...], forms: tuple[StampFormat, ...]) -> tuple[Ints, Bools]:
    """Milliseconds since 1970-01-01T00:00:00 for each line of the grid, and which of them were understood.

    ``columns`` are the grid's columns of cells, with a form for each: the stamp is the sum of their parts. One form
    for several columns reads the text from the first to the last of them.
    """
    if len(forms) < len(columns):
        starts, ends = trim(block, grid.starts[:, columns[0]], grid.ends[:, columns[-1]])
        return stamps(block, starts, ends, forms[0])
    total, good = np.zeros(len(grid.rows), dtype=np.int64), np.ones(len(grid.rows), dtype=bool)
    lone: dict[str, Ints] = {}
    for at, form in zip(columns, forms, strict=True):
        starts, ends = trim(block, grid.starts[:, at], grid.ends[:, at])
        if form.text in LONE:
            lone[form.text[1:]], valid = whole_numbers(block, starts, ends, LONE[form.text])
            good &= valid
            continue
        ms, valid = (counts if form.text in _COUNTED else stamps)(block, starts, ends, form)
        total += ms
        good &= valid & (is_complete(form.text) or form.text in NUMERIC)
    if lone:
        days, known = civil_days(lone, len(good))
        clock, sensible = _of_day(_of_twelve(lone), len(good))
        sensible &= (lone["I"] >= 1) & (lone["I"] <= 12) if "I" in lone else True
        return total + days * DAY_MS + clock, good & known & sensible
    return total, good


#: Parts of a stamp that are one whole number, and how many digits it may have.
LONE = {
    "%Y": (4, 4),
    "%y": (2, 2),
    "%m": (1, 2),
    "%d": (1, 2),
    "%j": (1, 3),
    "%H": (1, 2),
    "%I": (1, 2),
    "%M": (1, 2),
    "%S": (1, 2),
}
_ELAPSED = {f"%<{unit}>": float(ms) for unit, ms in COUNT_MS.items()}
_COUNTED = NUMERIC | _ELAPSED.keys()


def _of_twelve(lone: dict[str, Ints]) -> dict[str, Ints]:
    return {**lone, "H": lone["I"] % 12} if "I" in lone else lone


def is_complete(form: str) -> bool:
    """Whether what ``form`` reads stands for itself: a time of day, or all that a date has (but the year)."""
    date = {part for part in DATE_PARTS if f"%{part}" in form}
    return not date or "j" in date or {"d", "m"} <= date or {"d", "b"} <= date


def whole_numbers(block: Block, starts: Ints, ends: Ints, digits: tuple[int, int]) -> tuple[Ints, Bools]:
    """Cells of nothing but so many digits, at least and at most."""
    lengths = ends - starts
    value, good = np.zeros(len(starts), dtype=np.int64), (lengths >= digits[0]) & (lengths <= digits[1])
    for at in range(digits[1]):
        inside = at < lengths
        digit = block.data[starts + at].astype(np.int64) - 48
        good &= ~inside | ((digit >= 0) & (digit <= 9))
        value = np.where(inside, value * 10 + digit, value)
    return np.where(good, value, 0), good


def counts(block: Block, starts: Ints, ends: Ints, form: StampFormat) -> tuple[Ints, Bools]:
    """Cells that count seconds, milliseconds or days."""
    count, valid = numbers(block, starts, ends, ".")
    if form.text in _ELAPSED:  # signs are not for it, nor marks without a digit on either side
        first, last = block.data[starts], block.data[np.maximum(ends - 1, 0)]
        plain = (first >= 48) & (first <= 57) & (last >= 48) & (last <= 57) & (ends - starts <= 12)
        ms = np.rint(count * _ELAPSED[form.text])
        valid &= plain & (ms < LAST_MS)
        return np.where(valid, ms, 0).astype(np.int64), valid
    if form.text in EPOCH_MS:
        ms = np.rint(count * EPOCH_MS[form.text])
    else:
        ms = np.rint((count + SERIAL_DAY_0[form.text]) * DAY_MS)
        second = np.floor((ms + 500) / 1000) * 1000
        ms = np.where(np.abs(ms - second) <= NEAR_MS, second, ms)
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
    if "bH" in parts or "eH" in parts:
        other, whole = _other_end(cells, parts)
        sensible &= whole
        clock = clock + np.where(("bH" in parts) & (clock <= other), DAY_MS, 0)  # the interval passes midnight
    offset, signed = _offset(cells, sample, parts)
    return days * DAY_MS + clock - offset, good & known & sensible & signed


#: Parts that are taken for what they are in the first of the cells.
_AS_FIRST = ("z", "zn", "bp", "ep")


def _other_end(cells: Bytes, parts: dict[str, tuple[int, int]]) -> tuple[Ints, Bools]:
    """The end of an interval that is not its stamp; with AM and PM, and 24:00, it is for the careful path."""
    side = "b" if "bH" in parts else "e"
    fields = {part: _number(cells, parts[f"{side}{part}"]) for part in "HMS" if f"{side}{part}" in parts}
    other, sensible = _of_day(fields, len(cells))
    return other, sensible & (f"{side}p" not in parts)


def _same_marks(cells: Bytes, sample: bytes, parts: dict[str, tuple[int, int]]) -> Bools:
    """Everything but the decoded parts is the same, byte for byte."""
    free = {at for name, span in parts.items() if name not in _AS_FIRST for at in range(*span)}
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
    dated = DATE_PARTS & parts.keys()
    fields: dict[str, Ints] = {part: _number(cells, parts[part]) for part in dated if part != "b"}
    if "b" in dated:
        fields["m"] = _month_names(cells, parts["b"])
    return civil_days(fields, len(cells))


def civil_days(fields: dict[str, Ints], n: int) -> tuple[Ints, Bools]:
    """Days since 1970 of n dates, and which there are: from Y or y (or no year: ``NO_YEAR``), and m with d, or j."""
    if not DATE_PARTS & fields.keys():
        return np.zeros(n, dtype=np.int64), np.ones(n, dtype=bool)
    if "j" not in fields and not {"m", "d"} <= fields.keys():
        return np.zeros(n, dtype=np.int64), np.zeros(n, dtype=bool)
    year = fields["Y"] if "Y" in fields else np.full(n, NO_YEAR, dtype=np.int64)
    if "y" in fields and "Y" not in fields:
        year = fields["y"] + np.where(fields["y"] < PIVOT, 2000, 1900)
    month = np.ones(n, dtype=np.int64) if "j" in fields else fields["m"]
    day = fields["j" if "j" in fields else "d"]
    known = (year >= FIRST_YEAR) & (year <= LAST_YEAR) & (month >= 1) & (month <= 12)
    firsts, lengths = _calendar()
    index = np.where(known, (year - FIRST_YEAR) * 12 + month - 1, 0)
    longest = lengths[index]
    if "j" in fields:
        longest = 365 + ((year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0)))
    known &= (day >= 1) & (day <= longest)
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
    n = len(cells)
    for named, unit in (("hhmm", 100), ("hhmmss", 1)):
        if named in parts:
            number = _number(cells, parts[named]) * unit
            return _of_day({"H": number // 10_000, "M": number // 100 % 100, "S": number % 100}, n)
    if any(f"n_{unit}" in parts for unit in COUNT_MS):
        return np.zeros(n, dtype=np.int64), np.zeros(n, dtype=bool)
    fields: dict[str, Ints] = {part: _number(cells, parts[part]) for part in ("H", "I", "M", "S") if part in parts}
    beyond = np.zeros(n, dtype=np.int64)
    if "minutes" in parts:
        minutes = _number(cells, parts["minutes"])
        fields |= {"M": minutes % 60, "H": minutes // 60 % 24}
        beyond = minutes // 1440 * 24 * HOUR_MS
    if "hours" in parts:
        hours = _number(cells, parts["hours"])
        fields["H"], beyond = hours % 24, hours // 24 * 24 * HOUR_MS
    good = np.ones(n, dtype=bool)
    if "I" in parts:
        good &= (fields["I"] >= 1) & (fields["I"] <= 12)
        fields["H"] = fields["I"] % 12
    clock, sensible = _of_day(fields, n)
    if "p" in parts:
        half = cells[:, parts["p"][0]] | 0x20
        good &= (half == ord("a")) | (half == ord("p"))
        clock = clock + np.where(half == ord("p"), 12 * HOUR_MS, 0)
    if "f" in parts:
        start, end = parts["f"]
        clock = clock + _number(cells, (start, min(end, start + 3))) * 10 ** max(0, 3 - (end - start))
    return clock + beyond, good & sensible


def _of_day(fields: dict[str, Ints], n: int) -> tuple[Ints, Bools]:
    """Milliseconds since midnight of hours, minutes and seconds; 24:00 is for the careful path."""
    zero = np.zeros(n, dtype=np.int64)
    hour, minute, second = (fields.get(part, zero) for part in ("H", "M", "S"))
    good = (hour <= 23) & (minute <= 59) & (second <= 59)
    return ((hour * 60 + minute) * 60 + second) * 1000, good


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
    known = minus | (sign == ord("+"))
    if "zm" in parts:
        known &= np.isin(_number(cells, parts["zm"]), OFFSET_MINUTES)
    known &= minutes <= np.where(minus, MOST_BEHIND, MOST_AHEAD)
    return np.where(minus, -minutes, minutes) * MINUTE_MS, known
