"""Before the visit: what an instrument can decide about a limit at all.

Method: docs/methods/verdicts.md#fitness-before-the-visit.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from methods.limits.model import LimitDefinition
from methods.quantities.digits import in_digits
from methods.uncertainty.budget import Budget, Scatter, budget, noise_part
from methods.uncertainty.noise import Noise
from methods.verdicts.edges import Edge, edges
from methods.verdicts.judging import Levels


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelAbilities:
    """What is known of a channel, in the limit's unit; None means nobody knows.

    ``noise`` is the standard deviation of single readings, taken as known, ``readings`` how many the planned mean will
    have, ``rho`` their lag-1 autocorrelation. The rest as in ``methods.uncertainty.budget.budget``.
    """

    resolution: float | None = None
    detection_limit: float | None = None
    range_high: float | None = None
    zero_u: float | None = None
    span_u_rel: float | None = None
    drift_u: float | None = None
    span_drift_u_rel: float | None = 0.0
    temperature_u: float | None = None
    interference_u: float | None = None
    noise: float | None = None
    readings: int = 1
    rho: float = 0.0

    def budget_at(self, x: float) -> Budget:
        """The budget a mean ``x`` from this channel would have."""
        noise, spread = Noise(self.noise, self.rho), Scatter(self.readings, self.noise, self.rho, 0)
        return budget(
            x,
            (noise_part(noise, spread),),
            resolution=self.resolution,
            zero_u=self.zero_u,
            span_u_rel=self.span_u_rel,
            drift_u=self.drift_u,
            span_drift_u_rel=self.span_drift_u_rel,
            temperature_u=self.temperature_u,
            interference_u=self.interference_u,
        )


@dataclass(frozen=True, slots=True)
class Fitness:
    """What the instrument could decide about the limit.

    ``largest_below``: the largest result that would be called below; None if no result of zero or more would.
    ``smallest_above``: the smallest that would be called above; None if none within its range would. ``missing``:
    parts of the uncertainty nobody knows, so that the truth is worse than these figures.
    """

    largest_below: float | None
    smallest_above: float | None
    can_show_compliance: bool
    can_show_exceedance: bool
    smallest_seen: float | None
    missing: tuple[str, ...]
    words: str


def fitness(channel: ChannelAbilities, limit: LimitDefinition, levels: Levels | None = None) -> Fitness:
    """Whether ``channel`` can show ``limit`` kept, or exceeded, at the campaign's ``levels``.

    Below: x ≤ L − z·u(L). Above: x ≥ L + z·u(L). The same numbers decide in ``judge``. For a range
    the edge that is harder to show counts.
    """
    chosen = levels or Levels()
    by_edge = [_against(channel, edge, limit, chosen) for edge in edges(limit)]
    return min(by_edge, key=lambda at_edge: (at_edge.can_show_compliance, at_edge.can_show_exceedance))


def _against(channel: ChannelAbilities, edge: Edge, limit: LimitDefinition, levels: Levels) -> Fitness:
    planned = channel.budget_at(edge.value)
    below = edge.value - levels.z_below * planned.combined
    above: float | None = edge.value + levels.z_above * planned.combined
    if above is not None and channel.range_high is not None and above > channel.range_high:
        above = None
    seen = channel.detection_limit if channel.detection_limit is not None else channel.resolution
    shows_below = not planned.is_blind and below > 0.0 and (seen is None or below >= seen)
    shows_above = not planned.is_blind and above is not None
    fit = Fitness(
        largest_below=below if below >= 0.0 else None,
        smallest_above=above,
        can_show_compliance=shows_below if edge.is_upper else shows_above,
        can_show_exceedance=shows_above if edge.is_upper else shows_below,
        smallest_seen=seen,
        missing=planned.missing,
        words="",
    )
    return replace(fit, words=_BLIND if planned.is_blind else _words(fit, edge, channel, limit.unit))


_BLIND = "Neither zero nor span of this instrument is known: it cannot decide anything until both are checked."


def _words(fit: Fitness, edge: Edge, channel: ChannelAbilities, unit: str) -> str:
    parts = [_below_words(fit, edge, channel, unit), _above_words(fit, channel, unit)]
    if fit.missing:
        parts.append(f"Not known and not counted: {', '.join(fit.missing)}; the truth is worse than these figures.")
    return " ".join(parts)


def _below_words(fit: Fitness, edge: Edge, channel: ChannelAbilities, unit: str) -> str:
    if fit.can_show_compliance if edge.is_upper else fit.can_show_exceedance:
        return f"Results up to {in_digits(fit.largest_below or 0.0)} {unit} could be called below this limit."
    what = "compliance with this limit" if edge.is_upper else "that this limit is undercut"
    start = f"This instrument cannot show {what}:"
    if not fit.largest_below:
        return f"{start} its uncertainty alone is as large as the limit."
    seen = "detection limit" if channel.detection_limit is not None else "smallest step"
    return (
        f"{start} only results up to {in_digits(fit.largest_below or 0.0, 2)} {unit} could be called below it, "
        f"and its {seen} is {in_digits(fit.smallest_seen or 0.0)} {unit}."
    )


def _above_words(fit: Fitness, channel: ChannelAbilities, unit: str) -> str:
    if fit.smallest_above is None:
        end = in_digits(channel.range_high or 0.0)
        return f"No result within its range (up to {end} {unit}) could be called above it."
    return f"Results from {in_digits(fit.smallest_above)} {unit} could be called above it."
