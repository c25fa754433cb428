"""What the correction of a channel rests on: its facts, its checks, its calibrations. Times are UTC ms."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

#: A first-order sensor is within 0.1 % of a step after so many times its T90 (common practice, no source).
SETTLING_T90 = 3

Kind = Literal["zero", "span"]


@dataclass(frozen=True, slots=True, order=True)
class Check:
    """The meter showed ``observed`` when given gas of true value ``reference``, both in the channel's unit.

    ``u_reference``: standard uncertainty of the gas, None where nobody entered it. ``accepted``: should it be outside
    its tolerance, a person has accepted what rests on it.
    """

    at_utc_ms: int
    kind: Kind
    reference: float
    observed: float
    u_reference: float | None = field(default=None, compare=False)
    accepted: bool = field(default=False, compare=False)

    def __post_init__(self) -> None:
        if self.kind == "span" and self.reference == 0:
            raise ValueError("A span check needs a reference other than zero.")


@dataclass(frozen=True, slots=True, order=True)
class CalibrationLine:
    """From ``valid_from_utc_ms``: true value = slope · shown value + intercept."""

    valid_from_utc_ms: int
    slope: float = 1.0
    intercept: float = 0.0
    due_utc_ms: int | None = None

    def __post_init__(self) -> None:
        if not self.slope > 0:
            raise ValueError("The slope of a calibration is above zero.")


@dataclass(frozen=True, slots=True)
class ChannelFacts:
    """What is known of a channel, in its unit and in seconds; None is unknown and judges nothing.

    ``warm_up_s``: one minute is common practice, no source. ``zero_tolerance``: a zero further off than this, and
    than one ``resolution`` step, has failed. ``span_tolerance``: relative. ``check_every_s``: a reading further than
    this from every check of a kind has none. ``zero_u``, ``span_u`` (relative): standard uncertainty just after a
    calibration; ``zero_rate``, ``span_rate`` (relative): what is stated of their drift, the same per day.
    """

    interval_s: float = 60.0
    warm_up_s: float = 60.0
    t90_s: float | None = None
    range_low: float | None = None
    range_high: float | None = None
    detection_limit: float | None = None
    resolution: float | None = None
    zero_tolerance: float | None = None
    span_tolerance: float | None = None
    needs: frozenset[Kind] = frozenset({"zero"})
    check_every_s: float | None = None
    temperature_low_c: float | None = None
    temperature_high_c: float | None = None
    humidity_low: float | None = None
    humidity_high: float | None = None
    zero_u: float | None = None
    span_u: float | None = None
    zero_rate: float | None = None
    span_rate: float | None = None

    @property
    def settling_s(self) -> float:
        """3 × T90 of the channel, at least one interval (docs/methods/flags.md)."""
        return max(SETTLING_T90 * (self.t90_s or 0.0), self.interval_s)


@dataclass(frozen=True, slots=True)
class Chain:
    """All that turns one channel's stored readings into corrected ones.

    ``factor``: what each stored value is multiplied by before anything else, for the air pressure where it was taken;
    ``factor_said``: why, in words. ``checks`` show what the instrument showed, times the same factor.
    """

    facts: ChannelFacts = field(default_factory=ChannelFacts)
    checks: tuple[Check, ...] = ()
    calibrations: tuple[CalibrationLine, ...] = ()
    factor: float = 1.0
    factor_said: str = ""
