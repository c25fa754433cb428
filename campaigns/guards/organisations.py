"""Rows of one organisation do not point at rows of another, and none moves to another one.

Both follow from the models and from the paths to the organisation by which ``access`` finds rows: there is no second
list to be kept. Because no row moves, what was looked at when a link was made holds for good.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from django.db.models import ForeignKey, Model

from campaigns import access
from campaigns.guards.rules import CROSSES, STAYS, Guard

#: Links between rows of organisations that are not looked at, and why: (model, field) → reason.
NOT_GUARDED: dict[tuple[str, str], str] = {
    ("Reading", "upload"): "Readings come by the million; the envelope written with each chunk of them is looked at.",
    ("AsideReading", "upload"): "It is a reading that was moved as it is, and goes back only as it is.",
    ("AsideReading", "setting_aside"): "A reading leaves its table only for a row of its own channel or file.",
}


def paths() -> dict[type[Model], str]:
    """Model → path to the organisation of its rows. Tables that only say which rows belong together have that of the
    row whose field they are."""
    found = {model: rule.organisation for model, rule in access.registered().items()}
    for model, path in [*found.items()]:
        for field in model._meta.many_to_many:
            through: Any = field.remote_field.through
            if through._meta.auto_created:
                found[through] = f"{field.m2m_field_name()}__{path}"
    return found


def links() -> Iterator[tuple[type[Model], ForeignKey[Any, Any]]]:
    """Every foreign key from a model that belongs to an organisation to one that does."""
    known = paths()
    for model in sorted(known, key=lambda model: model._meta.label):
        for field in model._meta.concrete_fields:
            if isinstance(field, ForeignKey) and field.related_model in known:
                yield model, field


def is_owner(model: type[Model], field: ForeignKey[Any, Any]) -> bool:
    """Whether the link is the way to the row's organisation."""
    return paths()[model].partition("__")[0] == field.name


def guards() -> Iterable[Guard]:
    for model, field in links():
        if is_owner(model, field):
            yield _stays(model, field)
        elif (model.__name__, field.name) not in NOT_GUARDED:
            yield from _crosses(model, field)


def _crosses(model: type[Model], field: ForeignKey[Any, Any]) -> Iterator[Guard]:
    table, column = model._meta.db_table, str(field.column)
    path = paths()[model]
    theirs = of_target(field, paths()[_target(field)], f"NEW.{column}")
    refuse = f"{theirs} <> {of_row(model, path, 'NEW')}"
    name = f"{table}_{field.name}_in_house"
    yield Guard(name, table, "INSERT", refuse, message=CROSSES)
    yield Guard(name, table, "UPDATE", refuse, (column,), message=CROSSES)


def _stays(model: type[Model], field: ForeignKey[Any, Any]) -> Guard:
    table, path = model._meta.db_table, paths()[model]
    refuse = f"{of_row(model, path, 'NEW')} IS DISTINCT FROM {of_row(model, path, 'OLD')}"
    return Guard(f"{table}_stays_in_house", table, "UPDATE", refuse, (str(field.column),), message=STAYS)


def of_row(model: type[Model], path: str, row: str) -> str:
    """SQL of the id of the organisation of ``row``: NEW or OLD."""
    name, _, rest = path.partition("__")
    field: Any = model._meta.get_field(name)
    return of_target(field, rest, f"{row}.{field.column}")


def of_target(field: ForeignKey[Any, Any], path: str, value: str) -> str:
    """SQL of the id of the organisation of the row that ``field`` points at with ``value``, ``path`` away from it."""
    if not path:
        return value
    model, joined, number = _target(field), f"{_target(field)._meta.db_table} t0", 0
    steps = path.split("__")
    for name in steps[:-1]:
        step: Any = model._meta.get_field(name)
        model, number = _target(step), number + 1
        joined += f" JOIN {model._meta.db_table} t{number} ON t{number}.id = t{number - 1}.{step.column}"
    last: Any = model._meta.get_field(steps[-1])
    return f"(SELECT t{number}.{last.column} FROM {joined} WHERE t0.id = {value})"  # noqa: S608


def _target(field: Any) -> type[Model]:
    target: type[Model] = field.related_model
    return target
