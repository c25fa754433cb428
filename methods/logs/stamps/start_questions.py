"""When a file begins that does not say it in its stamps: asked, with what its lines, its name and today suggest."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime

from methods.logs.layouts.compiled_layout import stamp_columns
from methods.logs.sketch import Sketch
from methods.logs.stamps.lone_times import is_early, raw_stamps, with_direction
from methods.logs.stamps.said_moments import SaidMoment, date_form, moments_in, moments_in_name, unique, years_in
from methods.logs.stamps.stamp_formats import FIRST_MS, LAST_MS, NO_YEAR, days_from_civil, show, start_of
from methods.logs.types import DATE, MOMENT, YEAR, Layout, LayoutQuestion
from methods.quantities.durations import DAY_MS
from methods.quantities.moments import EPOCH, MS

CODE = "start"
SECTIONS = "sections"
_KINDS = {"date": DATE, "start": MOMENT, "year": YEAR}
_GENERIC = {
    "date": "The stamps are times of day without a date: of which date is the first reading?",
    "start": "The stamps count from a start: which date and time was that?",
    "year": "The dates name no year: of which year is the first reading?",
}
_MOST_CHOICES = 5
_QUOTED = 60


def open_start(layout: Layout) -> LayoutQuestion | None:
    """What ``layout`` leaves open of where its file begins, without what the file suggests."""
    kind = start_of(layout.stamp_format)
    if not kind or layout.start_ms is not None or layout.sections:
        return None
    return LayoutQuestion(CODE, _GENERIC[kind], (), answer_kind=_KINDS[kind])


def start_question(sketch: Sketch, name: str, handed_in: date | None) -> LayoutQuestion | None:
    """The same with what the file suggests: ``name`` is the file's, ``handed_in`` the day on which it came."""
    kind = start_of(sketch.layout.stamp_format)
    stamps = raw_stamps(sketch.layout, sketch.data) if kind else []
    if not stamps:
        return open_start(sketch.layout)
    sketch.layout = with_direction(sketch.layout, sketch.data)
    said = unique([*_above(sketch), *moments_in_name(name)])
    first = f"line {sketch.layout.first_data_line}, “{_first_text(sketch)}”"
    if kind == "year":
        text = f"The dates name no year: of which year is the first reading ({first})?"
        return LayoutQuestion(CODE, text, _years(said, stamps[0], name, handed_in), answer_kind=YEAR)
    if kind == "start":
        text = f"The stamps count the time gone by since a start ({first}): which date and time was the start?"
        return LayoutQuestion(CODE, text, _moments([s for s in said if s.has_time]), answer_kind=MOMENT)
    if is_early(sketch):
        text = (
            f"The stamps are times without a date and begin with {first}: which date and time does 00:00:00 stand for? "
            "Of times of day it is the midnight before the first reading, of time gone by the start."
        )
        days = [replace(s, ms=s.day_ms, has_time=False) for s in said]
        return LayoutQuestion(CODE, text, _moments(unique([*said, *days])), answer_kind=MOMENT)
    text = f"The stamps are times of day without a date: of which date is the first reading ({first})?"
    days = unique([replace(s, ms=s.day_ms) for s in said])
    choices = (*_between(sketch), *((f"{EPOCH + s.ms * MS:%Y-%m-%d}", _words(s, days_only=True)) for s in days))
    return LayoutQuestion(CODE, text, choices[:_MOST_CHOICES], answer_kind=DATE)


def _first_text(sketch: Sketch) -> str:
    row = sketch.data[0]
    return " ".join(row[at].strip() for at in stamp_columns(sketch.layout) if at < len(row))[:_QUOTED]


def _above(sketch: Sketch) -> list[SaidMoment]:
    lines = enumerate(sketch.rows[: sketch.layout.first_data_line - 1], 1)
    return [said for line, row in lines for said in moments_in(" ".join(cell for cell in row if cell), line)]


def _moments(said: list[SaidMoment]) -> tuple[tuple[str, str], ...]:
    return tuple((f"{EPOCH + s.ms * MS:%Y-%m-%dT%H:%M:%S}", _words(s)) for s in said[:_MOST_CHOICES])


def _words(said: SaidMoment, *, days_only: bool = False) -> str:
    shown = show(said.ms)[:10] if days_only else show(said.ms)
    return f"{shown}: {said.where} says “{said.text[:_QUOTED]}”"


def _between(sketch: Sketch) -> list[tuple[str, str]]:
    """Dates in lines between the readings, one choice for each order in which they could be meant."""
    first = sketch.layout.first_data_line
    inside = set(map(id, sketch.data))
    found: dict[str, SaidMoment] = {}
    for line, row in enumerate(sketch.rows[first - 1 :], first):
        if id(row) not in inside:
            for said in moments_in(" ".join(cell for cell in row if cell), line):
                found.setdefault(date_form(said.form), said)
    above = {date_form(said.form): said for said in _above(sketch)}
    choices = []
    for form, said in found.items():
        start = f"{EPOCH + above[form].ms * MS:%Y-%m-%d}" if form in above else ""
        words = (
            f"the dates in lines between the readings hold for the times below them (line {said.line}: “{said.text}”"
        )
        choices.append((f"{SECTIONS}|{form}|{start}", f"{words} is {show(said.ms)[:10]})"))
    return choices


def _years(said: list[SaidMoment], first: int, name: str, handed_in: date | None) -> tuple[tuple[str, str], ...]:
    found = {f"{(EPOCH + s.ms * MS).year}": f"{s.where} says “{s.text[:_QUOTED]}”" for s in reversed(said)}
    for year in years_in(name):
        found.setdefault(f"{year}", f"the name of the file says “{year}”")
    if handed_in is not None:
        since = first - (days_from_civil(NO_YEAR, 1, 1) or 0) * DAY_MS
        past = date(handed_in.year, 1, 1).toordinal() + since // DAY_MS <= handed_in.toordinal() + 1
        found.setdefault(f"{handed_in.year - (not past)}", f"the last one before the file was handed in ({handed_in})")
    return tuple((year, f"{year}: {words}") for year, words in list(found.items())[:_MOST_CHOICES])


# --- what is answered -------------------------------------------------------------------------------------------------


def with_start(layout: Layout, said: str) -> Layout:
    """``layout`` with its beginning as a choice or a typed text says. Raises ValueError, in words for people."""
    if said.startswith(SECTIONS):
        _, form, start = said.split("|")
        return replace(layout, sections=form, start_ms=typed_ms(start, DATE) if start else None)
    kind = start_of(layout.stamp_format)
    return replace(layout, start_ms=typed_ms(said, _KINDS.get(kind, MOMENT)), sections="")


def typed_ms(text: str, kind: str) -> int:
    """Milliseconds since 1970 of what was typed for an answer of ``kind``: 2024-03-13T08:00, 2024-03-13 or 2024."""
    text = text.strip()
    try:
        moment = datetime(int(text), 1, 1) if kind == YEAR else datetime.fromisoformat(text)  # noqa: DTZ001
        ms = (moment - EPOCH.replace(tzinfo=None)) // MS
    except (ValueError, TypeError, OverflowError):
        wanted = {DATE: "a date like 2024-03-13", YEAR: "a year like 2024"}.get(kind, "a time like 2024-03-13 08:00")
        raise ValueError(f"“{text[:_QUOTED]}” is not {wanted}.") from None
    if not FIRST_MS <= ms < LAST_MS:
        raise ValueError(f"“{text[:_QUOTED]}” is no year that a log can be of.")
    return ms


def typed_text(layout: Layout) -> str:
    """What a person would type, or choose, for what ``layout`` says; "" where it says nothing."""
    start = "" if layout.start_ms is None else f"{EPOCH + layout.start_ms * MS:%Y-%m-%dT%H:%M:%S}"
    if layout.sections:
        return f"{SECTIONS}|{layout.sections}|{start[:10]}"
    return {"year": start[:4], "date": start.removesuffix("T00:00:00")}.get(start_of(layout.stamp_format), start)
