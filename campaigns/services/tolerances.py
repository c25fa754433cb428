"""From when on a field check counts as failed, and where that limit comes from."""

from __future__ import annotations

from dataclasses import dataclass

from campaigns.models import ChannelSpec

#: Where neither a tolerance nor a span uncertainty is entered: common practice, no source.
USUAL_SPAN = 0.10


@dataclass(frozen=True)
class Tolerances:
    """``zero`` in the channel's unit, ``span`` relative; each with the words of where it comes from."""

    zero: float
    zero_from: str
    span: float
    span_from: str


def tolerances(spec: ChannelSpec) -> Tolerances:
    """As entered; else twice the standard uncertainty, which a check leaves one time in twenty by chance (JCGM 106,
    k = 2). A zero of one resolution step is never a failure (common practice, no source; docs/methods/flags.md)."""
    zero, zero_from = _zero(spec)
    span, span_from = _span(spec)
    return Tolerances(zero, zero_from, span, span_from)


def _zero(spec: ChannelSpec) -> tuple[float, str]:
    if spec.zero_tolerance is not None:
        if spec.zero_tolerance < spec.resolution:
            return spec.resolution, "one step of the resolution, which is more than the tolerance entered"
        return spec.zero_tolerance, "as entered"
    if spec.u_zero is not None and 2 * spec.u_zero > spec.resolution:
        return 2 * spec.u_zero, "none entered: twice the zero uncertainty"
    return spec.resolution, "none entered: one step of the resolution"


def _span(spec: ChannelSpec) -> tuple[float, str]:
    if spec.span_tolerance is not None:
        return spec.span_tolerance, "as entered"
    if spec.u_span:
        return 2 * spec.u_span, "none entered: twice the span uncertainty"
    return USUAL_SPAN, "none entered: 10 %, common practice"
