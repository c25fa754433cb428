"""Invented limits for tests of judging: plain in every way, so that a test changes only what it is about."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

from methods.limits.loader import load
from methods.limits.model import (
    Averaging,
    Bound,
    Claim,
    Comparable,
    Confidence,
    LimitDefinition,
    Operator,
    OutdoorRule,
    PopulationScope,
    Rounding,
    Status,
)

#: Starts from a limit of the catalogue, so that a field added there needs no change here.
_SAMPLE = replace(
    load()["HCHO-WHO10-30M"],
    code="SAMPLE-30M",
    row="SAMPLE-30M",
    source="invented",
    body="An invented body",
    jurisdiction="XX",
    document="An invented guideline",
    edition="1",
    clause="",
    parameter="formaldehyde",
    bound=Bound.UPPER,
    operator=Operator.AT_MOST,
    value=Decimal("0.1"),
    low=None,
    high=None,
    unit="mg/m³",
    in_words_pair="",
    averaging=Averaging.ROLLING_MEAN,
    averaging_minutes=30,
    statistic="30-minute mean",
    population="everybody",
    scopes=(PopulationScope.DWELLING, PopulationScope.PUBLIC),
    comparable=Comparable.YES,
    short_campaign=Claim.COMPARE,
    reason_code="minutes_30",
    laboratory=Claim.COMPARE,
    outdoor_rule=OutdoorRule.ABSOLUTE,
    rounding=Rounding.NONE,
    rounding_digits=None,
    tolerance=None,
    temperature_c=None,
    pressure_kpa=None,
    reference_stated=False,
    actual_conditions=False,
    equivalent="",
    status=Status.IN_FORCE,
    valid_from=None,
    valid_to=None,
    superseded_by="",
    confidence_value=Confidence.VERIFIED,
    confidence_note="",
    notes="",
)


def a_limit(value: str | None = "0.1", **changes: Any) -> LimitDefinition:
    """An upper limit of ``value`` as a 30-minute mean for dwellings, changed as wanted."""
    number = None if value is None else Decimal(value)
    return replace(_SAMPLE, **{"value": number, **changes})


def a_range(low: str, high: str, **changes: Any) -> LimitDefinition:
    """A range of temperature, judged at the momentary reading."""
    defaults = {
        "bound": Bound.RANGE,
        "low": Decimal(low),
        "high": Decimal(high),
        "parameter": "temperature",
        "unit": "°C",
        "averaging": Averaging.SPOT,
        "averaging_minutes": None,
        "reason_code": "spot",
    }
    return a_limit(None, **{**defaults, **changes})


def a_lower_limit(value: str, **changes: Any) -> LimitDefinition:
    """A temperature not to be undercut."""
    defaults = {
        "bound": Bound.LOWER,
        "operator": Operator.AT_LEAST,
        "parameter": "temperature",
        "unit": "°C",
        "averaging": Averaging.SPOT,
        "averaging_minutes": None,
        "reason_code": "spot",
    }
    return a_limit(value, **{**defaults, **changes})
