"""What must hold within one limit, and between limits, whatever the data files say."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal

from methods.limits.model import (
    Averaging,
    Bound,
    Claim,
    Comparable,
    LimitDefinition,
    Occupied,
    Operator,
    OutdoorRule,
    PopulationScope,
    Rounding,
    Status,
)
from methods.limits.reasons import REASONS
from methods.quantities.substances import SUBSTANCES
from methods.quantities.unit_names import BELOW_ZERO

Problem = tuple[str, str]  # field, message

_DAY = 24 * 60
_LENGTH_NEEDED = {Averaging.ROLLING_MEAN, Averaging.SHIFT_TWA}
_LENGTH_FORBIDDEN = {
    Averaging.CEILING, Averaging.SPOT, Averaging.DAY_READINGS, Averaging.DESIGN, Averaging.CHAMBER,
}  # fmt: skip
_BEYOND_CAMPAIGN = {Averaging.LONG_TERM_MEAN, Averaging.CHAMBER, Averaging.PERCENTILE}
_ALL_TIME = {
    Averaging.CEILING, Averaging.DAY_READINGS, Averaging.SHIFT_TWA, *_BEYOND_CAMPAIGN,
}  # fmt: skip
_AT_MOST_INDICATIVE = {Averaging.CEILING, Averaging.DESIGN}


def _is_radioactivity(limit: LimitDefinition) -> bool:
    parameter = SUBSTANCES.get(limit.parameter)  # an unknown one is a problem of its own
    return parameter is not None and parameter.is_radioactivity


def _units(limit: LimitDefinition) -> Iterable[Problem]:
    parameter = SUBSTANCES.get(limit.parameter)
    if parameter is None:
        yield "parameter", f"unknown parameter {limit.parameter!r}"
        return
    if limit.unit not in parameter.units:
        yield "unit", f"{limit.unit!r} is no unit of {limit.parameter}"
    if limit.in_words_pair.endswith(f" {limit.unit}"):
        yield "in_words_pair", "is in the unit of the limit itself"
    if limit.equivalent and not parameter.is_sum:
        yield "equivalent", "only a sum of compounds has an equivalent"


def _range(limit: LimitDefinition) -> Iterable[Problem]:
    if limit.value is not None:
        yield "value", "a range has low and high, no value"
    if limit.low is None or limit.high is None:
        yield ("low" if limit.low is None else "high"), "a range needs both ends"
    elif limit.low >= limit.high:
        yield "high", f"{limit.high} is not above {limit.low}"


def _numbers(limit: LimitDefinition) -> Iterable[Problem]:
    if limit.bound is Bound.RANGE:
        yield from _range(limit)
    else:
        if limit.value is None:
            yield "value", "missing"
        for name in ("low", "high"):
            if getattr(limit, name) is not None:
                yield name, "only a range has one"
    if limit.unit not in BELOW_ZERO:
        for name in ("value", "low", "high"):
            number: Decimal | None = getattr(limit, name)
            if number is not None and number <= 0:
                yield name, f"{number} is not positive"
    if (limit.operator is Operator.AT_LEAST) is not (limit.bound is Bound.LOWER):
        yield "operator", f"{limit.operator.value!r} does not fit the bound {limit.bound.value!r}"


def _averaging(limit: LimitDefinition) -> Iterable[Problem]:
    minutes = limit.averaging_minutes
    if minutes is None:
        if limit.averaging in _LENGTH_NEEDED:
            yield "averaging_minutes", f"missing for {limit.averaging.value}"
    elif limit.averaging in _LENGTH_FORBIDDEN:
        yield "averaging_minutes", f"{limit.averaging.value} has no length"
    elif minutes <= 0:
        yield "averaging_minutes", f"{minutes} is not positive"
    elif minutes <= _DAY and limit.averaging is Averaging.LONG_TERM_MEAN:
        yield "averaging_minutes", "a day or less is not long-term"


def _occupied(limit: LimitDefinition) -> Iterable[Problem]:
    if limit.occupied is None:
        return
    if limit.averaging in _ALL_TIME:
        yield "occupied", f"a {limit.averaging.value} has a time of its own"
    if (limit.averaging_minutes or 0) > _DAY:
        yield "occupied", "a mean over more than a day is not within the time of use"
    if limit.occupied is Occupied.DAY and (limit.averaging is not Averaging.SAMPLE_MEAN or limit.averaging_minutes):
        yield "occupied", "the mean of a day's time of use is a sample_mean without a length of its own"
    if limit.scopes == (PopulationScope.OUTDOOR,):
        yield "occupied", "nobody occupies outdoor air"


def _claims(limit: LimitDefinition) -> Iterable[Problem]:
    if limit.reason_code not in REASONS:
        yield "reason", f"unknown reason {limit.reason_code!r}"
    context = limit.short_campaign is Claim.CONTEXT
    if limit.averaging in _BEYOND_CAMPAIGN and not context:
        yield "short_campaign", f"a {limit.averaging.value} cannot be judged from hours or days"
    if limit.averaging in _BEYOND_CAMPAIGN and limit.laboratory is not Claim.CONTEXT:
        yield "laboratory", f"a {limit.averaging.value} cannot be judged from hours or days"
    if _is_radioactivity(limit) and not context:
        yield "short_campaign", "radon cannot be judged from hours or days"
    if limit.status in {Status.DRAFT, Status.PROPOSAL} and not context:
        yield "short_campaign", "a draft or proposal is context"
    if limit.short_campaign is Claim.COMPARE:
        yield from _comparable_strength(limit)


def _comparable_strength(limit: LimitDefinition) -> Iterable[Problem]:
    minutes = limit.averaging_minutes
    if limit.workplace:
        yield "short_campaign", "a limit for the breathing zone of a worker is at most indicative"
    if limit.averaging in _AT_MOST_INDICATIVE:
        yield "short_campaign", f"a {limit.averaging.value} is at most indicative"
    is_day = limit.occupied is Occupied.DAY
    if limit.averaging is Averaging.SAMPLE_MEAN and minutes is None and not is_day:
        yield "short_campaign", "without a stated length it is at most indicative"
    if minutes is not None and minutes > _DAY:
        yield "short_campaign", "a mean over more than a day is at most indicative"


def _product(limit: LimitDefinition) -> Iterable[Problem]:
    never = limit.comparable is Comparable.NEVER
    if never and limit.short_campaign is not Claim.CONTEXT:
        yield "short_campaign", "what is never comparable is context"
    if never and limit.laboratory is not Claim.CONTEXT:
        yield "laboratory", "what is never comparable is context"
    if PopulationScope.PRODUCT in limit.scopes and not never:
        yield "comparable", "a limit for products is never comparable with air"


def _reference(limit: LimitDefinition) -> Iterable[Problem]:
    if limit.pressure_kpa is not None and limit.temperature_c is None:
        yield "temperature_c", "missing beside the pressure"
    if limit.pressure_kpa is not None and not 50 < limit.pressure_kpa < 120:
        yield "pressure_kpa", f"{limit.pressure_kpa} kPa is no pressure of air"
    if limit.reference_stated and limit.temperature_c is None and not limit.actual_conditions:
        yield "reference_stated", "no temperature and not at actual conditions"
    if limit.actual_conditions and limit.temperature_c is not None:
        yield "actual_conditions", "excludes a reference temperature"


def _rounding(limit: LimitDefinition) -> Iterable[Problem]:
    digits = limit.rounding_digits
    if (digits is None) is not (limit.rounding is Rounding.NONE):
        yield "rounding_digits", "given exactly where there is a rounding rule"
    elif digits is not None and not 0 <= digits <= 6:
        yield "rounding_digits", f"{digits} is out of bounds"


def _tolerance(limit: LimitDefinition) -> Iterable[Problem]:
    if limit.tolerance is None:
        return
    if not 0 < limit.tolerance < 1:
        yield "tolerance", f"{limit.tolerance} is no share between 0 and 1"
    if limit.bound is Bound.RANGE:
        yield "tolerance", "a range has none"


def _status(limit: LimitDefinition) -> Iterable[Problem]:
    if limit.superseded_by and limit.status is not Status.SUPERSEDED:
        yield "superseded_by", f"the status is {limit.status.value}"
    if limit.valid_from and limit.valid_to and limit.valid_from > limit.valid_to:
        yield "valid_to", "lies before valid_from"
    if limit.outdoor_rule is not OutdoorRule.ABSOLUTE and limit.scopes == (PopulationScope.OUTDOOR,):
        yield "outdoor_rule", "outdoor air is judged as it is"


_RULES: tuple[Callable[[LimitDefinition], Iterable[Problem]], ...] = (
    _units,
    _numbers,
    _averaging,
    _occupied,
    _claims,
    _product,
    _reference,
    _rounding,
    _tolerance,
    _status,
)


def problems_of(limit: LimitDefinition) -> Iterable[Problem]:
    """Every (field, message) that is wrong within ``limit``."""
    for rule in _RULES:
        yield from rule(limit)


def problems_between(limit: LimitDefinition, limits: Mapping[str, LimitDefinition]) -> Iterable[Problem]:
    """Every (field, message) that is wrong between ``limit`` and the others."""
    if not limit.superseded_by:
        return
    other = limits.get(limit.superseded_by)
    if other is None:
        yield "superseded_by", f"there is no limit {limit.superseded_by!r}"
    elif other.code == limit.code:
        yield "superseded_by", "a limit cannot supersede itself"
    elif other.parameter != limit.parameter:
        yield "superseded_by", f"{other.code} is a limit for {other.parameter}"
