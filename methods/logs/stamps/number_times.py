"""Times of day as numbers beside a date: 905 is five past nine, or minute 905 of the day, or neither."""

from __future__ import annotations

import re
from itertools import pairwise

from methods.logs.sketch import Cells
from methods.logs.stamps.stamp_formats import compiled
from methods.quantities.durations import DAY_MS, HOUR_MS, MINUTE_MS

_PLAIN = re.compile(r"\d{1,6}")
_FRACTION = re.compile(r"\d{1,2}[.,]\d{1,12}|\d{1,2}")
_WORDS = {
    "%<hhmm>": "hours and minutes", "%<hhmmss>": "hours, minutes and seconds", "%<min>": "minutes since midnight",
    "%<s>": "seconds since midnight", "%<h>": "hours since midnight", "%<d>": "a fraction of the day",
}  # fmt: skip


def number_forms(cells: Cells) -> tuple[str, ...]:
    """The formats in which numbers beside a date can all be times of day; one where they can be nothing else."""
    if not cells:
        return ()
    if all(map(_PLAIN.fullmatch, cells)):
        wide = max(map(len, cells)) > 4
        digits, count = ("%<hhmmss>", "%<s>") if wide else ("%<hhmm>", "%<min>")
        able = [form for form in (digits, count, *(() if wide else ("%<h>",))) if _reads(form, cells)]
        if digits in able and (is_padded(cells) or _steps_over_the_hour(digits, count, cells)):
            return (digits,)
        return tuple(able)
    if all(map(_FRACTION.fullmatch, cells)):
        return tuple(form for form in ("%<d>", "%<h>") if _reads(form, cells))
    return ()


def _reads(form: str, cells: Cells) -> bool:
    return all((ms := compiled(form).parse(cell)) is not None and ms <= DAY_MS for cell in cells)


def is_padded(cells: Cells) -> bool:
    """Four or six digits throughout, some with a zero in front: no count is written so."""
    return len({len(cell) for cell in cells}) == 1 and len(cells[0]) in (4, 6) and any(c[0] == "0" for c in cells)


def _steps_over_the_hour(digits: str, count: str, cells: Cells) -> bool:
    """Whether 959 is followed by 1000 as 958 is by 959: even steps as digits, uneven ones as a count."""
    as_digits, as_count = _steps(digits, cells), _steps(count, cells)
    step = max(set(as_digits), key=as_digits.count, default=0)
    over = [i for i, (a, b) in enumerate(pairwise(cells)) if a[:-2] != b[:-2] or len(a) != len(b)]
    return 0 < step < HOUR_MS and any(as_digits[i] == step != as_count[i] for i in over)


def _steps(form: str, cells: Cells) -> list[int]:
    stamps = [compiled(form).parse(cell) for cell in cells]
    return [-1 if a is None or b is None else b - a for a, b in pairwise(stamps)]


def number_choices(cells: Cells, forms: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """(format, words with what the first cell means)."""
    shown = [(form, compiled(form).parse(cells[0]) or 0) for form in forms]
    return tuple((form, f"{_WORDS[form]}: the first is {_clock(ms)}") for form, ms in shown)


def _clock(ms: int) -> str:
    seconds = ms // 1000
    return f"{ms // HOUR_MS:02d}:{ms // MINUTE_MS % 60:02d}:{seconds % 60:02d}"
