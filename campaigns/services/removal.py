"""What hangs on a row, and deleting it when nothing that must stay does."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction
from django.db.models import DO_NOTHING, Model, ProtectedError, QuerySet, RestrictedError
from django.db.models.deletion import Collector

from campaigns.models import Channel, ChannelSpec
from campaigns.naming import capital, words
from campaigns.signals import inputs_changed

NAMED = 3  # so many examples make a sentence; more make a list nobody reads


@dataclass(frozen=True)
class Removal:
    """goes_too: (count, words) of what goes with the row. blocked: sentences why it cannot go."""

    goes_too: list[tuple[int, str]] = field(default_factory=list)
    blocked: list[str] = field(default_factory=list)


class Blocked(ValidationError):
    """The row stays: something that must be kept hangs on it."""

    def __init__(self, removal: Removal) -> None:
        super().__init__(removal.blocked)
        self.removal = removal

    def __str__(self) -> str:
        return "; ".join(self.removal.blocked)


def weigh(row: Model) -> Removal:
    """What deleting ``row`` would take along, or why it is refused."""
    counts: Counter[type[Model]] = Counter()
    blocked: list[str] = []
    for rows in (_before(row), [row]):
        collector = Collector(using="default")
        try:
            collector.collect(list(rows))
        except ProtectedError as error:
            blocked += _sentences(row, error.protected_objects)
            continue
        except RestrictedError as error:
            blocked += _sentences(row, error.restricted_objects)
            continue
        collected = [(model, list(found)) for model, found in collector.data.items()]
        collected += [(found.model, list(found)) for found in collector.fast_deletes if isinstance(found, QuerySet)]
        for model, found in collected:
            if model._meta.auto_created:  # which of them belong together is no thing of its own
                continue
            counts[model] += len(found)
            blocked += _left_behind(model, found)
    counts[type(row)] -= 1
    if blocked:
        return Removal(blocked=blocked)
    return Removal(goes_too=[(count, words(model, count)) for model, count in counts.items() if count > 0])


def remove(row: Model) -> None:
    """Delete ``row`` and what goes with it, in one transaction. Raises Blocked when something must stay."""
    removal = weigh(row)
    if removal.blocked:
        raise Blocked(removal)
    pk = row.pk
    try:
        with transaction.atomic(), inputs_changed.once(type(row)):
            for earlier in _before(row):
                earlier.delete()
            row.delete()
            if connection.vendor == "postgresql":  # where others write meanwhile; else it would say so at the commit,
                connection.check_constraints()  # which may be that of a larger whole
    except (ProtectedError, RestrictedError, IntegrityError) as error:
        # Somebody hung something on it between the look and the deletion.
        row.pk = pk  # Django has taken it away
        again = weigh(row)
        raise Blocked(again if again.blocked else Removal(blocked=["It is in use."])) from error


def _before(row: Model) -> list[Model]:
    """Rows Fanlight made by itself, which protect ``row`` but mean nothing without it."""
    return list(Channel.objects.filter(spec=row)) if isinstance(row, ChannelSpec) else []


def _sentences(row: Model, kept: Iterable[Model]) -> list[str]:
    own = {(type(earlier), earlier.pk) for earlier in _before(row)}
    by_model: dict[type[Model], list[str]] = {}
    for other in kept:
        if (type(other), other.pk) not in own:
            by_model.setdefault(type(other), []).append(str(other))
    # Django hands over a set: put the sentences and the names in an order a reader can rely on.
    return sorted(_sentence(model, sorted(names)) for model, names in by_model.items())


def _sentence(model: type[Model], names: list[str]) -> str:
    shown = ", ".join(names[:NAMED])
    more = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
    hangs = "hangs" if len(names) == 1 else "hang"
    return f"{len(names)} {words(model, len(names))} {hangs} on it: {shown}{more}."


def _left_behind(model: type[Model], rows: list[Model]) -> list[str]:
    """Relations the database does not check: what they point from must not lose its ground."""
    return [
        f"{capital(words(relation.related_model, 2))} hang on it."
        for relation in model._meta.related_objects
        if relation.on_delete is DO_NOTHING
        and relation.related_model._default_manager.filter(**{f"{relation.field.name}__in": rows}).exists()
    ]
