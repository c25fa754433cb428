"""The correction chain of a channel, from what people entered."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

from campaigns.models import Channel
from campaigns.services.tolerances import tolerances
from methods.correction import CalibrationLine, Chain, ChannelFacts, Check
from methods.quantities.moments import utc_ms
from methods.quantities.pressure import AnswersTo, StationPressure


def chain_of(channel: Channel, interval_ms: int, pressure: StationPressure | None = None) -> Chain:
    """``pressure``: of the air where it measures and is checked, for a channel that answers to it."""
    spec, kind = channel.spec, channel.instrument.type
    facts = ChannelFacts(
        interval_s=interval_ms / 1000,
        warm_up_s=kind.warm_up_s,
        t90_s=spec.t90_s,
        range_low=spec.range_low,
        range_high=spec.range_high,
        detection_limit=spec.detection_limit,
        resolution=spec.resolution,
        zero_tolerance=tolerances(spec).zero,
        span_tolerance=tolerances(spec).span,
        needs=frozenset({"zero"}) if spec.substance.zero_check else frozenset(),
        temperature_low_c=kind.temperature_low_c,
        temperature_high_c=kind.temperature_high_c,
        zero_u=spec.u_zero,
        span_u=spec.u_span,
        zero_rate=spec.u_drift,
        span_rate=spec.u_span_drift,
    )
    counts = pressure is not None and spec.answers_to == AnswersTo.NUMBER_DENSITY
    factor, said = (pressure.factor, pressure.corrected) if pressure is not None and counts else (1.0, "")
    checks = tuple(
        Check(
            utc_ms(c.at),
            "zero" if c.kind == "zero" else "span",
            c.reference,
            c.observed * factor,
            c.u_reference,
            c.is_accepted,
        )
        for c in channel.field_checks.all()
    )
    lines = tuple(
        CalibrationLine(_midnight(c.date), c.slope, c.intercept, _midnight(c.due)) for c in channel.calibrations.all()
    )
    return Chain(facts, checks, lines, factor, said)


def _midnight(day: date) -> int:
    return utc_ms(datetime.combine(day, time(), UTC))
