"""A limit as the one or two numbers a true value is held against, after the limit's own rounding rule."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from math import inf

from methods.averages.rounding import half_up, truncate
from methods.limits.model import Bound, LimitDefinition, Operator, Rounding
from methods.uncertainty import student


@dataclass(frozen=True, slots=True)
class Edge:
    """``value`` in the limit's unit. ``is_upper``: it must not be exceeded; else not undercut. ``inclusive``: a value
    exactly at the edge meets it."""

    value: float
    is_upper: bool
    inclusive: bool

    def is_met_by(self, x: float) -> bool:
        if x == self.value:
            return self.inclusive
        return (x < self.value) is self.is_upper

    def p_above(self, x: float, u: float, dof: float = inf) -> float:
        """Probability that the true value lies above the edge, Φ((x − L)/u) (JCGM 106 §7; M-08).

        Where ``u`` rests on few readings, Student's t with its effective degrees of freedom stands for Φ (JCGM 100
        G.4; M-06). Without uncertainty it is 0 or 1, and at the edge itself the operator decides.
        """
        if u == 0.0:
            return 0.0 if self.is_met_by(x) is self.is_upper else 1.0
        return student.probability((x - self.value) / u, dof)


def edges(limit: LimitDefinition) -> tuple[Edge, ...]:
    """The edges of a limit: one, or for a range the lower and the upper.

    A document that rounds a result before comparing moves the edge: with whole numbers and ≤ 9, everything below 9.5
    meets (R-03); with truncation to three decimals and ≤ 0.070, everything below 0.071 does (R-05). A rule with a
    tolerance of its own moves it as well: ≤ 50 with 20 % is met up to 60, ≥ 50 from 40 on.
    """
    limit_edges = []
    if limit.bound is not Bound.UPPER:
        low = limit.low if limit.bound is Bound.RANGE else limit.value
        if low is not None:
            limit_edges.append(_lower(low * (1 - (limit.tolerance or 0)), limit))
    if limit.bound is not Bound.LOWER:
        high = limit.high if limit.bound is Bound.RANGE else limit.value
        if high is not None:
            limit_edges.append(_upper(high * (1 + (limit.tolerance or 0)), limit))
    if not limit_edges:
        raise ValueError(f"the limit {limit.code} carries no value")
    return tuple(limit_edges)


def is_met(limit: LimitDefinition, x: float) -> bool:
    """Whether the plain number ``x``, in the limit's unit, meets it; says nothing about uncertainty."""
    plain = replace(limit, rounding=Rounding.NONE, rounding_digits=None)
    return all(edge.is_met_by(as_compared(limit, x)) for edge in edges(plain))


def as_compared(limit: LimitDefinition, x: float) -> float:
    """``x`` as the limit's document compares it: after its own rounding, unrounded where it has none (R-02 to R-05)."""
    digits = limit.rounding_digits or 0
    if limit.rounding is Rounding.NONE:
        return x
    return half_up(x, digits) if limit.rounding is Rounding.HALF_UP else truncate(x, digits)


def _upper(value: Decimal, limit: LimitDefinition) -> Edge:
    if limit.rounding is Rounding.NONE:
        return Edge(float(value), is_upper=True, inclusive=limit.operator is not Operator.BELOW)
    step = _step(limit)
    last = value.quantize(step, rounding=ROUND_FLOOR)
    if limit.operator is Operator.BELOW and last == value:
        last -= step
    return Edge(float(last + _reach(limit, step)), is_upper=True, inclusive=False)


def _lower(value: Decimal, limit: LimitDefinition) -> Edge:
    if limit.rounding is Rounding.NONE:
        return Edge(float(value), is_upper=False, inclusive=True)
    step = _step(limit)
    first = value.quantize(step, rounding=ROUND_CEILING)
    return Edge(float(first - step + _reach(limit, step)), is_upper=False, inclusive=True)


def _step(limit: LimitDefinition) -> Decimal:
    return Decimal(1).scaleb(-(limit.rounding_digits or 0))


def _reach(limit: LimitDefinition, step: Decimal) -> Decimal:
    """How far above a rounded figure the numbers reach that round to it."""
    return step if limit.rounding is Rounding.TRUNCATE else step / 2
