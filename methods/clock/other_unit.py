"""Is this the same memory in another unit? Then its values under the same stamps are the held ones times one factor."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from methods.clock.duplicate_memory import LEAST
from methods.quantities.arrays import Floats, Ints
from methods.quantities.digits import as_entered
from methods.quantities.substances import SUBSTANCES
from methods.quantities.units import NotConvertible, Reference, convert

#: Of the values so many must be the factor's within the rounding of their digits.
WITHIN = 0.98
#: Values that differ, so that a factor is one at all.
FEWEST = 4
MOST_DECIMALS = 6
#: Reference temperatures of mass concentrations in °C. Common practice, no source.
TEMPERATURES = (0.0, 10.0, 15.0, 18.0, 20.0, 21.1, 22.0, 25.0)


@dataclass(frozen=True, slots=True)
class FactorMatch:
    """``same`` of ``compared`` values are ``factor`` times the held ones; it lies between ``low`` and ``high``."""

    factor: float
    low: float
    high: float
    same: int
    compared: int


def factor_of(values: Floats, held: Floats) -> FactorMatch | None:
    """The factor by which ``values`` (n,) are the ``held`` ones (n,) of the same stamps; None for none, and for 1."""
    both = np.isfinite(values) & np.isfinite(held) & (values > 0) & (held > 0)
    values, held = values[both], held[both]
    if values.size < LEAST or len(np.unique(held)) < FEWEST or len(np.unique(values)) < FEWEST:
        return None
    half, held_half = _half_step(values), _half_step(held)
    factor = float(values.sum() / held.sum())
    within = np.abs(values - factor * held) <= (half + factor * held_half) * 1.01
    unchanged = np.abs(values - held) <= (half + held_half) * 0.51
    same = int(np.count_nonzero(within))
    if same < WITHIN * values.size or np.count_nonzero(unchanged) >= same / 2:
        return None
    low = np.quantile((values - half)[within] / (held + held_half)[within], 0.95)
    high = np.quantile((values + half)[within] / np.maximum(held - held_half, held_half)[within], 0.05)
    return FactorMatch(factor, float(min(low, factor)), float(max(high, factor)), same, int(values.size))


def _half_step(values: Floats) -> float:
    """Half a unit in the last decimal that ``values`` are written with."""
    for decimals in range(MOST_DECIMALS + 1):
        scaled = values * 10.0**decimals
        if np.allclose(scaled, np.rint(scaled), rtol=0, atol=1e-6):
            break
    return float(0.5 * 10.0**-decimals)


def conversion_of(match: FactorMatch, parameter: str) -> str:
    """The conversion that has this factor, in words: "as ppm becomes mg/m³ at 20 °C"; "" for none that we know."""
    known = [found for found in _conversions(parameter) if match.low <= found[0] <= match.high]
    return min(known, key=lambda found: round(abs(found[0] - match.factor), 6))[1] if known else ""


def _conversions(parameter: str) -> list[tuple[float, str]]:
    units = SUBSTANCES[parameter].units
    found = []
    for source in units:
        for target in units:
            for temperature in TEMPERATURES if source != target else ():
                reference = Reference(temperature)
                try:
                    factor = float(convert(1.0, parameter, source, target, reference, reference))
                except (NotConvertible, ValueError):
                    continue
                found.append((factor, f"as {source} becomes {target} at {as_entered(temperature)} °C"))
    return found


def same_keys(stamps: Ints, nth: Ints, held_stamps: Ints, held_nth: Ints) -> tuple[Ints, Ints]:
    """Indices of the readings that share their stamp and nth with a held one, and of those."""
    if not len(stamps) or not len(held_stamps):
        return np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64)
    base = min(int(stamps.min()), int(held_stamps.min()))
    keys = ((stamps - base) << 16) + nth
    _, ours, theirs = np.intersect1d(keys, ((held_stamps - base) << 16) + held_nth, return_indices=True)
    return ours, theirs
