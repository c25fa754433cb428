"""An alert level in the terms of a channel: what is compared is what the channel shows."""

from __future__ import annotations

from dataclasses import dataclass, replace

from campaigns.models import AlertLevel, ChannelSpec
from campaigns.services.limit_terms import USUAL
from methods.alerts import AlertRule
from methods.quantities.substances import SUBSTANCES
from methods.quantities.unit_names import MASSES
from methods.quantities.units import Reference, convert

#: Two values tell the straight line between two units: nothing, and this one.
_FAR = 100.0


@dataclass(frozen=True)
class LevelInTerms:
    """``rule`` in the channel's unit. A value v of the channel is ``slope`` * v + ``offset`` in the unit of the level:
    the degrees of one scale begin elsewhere than those of the other."""

    rule: AlertRule
    slope: float
    offset: float

    def told(self, value: float) -> float:
        """A value of the channel, in the unit of the level."""
        return self.slope * value + self.offset


def in_terms_of(level: AlertLevel, spec: ChannelSpec) -> LevelInTerms:
    """Raises methods.quantities.units.NotConvertible (words for people) where no conversion exists."""
    return in_unit(level, spec.unit, spec.reference_temperature_c, spec.reference_pressure_kpa)


def in_unit(
    level: AlertLevel, unit: str, temperature_c: float | None = None, pressure_kpa: float | None = None
) -> LevelInTerms:
    """As ``in_terms_of``, for a value in ``unit`` that no channel stored. 25 °C where nobody says at how many."""
    target = _reference(level.parameter, level.unit, level.reference_temperature_c, None)
    source = _reference(level.parameter, unit, temperature_c, pressure_kpa)
    if (source is None or target is None) and not SUBSTANCES[level.parameter].is_gas:
        source = target = None  # particles: at the conditions they were measured in
    value = float(convert(level.value, level.parameter, level.unit, unit, target, source))
    zero, hundred = (float(convert(at, level.parameter, unit, level.unit, source, target)) for at in (0.0, _FAR))
    return LevelInTerms(replace(level.rule, value=value), (hundred - zero) / _FAR, zero)


def _reference(parameter: str, unit: str, temperature_c: float | None, pressure_kpa: float | None) -> Reference | None:
    if unit not in MASSES:
        return None
    if temperature_c is not None:
        return Reference(temperature_c, pressure_kpa or USUAL.pressure_kpa)
    return USUAL if SUBSTANCES[parameter].is_gas else None
