"""What a guard is, and the kinds of them. A guard says which rows the database refuses, whoever writes them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from functools import cache

from django.db.models import Model

CROSSES = "Something chosen here belongs to another organisation."
STAYS = "It belongs to its organisation and does not move to another."
KEPT = "What is stored here is kept as it is."
WIPED = "This table is not emptied."


@dataclass(frozen=True)
class Guard:
    """One rule of one table.

    name: by which a refusal is known; a rule of several events goes by one.
    event: INSERT, UPDATE, DELETE or TRUNCATE (which only PostgreSQL has).
    refuse: an SQL condition in the words of both databases, with ``OLD.`` and ``NEW.``; rows for which it is true are
    refused.
    columns: an UPDATE of others is not looked at.
    by_statement: on PostgreSQL all rows that go are looked at together at the end of the statement, when what it wrote
    elsewhere is there.
    vendor: the only database that needs it.
    message: for people, where a form gets there.
    """

    name: str
    table: str
    event: str
    refuse: str = "1 = 1"
    columns: tuple[str, ...] = ()
    by_statement: bool = False
    vendor: str = ""
    message: str = KEPT

    @property
    def of_statements(self) -> bool:
        """On PostgreSQL: looked at once for a statement, and not for each row."""
        return self.by_statement or self.event == "TRUNCATE"


def columns_of(model: type[Model], names: Iterable[str] | None = None) -> list[str]:
    fields = [field for field in model._meta.concrete_fields if names is None or field.name in names]
    return [str(field.column) for field in fields if field.column]


def changed(column: str) -> str:
    return f'OLD."{column}" IS DISTINCT FROM NEW."{column}"'


def frozen(
    model: type[Model],
    *,
    once: Collection[str] = (),
    forgotten: Collection[str] = (),
    free: Collection[str] = (),
    when: str = "",
) -> Guard:
    """No column of a stored row changes but for these, by field: ``once`` is set where nothing stands, ``forgotten``
    becomes NULL (a person who is gone; where it is ``once`` as well, both), ``free`` changes. ``when``: SQL of
    ``OLD.``, of rows that are kept; others are still written."""
    told = {*once, *forgotten, *free}
    if unknown := told - {field.name for field in model._meta.concrete_fields}:
        raise ValueError(f"{model.__name__} has no {', '.join(sorted(unknown))}")
    refuse = [changed(column) for column in columns_of(model) if column not in columns_of(model, told)]
    for field in model._meta.concrete_fields:
        if field.name in {*once, *forgotten} - {*free}:
            refuse.append(_but_for(str(field.column), field.name in once, field.name in forgotten))
    table = model._meta.db_table
    differs = "\n   OR ".join(refuse)
    return Guard(f"{table}_stays_as_it_is", table, "UPDATE", f"{when} AND ({differs})" if when else differs)


def _but_for(column: str, once: bool, forgotten: bool) -> str:
    allowed = [f"coalesce(CAST(OLD.{column} AS text), '') = ''"] if once else []
    allowed += [f"NEW.{column} IS NULL"] if forgotten else []
    return f"({changed(column)} AND NOT ({' OR '.join(allowed)}))"


def stays(model: type[Model], *, unless: str = "") -> list[Guard]:
    """Rows of a table are not deleted, unless (SQL of ``OLD.``), and never all at once."""
    table = model._meta.db_table
    refuse = f"NOT ({unless})" if unless else "1 = 1"
    return [Guard(f"{table}_is_not_deleted", table, "DELETE", refuse), never_emptied(table)]


def never_emptied(table: str) -> Guard:
    return Guard(f"{table}_is_not_emptied", table, "TRUNCATE", vendor="postgresql", message=WIPED)


# --- what the apps have told ------------------------------------------------------------------------------------------

_told: list[Callable[[], Iterable[Guard]]] = []


def register(guards: Callable[[], Iterable[Guard]]) -> None:
    """What an app's ``guards`` say; asked when all models are there."""
    if guards not in _told:
        _told.append(guards)
        all_guards.cache_clear()


@cache
def all_guards() -> tuple[Guard, ...]:
    """In order of their names. Raises ValueError where two of one name are of one event."""
    found = sorted((guard for told in _told for guard in told()), key=lambda guard: (guard.name, guard.event))
    if len({(guard.name, guard.event) for guard in found}) != len(found):
        raise ValueError("two guards have one name and event")
    return tuple(found)


def message_of(name: str) -> str | None:
    """What people are told when the guard of this name refuses; None where there is none."""
    return next((guard.message for guard in all_guards() if guard.name == name), None)
