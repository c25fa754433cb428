"""What the model or the database refused, in the words of the model: the last line of defence speaks like the first."""

from __future__ import annotations

import re
from collections.abc import Iterator

from django.core.exceptions import NON_FIELD_ERRORS, ValidationError
from django.db import IntegrityError
from django.db.models import BaseConstraint, CheckConstraint, Model, Q, UniqueConstraint

from campaigns import guards

SQLITE_COLUMNS = re.compile(r"UNIQUE constraint failed: (.+)")
GONE = "Something this belongs to has been deleted meanwhile."
DELETED = "This has been deleted meanwhile."


def in_words(model: type[Model], error: IntegrityError) -> ValidationError | None:
    """What a row of ``model`` was refused for; None where ``error`` is about nothing that a person could mend.

    A constraint that only the database knows is named in the model's ``database_only``: name → (field, message).
    """
    only: dict[str, tuple[str, str]] = getattr(model, "database_only", {})
    if (name := constraint_name(error)) in only:
        field, message = only[name]
        return ValidationError({field: message})
    if constraint := broken(model, error):
        return ValidationError(str(constraint.get_violation_error_message()))
    if refused := guards.message_of(name):
        return ValidationError(refused)
    return ValidationError(GONE) if lost_ground(error) else None


def beside(model: type[Model], error: ValidationError, shown: set[str]) -> Iterator[tuple[str | None, ValidationError]]:
    """Each message of ``error`` with the one of the fields ``shown`` that it belongs to; None for the whole row.

    A constraint's message comes without a field: it belongs to the last field shown that the constraint is about.
    """
    by_message = {str(constraint.get_violation_error_message()): constraint for constraint in model._meta.constraints}
    by_field = error.error_dict if hasattr(error, "error_dict") else {NON_FIELD_ERRORS: error.error_list}
    for name, problems in by_field.items():
        for problem in problems:
            constraint = by_message.get(str(problem.messages[0])) if name == NON_FIELD_ERRORS else None
            field = field_of(constraint, shown) if constraint else name
            yield (field if field in shown else None), problem


def broken(model: type[Model], error: IntegrityError) -> BaseConstraint | None:
    """The constraint of ``model`` that ``error`` is about; None when it is about none of them."""
    by_name = {constraint.name: constraint for constraint in model._meta.constraints}
    name = constraint_name(error)
    if name in by_name:
        return by_name[name]
    columns = SQLITE_COLUMNS.search(str(error))
    named = {column.rpartition(".")[2].strip() for column in columns[1].split(",")} if columns else set()
    for constraint in by_name.values():
        if isinstance(constraint, UniqueConstraint) and named == _columns(model, constraint):
            return constraint
    return None


def constraint_name(error: IntegrityError) -> str:
    """The name of the violated constraint: told by PostgreSQL, read from SQLite's sentence, "" if neither."""
    diagnosis = getattr(error.__cause__, "diag", None)
    if diagnosis is not None:
        return diagnosis.constraint_name or ""
    text = str(error)
    return text.removeprefix("CHECK constraint failed:").strip()


def lost_ground(error: IntegrityError) -> bool:
    """Whether a row was to point at one that is no longer there."""
    return "foreign key" in str(error).lower()


def field_of(constraint: BaseConstraint, shown: set[str]) -> str | None:
    """The field beside which the message belongs: one of ``shown``, or None for the whole row."""
    if isinstance(constraint, UniqueConstraint):
        names: list[str] = list(reversed(constraint.fields))
    elif isinstance(constraint, CheckConstraint):
        names = list(_names(constraint.condition))
    else:
        names = []
    return next((name for name in names if name in shown), None)


def _columns(model: type[Model], constraint: UniqueConstraint) -> set[str]:
    return {str(model._meta.get_field(name).column) for name in constraint.fields}  # type: ignore[union-attr]


def _names(condition: object) -> Iterator[str]:
    if isinstance(condition, Q):
        for child in condition.children:
            yield from _names(child)
    elif isinstance(condition, tuple):
        yield str(condition[0]).split("__")[0]
