"""Which columns hold the time of a reading, and how to read it."""

from __future__ import annotations

import re
from collections.abc import Callable

from methods.logs.layouts.column_roles import NONE_CHOICE
from methods.logs.layouts.compiled_layout import stamp_columns
from methods.logs.layouts.tables_beside import refuse_tables, tables_of, tables_question
from methods.logs.sketch import Cells, Sketch
from methods.logs.stamps import stamp_detection
from methods.logs.stamps.date_order import orders
from methods.logs.stamps.dates_below import dates_below
from methods.logs.stamps.interval_stamps import interval_question
from methods.logs.stamps.lone_times import SERIAL_FROM, ask_which_parts, find_elapsed, find_without_year, is_early
from methods.logs.stamps.nearest_time import no_time_question
from methods.logs.stamps.number_times import is_padded, number_choices, number_forms, without_decimals
from methods.logs.stamps.rival_columns import TimeColumn, likeliest, pair_question
from methods.logs.stamps.stamp_formats import compiled, in_language, show
from methods.logs.stamps.time_parts import (
    DatePart,
    are_halves,
    find_named_parts,
    has_halves,
    nameless_question,
    use_parts,
)
from methods.logs.types import EPOCH, LOCAL, UTC, WORKBOOKS, ColumnRole, LayoutQuestion
from methods.logs.words.vocabulary import elapsed_words, is_bare_time

SAMPLE = 60
Fits = dict[int, list[stamp_detection.Fit]]
#: The choice of ``clock_column`` that leaves it at dates.
NO_CLOCK = "date"
_EPOCHS = (
    ("epoch_s", 9.0e8, 4.2e9), ("epoch_ms", 9.0e11, 4.2e12), ("epoch_us", 9.0e14, 4.2e15), ("epoch_ns", 9.0e17, 4.2e18),
)  # fmt: skip
_SERIALS = (float(SERIAL_FROM), 80_000.0)


def find_time(sketch: Sketch) -> bool:
    """Sets the roles, ``stamp_format`` and ``basis``; asks where it cannot. Whether a usable time was found."""
    fits = {i: _fits(sketch, i) for i in range(sketch.width)}
    kinds: dict[str, list[int]] = {"datetime": [], "date": [], "time": []}
    for i, column_fits in fits.items():
        for kind in dict.fromkeys(fit.kind for fit in column_fits):
            kinds[kind].append(i)
    if kinds["datetime"]:
        return _one_column(sketch, kinds["datetime"], fits)
    if _counted(sketch):
        return True
    dates = sorted(_ranked(sketch, kinds["date"]), key=lambda i: i in kinds["time"])  # "01.02.03" may be either
    times = [i for i in _ranked(sketch, kinds["time"]) if i not in dates[:1]]
    if dates and times:
        refuse_tables(sketch, [*kinds["date"], *kinds["time"]], run=2)
        return _date_and_time(sketch, dates, kinds["time"], fits)
    if dates:
        return _with_a_date(sketch, dates, fits)
    if parts := find_named_parts(sketch):
        return _in_parts(sketch, parts, times, fits)
    if sketch.layout.delimiter == " " and any(_words(sketch, ways) for ways in _WAYS):
        return True
    return _lacking(sketch, times, fits)


def _date_and_time(sketch: Sketch, dates: list[int], times: list[int], fits: Fits) -> bool:
    """The likeliest of each; what could be others is asked."""
    surely = [i for i in dates if i not in times] or dates[:1]
    of_dates = likeliest(sketch, [TimeColumn(i, _form(fits[i], "date")) for i in surely])
    others = [TimeColumn(i, _form(fits[i], "time")) for i in times if i != of_dates[0].index]
    of_times = likeliest(sketch, others, beside=of_dates[0].index)
    if question := pair_question(sketch, of_dates, of_times, _joined):
        sketch.questions.append(question)
    date, time = of_dates[0], of_times[0]
    return _two_columns(sketch, (date.index, date.form), (time.index, time.form))


def _with_a_date(sketch: Sketch, dates: list[int], fits: Fits) -> bool:
    """A date, and a time of day that is none of the usual: in parts, or a number."""
    date = (dates[0], _form(fits[dates[0]], "date"))
    if parts := find_named_parts(sketch, date):
        _settle(sketch, use_parts(sketch, parts))
        return True
    if clock := _number_clock(sketch, date[0], {date[0]}):
        return _two_columns(sketch, date, clock)
    _ask_for_clock(sketch, dates[0])
    return _one_column(sketch, dates, fits)


def _number_clock(sketch: Sketch, date: int, taken: set[int]) -> tuple[int, str] | None:
    """A column of numbers that can be nothing but times of day, and their format."""
    if has_halves(sketch):
        return None
    for i in _ranked(sketch, [i for i in range(sketch.width) if i not in taken and _may_be_clock(sketch, i, date)]):
        cells = sketch.cells(i)
        forms = number_forms(cells) if sketch.column_named(i) or is_padded(cells) else ()
        if len(forms) == 1 and forms[0] in ("%<hhmm>", "%<hhmmss>"):
            return i, forms[0]
    return None


def _may_be_clock(sketch: Sketch, i: int, date: int) -> bool:
    named = sketch.headings[i]
    is_beside = i == date + 1 and not named.unit and not sketch.column_named(i)
    return not named.parameter and (named.time_word in ("time", "stamp") or is_beside)


def _in_parts(sketch: Sketch, parts: list[DatePart], times: list[int], fits: Fits) -> bool:
    """The date in parts; the time of day in parts, too, or in a column of its own."""
    taken = {part.index for part in parts}
    clock = [i for i in times if i not in taken]
    if not any(part.role is ColumnRole.HOUR for part in parts):
        number = _number_clock(sketch, max(taken), taken)
        if clock:
            parts = [*parts, DatePart(clock[0], ColumnRole.TIME, _form(fits[clock[0]], "time"))]
        elif number:
            parts = [*parts, DatePart(number[0], ColumnRole.TIME, number[1])]
        else:
            _ask_for_clock(sketch, parts[-1].index)
    _settle(sketch, use_parts(sketch, parts))
    return True


def _lacking(sketch: Sketch, times: list[int], fits: Fits) -> bool:
    """Stamps that lack a year, a date or a start: what is lacking is asked when the whole file was seen."""
    if form := find_without_year(sketch):
        _settle(sketch, form)
        return True
    if find_elapsed(sketch):
        return True
    clock = [i for i in times if ":" in _form(fits[i], "time") or sketch.headings[i].time_word]
    if clock:
        form = _with_half(sketch, clock[0], _form(fits[clock[0]], "time"))
        _use(sketch, clock[0], form)
        refuse_tables(sketch, clock)
        if form == "%H:%M" and is_early(sketch):
            ask_which_parts(sketch, clock[0], form)
        return True
    if _ask_for_numbers(sketch):
        return True
    if question := nameless_question(sketch):
        sketch.questions.append(question)
        return True
    sketch.questions.append(no_time_question(sketch))
    return False


def _ask_for_numbers(sketch: Sketch) -> bool:
    """Decimals under a time's name, without a date: hours and minutes, or decimal hours of a day."""
    for i in range(sketch.width):
        cells, named = sketch.cells(i), sketch.headings[i]
        forms = number_forms(cells) if named.time_word and not named.parameter else ()
        if not forms or all(cell.isdigit() for cell in cells):
            continue
        text = (
            f"“{sketch.column_named(i)}” holds numbers ({', '.join(cells[:3])}), and no date is beside: what are they?"
        )
        sketch.questions.append(LayoutQuestion("elapsed_unit", text, number_choices(cells, forms), i))
        _use(sketch, i, forms[0])
        return True
    return False


def _fits(sketch: Sketch, i: int) -> list[stamp_detection.Fit]:
    cells = _spread(sketch.cells(i))
    if not cells:
        return []
    cell_fits = without_decimals(stamp_detection.fits(cells), sketch.cells(i))
    word = sketch.headings[i].time_word
    plain_numbers = all(_is_decimal(cell) for cell in cells)
    if plain_numbers and sketch.headings[i].parameter and not word:
        return []
    if (
        plain_numbers and cell_fits and not word
    ):  # "18.05" is a time only where something says so, "20240131" also in front
        return cell_fits if cell_fits[0].kind != "time" and i == 0 else []
    if word in ("time", "date"):
        cell_fits.sort(key=lambda fit: fit.kind not in (word, "datetime"))
    return cell_fits


def _form(column_fits: list[stamp_detection.Fit], kind: str) -> str:
    return next((fit.text for fit in column_fits if fit.kind == kind), "")


def _spread(cells: Cells) -> Cells:
    step = max(1, len(cells) // SAMPLE)
    return cells[::step][: SAMPLE + 1]


def _is_decimal(text: str) -> bool:
    return text.replace(".", "", 1).replace(",", "", 1).isdigit()


_WAYS = (stamp_detection.fits, stamp_detection.fits_without_year)


def _words(sketch: Sketch, ways: Callable[[Cells], list[stamp_detection.Fit]]) -> bool:
    """A stamp whose words are columns to a reader of blanks: 13 Mar 2024 18:00, with a year or without one."""
    for first in range(min(sketch.width, 3)):
        for last in range(min(first + 5, sketch.width - 1), first, -1):
            cells = [" ".join(row[first : last + 1]) for row in sketch.data[: SAMPLE + 1]]
            questions = [fit for fit in ways(cells) if "%b" in fit.text and fit.text.count(" ") == last - first]
            if questions:
                sketch.set_column(first, role=ColumnRole.DATE)
                for i in range(first + 1, last + 1):
                    sketch.set_column(i, role=ColumnRole.TIME)
                _spread_names(sketch, first, last)
                _settle(sketch, questions[0].text.replace(" ", "\t"))
                return True
    return False


def _spread_names(sketch: Sketch, first: int, last: int) -> None:
    """One name over all the words of the stamp moves the others to their places."""
    short = sketch.short_names
    if short and sketch.width - len(short) == last - first:
        sketch.set_names([*short[:first], *[short[first]] * (last - first + 1), *short[first + 1 :]])


_WORD_RANK = {"stamp": 0, "date": 1, "time": 1, "": 2}


def _ranked(sketch: Sketch, columns: list[int]) -> list[int]:
    return sorted(
        columns, key=lambda i: (_WORD_RANK[sketch.headings[i].time_word], not is_bare_time(sketch.column_named(i)), i)
    )


def _one_column(sketch: Sketch, columns: list[int], fits: Fits) -> bool:
    ranked = _ranked(sketch, columns)
    rank = _WORD_RANK[sketch.headings[ranked[0]].time_word]
    rivals = [i for i in ranked if _WORD_RANK[sketch.headings[i].time_word] == rank and _differs(sketch, i, ranked[0])]
    if tables := tables_of(sketch, [i for i in ranked if _is_of_a_log(sketch, i, rank)]):
        sketch.questions.append(tables_question(sketch, tables, {i: fits[i][0].text for run in tables for i in run}))
    elif rivals:
        choices = (*((f"{i} {fits[i][0].text}", _shown(sketch, i)) for i in (ranked[0], *rivals)), NONE_CHOICE)
        sketch.questions.append(
            LayoutQuestion(
                "stamp_column", "Several columns hold a date and time: which one is the time of the reading?", choices
            )
        )
    form = fits[ranked[0]][0].text
    times = [i for i, column_fits in fits.items() if i != ranked[0] and _form(column_fits, "time")]
    bare = _only_midnights(sketch, ranked[0], form)
    if bare and (parts := find_named_parts(sketch, (ranked[0], bare))):
        _settle(sketch, use_parts(sketch, parts))
        return True
    if times and bare:
        return _two_columns(sketch, (ranked[0], bare), (times[0], _form(fits[times[0]], "time")))
    _use(sketch, ranked[0], _with_half(sketch, ranked[0], form))
    return True


def _is_of_a_log(sketch: Sketch, i: int, rank: int) -> bool:
    """Called as the time of the reading is, or with another stamp in nearly each line."""
    cells = sketch.cells(i)
    return _WORD_RANK[sketch.headings[i].time_word] == rank or len(set(cells)) > 0.9 * len(cells)


def _only_midnights(sketch: Sketch, i: int, form: str) -> str:
    """A date written with a time of 00:00 although another column has the time: the format with that midnight in it."""
    tails = {cell.partition(" ")[2] for cell in sketch.cells(i)}
    tail = tails.pop() if len(tails) == 1 else ""
    is_midnight = bool(tail) and not any(c.isdigit() and c != "0" for c in tail) and " " in form
    return f"{form.partition(' ')[0]} {tail}" if is_midnight else ""


def _with_half(sketch: Sketch, i: int, form: str) -> str:
    """AM and PM in a column of their own, behind the time's."""
    halves = sketch.cells(i + 1) if i + 1 < sketch.width else []
    if not halves or "%I" in form or not are_halves(halves):
        return form
    sketch.set_column(i + 1, role=ColumnRole.TIME)
    return form.replace("%H", "%I") + "\t%p"


def _differs(sketch: Sketch, i: int, other: int) -> bool:
    return i != other and sketch.cells(i)[:20] != sketch.cells(other)[:20]


def _shown(sketch: Sketch, i: int) -> str:
    name = sketch.layout.columns[i].name or f"column {i + 1}"
    return f"{name}: {sketch.cells(i)[0]}"


def _use(sketch: Sketch, i: int, form: str, basis: str = "") -> None:
    sketch.set_column(i, role=ColumnRole.STAMP)
    _settle(sketch, form, basis)


def _settle(sketch: Sketch, form: str, basis: str = "") -> None:
    sketch.put(stamp_format=form, basis=basis or (UTC if compiled(form).has_zone else LOCAL))
    sketch.forms = orders(form)
    at = stamp_columns(sketch.layout)
    cells = [" ".join(row[i].strip() for i in at) for row in sketch.data if max(at, default=0) < len(row)]
    if question := interval_question(form, cells):
        sketch.questions.append(question)
    languages = stamp_detection.languages_of(form, cells)
    if len(languages) > 1:
        sketch.put(stamp_format=in_language(form, ""))
        sketch.forms = tuple(in_language(form, language) for language in languages)


def _two_columns(sketch: Sketch, date: tuple[int, str], time: tuple[int, str]) -> bool:
    sketch.set_column(date[0], role=ColumnRole.DATE)
    sketch.set_column(time[0], role=ColumnRole.TIME)
    clock = _with_half(sketch, time[0], time[1])
    sketch.put(dates_below=dates_below(sketch, date[0], *time))
    _settle(sketch, _joined(date[1], clock))
    return True


def _joined(date: str, clock: str) -> str:
    return f"{date}\t{clock}" if "\t" in clock or "%" not in date[-2:] else f"{date} {clock}"


def _counted(sketch: Sketch) -> bool:
    """Seconds or milliseconds since 1970, or a spreadsheet's days since 1900 or 1904."""
    for i in _ranked(sketch, list(range(sketch.width))):
        numbers = _numbers(sketch.cells(i))
        word = sketch.headings[i].time_word
        if not numbers or sketch.headings[i].parameter:
            continue
        for form, low, high in _EPOCHS:
            if low <= min(numbers) and max(numbers) < high and (word or numbers == sorted(numbers)):
                _use(sketch, i, form, EPOCH)
                refuse_tables(sketch, _within(sketch, low, high))
                return True
        is_days = elapsed_words(sketch.column_named(i))[1] == "d"
        if (word or is_days) and _SERIALS[0] <= min(numbers) and max(numbers) < _SERIALS[1]:
            _use(sketch, i, "serial_1900")
            refuse_tables(sketch, _within(sketch, *_SERIALS))
            _ask_for_epoch(sketch, i)
            return True
    return False


def _within(sketch: Sketch, low: float, high: float) -> list[int]:
    """Columns that are called a time and count between the two."""
    counts = {i: _numbers(sketch.cells(i)) for i in range(sketch.width) if sketch.headings[i].time_word}
    return [i for i, numbers in counts.items() if numbers and low <= min(numbers) and max(numbers) < high]


def _numbers(cells: Cells) -> list[float]:
    """Empty unless nearly all cells are plain numbers."""
    numbers = []
    for cell in cells:
        try:
            numbers.append(float(cell.replace(",", ".", 1)))
        except ValueError:
            continue
    return numbers if len(numbers) > 0.9 * len(cells) else []


def _ask_for_epoch(sketch: Sketch, i: int) -> None:
    if sketch.layout.reader in WORKBOOKS - {"html"}:  # a workbook says which of the two it counts by
        return
    cell = sketch.cells(i)[0]
    choices = tuple(
        (form, f"{words}: the first reading is of {show(ms)}")
        for form, words in (("serial_1900", "days since 1900"), ("serial_1904", "days since 1904"))
        if (ms := compiled(form).parse(cell)) is not None
    )
    sketch.questions.append(
        LayoutQuestion(
            "serial_epoch", "The time is a spreadsheet's day number: which day does it count from?", choices, i
        )
    )


#: What nobody takes for a number, and everybody for a time of day: digits, a mark that no number has, digits.
_LIKE_TIME = re.compile(r"\d{1,2}\s?[^\d\s.,+-]{1,3}\s?\d{2}\b.*|\d{1,2}-\d{2}-\d{2}")


def _ask_for_clock(sketch: Sketch, date: int) -> None:
    """Dates alone put every reading at midnight: not while another column is called a time, or looks like one."""
    for i in range(sketch.width):
        cells = sketch.cells(i)
        named = sketch.headings[i].time_word in ("time", "stamp") and not sketch.headings[i].parameter
        looks = bool(cells) and sum(_LIKE_TIME.fullmatch(cell) is not None for cell in cells) > len(cells) / 2
        if i != date and cells and (named or looks):
            name = sketch.layout.columns[i].name or f"column {i + 1}"
            sketch.questions.append(_clock_question(i, name, cells, has_half=has_halves(sketch)))
            return


def _clock_question(i: int, name: str, cells: Cells, *, has_half: bool) -> LayoutQuestion:
    text = (
        f"The date of each reading can be read, but not surely its time: is “{name}” the time of day? It begins with "
        f"“{cells[0]}”."
    )
    forms = () if has_half else number_choices(cells, number_forms(cells))
    if not forms:
        text += " If it is, say on this page how it is written, or export the file with times like 14:05:00."
    return LayoutQuestion("clock_column", text, ((NO_CLOCK, "no: the file has dates and no times"), *forms), i)
