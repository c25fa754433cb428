"""A limit in words: the number, what it averages over, and where it was published. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from methods.limits.model import Averaging, Bound, Confidence, LimitDefinition, Occupied, Operator, OutdoorRule
from methods.quantities.units import Reference
from methods.wording.numbers import length, sentence_case

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
    Averaging.DAY_READINGS: ("the mean of the readings of a day", "the mean of the readings of a day"),
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
    return f"{sentence_case(subject(limit))} {demand(limit)}{limit.tolerance_text()}."


#: What is averaged of a limit for occupied time that states no length.
_OCCUPIED_DAY, _OCCUPIED = "the mean over the time of use of a day", "in the time of use"


def subject(limit: LimitDefinition) -> str:
    if limit.occupied is Occupied.DAY:
        return _OCCUPIED_DAY
    if limit.occupied is Occupied.TIME:
        return f"{_subject(limit)} {_OCCUPIED}"
    return _subject(limit)


def _subject(limit: LimitDefinition) -> str:
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
    return f"{_figure(limit.value)} {limit.unit}{_above_outdoor(limit)}{limit.tolerance_text()}"


def _figure(value: Decimal | None) -> str:
    return "" if value is None else f"{value:f}"


def conditions(limit: LimitDefinition, reference: Reference | None) -> str:
    """At which temperature and pressure the limit counts its air, and who says so. Empty where none is needed.

    ``reference``: those of the document, or those taken where it states none.
    """
    if limit.actual_conditions:
        return "at the conditions of the place"
    if reference is None:
        return ""
    said = "as the document states" if limit.reference_stated else "assumed: the document states none"
    return f"{reference.text} ({said})"


def document(limit: LimitDefinition) -> str:
    """Body, document, edition and clause, as a list of literature prints them."""
    return ", ".join(part for part in (limit.body, limit.document, limit.edition, limit.clause) if part)


def line_label(limit: LimitDefinition) -> str:
    """Beside its line in a drawing: "≤ 0.1 mg/m³, worst 30-minute mean"."""
    return f"{limit.value_text()}, {limit.statistic}"


@dataclass(frozen=True, slots=True)
class LimitConfirmed:
    """Who has compared a limit with its document and when, in words; ``edition`` and ``page`` "" where not noted."""

    by: str
    day: str
    edition: str = ""
    page: str = ""


def confidence(limit: LimitDefinition, confirmed: LimitConfirmed | None) -> str:
    """How the value came here, or that it was confirmed since."""
    if limit.needs_check and confirmed and confirmed.edition:
        return "confirmed in the document"
    return CONFIDENCE_WORDS[limit.confidence_value]


def check(confirmed: LimitConfirmed | None, *, needs_check: bool) -> str:
    """What is said of a value that the catalogue does not have from its document."""
    if not needs_check:
        return ""
    if confirmed is None:
        return CHECK
    if not confirmed.edition:
        return f"Compared with the document by {confirmed.by}."
    return f"Edition {confirmed.edition}, page {confirmed.page}: confirmed by {confirmed.by} on {confirmed.day}."
