"""Between the limits library (files) and the limits table (rows that criteria point at)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from typing import Any

from django.utils import timezone

from campaigns.models import User
from reports.limits import model as library
from reports.limits.loader import load
from reports.models import Limit, LimitCheck


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
            for name, value in wanted.items():
                setattr(row, name, value)
            row.save()  # one by one: a changed limit belongs in the history
            written += 1
    Limit.objects.bulk_create(fresh)
    return written + len(fresh)


def _columns(limit: library.Limit) -> dict[str, Any]:
    return {
        "body": limit.body,
        "document": limit.document,
        "parameter": limit.parameter,
        "value": limit.value if limit.value is not None else limit.high,
        "unit": limit.unit,
        "strict": limit.operator is library.Operator.BELOW,
        "averaging": limit.averaging.value,
        "averaging_minutes": limit.averaging_minutes,
        "reference_temperature_c": limit.temperature_c,
        "text": limit.text(),
        "needs_check": limit.needs_check,
        "in_force": limit.in_force,
    }


def checks_in(organisation_id: int, limit_ids: Iterable[int]) -> dict[int, LimitCheck]:
    """Who of the organisation has held which of these limits against its document, by limit. One query."""
    rows = LimitCheck.objects.filter(organisation=organisation_id, limit__in=list(limit_ids)).select_related("by")
    return {row.limit_id: row for row in rows}


def confirm(limit: Limit, organisation_id: int, by: User) -> LimitCheck:
    """Note that ``by`` has held ``limit`` against its document now; a later check replaces an earlier one."""
    found, _ = LimitCheck.objects.update_or_create(
        limit=limit, organisation_id=organisation_id, defaults={"by": by, "at": timezone.now()}
    )
    return found


STATISTICS = {
    library.Averaging.ROLLING_MEAN: "worst {} mean",
    library.Averaging.SAMPLE_MEAN: "mean over a sample of {}",
    library.Averaging.SHIFT_TWA: "shift, weighted to {}",
}


def own_limit(row: Limit) -> library.Limit:
    """A limit that an organisation entered itself, in the form of a published one."""
    averaging = library.Averaging(row.averaging)
    minutes = row.averaging_minutes
    length = f"{minutes} min" if minutes is None or minutes < 120 else f"{minutes / 60:g} h"
    return replace(
        _BLANK,
        code=row.code,
        row=row.code,
        source="entered by the consultant",
        body=row.body,
        document=row.document,
        parameter=row.parameter,
        operator=library.Operator.BELOW if row.strict else library.Operator.AT_MOST,
        value=Decimal(str(row.value)).normalize() if row.value is not None else None,
        unit=row.unit,
        averaging=averaging,
        averaging_minutes=minutes,
        statistic=STATISTICS[averaging].format(length),
        temperature_c=row.reference_temperature_c,
        reference_stated=row.reference_temperature_c is not None,
    )


_BLANK = library.Limit(
    code="", row="", source="", body="", jurisdiction="own", document="", edition="", clause="", parameter="",
    bound=library.Bound.UPPER, operator=library.Operator.AT_MOST, value=None, low=None, high=None, unit="",
    in_words_pair="", averaging=library.Averaging.ROLLING_MEAN, averaging_minutes=None, statistic="",
    population="as the client's specification says", scopes=(library.Scope.CERTIFICATION,),
    comparable=library.Comparable.YES, short_campaign=library.Claim.COMPARE, reason_code="hours",
    laboratory=library.Claim.COMPARE, outdoor_rule=library.OutdoorRule.ABSOLUTE, rounding=library.Rounding.NONE,
    rounding_digits=None, temperature_c=None, pressure_kpa=None, reference_stated=False, actual_conditions=False,
    equivalent="", status=library.Status.IN_FORCE, valid_from=None, valid_to=None, superseded_by="", interim=False,
    confidence_value=library.Confidence.VERIFIED, confidence_note="", notes="",
)  # fmt: skip
