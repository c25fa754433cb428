"""Which columns hold readings, of what and in which unit; what a person has to add."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from itertools import pairwise

from methods.logs.sketch import NUMBER, Cells, Sketch, is_code, is_number
from methods.logs.types import ColumnRole, Layout, LayoutQuestion
from methods.logs.values import numerals
from methods.logs.values.cells import DEFAULT_MISSING, MISSING_NUMBERS, is_formula
from methods.logs.words.state_words import names_state
from methods.logs.words.substance_words import parameters_in
from methods.logs.words.unit_spellings import fits, only_unit, read_unit, told_by_unit
from methods.quantities.substances import SUBSTANCES

#: Share of a column's cells that must be numbers or codes.
NUMERIC = 0.5
#: Share of a text column's cells that must be units, or names of parameters.
SPOKEN = 0.8
IGNORE_CHOICE = ("ignore", "nothing: leave this column out")
#: Of several columns that a question offers.
NONE_CHOICE = ("none", "none of these")


def find_values(sketch: Sketch) -> None:
    """Sets the roles, parameters and units of the columns that are left, and asks for what is missing."""
    taken = {c.index for c in sketch.layout.columns if c.role is not ColumnRole.IGNORE}
    rest = [i for i in range(sketch.width) if i not in taken | _asked_as_time(sketch)]
    numeric = [i for i in rest if _is_numeric(sketch, i) and not _is_row_number(sketch, i)]
    texts = [i for i in rest if i not in numeric and sketch.cells(i)]
    units = [i for i in texts if _is_unit_column(sketch, i)]
    names = [i for i in texts if i not in units and _is_parameter_column(sketch, i)]
    values = _chosen(sketch, numeric, is_long=bool(names))
    sketch.put(missing_codes=DEFAULT_MISSING)
    _settle_numerals(sketch, [*values, *(c.index for c in sketch.layout.columns if c.role is ColumnRole.HOURLY)])
    for i in units:
        sketch.set_column(i, role=ColumnRole.UNIT)
    if names and len(values) == 1:
        sketch.set_column(names[0], role=ColumnRole.PARAMETER)
        sketch.set_column(values[0], role=ColumnRole.VALUE)
        return
    for i in values:
        _name_value(sketch, i, units)
    sketch.questions += twin_questions(sketch.layout, sketch.cells)


def _asked_as_time(sketch: Sketch) -> set[int]:
    """Columns of which another question asks whether, and how, they say the time."""
    parts = {
        i
        for q in sketch.questions
        if q.code == "time_parts"
        for value, _ in q.choices
        for i in range(len(value.split()))
    }
    clocks = {q.column for q in sketch.questions if q.code == "clock_column" and len(q.choices) > 1}
    return parts | {at for at in clocks if at is not None}


def _is_numeric(sketch: Sketch, i: int) -> bool:
    """Also cells that are no numbers yet, or not understood, where the heading leaves nothing open: each is named."""
    cells, named = sketch.cells(i), sketch.headings[i]
    if not cells and names_state(sketch.column_named(i)):
        return False
    if named.parameter and not named.other and (not cells or (named.unit and not named.long_word)):
        return True
    if not cells:
        return False
    numbers = sum(is_number(cell) for cell in cells)
    codes = sum(is_code(cell) for cell in cells)
    told = numbers > 0 or bool(named.parameter) or any(is_formula(cell) for cell in cells)
    return (numbers + codes) / len(cells) >= NUMERIC and told


def _is_row_number(sketch: Sketch, i: int) -> bool:
    """Whole numbers counting up by one, in a first column that is named as no parameter."""
    cells = sketch.cells(i)
    if (
        i > 0
        or sketch.headings[i].parameter
        or len(cells) < 3
        or not all(cell.isascii() and cell.isdigit() for cell in cells)
    ):
        return False
    numbers = [int(cell) for cell in cells]
    return all(b - a == 1 for a, b in pairwise(numbers))


def _is_unit_column(sketch: Sketch, i: int) -> bool:
    cells = sketch.cells(i)
    parameters = [h.parameter for h in sketch.headings if h.parameter]
    beside = parameters[0] if len(parameters) == 1 else None
    return sum(read_unit(cell, beside) is not None for cell in cells) >= SPOKEN * len(cells)


def _is_parameter_column(sketch: Sketch, i: int) -> bool:
    cells = sketch.cells(i)
    known = parameters_in(cells)
    needed = 0.3 if sketch.headings[i].long_word == "parameter" else SPOKEN
    return known >= needed * len(cells)


def _chosen(sketch: Sketch, numeric: list[int], *, is_long: bool) -> list[int]:
    """Leaves out what the header says is something else, and the spread beside a mean."""
    headings = sketch.headings
    if is_long:
        named = [i for i in numeric if headings[i].long_word == "value"]
        return named[:1] or [i for i in numeric if not headings[i].other][:1]
    kept = [i for i in numeric if not headings[i].other]
    centred = {headings[i].parameter for i in kept if headings[i].parameter and not headings[i].spread}
    kept = [i for i in kept if not (headings[i].spread and (headings[i].parameter in centred))]
    meant = {headings[i].parameter for i in kept if headings[i].mean and not headings[i].spread}
    return [i for i in kept if headings[i].parameter not in meant or headings[i].mean or not headings[i].parameter]


def _settle_numerals(sketch: Sketch, values: list[int]) -> None:
    cells = [cell for i in values for cell in sketch.cells(i) if is_number(cell) and cell not in MISSING_NUMBERS]
    stripped = [m["number"].strip() for cell in cells if (m := NUMBER.fullmatch(cell))]
    evidence = numerals.weigh(stripped)
    decimal, thousands, unclear = numerals.decide(evidence)
    sketch.marks_seen = evidence != numerals.Evidence()
    sketch.put(decimal=decimal, thousands=thousands)
    whole, grouped = _whole_columns(sketch, values)
    sketch.put(whole=whole)
    if evidence.is_mixed:
        sketch.questions.append(mixed_question(stripped))
    elif unclear:
        sketch.questions.append(decimal_question(next(cell for cell in stripped if "," in cell)))
    elif grouped and decimal == "." and not evidence.decimal_point:
        sketch.questions.append(decimal_question(grouped[0]))


_GROUPED = re.compile(r"[1-9]\d{0,2}\.\d{3}")


def _whole_columns(sketch: Sketch, values: list[int]) -> tuple[tuple[int, ...], list[str]]:
    """Columns that hold whole numbers of three digits, and cells among them whose point may part thousands."""
    whole, grouped = [], []
    for i in values:
        cells = sketch.cells(i)
        pointed = [cell for cell in cells if _GROUPED.fullmatch(cell)]
        plain = [cell for cell in cells if cell.isdigit()]
        if any(len(cell) == 3 for cell in plain) and len(plain) + len(pointed) == len(cells):
            whole.append(i)
            grouped += pointed
    return tuple(whole), grouped


def decimal_question(example: str) -> LayoutQuestion:
    mark, other, name = (",", ".", "comma") if "," in example else (".", ",", "point")
    return LayoutQuestion(
        "decimal",
        f"Is “{example}” a number with decimals, or does the {name} separate thousands?",
        ((mark, f"decimals: {example.replace(mark, '.')}"), (other, f"thousands: {example.replace(mark, '')}")),
    )


def mixed_question(cells: Cells) -> LayoutQuestion:
    """``cells``: among them some with a decimal point and some with a decimal comma."""
    kinds = [(cell, numerals.weigh([cell])) for cell in cells]
    point = next(cell for cell, kind in kinds if kind.decimal_point)
    comma = next(cell for cell, kind in kinds if kind.decimal_comma)
    return LayoutQuestion(
        "mixed_decimals",
        f"Both “{point}” and “{comma}” stand in this file: which mark stands before its decimals? Numbers with the "
        "other one are named with their lines and not stored.",
        ((".", f"the point, as in {point}"), (",", f"the comma, as in {comma}")),
    )


def _name_value(sketch: Sketch, i: int, units: list[int]) -> None:
    named = sketch.headings[i]
    parameter = named.parameter
    of_cells = None if named.unit or named.unclear else _unit_of_cells(sketch, i, parameter)
    unit = named.unit or of_cells or _unit_beside(sketch, i, parameter, units)
    unit = None if named.unclear else unit or (only_unit(parameter) if parameter else None)
    if unit and parameter and not fits(unit, parameter):
        unit = None
    if parameter is None and not named.unit and (told := told_by_unit(unit)) and SUBSTANCES[told].is_climate:
        parameter = told
    in_cells = of_cells is not None and unit == of_cells
    sketch.set_column(i, role=ColumnRole.VALUE, parameter=parameter, unit=unit, unit_in_cells=in_cells)
    if parameter is None:
        sketch.questions.append(parameter_question(i, _shown_name(sketch, i), sketch.cells(i)))
    elif unit is None:
        cells = sorted(sketch.cells(i), key=lambda cell: not cell[-1:].isdigit())  # one without a unit, if there is
        sketch.questions.append(unit_question(i, _shown_name(sketch, i), parameter, list(dict.fromkeys(cells))))


def _shown_name(sketch: Sketch, i: int) -> str:
    return sketch.layout.columns[i].name or f"column {i + 1}"


def _unit_of_cells(sketch: Sketch, i: int, parameter: str | None) -> str | None:
    """The unit that stands in all cells ("0.03 ppm"), if it is one and the same."""
    cells = [cell for cell in sketch.cells(i) if cell not in MISSING_NUMBERS]
    tails = Counter((m["unit"] or "").strip() for cell in cells if (m := NUMBER.fullmatch(cell)))
    units = {unit for tail in tails if (unit := read_unit(tail, parameter))}
    return units.pop() if len(units) == 1 and not tails[""] else None


def _unit_beside(sketch: Sketch, i: int, parameter: str | None, units: list[int]) -> str | None:
    for at in (i + 1, i - 1):
        if at in units:
            found = {read_unit(cell, parameter) for cell in sketch.cells(at)} - {None}
            return found.pop() if len(found) == 1 else None
    return None


def parameter_question(at: int, name: str, cells: Cells) -> LayoutQuestion:
    """``at`` is the place in ``Layout.columns``."""
    examples = ", ".join(cells[:3])
    choices = (*((p.code, p.label) for p in SUBSTANCES.values()), IGNORE_CHOICE)
    return LayoutQuestion(
        "parameter", f"What does “{name}” measure? It holds {examples or 'nothing yet'}.", choices, at
    )


def unit_question(at: int, name: str, parameter: str, cells: Cells) -> LayoutQuestion:
    examples = ", ".join(cells[:3])
    choices = (*((unit, unit) for unit in SUBSTANCES[parameter].units), IGNORE_CHOICE)
    return LayoutQuestion("unit", f"In which unit is “{name}”? It holds {examples or 'nothing yet'}.", choices, at)


def twin_questions(layout: Layout, cells_of: Callable[[int], Cells] = lambda _: []) -> list[LayoutQuestion]:
    """Two columns of one parameter in one unit, of one probe: an instrument has one channel for it. Choices are places.

    ``cells_of``: the first texts of a column of the file.
    """
    places: dict[tuple[str, str | None, str], list[int]] = {}
    for at, column in enumerate(layout.columns):
        if column.role is ColumnRole.VALUE and column.parameter:
            places.setdefault((column.parameter, column.unit, column.probe), []).append(at)
    questions = []
    for (parameter, *_), twins in places.items():
        if len(twins) > 1:
            choices = (*((str(at), column_words(layout, at, cells_of)) for at in twins), NONE_CHOICE)
            text = f"{len(twins)} columns hold {SUBSTANCES[parameter].name.lower()}: which one is to be used?"
            questions.append(LayoutQuestion("same_parameter", text, choices, twins[0]))
    return questions


def column_words(layout: Layout, at: int, cells_of: Callable[[int], Cells]) -> str:
    """A column as a choice: its name, and how it begins."""
    column = layout.columns[at]
    name = column.name or f"column {column.index + 1}"
    begins = ", ".join(list(dict.fromkeys(cells_of(column.index)))[:3])
    return f"{name}: {begins}" if begins else name
