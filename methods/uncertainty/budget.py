"""How sure a mean is: the uncertainty budget (docs/methods/uncertainty.md; after JCGM 100, the GUM).

Pure. u² = u_zero² + (u_span·x)² + u_drift² + r²/12 + u_T² + u_int² + u_noise²/n_eff + (1 − c)·s²/n_s. What really
changed in a window that was measured whole is no part of it (after ISO 11222): scatter counts for the share 1 − c that
was not covered. A part nobody knows is named as missing; it is never taken as zero in silence.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from math import inf, sqrt

import numpy as np
from scipy.optimize import brentq

from methods.quantities.arrays import Floats, Shorts
from methods.quantities.digits import in_digits, percent
from methods.quantities.flags import Flag
from methods.uncertainty import student
from methods.uncertainty.noise import Noise, effective_n

#: The expanded uncertainty covers so much, two-sided (JCGM 100 §6.3).
COVERED = 0.95
MAX_AUTOCORRELATION = 0.99
#: In any unit: fourth powers of larger ones are no numbers any more.
LARGEST_U = 1e75
ZERO, SPAN, DRIFT, RESOLUTION = "zero", "span", "drift", "resolution"
SPAN_DRIFT, REFERENCE = "drift of the span", "reference of the checks"
TEMPERATURE, INTERFERENCE = "temperature", "interference"
NOISE, COVERAGE, SCATTER = "noise of the instrument", "time not covered", "scatter of readings"
#: Parts that a better zero and span check on site would make small.
CHECKABLE = (ZERO, SPAN, DRIFT, SPAN_DRIFT)


@dataclass(frozen=True, slots=True)
class Component:
    """One part of a budget: a standard uncertainty in the unit of the result, or None where nobody knows it.

    ``source`` says where the figure is from. ``shrinks``: more readings make it smaller. ``dof``: degrees of freedom,
    infinite where the figure is taken as known. ``relative``: the part grows with the value,
    ``u`` = relative · |x + offset|; the offset is what was taken off the reading, such as an outdoor value.
    """

    name: str
    u: float | None
    source: str | None = None
    shrinks: bool = False
    dof: float = inf
    relative: float | None = None
    offset: float = 0.0

    def __post_init__(self) -> None:
        if self.u is not None and not 0 <= self.u <= LARGEST_U:
            raise ValueError(
                f"the uncertainty of {self.name} must be a number from zero to {in_digits(LARGEST_U)}, or None if not "
                "known"
            )

    @property
    def missing(self) -> bool:
        return self.u is None


@dataclass(frozen=True, slots=True)
class BudgetRow:
    """One line of the budget's table; ``share`` is the part of the variance, 0 to 1, None for a missing part."""

    name: str
    u: float | None
    share: float | None
    shrinks: bool
    source: str
    missing: bool


@dataclass(frozen=True)
class Budget:
    """Parts of an uncertainty and what they add up to. All figures in the unit of the result."""

    components: tuple[Component, ...]

    @cached_property
    def known(self) -> tuple[Component, ...]:
        return tuple([part for part in self.components if part.u is not None])

    @cached_property
    def missing(self) -> tuple[str, ...]:
        """Names of the parts nobody knows; while there are any, ``combined`` is a lower bound."""
        return tuple([part.name for part in self.components if part.u is None])

    @property
    def is_complete(self) -> bool:
        return not self.missing

    @property
    def is_blind(self) -> bool:
        """Whether nobody knows anything about how true the instrument is: neither its zero nor its span."""
        return ZERO in self.missing and SPAN in self.missing

    @cached_property
    def combined(self) -> float:
        """Combined standard uncertainty of the known parts, root of the sum of squares (JCGM 100 §5.1; M-03, M-05)."""
        return combine([part.u for part in self.known if part.u is not None])

    @property
    def expanded(self) -> float:
        """U = t₀.₉₇₅(ν_eff)·u (JCGM 100 G.4)."""
        return expanded(self.combined, self.effective_dof)

    @property
    def random(self) -> float:
        """What more readings would shrink."""
        return combine([part.u for part in self.known if part.shrinks and part.u is not None])

    @property
    def systematic(self) -> float:
        """What stays however long one measures."""
        return combine([part.u for part in self.known if not part.shrinks and part.u is not None])

    @property
    def effective_dof(self) -> float:
        """Welch and Satterthwaite's effective degrees of freedom (JCGM 100 G.4.1; M-06)."""
        parts = [(part.u, part.dof) for part in self.known if part.u]
        weight = sum(u**4 / dof for u, dof in parts)
        return self.combined**4 / weight if weight else inf

    def combined_at(self, x: float) -> tuple[float, float]:
        """``combined`` and ``effective_dof`` that a result ``x`` of the same measurement would have: relative parts
        follow the value."""
        squares, weight = 0.0, 0.0
        for part in self.known:
            u = part.u if part.relative is None else part.relative * (x + part.offset)
            assert u is not None
            squares += (square := u * u)
            weight += square * square / part.dof
        return sqrt(squares), squares * squares / weight if weight else inf

    def without(self, *names: str) -> Budget:
        """The same budget with the named parts taken as removed: what a better check of them would leave."""
        return Budget(tuple(part for part in self.components if part.name not in names))

    def shrunk(self, factor: float) -> Budget:
        """The same with the random parts times ``factor``."""
        parts = [replace(part, u=part.u * factor) if part.shrinks and part.u else part for part in self.components]
        return Budget(tuple(parts))

    def rows(self) -> list[BudgetRow]:
        """The table, largest share first, missing parts last."""
        variance = self.combined**2
        rows = [
            BudgetRow(
                part.name,
                part.u,
                None if part.u is None else (part.u**2 / variance if variance else 0.0),
                part.shrinks,
                part.source or "",
                part.missing,
            )
            for part in self.components
        ]
        return sorted(rows, key=lambda row: (row.missing, -(row.share or 0.0)))


def coverage_factor(dof: float) -> float:
    """k of U = k·u: Student's t for 95 %, two-sided; 1.96 where u is well known, more where it rests on little."""
    return student.quantile((1 + COVERED) / 2, max(dof, 1.0))


@lru_cache(maxsize=4096)
def expanded(u: float, dof: float, excess: float = 0.0) -> float:
    """U, which covers 95 %: k·u. Where the value is expected to lie ``excess`` too high or too low (as the worst of
    many does) and is shown as it is, U is as much larger as that takes (after JCGM 100 F.2.4.5)."""
    if u == 0.0 or excess == 0.0:
        return coverage_factor(dof) * u + abs(excess)
    off, freedom = abs(excess) / u, max(dof, 1.0)

    def uncovered(reach: float) -> float:
        return student.probability(reach - off, freedom) - student.probability(-reach - off, freedom) - COVERED

    narrow, wide = coverage_factor(freedom), coverage_factor(freedom) + off
    return u * float(brentq(uncovered, narrow, wide, xtol=1e-6))


def combine(parts: Sequence[float]) -> float:
    """Root of the sum of squares of independent standard uncertainties (JCGM 100 §5.1.2)."""
    return sqrt(sum([part**2 for part in parts]))


def rectangular(half_width: float) -> float:
    """u of a value known only to lie within ± ``half_width`` (JCGM 100 §4.3.7; M-02)."""
    return half_width / sqrt(3)


def of_resolution(step: float) -> float:
    """u of a display that rounds to ``step``: r/√12 (JCGM 100 F.2.2.1; M-01)."""
    return step / sqrt(12)


def budget(
    x: float,
    random: Sequence[Component] = (),
    *,
    resolution: float | None,
    zero_u: float | None,
    span_u_rel: float | None,
    drift_u: float | None,
    temperature_u: float | None,
    interference_u: float | None,
    span_drift_u_rel: float | None = 0.0,
    sources: dict[str, str] | None = None,
) -> Budget:
    """The budget of a mean ``x``, all in one unit; None means that nobody knows the part.

    ``span_u_rel`` and ``span_drift_u_rel`` are relative (0.05 for 5 %), the others absolute standard uncertainties;
    ``resolution`` is the step of the display; ``random``: ``noise_part`` and ``coverage_part`` of the mean.
    ``sources`` gives words per part.
    """
    span = None if span_u_rel is None else abs(span_u_rel * x)
    span_drift = None if span_drift_u_rel is None else abs(span_drift_u_rel * x)
    step = None if resolution is None else of_resolution(resolution)
    said = (sources or {}).get
    return Budget(
        (
            Component(ZERO, zero_u, said(ZERO)),
            Component(SPAN, span, said(SPAN), relative=span_u_rel),
            Component(DRIFT, drift_u, said(DRIFT)),
            Component(SPAN_DRIFT, span_drift, said(SPAN_DRIFT), relative=span_drift_u_rel),
            Component(RESOLUTION, step, said(RESOLUTION)),
            Component(TEMPERATURE, temperature_u, said(TEMPERATURE)),
            Component(INTERFERENCE, interference_u, said(INTERFERENCE)),
            *random,
        )
    )


def noise_part(noise: Noise, spread: Scatter, weight: float = 1.0) -> Component:
    """What the noise of the instrument leaves of a mean of ``spread.n`` readings, times ``weight``."""
    name = SCATTER if noise.is_scatter else NOISE
    u = noise.of_mean(max(spread.n, 1))
    said = f"{noise.source}; {spread.n} readings" if noise.source else ""
    return Component(name, None if u is None else u * abs(weight), said, shrinks=True, dof=noise.dof)


def coverage_part(covered: float, spread: Scatter, weight: float = 1.0) -> Component:
    """What the uncovered share of the averaging time leaves open, √((1 − c)·s²/n_s): ``covered`` is c, 0 to 1."""
    missing = 1 - min(max(covered, 0.0), 1.0)
    if missing < 1e-9:
        return Component(COVERAGE, 0.0, "all of the averaging time was measured", shrinks=True)
    said = f"{percent(missing, 3)} of the averaging time was not measured; {spread.n} readings stand for it"
    if spread.s is None:
        return Component(COVERAGE, None, said, shrinks=True)
    independent = effective_n(spread.n, spread.rho)
    u = spread.s * sqrt(missing / independent) * abs(weight)
    return Component(COVERAGE, u, said, shrinks=True, dof=max(independent - 1, 1.0))


def _spread(values: Floats) -> tuple[float, float]:
    """Standard deviation (n − 1) and lag-1 autocorrelation ρ, 0 to 0.99, of at least two values in order of time.

    The usual estimate r is too small in short series, by about (1 + 4ρ)/n (Kendall 1954, Marriott and Pope 1954, from
    memory), which would make the mean look surer than it is; that much is added back. A constant series has none.
    """
    n = len(values)
    if values.min() == values.max():
        return 0.0, 0.0 if n > 2 else MAX_AUTOCORRELATION
    around = values - values.mean()
    squares = float(around @ around)
    s = sqrt(squares / (n - 1))
    if n < 3 or squares == 0.0:  # so small that nothing can be said of it
        return s, MAX_AUTOCORRELATION
    r = float(around[:-1] @ around[1:]) / squares
    return s, min(max(r + (1 + 4 * r) / n, 0.0), MAX_AUTOCORRELATION)


@dataclass(frozen=True, slots=True)
class Scatter:
    """Spread of the readings behind a mean: n, standard deviation s (n − 1), ρ, and how many were below detection."""

    n: int
    s: float | None
    rho: float
    censored: int


def scatter(values: Floats, flags: Shorts) -> Scatter:
    """Spread of usable readings [n] in order of time. One reading has none: s is None, and the part is missing.

    Readings below detection are taken at their limit and at zero, and the larger spread and the larger ρ count:
    substituting one number for all of them would hide their scatter. ValueError unless all are finite numbers, whose
    squares are, too.
    """
    if len(values) and not float(np.abs(values).max()) <= LARGEST_U:
        raise ValueError(f"readings are finite numbers up to {in_digits(LARGEST_U)}")
    below = (flags & int(Flag.BELOW_DETECTION)) != 0
    n, censored = len(values), int(below.sum())
    if n < 2:
        return Scatter(n, None, MAX_AUTOCORRELATION, censored)
    s, rho = _spread(values)
    if censored:
        other_s, other_rho = _spread(np.where(below, np.minimum(values, 0.0), values))
        s, rho = max(s, other_s), max(rho, other_rho)
    return Scatter(n, s, rho, censored)
