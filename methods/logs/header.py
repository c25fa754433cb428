"""Where the names and the units of the columns stand, above the data."""

from __future__ import annotations

from collections.abc import Callable

from methods.logs.sketch import Cells, Sketch, has_moment, is_blank, is_number, looks_like_data
from methods.logs.stamps.hour_columns import hour_header
from methods.logs.stamps.said_moments import moments_in
from methods.logs.words.unit_spellings import read_unit
from methods.logs.words.vocabulary import heading, statistic_of

#: Other ways of cutting the line with this index: a header may be written with another delimiter than the data.
Resplit = Callable[[int], list[Cells]]
#: A header has at most so many lines: names, units, statistics, and serial numbers or channels.
HIGHEST = 4


def find_header(sketch: Sketch, resplit: Resplit) -> None:
    """Sets the names, ``header_line``, ``units_line`` and ``first_data_line`` of the sketch's layout."""
    first = sketch.layout.first_data_line - 1
    hours = hour_header(sketch)
    if hours is not None:
        sketch.set_names(sketch.rows[hours])
        sketch.put(header_line=hours + 1)
        return
    lowest = _nearest(sketch, first, resplit)
    if lowest is None:
        return
    stack = _Stack(sketch, lowest)
    at, below = stack.names_at, range(stack.names_at + 1, lowest + 1)
    if sketch.layout.delimiter == "," and _too_few(sketch, sketch.rows[at]):
        sketch.flaw = (at + 1, len(sketch.rows[at]))
        return
    names, units_at = _fitted(sketch, at, resplit), None
    above = _above(sketch, at)
    if below:
        names, units_at = _with_lines_below(sketch, names, below)
    elif above is not None and _is_units(sketch.rows[at], _fitted(sketch, above, resplit)):
        names, units_at, at = _fitted(sketch, above, resplit), at, above
    if not below and units_at is None:
        names, units_at = _with_lines_above(sketch, at, names, above)
    if units_at is not None:
        names = [_with_unit(n, u) for n, u in zip(names, _padded(sketch, sketch.rows[units_at]), strict=True)]
    sketch.set_names(names)
    start = max(at, lowest, units_at if units_at is not None else 0) + 2
    sketch.put(header_line=at + 1, units_line=units_at + 1 if units_at is not None else 0, first_data_line=start)


class _Stack:
    """The lines of a header that stand on each other, from the ``lowest`` up: names, units, statistics, and what tells
    the channels apart. Without a line of units or statistics below another one there is but one line of names."""

    def __init__(self, sketch: Sketch, lowest: int) -> None:
        self.names_at = lowest
        lines = [lowest]
        while len(lines) < HIGHEST and lines[-1] > 0 and _stands_on(sketch, lines[-1] - 1):
            lines.append(lines[-1] - 1)
        spoken = {at: _spoken(sketch.rows[at]) for at in lines}
        best = max(lines, key=lambda at: (spoken[at], at))
        between = [sketch.rows[at] for at in lines if at > best]
        if spoken[best] and any(_is_statistics(row) or _is_bare_units(row) for row in between):
            self.names_at = best


def _stands_on(sketch: Sketch, at: int) -> bool:
    row = sketch.rows[at]
    return not is_blank(row) and _could_be_names(row) and len(row) >= max(2, sketch.width - 1)


def _spoken(row: Cells) -> int:
    """How many names of times and parameters it has; a unit or a statistic is none."""
    words = [cell for cell in row if cell.strip() and not read_unit(cell) and not statistic_of(cell)]
    return sum(bool(h.time_word or h.parameter) for h in map(heading, words))


def _is_statistics(row: Cells) -> bool:
    filled = [cell for cell in row if cell.strip()]
    kinds = [bool(statistic_of(cell)) for cell in filled]
    return any(kinds) and all(kind or heading(cell).time_word for kind, cell in zip(kinds, filled, strict=True))


def _is_bare_units(row: Cells) -> bool:
    """Units and nothing that is called by a name."""
    filled = [cell for cell in row if cell.strip()]
    return any(read_unit(cell) for cell in filled) and not _spoken(row)


def _with_lines_below(sketch: Sketch, names: Cells, below: range) -> tuple[Cells, int | None]:
    """``names`` with the statistics below them, and with what else tells two columns apart; the line of units."""
    units_at = next((at for at in below if _is_bare_units(sketch.rows[at])), None)
    for at in below:
        row = _padded(sketch, sketch.rows[at])
        if at == units_at:
            continue
        joined = [f"{name} {cell.strip()}".strip() for name, cell in zip(names, row, strict=True)]
        if _is_statistics(row):
            names = [_joined(name, cell) for name, cell in zip(names, row, strict=True)]
        elif len(set(joined)) > len(set(names)) and _understood(joined) >= _understood(names):
            names = joined
    return names, units_at


def _joined(name: str, cell: str) -> str:
    """A statistic behind the name; a time that is named only below has its name there."""
    return f"{name} {cell.strip()}".strip() if statistic_of(cell) or not name.strip() else name


def _with_lines_above(sketch: Sketch, at: int, names: Cells, above: int | None) -> tuple[Cells, int | None]:
    """``names`` with statistics or the names of groups above them; the line of units above them."""
    if above is None or above != at - 1:
        return names, None
    if _is_units(sketch.rows[above], names):
        return names, above
    row = _padded(sketch, sketch.rows[above])
    if _is_statistics(row) and len(sketch.rows[above]) == len(sketch.rows[at]):
        return [_joined(name, cell) for name, cell in zip(names, row, strict=True)], None
    return _with_group_names(sketch, above, at, names), None


def _nearest(sketch: Sketch, first: int, resplit: Resplit) -> int | None:
    """The line of names: the nearest one above the data, past damaged data lines only where it speaks our words."""
    passed = 0
    for at in range(first - 1, max(-1, first - 12), -1):
        row = sketch.rows[at]
        if is_blank(row):
            continue
        if _could_be_names(row) and (_long_enough(sketch, row, resplit(at)) or _speaks(row)):
            return at if not passed or _speaks(row) else None
        if len(row) >= sketch.width - 1 or looks_like_data(row) or _is_date_line(row):
            passed += 1
            continue
        return None
    return None


def _long_enough(sketch: Sketch, row: Cells, others: list[Cells]) -> bool:
    return any(len(way) >= sketch.width - 1 for way in (row, *others))


def _too_few(sketch: Sketch, row: Cells) -> bool:
    """Fewer names than the lines have numbers, and neither a row number nor an empty column to explain it: the sign
    of commas both between the cells and inside the numbers."""
    filled = [i for i in range(sketch.width) if sketch.cells(i)]
    return 1 < len(row) < len(filled) and (len(row) < len(filled) - 1 or not _is_count(sketch.cells(0)))


def _is_count(cells: Cells) -> bool:
    return all(cell.isdigit() for cell in cells)


def _could_be_names(row: Cells) -> bool:
    filled = [cell for cell in row if cell.strip()]
    return bool(filled) and not any(is_number(cell) or has_moment(cell) for cell in filled) and not _is_date_line(row)


def _is_date_line(row: Cells) -> bool:
    """A date that holds for the lines below it, alone in its line."""
    filled = [cell for cell in row if cell.strip()]
    return len(filled) == 1 and bool(moments_in(filled[0]))


def _speaks(row: Cells) -> bool:
    """Names a time, a parameter or a unit."""
    known = [heading(cell) for cell in row]
    return any(h.time_word or h.parameter or h.unit for h in known)


def _above(sketch: Sketch, at: int) -> int | None:
    for i in range(at - 1, max(-1, at - 3), -1):
        row = sketch.rows[i]
        if not is_blank(row):
            return i if _could_be_names(row) and len(row) >= min(sketch.width - 1, 2) else None
    return None


def _is_units(row: Cells, names: Cells) -> bool:
    """At least one unit, and no name under a name: what is not a unit is a hint such as "hh:mm"."""
    if len(names) < len(row) and any(cell.strip() for cell in row[len(names) :]):
        return False
    pairs = [(cell.strip(), heading(name)) for cell, name in zip(row, names, strict=False) if cell.strip()]
    units = [cell for cell, named in pairs if read_unit(cell, named.parameter)]
    named = any(h.time_word or h.parameter for _, h in pairs)
    others = [cell for cell, _ in pairs if not read_unit(cell) and heading(cell).parameter]
    return bool(units) and named and not [c for c in others if c not in units]


def _with_unit(name: str, unit: str) -> str:
    bare = unit.strip().strip("[]()").strip()
    return f"{name} [{bare}]" if bare and read_unit(bare, heading(name).parameter) else name


def _with_group_names(sketch: Sketch, above: int | None, at: int, names: Cells) -> Cells:
    """A second line of names above ("Probe 1" over "CO2" and "Temp"), where it tells more than the one line does."""
    if above is None or above != at - 1 or len(sketch.rows[above]) != len(sketch.rows[at]):
        return names
    groups, last = [], ""
    for cell in _padded(sketch, sketch.rows[above]):
        last = cell.strip() or last
        groups.append(last)
    joined = [f"{group} {name}".strip() for group, name in zip(groups, names, strict=True)]
    better = _understood(joined) > _understood(names)
    parts_twins = len(set(joined)) > len(set(names)) and _understood(joined) == _understood(names)
    return joined if better or parts_twins else names


def _understood(names: Cells) -> int:
    return sum(bool(h.parameter) + bool(h.parameter and h.unit) + bool(h.time_word) for h in map(heading, names))


def _padded(sketch: Sketch, row: Cells) -> Cells:
    return [*row, *[""] * sketch.width][: sketch.width]


def _fitted(sketch: Sketch, at: int, resplit: Resplit) -> Cells:
    """The names of line ``at``, one for each column of the data."""
    width = sketch.width
    ways = [row for row in (sketch.rows[at], *resplit(at)) if row]
    for row in ways:
        if len(row) == width or (len(row) > width and not any(cell.strip() for cell in row[width:])):
            return row[:width]
    row = max(ways, key=lambda way: (len(way) <= width, len(way)))
    if len(row) == width - 1:
        return _one_short(sketch, row)
    sketch.short_names = row
    return _padded(sketch, row)


def _one_short(sketch: Sketch, row: Cells) -> Cells:
    """Data one field longer than the names: a last column that is empty, a date and time under one name, or a number
    of the row without a name in front."""
    if not sketch.cells(sketch.width - 1):
        return [*row, ""]
    for i, name in enumerate(row):
        both = [sketch.cells(i)[:5], sketch.cells(i + 1)[:5]]
        if heading(name).time_word and all(both) and all(has_moment(cell) for cells in both for cell in cells):
            return [*row[: i + 1], name, *row[i + 1 :]]
    return ["", *row]
