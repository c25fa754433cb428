"""Between the limits library (files) and the limits table (rows that criteria point at)."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.core.exceptions import ValidationError
from django.utils import timezone

from campaigns.models import Campaign, Limit, LimitCheck, User
from campaigns.services.records import all_or_nothing
from methods.limits import model as library
from methods.limits.loader import load

#: What a check of a limit against its document is about: where one of these changes, the check is void.
CONFIRMED = (
    "parameter", "value", "unit", "strict", "averaging", "averaging_minutes", "occupied", "tolerance",
    "reference_temperature_c",
)  # fmt: skip
NOT_PUBLISHED = "Only a published limit is held against its document."


def synchronise() -> int:
    """Mirror every published limit into the table. Rows are changed only where the file changed; none are removed,
    because an old campaign may have chosen them. Returns how many rows were written."""
    held = {limit.code: limit for limit in Limit.objects.filter(organisation__isnull=True)}
    fresh, written = [], 0
    for code, published in load().items():
        row, wanted = held.get(code), _columns(published)
        if row is None:
            fresh.append(Limit(code=code, **wanted))
        elif any(getattr(row, name) != value for name, value in wanted.items()):
            is_another = any(getattr(row, name) != wanted[name] for name in CONFIRMED)
            for name, value in wanted.items():
                setattr(row, name, value)
            row.save()  # one by one: a changed limit belongs in the history
            if is_another:
                for check in row.checks.all():
                    check.delete()  # what was confirmed is not what the row says now
            written += 1
    Limit.objects.bulk_create(fresh)
    return written + len(fresh)


def _columns(limit: library.LimitDefinition) -> dict[str, Any]:
    return {
        "body": limit.body,
        "document": limit.document,
        "parameter": limit.parameter,
        "value": limit.value if limit.value is not None else limit.high,
        "unit": limit.unit,
        "strict": limit.operator is library.Operator.BELOW,
        "averaging": limit.averaging.value,
        "averaging_minutes": limit.averaging_minutes,
        "occupied": limit.occupied or "",
        "reference_temperature_c": limit.temperature_c,
        "tolerance": limit.tolerance,
        "text": limit.text(),
        "needs_check": limit.needs_check,
        "is_standing": limit.status is library.Status.IN_FORCE,
        "valid_from": limit.valid_from,
        "valid_to": limit.valid_to,
    }


def checks_in(organisation_id: int, limit_ids: Iterable[int]) -> dict[int, LimitCheck]:
    """Who of the organisation has held which of these limits against its document, by limit. One query."""
    rows = LimitCheck.objects.filter(organisation=organisation_id, limit__in=list(limit_ids)).select_related("by")
    return {row.limit_id: row for row in rows}


def confirm(limit: Limit, organisation_id: int, by: User, *, edition: str = "", page: str = "") -> LimitCheck:
    """Note that ``by`` has held ``limit`` against its document now, in this edition and on this page; a later check
    replaces an earlier one.

    Raises ValidationError for a limit that is not published.
    """
    if not limit.published:
        raise ValidationError(NOT_PUBLISHED)
    with all_or_nothing(LimitCheck):
        check, _ = LimitCheck.objects.update_or_create(
            limit=limit,
            organisation_id=organisation_id,
            defaults={"by": by, "at": timezone.now(), "edition": edition, "page": page},
        )
    return check


def from_memory(campaign: Campaign) -> list[Limit]:
    """Limits of the campaign that nobody saw in their document when they were entered, and whose edition and page
    nobody of the house has confirmed since; in the order of the criteria. One query."""
    told = LimitCheck.objects.filter(organisation=campaign.site.organisation_id).exclude(edition="")
    asked = campaign.criteria.filter(limit__needs_check=True, limit__organisation__isnull=True)
    return [criterion.limit for criterion in asked.exclude(limit__in=told.values("limit")).select_related("limit")]


def confirm_editions(read: Iterable[tuple[Limit, str, str]], organisation_id: int, by: User) -> None:
    """The same of several limits with edition and page, all of them or none."""
    with all_or_nothing(LimitCheck):
        for limit, edition, page in read:
            confirm(limit, organisation_id, by, edition=edition, page=page)


def confirm_in_each(
    limit: Limit, organisation_ids: Iterable[int], by: User, *, edition: str = "", page: str = ""
) -> None:
    """The same for every house the person answers for, all of them or none."""
    with all_or_nothing(LimitCheck):
        for organisation_id in sorted(organisation_ids):
            confirm(limit, organisation_id, by, edition=edition, page=page)
