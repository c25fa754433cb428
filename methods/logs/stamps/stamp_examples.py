"""A stamp format as a person says it: written out, or by what the first stamp of the file means."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product

from methods.logs.layouts.compiled_layout import stamp_columns, with_stamp_format
from methods.logs.stamps.calendar_words import is_month
from methods.logs.stamps.date_order import DAY_FIRST, order_of, orders
from methods.logs.stamps.number_times import number_forms
from methods.logs.stamps.stamp_detection import formats_of, formats_without_year, kind_of
from methods.logs.stamps.stamp_formats import (
    NUMERIC,
    compiled,
    days_from_civil,
    split_format,
    start_of,
)
from methods.logs.types import Layout
from methods.quantities.durations import DAY_MS, HOUR_MS, MINUTE_MS
from methods.quantities.moments import EPOCH, MS

BAR = re.compile(r"\s*[|\t]\s*")
_RUN = re.compile(r"\d+|[^\W\d_]+|[^\w]+|_+")
_QUARTER, _FURTHEST = 15 * MINUTE_MS, 14 * HOUR_MS
_MOST_WAYS = 2_000
NO_TIME_IN_IT = "It names no time: write where the hour stands as %H, and the day as %d or %j."


def shown_format(form: str) -> str:
    """With bars where the parts stand in columns of their own."""
    return form.replace("\t", " | ")


def with_typed_format(layout: Layout, text: str) -> Layout:
    """``layout`` with stamps as ``text`` says: strptime-like, bars between columns. ValueError in words for people."""
    form, at = BAR.sub("\t", text.strip()), stamp_columns(layout)
    if not at:
        raise ValueError("Choose the column of the date and time first.")
    if form not in NUMERIC:
        compiled(form)
        if not re.search(r"%[HIdj]|%<", form):
            raise ValueError(NO_TIME_IN_IT)
    if len(at) > 1:
        form = "\t".join(split_format(form, len(at)))
    return _settled(layout, form)


def _settled(layout: Layout, form: str) -> Layout:
    """A format that somebody wrote out has the order that it was written in."""
    changed = with_stamp_format(layout, form)
    return replace(changed, day_first=order_of(form) == DAY_FIRST) if order_of(form) else changed


def with_example(layout: Layout, rows: Sequence[Sequence[str]], ms: int) -> Layout:
    """``layout`` with the format in which the first stamp of ``rows`` means ``ms``, and that reads most of the others.

    ``rows`` are cells of data lines; ``ms`` since 1970 on the logger's clock. What the stamps lack (a date, a year, the
    start) is taken from ``ms``. Raises ValueError where no format does, and where several do that may read
    another line otherwise; only the order of day and month is left open, and asked.
    """
    at = stamp_columns(layout)
    columns = [[row[i].strip() for i in at] for row in rows if max(at, default=0) < len(row)]
    stamps = [cells for cells in columns if all(cells)]
    if not at or not stamps:
        raise ValueError("Choose the column of the date and time first.")
    able = [form for form in dict.fromkeys(_ways(layout, stamps[0])) if _means(form, stamps[0], ms)]
    if not able:
        raise ValueError(f"“{' '.join(stamps[0])}” cannot mean that: type how it is written instead.")
    able = _most_able(layout, able, stamps)
    best = able[0]
    if others := [form for form in able if form not in orders(best)]:
        raise ValueError(_two_ways(best, others, stamps))
    changed = with_stamp_format(layout, best)
    if len(rival := [form for form in orders(best) if form in able]) == 1 and order_of(best):
        changed = replace(changed, day_first=order_of(rival[0]) == DAY_FIRST)
    return replace(changed, start_ms=_start(best, stamps[0], ms), sections="")


def _most_able(layout: Layout, able: list[str], stamps: list[list[str]]) -> list[str]:
    """Those that read the most stamps; the usual ways of writing before all others."""
    reads = {form: sum(_parsed(form, cells) is not None for cells in stamps) for form in able}
    able = [form for form in able if reads[form] == max(reads.values())]
    usual = set(_usual(layout, stamps[0]))
    return [form for form in able if form in usual] or able


def _parsed(form: str, cells: list[str]) -> int | None:
    return compiled(form).parse(" ".join(cells))


def _two_ways(best: str, others: list[str], stamps: list[list[str]]) -> str:
    """Two formats in which the first stamp means the same, in words, and a stamp that does not."""
    for form in others:
        for cells in stamps:
            ways = [_since_first(way, cells, stamps[0]) for way in (best, form)]
            if ways[0] != ways[1]:
                return _refusal(best, form, f", of which “{' '.join(cells)}” tells two different times")
    return _refusal(best, others[0], "")


def _refusal(best: str, other: str, proof: str) -> str:
    ways = f"“{shown_format(best)}” and “{shown_format(other)}”"
    return f"The first stamp means that in more than one way, {ways}{proof}: type how stamps are written instead."


def _since_first(form: str, cells: list[str], first: list[str]) -> int | None:
    ms, start = _parsed(form, cells), _parsed(form, first)
    return None if ms is None or start is None else ms - start


def _ways(layout: Layout, cells: list[str]) -> Iterator[str]:
    """The usual formats first; then any in which digits and months of the text stand for what they could."""
    yield from _usual(layout, cells)
    if sum(len(cell) for cell in cells) <= 40:
        for n, parts in enumerate(product(*(list(_assigned(cell)) for cell in cells))):
            if n < _MOST_WAYS:
                yield "\t".join(parts)


def _usual(layout: Layout, cells: list[str]) -> Iterator[str]:
    if len(cells) == 1:
        text = " ".join(cells[0].split())
        yield from formats_of(text)
        yield from formats_without_year(text)
        yield from sorted(NUMERIC)
    elif len(cells) == 2:
        dates, times = ([*formats_of(cell), *formats_without_year(cell)] for cell in cells)
        clocks = [form for form in times if kind_of(form) == "time"]
        yield from ("\t".join(pair) for pair in product(dates, [*clocks, *number_forms([cells[1]])]))
    if start_of(layout.stamp_format) == "start":
        yield layout.stamp_format


def _assigned(text: str) -> Iterator[str]:
    """Each run of digits as a part that it could be, or several that adjoin."""
    ways = [_of_run(run) for run in _RUN.findall(text)]
    for n, parts in enumerate(product(*ways)):
        if n < _MOST_WAYS:
            yield "".join(parts)


_WIDTHS = {
    1: ("%d", "%m", "%H", "%j"), 2: ("%d", "%m", "%y", "%H", "%M", "%S"), 3: ("%j",), 4: ("%Y", "%H%M"),
    6: ("%H%M%S", "%y%m%d", "%d%m%y"), 7: ("%Y%j",), 8: ("%Y%m%d", "%d%m%Y"), 12: ("%Y%m%d%H%M", "%d%m%Y%H%M"),
    14: ("%Y%m%d%H%M%S", "%d%m%Y%H%M%S"),
}  # fmt: skip


def _of_run(run: str) -> tuple[str, ...]:
    if run.isdigit():
        return _WIDTHS.get(len(run), (run,))
    return ("%b", run) if is_month(run) else (run.replace("%", "%%"),)


def _means(form: str, cells: list[str], ms: int) -> bool:
    try:
        parsed = compiled(form).parse(" ".join(cells))
    except ValueError:
        return False
    said = set(re.findall("%.", form))
    if parsed is None or {"%Y", "%y"} <= said or {"%j", "%m"} <= said or _lacks_hours(said):
        return False
    kind, parsed, wanted = start_of(form), parsed // 1000, ms // 1000
    if "%z" in form:
        return abs(parsed - wanted) * 1000 <= _FURTHEST and (parsed - wanted) * 1000 % _QUARTER == 0
    if kind == "year":
        first = (_year_start(ms) - _year_start(0, year=2000)) // 1000
        return parsed + first == wanted or parsed + first - DAY_MS // 1000 == wanted  # past a 29th of February
    if kind == "date":
        return bool(re.search("%[HI]|%<", form)) and parsed == wanted % (DAY_MS // 1000)
    return kind == "start" or parsed == wanted


def _lacks_hours(said: set[str]) -> bool:
    """Minutes without hours, or seconds without minutes, are no time of day."""
    return ("%M" in said and not said & {"%H", "%I", "%<"}) or ("%S" in said and not said & {"%M", "%<"})


def _year_start(ms: int, year: int = 0) -> int:
    return (days_from_civil(year or (EPOCH + ms * MS).year, 1, 1) or 0) * DAY_MS


def _start(form: str, cells: list[str], ms: int) -> int | None:
    kind = start_of(form)
    if kind == "start":
        return ms - (compiled(form).parse(" ".join(cells)) or 0)
    return {"date": ms // DAY_MS * DAY_MS, "year": _year_start(ms)}.get(kind)
