"""Limits of an organisation's own: a client's specification, a project's target.

The house entered it from its own document, so there is nothing left to check it against. ``removal.remove`` takes one
away. All raise ValidationError by field.
"""

from __future__ import annotations

from decimal import Decimal
from typing import TypedDict, Unpack

from django.core.exceptions import ValidationError

from campaigns.models import Limit, Organisation
from campaigns.models.limits import own_limit
from campaigns.services.records import all_or_nothing, check, current

PUBLISHED = "A published limit is changed in its data file."


class LimitTerms(TypedDict, total=False):
    """What a limit says. ``value`` in ``unit``; ``averaging``: one of ``Limit.Averaging``, over so many minutes,
    or over none with ``occupied`` "day"; ``occupied``: one of ``Limit.Occupied``, "" where all time counts;
    ``strict``: must be below; ``tolerance``: a share; ``reference_temperature_c`` in °C, for mass units."""

    parameter: str
    value: Decimal
    unit: str
    strict: bool
    tolerance: Decimal | None
    averaging: str
    averaging_minutes: int | None
    occupied: str
    reference_temperature_c: Decimal | None
    body: str
    document: str


def make(organisation: Organisation, **terms: Unpack[LimitTerms]) -> Limit:
    """A limit of the house's own, with a code of its own."""
    limit = Limit(organisation=organisation, **terms)
    limit.code = code_of(limit)
    return _keep(limit, new=True)


def change(limit: Limit, **terms: Unpack[LimitTerms]) -> Limit:
    """Set what is given. Raises ValidationError for a published limit, too."""
    if limit.published:
        raise ValidationError(PUBLISHED)
    with all_or_nothing(Limit):
        row = current(limit)
        for name, value in terms.items():
            setattr(row, name, value)
        return _keep(row, new=False)


def code_of(limit: Limit) -> str:
    """The code of an own limit: the one it has, else one that follows from its key."""
    return limit.code or f"OWN-{limit.key.hex[:8].upper()}"


def _of_occupied_day(limit: Limit) -> dict[str, str]:
    wrong: dict[str, str] = {}
    if limit.averaging != Limit.Averaging.SAMPLE:
        wrong["averaging"] = "The mean over the time of use of a day is a mean over a sample."
    if limit.averaging_minutes:
        wrong["averaging_minutes"] = "The time of use of a day is as long as it is: leave this empty."
    return wrong


def _keep(limit: Limit, *, new: bool) -> Limit:
    wrong: dict[str, str] = {}
    if limit.averaging not in Limit.Averaging.values:
        wrong["averaging"] = "A limit of your own is averaged over a window, a sample or a shift."
    if limit.occupied == Limit.Occupied.DAY:
        wrong |= _of_occupied_day(limit)
    elif not limit.averaging_minutes:
        wrong["averaging_minutes"] = "A limit holds for a time: say how many minutes."
    if limit.occupied and limit.averaging == Limit.Averaging.SHIFT:
        wrong["occupied"] = "A shift has a time of its own."
    if limit.value is None:
        wrong["value"] = "A limit has a value."
    if wrong:
        raise ValidationError(wrong)
    with all_or_nothing(Limit):
        check(limit)
        limit.needs_check, limit.text = False, own_limit(limit).text()
        limit.save(force_insert=new, force_update=not new)
    return limit
