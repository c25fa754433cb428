"""What would decide an undecided result: more readings, a better check, a laboratory sample, another instrument."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, inf, sqrt

from methods.limits.model import LimitDefinition
from methods.quantities.digits import in_digits
from methods.quantities.substances import SUBSTANCES
from methods.uncertainty import student
from methods.uncertainty.budget import CHECKABLE, Budget
from methods.verdicts.edges import Edge

#: Beyond a day of further readings a better check or a laboratory sample is the shorter way (project rule).
MOST_FURTHER_MINUTES = 24 * 60


@dataclass(frozen=True, slots=True)
class WouldDecide:
    """A way to a verdict: a stable code, words, and for more readings the further minutes needed."""

    code: str
    words: str
    minutes: float | None = None


@dataclass(frozen=True, slots=True)
class UndecidedResult:
    """An undecided result: the edge it is held against, the bounds of the mean, its budget and its covered time.

    ``below``/``above``: the levels of probability up to and from which it would be decided.
    """

    limit: LimitDefinition
    edge: Edge
    bounds: tuple[float, float]
    budget: Budget
    minutes: float | None
    below: float
    above: float

    @property
    def needed_u(self) -> float:
        """The largest well-known standard uncertainty with which this result would be decided; zero if none would."""
        return self.needed_u_at(inf)

    @property
    def distance(self) -> float:
        """How far the whole interval of the mean lies on one side of the edge; zero or less if it straddles it."""
        lower, upper = self.bounds
        return max(self.edge.value - upper, lower - self.edge.value)

    @property
    def allowed(self) -> float:
        """The probability that may remain for the other side of the edge."""
        return self.below if self.bounds[1] < self.edge.value else 1 - self.above

    def needed_u_at(self, dof: float) -> float:
        """The same for an uncertainty that is itself only known to ``dof`` degrees of freedom."""
        if self.distance <= 0.0:
            return 0.0
        k = -student.quantile(self.allowed, dof)
        return self.distance / k if k > 0 else inf

    def is_decided_by(self, budget: Budget) -> bool:
        """Whether the same mean with this ``budget`` would be decided."""
        u = budget.combined
        if self.distance <= 0.0 or u == 0.0:
            return self.distance > 0.0
        return student.probability(-self.distance / u, budget.effective_dof) <= self.allowed

    @property
    def better(self) -> str:
        return SUBSTANCES[self.limit.parameter].better


def trueness_check() -> WouldDecide:
    return WouldDecide(
        "zero_span_check", "A zero and a span check: without them nobody knows how far off the meter is."
    )


def no_way_to_show_a_ceiling_kept() -> WouldDecide:
    return WouldDecide("nothing", "Nothing: readings can show that a ceiling was exceeded, never that it was kept.")


def higher_range(question: UndecidedResult) -> WouldDecide:
    return WouldDecide("higher_range", f"An instrument with a higher range, or {question.better} at this point.")


def smaller_uncertainty(question: UndecidedResult) -> WouldDecide:
    """The shortest way to a verdict by making the uncertainty smaller (docs/methods/verdicts.md).

    More readings where the part that stays is small enough; else a better zero and span check where those parts are
    what stands in the way; else a laboratory sample or a reference instrument, with the uncertainty it must reach.
    """
    needed, parts = question.needed_u, question.budget
    further = _further_minutes(question)
    if further is not None and further <= MOST_FURTHER_MINUTES:
        minutes = float(max(1, ceil(further)))
        return WouldDecide("more_readings", f"About {minutes:.0f} min more readings like these.", minutes)
    if 0.0 < parts.without(*CHECKABLE).combined < needed:
        return WouldDecide("zero_span_check", f"A better check of {_checkable(parts)} on site.")
    goal = f" with a standard uncertainty below {in_digits(needed, 2)} {question.limit.unit}" if needed > 0 else ""
    return WouldDecide("laboratory_sample", f"{question.better[0].upper()}{question.better[1:]} at this point{goal}.")


def _further_minutes(question: UndecidedResult) -> float | None:
    """Minutes of readings like these, beyond those taken, that would shrink the random part enough; None if none.

    More readings make the scatter smaller and better known at once, so the answer is searched for by halving.
    """
    minutes, parts = question.minutes, question.budget
    if not minutes or parts.random == 0.0 or parts.systematic >= question.needed_u:
        return None
    low, high = 1.0, 1.0 + MOST_FURTHER_MINUTES / minutes
    if not _would_decide(question, high):
        return None
    while (high - low) * minutes > 0.01:
        middle = (low + high) / 2
        low, high = (low, middle) if _would_decide(question, middle) else (middle, high)
    return minutes * (high - 1.0)


def _would_decide(question: UndecidedResult, times: float) -> bool:
    """Whether ``times`` as many readings would decide, with the same mean and the same scatter of single ones."""
    more = Budget(
        tuple(
            replace(part, u=part.u / sqrt(times), dof=(part.dof + 1) * times - 1) if part.shrinks and part.u else part
            for part in question.budget.components
        )
    )
    return question.is_decided_by(more)


def _checkable(parts: Budget) -> str:
    """The checkable parts in words, largest first."""
    names = [row.name for row in parts.rows() if row.name in CHECKABLE and row.u]
    return " and ".join(names) or "zero and span"
