"""Stamps that name both ends of an interval, "08:00-09:00": told apart from times with an offset, and asked about.

``%<open>`` in a format stands for the other end while nobody has said which of the two is the stamp; then it is
``%<end>`` behind the stamp, or ``%<begin>`` before it (``methods.logs.stamps.stamp_formats``).
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from methods.logs.layouts.compiled_layout import with_stamp_format
from methods.logs.stamps.stamp_formats import BEGIN, END, OPEN, compiled
from methods.logs.types import Layout, LayoutQuestion
from methods.quantities.durations import DAY_MS, HOUR_MS, MINUTE_MS

CODE = "interval"
AT_START, AT_END, OFFSET = "start", "end", "offset"
_CLOCK = r"\d{1,2}(?P<s1>[:hH])\d{2}(?:(?P<s2>[:m])\d{2})?(?P<half>(?P<b>\s?)[aApP]\.?\s?[mM]\.?)?"
_OTHER = r"\d{1,2}(?P=s1)\d{2}(?(s2)(?P=s2)\d{2})(?(half)\s?[aApP]\.?\s?[mM]\.?)"
#: What stands between the ends: a dash of some kind, or "to" in a few languages.
_GAP = r"(?P<gap>\s?[-–—~〜]\s?|\s(?:to|till|until|bis|tot|til|à|a|al|às|do)\s)"
_INTERVAL = re.compile(rf"{_CLOCK}{_GAP}{_OTHER}(?P<tail> ?Uhr)?")
_COMPACT = re.compile(r"\d{4}(?:\d{2})?(?P<gap>[-–—])\d{4}(?:\d{2})?")
#: The stamp of a format that is open, what parts it from the other end, and the other end.
_ENDS = re.compile(rf"(?P<stamp>%[HI].*?%M(?:.?%S)?(?: ?%p)?){_GAP}{OPEN}")
#: Offsets that a clock can have: no further behind UTC, in steps of so much.
_FURTHEST, _STEPS = 12 * HOUR_MS, (0, 30 * MINUTE_MS, 45 * MINUTE_MS)
#: No interval that a log names is longer (common practice, no source).
_LONGEST = 12 * HOUR_MS
_SAID = (
    "Whether a stored value is a mean up to its stamp or from it on is said of the type of the instrument, or below, "
    "where a layout is kept."
)
_CHOICES = ((AT_START, "at the beginning of its interval"), (AT_END, "at the end of its interval"))


def interval_formats(text: str, *, compact: bool) -> list[str]:
    """The format of a time of day that names both ends of an interval; at most one."""
    if match := _INTERVAL.fullmatch(text):
        half = f"{match['b'] and ' '}%p" if match["half"] else ""
        seconds = f"{match['s2']}%S" if match["s2"] else ""
        clock = f"{'%I' if half else '%H'}{match['s1']}%M{seconds}{half}"
        return [f"{clock}{match['gap']}{OPEN}{match['tail'] or ''}"]
    if compact and (match := _COMPACT.fullmatch(text)) and len(text) in (9, 13):
        return [f"%H%M{'%S' if len(text) == 13 else ''}{match['gap']}{OPEN}"]
    return []


def is_open(form: str) -> bool:
    return OPEN in form


def doubtful(forms: Sequence[str], cells: Sequence[str]) -> set[str]:
    """Of ``forms`` that read ``cells``, those that take an interval for an offset, or an offset for an interval."""
    wrong = set()
    for form in forms:
        other = _as_offset(form)
        if "%z" in form and not _may_be_offsets(_behind_utc(form, cells)):
            wrong.add(form)
        if other != form and other in forms:
            ends = [ends for cell in cells if (ends := compiled(form).interval(cell)) is not None]
            if _may_be_offsets([end for _, end in ends]) and not _may_be_intervals(ends):
                wrong.add(form)
    return wrong


def _behind_utc(form: str, cells: Sequence[str]) -> list[int]:
    """How far the clocks of ``cells`` are behind UTC, ms; without those ahead of it, which no dash can be meant by."""
    offsets = (compiled(form).offset(cell) for cell in cells)
    return [-offset for offset in offsets if offset is not None and offset < 0]


def _may_be_offsets(offsets: Sequence[int]) -> bool:
    """One that a clock can have, or two an hour apart as summer time has them: not another one line by line."""
    kinds = sorted(set(offsets))
    changes = sum(a != b for a, b in pairwise(offsets))
    is_steady = len(kinds) < 2 or (len(kinds) == 2 and kinds[1] - kinds[0] == HOUR_MS and 2 * changes <= len(offsets))
    return is_steady and all(offset <= _FURTHEST and offset % HOUR_MS in _STEPS for offset in kinds)


def _may_be_intervals(ends: Sequence[tuple[int, int]]) -> bool:
    """All of one length, or each beginning where another ended."""
    lengths = {(end - begin) % DAY_MS or DAY_MS for begin, end in ends}
    follows = sum(a[1] % DAY_MS == b[0] % DAY_MS for a, b in pairwise(ends))
    return max(lengths) <= _LONGEST and (len(lengths) == 1 or 2 * follows >= len(ends))


def _as_offset(form: str) -> str:
    return form.replace(f"-{OPEN}", "%z")


def interval_question(form: str, cells: Sequence[str] = ()) -> LayoutQuestion | None:
    """Which end is the stamp: None where ``form`` is not open. ``cells``: texts of the stamps, where they are known."""
    if not is_open(form):
        return None
    if not cells:
        text = f"The time of each reading is an interval: at which end of it is its value stamped? {_SAID}"
        return LayoutQuestion(CODE, text, _CHOICES)
    ends = [ends for cell in cells if (ends := compiled(form).interval(cell)) is not None]
    shown = [_shown(ms) for ms in ends[0]] if ends else []
    choices = tuple(
        (value, f"{words}{f', {at}' if at else ''}")
        for (value, words), at in zip(_CHOICES, shown or ["", ""], strict=True)
    )
    first = cells[0][:60]
    text = f"The time of each reading is an interval (“{first}”): at which end of it is its value stamped? {_SAID}"
    if f"-{OPEN}" in form and ends and _may_be_offsets([end for _, end in ends]):
        text = (
            f"The time of each reading (“{first}”) can be an interval, or a time with its offset from UTC: which is "
            f"it? {_SAID}"
        )
        choices = (*choices, (OFFSET, f"neither: it is {shown[0]} on a clock {shown[1]} hours behind UTC"))
    return LayoutQuestion(CODE, text, choices)


def _shown(ms: int) -> str:
    return f"{ms // HOUR_MS:02d}:{ms // MINUTE_MS % 60:02d}"


def with_end(layout: Layout, choice: str) -> Layout:
    """``layout`` with its intervals stamped as was chosen; as it is where nothing of them is open."""
    if not is_open(layout.stamp_format):
        return layout
    if choice == OFFSET:
        return replace(with_stamp_format(layout, _as_offset(layout.stamp_format)), day_first=layout.day_first)
    return replace(layout, stamp_format=settled_form(layout.stamp_format, choice))


def settled_form(form: str, choice: str) -> str:
    if choice == AT_END:
        return _ENDS.sub(lambda match: f"{BEGIN}{match['gap']}{match['stamp']}", form)
    return form.replace(OPEN, END)


def end_said(form: str) -> str:
    """The choice that made ``form``; of one that says no interval that of an offset."""
    return "" if is_open(form) else AT_START if END in form else AT_END if BEGIN in form else OFFSET


def carried_end(fresh: str, settled: str) -> str:
    """``fresh``, a format of a next file, with its intervals stamped as in ``settled``."""
    return (
        settled_form(fresh, end_said(settled)) if is_open(fresh) and end_said(settled) in (AT_START, AT_END) else fresh
    )
