"""The criteria of a campaign with their limits, and which one a page is about."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar
from uuid import UUID

from django.http import Http404

from campaigns.models import Campaign, Criterion
from campaigns.services.limit_terms import reference_of
from methods.limits.model import LimitDefinition
from methods.quantities.substances import SUBSTANCES

R = TypeVar("R")
Option = tuple[str, str, bool]  # label, address, current


@dataclass(frozen=True)
class Chosen:
    """A criterion and its limit."""

    criterion: Criterion
    limit: LimitDefinition

    @property
    def label(self) -> str:
        """Short, for a switch: ``HCHO ≤ 0.1 mg/m³, WHO (Europe)``."""
        return f"{SUBSTANCES[self.limit.parameter].symbol} {self.limit.value_text()}, {self.limit.body}"

    @property
    def text(self) -> str:
        """Everything a value beside it needs: the limit, its averaging time, and the reference of its unit."""
        reference = reference_of(self.limit)
        return f"{self.limit.text()}{f', values {reference.text}' if reference else ''}"


def chosen_of(campaign: Campaign) -> list[Chosen]:
    """All criteria of the campaign in their order. One query."""
    return [Chosen(row, row.limit.as_library()) for row in campaign.criteria.select_related("limit")]


def pick(criteria: Sequence[Chosen], key: str | None) -> Chosen | None:
    """The criterion with this key; the first without one; None when nothing is chosen yet. Http404 for a wrong key."""
    if not key:
        return criteria[0] if criteria else None
    return of_key({chosen.criterion.key: chosen for chosen in criteria}, key)


def of_key(rows: Mapping[UUID, R], key: str) -> R:
    """The row that an address asks for by its key. Http404 for a key of nothing here."""
    try:
        return rows[UUID(key)]
    except (ValueError, KeyError):
        raise Http404 from None


def options(criteria: Sequence[Chosen], current: Chosen | None) -> list[Option]:
    """For ``parts/switch.html``."""
    return [(chosen.label, f"?criterion={chosen.criterion.key}", chosen is current) for chosen in criteria]
