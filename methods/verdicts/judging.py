"""The verdict on one result against one limit (docs/methods/verdicts.md; after JCGM 106).

Everything that leaves the true value open widens one interval, the probability that it lies above the limit: readings
below detection (from zero to their limit), readings over range and ceilings (up to certainty). Above, when even its
lower end is high enough; below, when even its upper end is low enough; undecided otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from math import inf, sqrt
from statistics import NormalDist

from methods.averages import Window
from methods.limits.model import Bound, LimitDefinition
from methods.quantities.digits import as_entered, in_digits, percent
from methods.uncertainty.budget import Budget, expanded
from methods.uncertainty.worst_of_many import UNCHOSEN, Choice
from methods.verdicts.comparability import Comparability, ComparabilityState, Reason
from methods.verdicts.deciding import (
    UndecidedResult,
    WouldDecide,
    higher_range,
    no_way_to_show_a_ceiling_kept,
    smaller_uncertainty,
    trueness_check,
)
from methods.verdicts.edges import Edge, edges, is_met
from methods.verdicts.words import MARK_GLYPHS, RANGE_WORDS, Verdict, mark_of


@dataclass(frozen=True, slots=True)
class Levels:
    """From which probability of lying above the limit a result is called above, and up to which below."""

    above: float = 0.95
    below: float = 0.05

    def __post_init__(self) -> None:
        if not 0 < self.below <= 0.5 <= self.above < 1:
            raise ValueError("levels must satisfy 0 < below ≤ 0.5 ≤ above < 1")

    @property
    def z_above(self) -> float:
        return NormalDist().inv_cdf(self.above)

    @property
    def z_below(self) -> float:
        return -NormalDist().inv_cdf(self.below)

    @property
    def words(self) -> str:
        """Printed with every verdict."""
        return _levels_words(self.above, self.below)


@lru_cache(maxsize=64)
def _levels_words(above: float, below: float) -> str:
    return (
        f"above from {percent(above)} probability that the true value is above the limit, below up to {percent(below)}"
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A result in the limit's unit: the mean, its budget, and what leaves it open.

    ``lower``/``upper`` bound the mean when readings were below detection (at zero, at their limit); None: no such
    readings. ``is_lower_bound``: a reading was over range. ``minutes``: time the readings stand for, None if unknown,
    or if a longer log would say no more. ``chosen``: what it does to ``value`` that it is the worst of many windows, or
    readings; its excess is below zero where it is the lowest of them.
    """

    value: float
    budget: Budget
    lower: float | None = None
    upper: float | None = None
    is_lower_bound: bool = False
    minutes: float | None = None
    chosen: Choice = UNCHOSEN

    @classmethod
    def of(cls, window: Window, budget: Budget, chosen: Choice = UNCHOSEN) -> Estimate:
        return cls(
            value=window.mean,
            budget=budget,
            lower=window.lower if window.is_censored else None,
            upper=window.upper if window.is_censored else None,
            is_lower_bound=window.is_lower_bound,
            # of a time that was measured whole a longer log says no more
            minutes=window.covered_minutes if window.coverage < 1 else None,
            chosen=chosen,
        )

    @property
    def excess(self) -> float:
        return self.chosen.excess

    @property
    def expanded(self) -> float:
        """U of ``value``, as it is shown."""
        return expanded(self.budget.combined, self.budget.effective_dof, self.excess)

    @property
    def bounds(self) -> tuple[float, float]:
        """The mean as it was measured, with what readings below detection leave open."""
        return (
            self.value if self.lower is None else self.lower,
            self.value if self.upper is None else self.upper,
        )

    @property
    def held_bounds(self) -> tuple[float, float]:
        """The same as it is held against a limit: on the side that was chosen for being the worst less its excess."""
        lower, upper = self.bounds
        return lower - max(self.excess, 0.0), upper - min(self.excess, 0.0)


@dataclass(frozen=True, slots=True)
class Judgement:
    """The verdict and what it rests on.

    ``is_met``: whether the limit is met; None while undecided or not comparable. For an upper limit that is the same
    as below, for a lower limit it is the same as above. ``p_above`` is taken at the result, ``p_bounds`` over all
    that leaves it open; both None if not comparable. ``u`` and ``dof`` are those at the limit, with which they were
    worked out. ``is_indicative``: the comparison itself is only an indication.
    """

    verdict: Verdict
    p_above: float | None
    p_bounds: tuple[float, float] | None
    is_met: bool | None
    reasons: tuple[Reason, ...]
    would_decide: WouldDecide | None
    levels: Levels
    is_indicative: bool = False
    edge: Edge | None = None
    is_range: bool = False
    u: float | None = None
    dof: float = inf

    @property
    def words(self) -> str:
        """The verdict in words; for lower limits and ranges it says which end is meant."""
        if self.edge is None or self.verdict in (Verdict.UNDECIDED, Verdict.NOT_COMPARABLE):
            return self.verdict.words
        if self.is_range:
            return RANGE_WORDS["within_range" if self.is_met else f"{self.verdict.value}_range"]
        return self.verdict.words if self.edge.is_upper else f"{self.verdict.value} the lower limit"

    @property
    def glyph(self) -> str:
        return MARK_GLYPHS[mark_of(self.verdict, self.words)]


_FULL = Comparability(ComparabilityState.YES, "", "")


def judge(
    estimate: Estimate,
    limit: LimitDefinition,
    levels: Levels | None = None,
    comparability: Comparability = _FULL,
) -> Judgement:
    """The verdict on ``estimate`` against ``limit``, both in the limit's unit and at its reference conditions."""
    chosen = levels or Levels()
    said = _said(comparability)
    if not comparability.is_comparable:
        return Judgement(Verdict.NOT_COMPARABLE, None, None, None, said, None, chosen)
    return min((_against(edge, estimate, limit, chosen, comparability, said) for edge in edges(limit)), key=_standing)


def _said(comparability: Comparability) -> tuple[Reason, ...]:
    own = Reason(comparability.code, comparability.words)
    return tuple(reason for reason in (own, *comparability.notes) if reason.code)


def _standing(judgement: Judgement) -> tuple[int, float]:
    """Order of concern: an edge not met governs, then one undecided; among those met, the upper edge."""
    rank = {False: 0, None: 1, True: 2}[judgement.is_met]
    edge, p = judgement.edge, judgement.p_above or 0.0
    is_upper = edge is None or edge.is_upper
    if rank == 2:
        return rank, 0.0 if is_upper else 1.0
    return rank, -p if is_upper else p - 1.0


def _against(
    edge: Edge,
    estimate: Estimate,
    limit: LimitDefinition,
    levels: Levels,
    comparability: Comparability,
    said: tuple[Reason, ...],
) -> Judgement:
    """``said``: the reasons that are known before."""
    is_ceiling = not comparability.can_be_below
    lower, upper = estimate.held_bounds
    # How likely a true value at the limit is to look like this: it would carry the span's error of the limit.
    u, dof = estimate.budget.combined_at(abs(edge.value))
    p = edge.p_above(estimate.value, u, dof)
    p_low, p_high = _p_bounds(edge, estimate, p, (u, dof))
    if estimate.is_lower_bound or is_ceiling:
        p_high = 1.0
    verdict = Verdict.UNDECIDED if estimate.budget.is_blind else _verdict(p_low, p_high, levels)
    question = UndecidedResult(
        limit, edge, (lower, upper), estimate.budget, estimate.minutes, levels.below, levels.above
    )
    is_undecided = verdict is Verdict.UNDECIDED
    return Judgement(
        verdict,
        p,
        (p_low, p_high),
        None if is_undecided else (verdict is Verdict.BELOW) is edge.is_upper,
        tuple(dict.fromkeys((*said, *_reasons(question, estimate, verdict, is_ceiling=is_ceiling)))),
        _way_out(question, estimate, is_ceiling=is_ceiling) if is_undecided else None,
        levels,
        is_indicative=comparability.state is ComparabilityState.INDICATIVE,
        edge=edge,
        is_range=limit.bound is Bound.RANGE,
        u=u,
        dof=dof,
    )


def _p_bounds(edge: Edge, estimate: Estimate, p: float, plain: tuple[float, float]) -> tuple[float, float]:
    """Of lying above, over all that leaves the true value open; ``p``: at the value; ``plain``: u and ν at the edge."""
    lower, upper = estimate.held_bounds
    chosen = plain
    if estimate.excess:  # the worst of many strays less far than any one of those it was chosen from
        chosen = estimate.budget.shrunk(estimate.chosen.spread).combined_at(abs(edge.value))
    low_u, high_u = (chosen if estimate.excess > 0 else plain), (chosen if estimate.excess < 0 else plain)
    low = p if lower == estimate.value else min(p, edge.p_above(lower, *low_u))
    high = p if upper == estimate.value else max(p, edge.p_above(upper, *high_u))
    return low, high


def _verdict(p_low: float, p_high: float, levels: Levels) -> Verdict:
    if p_low >= levels.above:
        return Verdict.ABOVE
    return Verdict.BELOW if p_high <= levels.below else Verdict.UNDECIDED


def _way_out(question: UndecidedResult, estimate: Estimate, *, is_ceiling: bool) -> WouldDecide:
    if estimate.budget.is_blind:
        return trueness_check()
    if is_ceiling:
        return no_way_to_show_a_ceiling_kept()
    return higher_range(question) if estimate.is_lower_bound else smaller_uncertainty(question)


def _reasons(question: UndecidedResult, estimate: Estimate, verdict: Verdict, *, is_ceiling: bool) -> Iterator[Reason]:
    unit = question.limit.unit
    lower, upper = estimate.bounds
    if estimate.budget.is_blind:
        yield Reason("trueness_unknown", "Neither the zero nor the span of the instrument is known.")
    if estimate.is_lower_bound:
        yield Reason("over_range", "Readings were over range, so the true mean may be higher.")
    if lower < upper:
        yield Reason(
            "below_detection",
            f"Readings below the detection limit leave the mean open between {in_digits(lower)} and "
            f"{in_digits(upper)} {unit}.",
        )
    if estimate.excess:
        yield Reason("worst_of_many", _worst_words(estimate, unit))
    if estimate.budget.missing:
        yield Reason("missing_parts", _missing_words(question, verdict))
    if _is_within_tolerance(question, estimate.value):
        yield Reason(
            "within_tolerance",
            f"The result itself lies beyond {question.limit.value:f} {unit}, and within the rule's own tolerance, "
            f"which ends at {as_entered(question.edge.value)} {unit}.",
        )
    if verdict is Verdict.UNDECIDED and not is_ceiling and not estimate.is_lower_bound:
        yield Reason(
            "straddles", f"The uncertainty (U = {in_digits(estimate.expanded, 2)} {unit}) reaches across the limit."
        )


def _worst_words(estimate: Estimate, unit: str) -> str:
    end, way = ("highest", "above") if estimate.excess > 0 else ("lowest", "below")
    return (
        f"Of many windows this is the {end}; by the noise of the instrument alone it is expected to lie "
        f"{in_digits(abs(estimate.excess), 2)} {unit} too far {way}, which is taken off before anything is called "
        f"{way}."
    )


def _is_within_tolerance(question: UndecidedResult, x: float) -> bool:
    """Whether ``x`` meets the limit only because of the rule's tolerance."""
    limit = question.limit
    if limit.tolerance is None:
        return False
    return is_met(limit, x) and not is_met(replace(limit, tolerance=None), x)


def _missing_words(question: UndecidedResult, verdict: Verdict) -> str:
    """Name what nobody knows, and how large it may be together before the verdict falls."""
    words = f"Not known and not counted in the uncertainty: {', '.join(question.budget.missing)}."
    if verdict is Verdict.UNDECIDED:
        return words
    needed = question.needed_u_at(question.budget.effective_dof)
    margin = sqrt(max(needed**2 - question.budget.combined**2, 0.0))
    return (
        f"{words} The verdict stands while these together stay below u = {in_digits(margin, 2)} {question.limit.unit}."
    )
