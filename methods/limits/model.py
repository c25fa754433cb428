"""What a published limit is: the value, the averaging time, and everything that says what may be compared with it.

A limit is kept in the unit its document legislates. The other-unit value some documents print beside it
(``in_words_pair``) is text, so that nobody can compute with it: published pairs are rounded and mix temperatures.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from methods.limits.reasons import REASONS


class Bound(StrEnum):
    UPPER = "upper"  # ``value`` must not be exceeded
    LOWER = "lower"  # ``value`` must not be undercut
    RANGE = "range"  # between ``low`` and ``high``


class Operator(StrEnum):
    """How a measurement that meets the limit stands to its value; in a range, to ``high`` (``low`` is inclusive)."""

    BELOW = "<"
    AT_MOST = "<="
    AT_LEAST = ">="


class Averaging(StrEnum):
    """Which statistic of the air the document limits. ``averaging_minutes`` is its length where one is stated."""

    CEILING = "ceiling"  # never to be exceeded, not even for a moment
    SPOT = "spot"  # the momentary reading
    DAY_READINGS = "day_readings"  # the mean of the readings of one day at a point, two at least
    ROLLING_MEAN = "rolling_mean"  # any window of that length, judged at the worst one
    SAMPLE_MEAN = "sample_mean"  # one sample of that length, taken as the document prescribes
    SHIFT_TWA = "shift_twa"  # a work shift, weighted to that length
    LONG_TERM_MEAN = "long_term_mean"  # weeks to a lifetime
    PERCENTILE = "percentile"  # a rank, or a count of exceedances, of means of that length within a year or years
    DESIGN = "design"  # a design or target value at steady state
    CHAMBER = "chamber"  # the test chamber of a product standard


class Occupied(StrEnum):
    """Of a limit for occupied or working time: what of the time of use it is about."""

    TIME = "time"  # the statistic that ``Averaging`` names, within the time of use alone
    DAY = "day"  # the mean over the time of use of a day, judged at the worst day


class PopulationScope(StrEnum):
    DWELLING = "dwelling"
    PUBLIC = "public"  # offices, schools, care, public and commercial buildings without hazardous-substance work
    WORKPLACE = "workplace"  # workers' exposure; the breathing zone of a person
    OUTDOOR = "outdoor"
    CERTIFICATION = "certification"  # a voluntary scheme, a classification or an acceptance test
    PRODUCT = "product"


class Claim(StrEnum):
    """What a campaign of hours or days may say about a limit."""

    COMPARE = "compare"
    INDICATIVE = "indicative"
    CONTEXT = "context"


class Comparable(StrEnum):
    YES = "yes"  # with the air of a place, at the strength of ``short_campaign``
    NEVER = "never"  # not an air limit: emission tests, hazard values, escape levels


class OutdoorRule(StrEnum):
    ABSOLUTE = "absolute"
    ABOVE_OUTDOOR = "above_outdoor"  # the limit itself is a difference to the outdoor air
    OUTDOOR_SUBTRACTED = "outdoor_subtracted"  # the result is corrected by the outdoor value first


class Rounding(StrEnum):
    NONE = "none"
    HALF_UP = "half_up"
    TRUNCATE = "truncate"


class Status(StrEnum):
    IN_FORCE = "in_force"
    SUPERSEDED = "superseded"  # a later edition says otherwise; older projects may still be held to it
    DRAFT = "draft"
    PROPOSAL = "proposal"


class Confidence(StrEnum):
    """How the value came into the guidelines reference."""

    VERIFIED = "V"  # seen in the document or on the issuing body's page
    SECONDARY = "S"  # seen in somebody else's page
    MEMORY = "M"  # from memory
    DOUBTFUL = "M?"  # from memory, and not sure


_SIGNS = {Operator.BELOW: "<", Operator.AT_MOST: "≤", Operator.AT_LEAST: "≥"}
_STATUS_WORDS = {Status.SUPERSEDED: " (superseded)", Status.DRAFT: " (draft)", Status.PROPOSAL: " (proposal)"}


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitDefinition:
    """One published value with one averaging time. ``row`` is the row of the guidelines reference it came from.

    ``interim`` marks a stepping stone to the document's own guideline value. ``tolerance``: the share of its value by
    which the rule itself lets a result pass it, 0.20 for 20 %; None where it lets none. ``occupied``: None where all
    time counts. The reference temperature (°C)
    and pressure (kPa) are those of the document if ``reference_stated``, else inferred or from memory; None where
    unknown.
    """

    code: str
    row: str
    source: str
    body: str
    jurisdiction: str
    document: str
    edition: str
    clause: str
    parameter: str
    bound: Bound
    operator: Operator
    value: Decimal | None
    low: Decimal | None
    high: Decimal | None
    unit: str
    in_words_pair: str
    averaging: Averaging
    averaging_minutes: int | None
    statistic: str
    population: str
    scopes: tuple[PopulationScope, ...]
    comparable: Comparable
    short_campaign: Claim
    reason_code: str
    laboratory: Claim
    outdoor_rule: OutdoorRule
    rounding: Rounding
    rounding_digits: int | None
    tolerance: Decimal | None
    temperature_c: Decimal | None
    pressure_kpa: Decimal | None
    reference_stated: bool
    actual_conditions: bool
    equivalent: str
    status: Status
    interim: bool
    valid_from: date | None
    valid_to: date | None
    superseded_by: str
    confidence_value: Confidence
    confidence_note: str
    notes: str
    occupied: Occupied | None = None

    @property
    def workplace(self) -> bool:
        """Whether the limit is about workers; such a limit is no criterion for dwellings, nor the reverse."""
        return PopulationScope.WORKPLACE in self.scopes

    @property
    def verified(self) -> bool:
        return self.confidence_value is Confidence.VERIFIED

    @property
    def needs_check(self) -> bool:
        """Whether the value has not been seen in the document: pages then say "check against the document"."""
        return not self.verified

    def in_force_on(self, day: date) -> bool:
        """Whether the limit is in force by its status and ``day`` lies within its dates, where those are known."""
        begun = self.valid_from is None or self.valid_from <= day
        return self.status is Status.IN_FORCE and begun and (self.valid_to is None or day <= self.valid_to)

    def standing_on(self, day: date) -> str:
        """In force on ``day``, not yet, no longer, or what its status says, in words."""
        if self.status is not Status.IN_FORCE or self.in_force_on(day):
            return self.status.value.replace("_", " ")
        if self.valid_from and day < self.valid_from:
            return f"in force from {self.valid_from:%Y-%m-%d}"
        return f"in force until {self.valid_to:%Y-%m-%d}"

    @property
    def reason(self) -> str:
        """Why a campaign of hours or days may say no more than ``short_campaign``, in words."""
        return REASONS[self.reason_code]

    @property
    def upper(self) -> float | None:
        """The value not to be exceeded, in ``unit``; None for a limit that only has a lower end."""
        number = self.high if self.bound is Bound.RANGE else self.value
        return None if number is None or self.bound is Bound.LOWER else float(number)

    @property
    def lower(self) -> float | None:
        """The value not to be undercut, in ``unit``; None for a limit that only has an upper end."""
        number = self.low if self.bound is Bound.RANGE else self.value
        return None if number is None or self.bound is Bound.UPPER else float(number)

    def claim(self, *, laboratory: bool = False) -> Claim:
        """What may be said from direct reading, or from a laboratory sample of the prescribed kind and length."""
        return self.laboratory if laboratory else self.short_campaign

    def value_text(self) -> str:
        """The number with its operator and unit, such as "≤ 0.1 mg/m³" or "20 to < 25.5 °C"."""
        above = " above outdoor" if self.outdoor_rule is OutdoorRule.ABOVE_OUTDOOR else ""
        if self.bound is Bound.RANGE:
            strict = "< " if self.operator is Operator.BELOW else ""
            return f"{self.low:f} to {strict}{self.high:f} {self.unit}{above}"
        return f"{_SIGNS[self.operator]} {self.value:f} {self.unit}{above}{self.tolerance_text()}"

    def tolerance_text(self) -> str:
        """What follows the number where the rule lets a result pass it; "" where it does not."""
        if self.tolerance is None:
            return ""
        return f" with the rule's own tolerance of {self.tolerance_percent}"

    @property
    def tolerance_percent(self) -> str:
        """ "20 %"; "" for a rule without one."""
        return "" if self.tolerance is None else f"{(100 * self.tolerance).normalize():f} %"

    def text(self) -> str:
        """One line for people: value, statistic, issuing body, edition, and status if not in force."""
        issued = f"{self.body} {self.edition}".strip()
        return f"{self.value_text()}, {self.statistic} – {issued}{_STATUS_WORDS.get(self.status, '')}"

    def citation(self) -> str:
        """Document, edition and clause, and the row of the guidelines reference the value was taken from."""
        parts = [self.body, self.document, self.edition, self.clause]
        return f"{', '.join(part for part in parts if part)} [{self.source}]"


@dataclass(frozen=True, slots=True, kw_only=True)
class WithoutValue:
    """A row of the guidelines reference that carries no limit of ours, and why; kept so that nothing is dropped."""

    code: str
    row: str
    source: str
    body: str
    document: str
    parameter: str
    reason: str
