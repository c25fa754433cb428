"""What a column can hold at all: one of its choices, a number or a time that is one.

Said once for a model, after its class: by a constraint of the database, and of numbers by a validator that tells people
before. PostgreSQL takes "not a number" for larger than any number, so each range has an upper end; SQLite stores it as
NULL, so it is looked at before.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db.models import CheckConstraint, Field, Model, Q
from django.utils.choices import CallableChoiceIterator

Range = tuple[Any, Any]
#: Of whatever was seen, planned or done: an instrument's clock that was never set is far within.
DAYS: Range = (date(1900, 1, 1), date(2200, 1, 1))
MOMENTS: Range = (datetime(1900, 1, 1, tzinfo=UTC), datetime(2200, 1, 1, tzinfo=UTC))
SHARE: Range = (0.0, 1.0)
#: Of a value in any unit. Counts of particles in a cubic metre are the largest.
VALUE: Range = (-1e12, 1e12)
SIZE: Range = (0.0, 1e12)
#: Of what is calculated from values.
CALCULATED: Range = (-1e30, 1e30)
EVERYTHING: Range = (-math.inf, math.inf)
CHOICES, RANGES = "{}_choices_known", "{}_within_range"
NOT_A_CHOICE = "One of the values is none of those to choose from."
OUT_OF_RANGE = "One of the numbers or times is out of range."


@dataclass(frozen=True)
class InRange:
    """Refuses a value outside, and what is no number."""

    low: Any
    high: Any

    def __call__(self, value: Any) -> None:
        if isinstance(value, float) and math.isnan(value):
            raise ValidationError("This is not a number.", code="range")
        if value is not None and value > self.high:
            raise ValidationError(f"At most {_in_words(self.high)}.", code="range")
        if value is not None and value < self.low:
            raise ValidationError(f"At least {_in_words(self.low)}.", code="range")


def bound(
    model: type[Model],
    ranges: Mapping[str, Range] | None = None,
    values: Mapping[str, Iterable[str]] | None = None,
    *,
    told: Collection[str] = (),
) -> None:
    """Hold each field of ``model`` that has choices to them, fields in ``values`` to those, and fields in ``ranges`` to
    theirs, both ends included. What may be empty or NULL stays so. ``told``: fields of which another rule tells people
    the range.

    Choices that are asked for anew each time (of substances, which are data) are no matter of the database.
    """
    known = {field.name: [code for code, _ in field.flatchoices] for field in _choosing(model)} | dict(values or {})
    conditions = [_any_of(model, name, codes) for name, codes in known.items()]
    _constrain(model, CHOICES, conditions, NOT_A_CHOICE)
    conditions = []
    for name, (low, high) in (ranges or {}).items():
        field: Any = model._meta.get_field(name)
        field.validators.append(InRange(*(EVERYTHING if name in told else (low, high))))
        conditions.append(_or_null(field, Q(**{f"{name}__gte": low, f"{name}__lte": high})))
    _constrain(model, RANGES, conditions, OUT_OF_RANGE)


def _in_words(end: Any) -> str:
    return str(end.date() if isinstance(end, datetime) else end) if isinstance(end, date) else _plain(end)


def _plain(number: float) -> str:
    return f"{number:,.6f}".rstrip("0").rstrip(".")


def _choosing(model: type[Model]) -> list[Any]:
    fields: list[Any] = list(model._meta.concrete_fields)
    return [field for field in fields if field.choices and not isinstance(field.choices, CallableChoiceIterator)]


def _any_of(model: type[Model], name: str, codes: Iterable[str]) -> Q:
    field: Any = model._meta.get_field(name)
    return _or_null(field, Q(**{f"{name}__in": [*codes, ""] if field.blank else list(codes)}))


def _or_null(field: Field[Any, Any], condition: Q) -> Q:
    return condition | Q(**{f"{field.name}__isnull": True}) if field.null else condition


def _constrain(model: type[Model], name: str, conditions: list[Q], message: str) -> None:
    if not conditions:
        return
    condition = conditions[0]
    for other in conditions[1:]:
        condition &= other
    meta: Any = model._meta
    made = CheckConstraint(
        condition=condition, name=name.format(meta.model_name), violation_error_message=message
    )  # fmt: skip
    meta.constraints = [*meta.constraints, made]
    meta.original_attrs["constraints"] = meta.constraints  # of which migrations are made
