"""Keeping a row that has no rule of its own beyond its model's: checked, saved whole or not at all, with its history.

What has a rule of its own (a deployment, a clock check, a token…) has a service of its own, which does its part through
this one. All raise :class:`django.core.exceptions.ValidationError` with the model's messages, also where only the
database could know; then nothing has changed.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TypeVar

from django.core.exceptions import ObjectDoesNotExist, ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Model

from campaigns.services.integrity import DELETED, GONE, in_words
from campaigns.signals import inputs_changed

M = TypeVar("M", bound=Model)


@contextmanager
def all_or_nothing(model: type[Model], *, savepoint: bool = True) -> Iterator[None]:
    """One transaction, and one word to those who judge, said last: ``inputs_changed`` makes jobs, and two who hold a
    job that the other asks for as well, and then want a row that the other holds, would wait for each other for ever.

    ``savepoint``: as of ``transaction.atomic``; without one, a failure inside also ends the transaction around it.
    """
    try:
        with transaction.atomic(savepoint=savepoint), inputs_changed.once(model):
            yield
    except IntegrityError as error:
        if (refused := in_words(model, error)) is None:
            raise
        raise refused from error


def save_new(row: M) -> M:
    """Save a row that is not there yet, made with its fields: ``save_new(Building(site=site, name="East wing"))``."""
    with all_or_nothing(type(row)):
        check(row)
        row.save(force_insert=True)
    return row


def save_changed(row: M, **changes: Any) -> M:
    """Set what is given, on the row as it stands now: what others have changed of it since ``row`` was read stays.

    The row is held meanwhile; it does not come back where somebody has deleted it. Returns it as it is then.
    """
    with all_or_nothing(type(row)):
        stands = current(row)
        for name, value in changes.items():
            setattr(stands, name, value)
        check(stands)
        stands.save(force_update=True)
    return stands


def current(row: M) -> M:
    """The row as it stands now, held until the transaction ends. Raises ValidationError when it is gone."""
    rows = type(row)._default_manager.select_for_update(of=("self",), no_key=True)
    found = rows.filter(pk=row.pk).order_by().first()
    if found is None:
        raise ValidationError(DELETED)
    return found


def check(row: Model) -> None:
    """Raise ValidationError unless the row is in order."""
    try:
        row.full_clean()
    except ObjectDoesNotExist as error:
        raise ValidationError(GONE) from error
