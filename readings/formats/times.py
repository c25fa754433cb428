"""Which columns hold the time of a reading, and how to read it."""

from __future__ import annotations

from dataclasses import replace

from readings.formats import guess
from readings.formats.moments import compiled, show
from readings.formats.table import Cells, Sketch
from readings.formats.types import EPOCH, LOCAL, UTC, Question, Role

SAMPLE = 60
_EPOCHS = (("epoch_s", 9.0e8, 4.2e9), ("epoch_ms", 9.0e11, 4.2e12))
_SERIALS = (20_000.0, 80_000.0)


def find_time(sketch: Sketch) -> bool:
    """Sets the roles, ``stamp_format`` and ``basis``; asks where it cannot. Whether a usable time was found."""
    fits = {i: _fits(sketch, i) for i in range(sketch.width)}
    kinds: dict[str, list[int]] = {"datetime": [], "date": [], "time": []}
    for i, found in fits.items():
        if found:
            kinds[found[0].kind].append(i)
    if kinds["datetime"]:
        return _one_column(sketch, kinds["datetime"], fits)
    if _counted(sketch):
        return True
    dates, times = _ranked(sketch, kinds["date"]), _ranked(sketch, kinds["time"])
    if dates and times:
        return _two_columns(sketch, dates[0], min(times, key=lambda t: abs(t - dates[0])), fits)
    if dates:
        return _one_column(sketch, dates, fits)
    _ask_for_time(sketch, has_times=bool(times))
    return False


def _fits(sketch: Sketch, i: int) -> list[guess.Fit]:
    cells = _spread(sketch.cells(i))
    if not cells:
        return []
    found = guess.fits(cells)
    word = sketch.headings[i].time_word
    if sketch.headings[i].parameter and not word:
        return []
    plain_numbers = all(_is_decimal(cell) for cell in cells)
    if plain_numbers and found and not word:  # "18.05" is a time only where something says so, "20240131" also in front
        return found if found[0].kind != "time" and i == 0 else []
    return found


def _spread(cells: Cells) -> Cells:
    step = max(1, len(cells) // SAMPLE)
    return cells[::step][: SAMPLE + 1]


def _is_decimal(text: str) -> bool:
    return text.replace(".", "", 1).replace(",", "", 1).isdigit()


_WORD_RANK = {"stamp": 0, "date": 1, "time": 1, "": 2}


def _ranked(sketch: Sketch, columns: list[int]) -> list[int]:
    return sorted(columns, key=lambda i: (_WORD_RANK[sketch.headings[i].time_word], i))


def _one_column(sketch: Sketch, columns: list[int], fits: dict[int, list[guess.Fit]]) -> bool:
    ranked = _ranked(sketch, columns)
    rank = _WORD_RANK[sketch.headings[ranked[0]].time_word]
    rivals = [i for i in ranked if _WORD_RANK[sketch.headings[i].time_word] == rank and _differs(sketch, i, ranked[0])]
    if rivals:
        choices = tuple((str(i), _shown(sketch, i)) for i in (ranked[0], *rivals))
        sketch.questions.append(
            Question(
                "stamp_column", "Several columns hold a date and time: which one is the time of the reading?", choices
            )
        )
    _use(sketch, ranked[0], fits[ranked[0]][0].text)
    return True


def _differs(sketch: Sketch, i: int, other: int) -> bool:
    return i != other and sketch.cells(i)[:20] != sketch.cells(other)[:20]


def _shown(sketch: Sketch, i: int) -> str:
    name = sketch.layout.columns[i].name or f"column {i + 1}"
    return f"{name}: {sketch.cells(i)[0]}"


def _use(sketch: Sketch, i: int, form: str, basis: str = "") -> None:
    sketch.set_column(i, role=Role.STAMP)
    sketch.put(stamp_format=form, basis=basis or (UTC if compiled(form).has_zone else LOCAL))


def _two_columns(sketch: Sketch, date: int, time: int, fits: dict[int, list[guess.Fit]]) -> bool:
    sketch.set_column(date, role=Role.DATE)
    sketch.set_column(time, role=Role.TIME)
    form = f"{fits[date][0].text} {fits[time][0].text}"
    sketch.put(stamp_format=form, basis=UTC if compiled(form).has_zone else LOCAL)
    return True


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
                return True
        if word and _SERIALS[0] <= min(numbers) and max(numbers) < _SERIALS[1]:
            _use(sketch, i, "serial_1900")
            _ask_for_epoch(sketch, i)
            return True
    return False


def _numbers(cells: Cells) -> list[float]:
    """Empty unless nearly all cells are plain numbers."""
    found = []
    for cell in cells:
        try:
            found.append(float(cell.replace(",", ".", 1)))
        except ValueError:
            continue
    return found if len(found) > 0.9 * len(cells) else []


def _ask_for_epoch(sketch: Sketch, i: int) -> None:
    if sketch.layout.reader == "xlsx":  # a workbook says which of the two it counts by
        return
    cell = sketch.cells(i)[0]
    choices = tuple(
        (form, f"{words}: the first reading is of {show(ms)}")
        for form, words in (("serial_1900", "days since 1900"), ("serial_1904", "days since 1904"))
        if (ms := compiled(form).parse(cell)) is not None
    )
    sketch.questions.append(
        Question("serial_epoch", "The time is a spreadsheet's day number: which day does it count from?", choices, i)
    )


def _ask_for_time(sketch: Sketch, *, has_times: bool) -> None:
    if has_times:
        text = "The file has times but no dates: export it with the date, or say which column holds it."
    else:
        text = "No column was recognised as the date and time of the readings: which one is it?"
    choices = tuple((str(i), _shown(sketch, i)) for i in range(sketch.width) if sketch.cells(i))
    sketch.questions.append(Question("no_time", text, choices))


def settle_order(sketch: Sketch, form: str, *, day_first: bool | None) -> None:
    sketch.layout = replace(sketch.layout, stamp_format=form, day_first=day_first)
