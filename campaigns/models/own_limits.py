"""A limit that an organisation entered itself, in the form of a published one."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING

from methods.limits import model as library

if TYPE_CHECKING:
    from campaigns.models.limits import Limit

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
