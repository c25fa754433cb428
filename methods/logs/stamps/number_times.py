"""Times of day as numbers beside a date: 905 is five past nine, or minute 905 of the day, or neither."""

from __future__ import annotations

import re
from itertools import pairwise

from methods.logs.sketch import Cells
from methods.logs.stamps.stamp_detection import Fit
from methods.logs.stamps.stamp_formats import compiled
from methods.quantities.durations import DAY_MS, HOUR_MS, MINUTE_MS

#: So many of the first cells are shown with what they mean.
SHOWN = 3
_PLAIN = re.compile(r"\d{1,6}")
_FRACTION = re.compile(r"\d{1,2}[.,]\d{1,12}|\d{1,2}")
#: Hours and minutes with a point, as plain decimals are written.
POINTED = "%H.%M"
_POINT = re.compile(r"\d{1,2}\.\d{2}")
_WORDS = {
    POINTED: "hours and minutes",
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
        if has_pointed_times(cells):
            return (POINTED,)
        return tuple(form for form in (POINTED, "%<d>", "%<h>") if _reads(form, cells))
    return ()


def has_pointed_times(cells: Cells) -> bool:
    """Whether numbers with a point are surely hours and minutes: 9.59 is followed by 10.00, or zeros stand in front.

    Decimal hours, 0.00 and 0.50, are written in the same way; a cell like 0.75 is nothing else.
    """
    if not all(_POINT.fullmatch(cell) and int(cell[-2:]) < 60 for cell in cells):
        return False
    padded = len(set(map(len, cells))) == 1 and any(cell[0] == "0" for cell in cells) and len(cells[0]) == 5
    pointed, decimal = (_are_even(_steps(form, cells)) for form in (POINTED, "%<h>"))
    return not decimal if pointed else padded and not decimal


def without_decimals(fits: list[Fit], cells: Cells) -> list[Fit]:
    """``fits`` of a column without that as hours, a point and minutes, where plain decimals may be hours."""
    may_be_hours = any(fit.text == POINTED for fit in fits) and not has_pointed_times(cells)
    return (
        [fit for fit in fits if fit.text != POINTED] if may_be_hours and all(map(_FRACTION.fullmatch, cells)) else fits
    )


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


def _are_even(steps: list[int]) -> bool:
    """Nearly all as long as most: a logger may have paused."""
    step = max(set(steps), key=steps.count, default=0)
    return step > 0 and steps.count(step) > 0.8 * len(steps)


def _steps(form: str, cells: Cells) -> list[int]:
    stamps = [compiled(form).parse(cell) for cell in cells]
    return [-1 if a is None or b is None else b - a for a, b in pairwise(stamps)]


def number_choices(cells: Cells, forms: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    """(format, words with what the first cells mean)."""
    first = list(dict.fromkeys(cells))[:SHOWN]
    return tuple((form, f"{_WORDS[form]}: {_shown(form, first)}") for form in forms)


def _shown(form: str, cells: Cells) -> str:
    return ", ".join(f"{cell} is {_clock(compiled(form).parse(cell) or 0)}" for cell in cells)


def _clock(ms: int) -> str:
    seconds = ms // 1000
    return f"{ms // HOUR_MS:02d}:{ms // MINUTE_MS % 60:02d}:{seconds % 60:02d}"
