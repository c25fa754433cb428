"""Which values a column of the line speaks of: a status, or a sign before or behind its value."""

from __future__ import annotations

from methods.logs.types import Column, ColumnRole, Layout
from methods.logs.words.substance_words import parameter_of, tokens


def meant_by(layout: Layout, column: Column) -> tuple[int, ...]:
    """Which of ``Layout.values`` a STATUS column speaks of: those of the parameter in its name; of several columns
    without one, each behind a value, that value; else all."""
    named = parameter_of(column.name)
    if named and (meant := tuple(k for k, c in enumerate(layout.values) if c.parameter == named)):
        return meant
    if stands_behind(layout, column):
        return tuple(k for k, c in enumerate(layout.values) if c.index == column.index - 1)
    return tuple(range(len(layout.values)))


def stands_behind(layout: Layout, column: Column) -> bool:
    """Whether ``column`` is one of several of its kind, each right behind a value: such as have its name count, too,
    when there is nothing in them."""
    places = {c.index for c in layout.values}
    name = _without_number(column.name)
    kin = [
        c
        for c in layout.columns
        if (c.role is column.role and not parameter_of(c.name))
        or (name and c.role in (ColumnRole.IGNORE, ColumnRole.SIGN) and _without_number(c.name) == name)
    ]
    return len(kin) > 1 and all(c.index - 1 in places for c in kin)


def _without_number(name: str) -> str:
    """ "S1 status" and "S2 status" are of one name, as "Flag 1" and "Flag 2" are."""
    return " ".join(word for token in tokens(name) if (word := token.strip("0123456789")))


def sign_of(layout: Layout, column: Column) -> int:
    """Which of ``Layout.values`` a SIGN column stands before: that of the parameter in its name; the one behind which
    it stands where each does so, and the last has none to its right; else the next."""
    places = [c.index for c in layout.values]
    named = parameter_of(column.name)
    of_name = [k for k, c in enumerate(layout.values) if c.parameter == named]
    if named and len(of_name) == 1:
        return of_name[0]
    if column.index - 1 in places and max(places) < _last_of_name(layout, column) and stands_behind(layout, column):
        return places.index(column.index - 1)
    return min((at <= column.index, abs(at - column.index), k) for k, at in enumerate(places))[2]


def _last_of_name(layout: Layout, column: Column) -> int:
    name = _without_number(column.name)
    return max(c.index for c in layout.columns if c.role is column.role or (name and _without_number(c.name) == name))
