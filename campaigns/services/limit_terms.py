"""A channel's readings in the terms of a limit: its unit, at its reference conditions, with every assumption named."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from campaigns.models import ChannelSpec
from methods.limits.model import LimitDefinition
from methods.quantities.arrays import Floats
from methods.quantities.substances import SUBSTANCES
from methods.quantities.unit_names import MASSES
from methods.quantities.units import Reference, convert

#: Taken where a document or an instrument states none; always said. (25 °C is what most workplace documents use.)
USUAL = Reference(25.0, 101.325)


@dataclass(frozen=True)
class Terms:
    """How values and uncertainties of one channel come into the unit of one limit.

    ``slope``: limit units per channel unit, for standard uncertainties.
    """

    values: Callable[[Floats], Floats]
    slope: float
    unit: str
    reference: Reference | None
    said: tuple[str, ...]

    @property
    def unit_text(self) -> str:
        """The unit, with its reference where it is a mass concentration."""
        return f"{self.unit} {self.reference.text}" if self.reference else self.unit


def reference_of(limit: LimitDefinition) -> Reference | None:
    """The conditions at which the limit's mass concentration counts air; None for what needs none.

    25 °C and 101.325 kPa where the document of a gas states nothing; particles stay as they were measured.
    """
    if limit.unit not in MASSES:
        return None
    if limit.temperature_c is not None:
        return Reference(float(limit.temperature_c), float(limit.pressure_kpa or USUAL.pressure_kpa))
    return USUAL if SUBSTANCES[limit.parameter].is_gas else None


def terms(spec: ChannelSpec, limit: LimitDefinition) -> Terms:
    """Raises methods.quantities.units.NotConvertible (words for people) where no conversion exists."""
    source, target, said = _references(spec, limit)

    def values(array: Floats) -> Floats:
        return convert(
            array, spec.parameter, spec.unit, limit.unit, source, target, equivalent=limit.equivalent or None
        )

    zero_and_one = values(np.array([0.0, 1.0]))
    if spec.unit != limit.unit or source != target:
        at = f" {target.text}" if target else ""
        said.append(f"converted from {spec.unit} to {limit.unit}{at}")
    return Terms(values, float(zero_and_one[1] - zero_and_one[0]), limit.unit, target, tuple(said))


def _references(spec: ChannelSpec, limit: LimitDefinition) -> tuple[Reference | None, Reference | None, list[str]]:
    said: list[str] = []
    gas = SUBSTANCES[spec.parameter].is_gas
    target = source = None
    if limit.unit in MASSES:
        target = reference_of(limit)
        if gas and not limit.reference_stated:
            said.append(f"the limit's document states no reference conditions; taken {(target or USUAL).text}")
    if spec.unit in MASSES:
        if spec.reference_temperature_c is not None:
            source = Reference(spec.reference_temperature_c, spec.reference_pressure_kpa or USUAL.pressure_kpa)
        elif gas:
            source = USUAL
            said.append(f"the instrument states no reference conditions; taken {source.text}")
    if not gas and (source is None or target is None):
        source = target = None  # particles: at the conditions they were measured in
    return source, target, said
