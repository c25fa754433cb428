"""A limit as a report prints it: the number, what it averages over in plain words, and where it was published."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from campaigns.services.limit_terms import reference_of
from methods.limits.model import Averaging, Bound, Confidence, LimitDefinition, Operator, OutdoorRule
from methods.quantities.substances import SUBSTANCES
from methods.wording.numbers import length

CONFIDENCE_WORDS: dict[Confidence, str] = {
    Confidence.VERIFIED: "seen in the document",
    Confidence.SECONDARY: "seen in another page than the document",
    Confidence.MEMORY: "from memory",
    Confidence.DOUBTFUL: "from memory, and not sure",
}
CHECK = "Check against the document."

#: What is averaged, as the subject of "… should not be above …"; {} is the averaging time where one is stated.
_SUBJECTS: dict[Averaging, tuple[str, str]] = {
    Averaging.CEILING: ("the value at any moment", "the mean of any {}"),
    Averaging.SPOT: ("each momentary reading", "each reading, taken over {},"),
    Averaging.ROLLING_MEAN: ("the mean of any stretch of time", "the mean of any {}"),
    Averaging.SAMPLE_MEAN: ("the mean of a sample", "the mean of a sample of {}"),
    Averaging.SHIFT_TWA: ("the mean of a work shift", "the mean of a work shift, counted as {},"),
    Averaging.LONG_TERM_MEAN: ("the mean over a long time", "the mean over {}"),
    Averaging.PERCENTILE: ("the value, counted over a year or years,", "the mean of {}, counted over a year or years,"),
    Averaging.DESIGN: ("the value in steady use", "the mean of {} in steady use"),
    Averaging.CHAMBER: ("the value in the test chamber", "the value in the test chamber after {}"),
}


def in_words(limit: LimitDefinition) -> str:
    """The limit as a sentence: "The mean of any 30 min should not be above 0.1 mg/m³." """
    return f"{sentence_case(subject(limit))} {demand(limit)}."


def subject(limit: LimitDefinition) -> str:
    plain, timed = _SUBJECTS[limit.averaging]
    return timed.format(length(limit.averaging_minutes)) if limit.averaging_minutes else plain


def demand(limit: LimitDefinition) -> str:
    """ "should not be above 0.1 mg/m³" """
    return f"should {_verb(limit)}{_above_outdoor(limit)}"


def _verb(limit: LimitDefinition) -> str:
    if limit.bound is Bound.RANGE:
        top = "below" if limit.operator is Operator.BELOW else "up to"
        return f"lie between {_figure(limit.low)} and {top} {_figure(limit.high)} {limit.unit}"
    if limit.bound is Bound.LOWER:
        return f"not be below {_figure(limit.value)} {limit.unit}"
    verb = "stay below" if limit.operator is Operator.BELOW else "not be above"
    return f"{verb} {_figure(limit.value)} {limit.unit}"


def _above_outdoor(limit: LimitDefinition) -> str:
    return " more than outdoors" if limit.outdoor_rule is OutdoorRule.ABOVE_OUTDOOR else ""


def threshold(limit: LimitDefinition) -> str:
    """The bare number with its unit, as it is named in a sentence: "0.1 mg/m³", "20 to 26 °C"."""
    if limit.bound is Bound.RANGE:
        return f"{_figure(limit.low)} to {_figure(limit.high)} {limit.unit}"
    return f"{_figure(limit.value)} {limit.unit}{_above_outdoor(limit)}"


def _figure(value: Decimal | None) -> str:
    return "" if value is None else f"{value:f}"


def sentence_case(text: str) -> str:
    return text[:1].upper() + text[1:]


def conditions(limit: LimitDefinition) -> str:
    """At which temperature and pressure the limit counts its air, and who says so. Empty where none is needed."""
    if limit.actual_conditions:
        return "at the conditions of the place"
    reference = reference_of(limit)
    if reference is None:
        return ""
    said = "as the document states" if limit.reference_stated else "assumed: the document states none"
    return f"{reference.text} ({said})"


def document(limit: LimitDefinition) -> str:
    """Body, document, edition and clause, as a list of literature prints them."""
    return ", ".join(part for part in (limit.body, limit.document, limit.edition, limit.clause) if part)


def limit_content(limit: LimitDefinition, *, confirmed_by: str, needs_check: bool) -> dict[str, Any]:
    """``confirmed_by``: who of the organisation has compared the value with the document, "" for nobody."""
    check, reference = "", reference_of(limit)
    if needs_check:
        check = f"Compared with the document by {confirmed_by}." if confirmed_by else CHECK
    return {
        "code": limit.code,
        "parameter": limit.parameter,
        "name": SUBSTANCES[limit.parameter].name,
        "symbol": SUBSTANCES[limit.parameter].symbol,
        "value": limit.value_text(),
        "threshold": threshold(limit),
        "unit": limit.unit,
        "bound": limit.bound.value,
        "statistic": limit.statistic,
        "averaging": limit.averaging.value,
        "averaging_minutes": limit.averaging_minutes,
        "in_words": in_words(limit),
        "population": limit.population,
        "body": limit.body,
        "document": limit.document,
        "edition": limit.edition,
        "clause": limit.clause,
        "citation": document(limit),
        "conditions": conditions(limit),
        "reference": reference.text if reference else "",
        "outdoor": limit.outdoor_rule.value,
        "status": limit.status.value,
        "in_force": limit.in_force,
        "confidence": CONFIDENCE_WORDS[limit.confidence_value],
        "check": check,
        "reason": limit.reason,
        "notes": limit.notes,
    }
