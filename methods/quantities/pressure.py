"""What air pressure does to what a sensor shows. Pure (docs/methods/correction.md).

A sensor that counts molecules in a volume (infrared absorption, photoionisation, membrane cells) shows too little where
the air is thin; one that answers to their fraction (a cell behind a capillary) does not.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from methods.quantities.digits import in_digits
from methods.quantities.units import KELVIN, SEA_LEVEL_KPA, standard_pressure_kpa

#: Above that the size of the error is named where nobody said what a channel answers to (project rule: 3.5 %).
NAMED_ABOVE_M = 300.0


class AnswersTo(StrEnum):
    """Its value is what the database and the API call it, ``label`` what people read."""

    FRACTION = "fraction"
    NUMBER_DENSITY = "number_density"
    COMPENSATED = "compensated"

    @property
    def label(self) -> str:
        return {
            AnswersTo.FRACTION: "The fraction of the volume: air pressure changes nothing",
            AnswersTo.NUMBER_DENSITY: "Molecules in a volume: corrected with the air pressure at the site",
            AnswersTo.COMPENSATED: "Molecules in a volume, and the instrument corrects for air pressure itself",
        }[self]


@dataclass(frozen=True, slots=True)
class StationPressure:
    """Air pressure at a site, kPa. ``altitude_m``: from which it was taken; None where somebody entered it."""

    kpa: float
    altitude_m: float | None = None

    @classmethod
    def of(cls, entered_kpa: float | None, altitude_m: float) -> StationPressure:
        """What was entered, else that of the ISO 2533 atmosphere at the altitude of the site."""
        if entered_kpa is not None:
            return cls(entered_kpa)
        return cls(standard_pressure_kpa(altitude_m), altitude_m)

    @property
    def factor(self) -> float:
        """By what a sensor for number density shows too little, if it was calibrated at 101.325 kPa."""
        return number_density_factor(self.kpa)

    @property
    def is_thin(self) -> bool:
        """Thinner than the air 300 m above the sea."""
        return self.kpa < standard_pressure_kpa(NAMED_ABOVE_M)

    @property
    def words(self) -> str:
        if self.altitude_m is None:
            return f"{in_digits(self.kpa, 5)} kPa, as entered for the campaign"
        altitude = in_digits(self.altitude_m, 5)
        return f"{in_digits(self.kpa, 5)} kPa, taken from the altitude of {altitude} m by the ISO 2533 atmosphere"

    @property
    def corrected(self) -> str:
        """What was done, for a channel that answers to number density."""
        return f"corrected to the air pressure at the site, times {in_digits(self.factor, 4)} ({self.words})"

    @property
    def unsaid(self) -> str:
        """How far off a result may be of a channel of which nobody said what it answers to."""
        return (
            "Nobody said whether this channel answers to the fraction of the volume or to the molecules in it. It is "
            f"taken as the fraction; if it is the other, the true value is {in_digits(self.factor, 4)} times this one, "
            f"at {self.words}."
        )


def number_density_factor(
    kpa: float,
    calibrated_kpa: float = SEA_LEVEL_KPA,
    *,
    temperature_c: float | None = None,
    calibrated_c: float | None = None,
) -> float:
    """C = shown · (p_cal/p) · (T/T_cal): the gas law. Temperature counts only where both are given.

    Raises ValueError for a pressure that is none.
    """
    if not (kpa > 0 and calibrated_kpa > 0):
        raise ValueError("An air pressure is above zero.")
    warmer = 1.0
    if temperature_c is not None and calibrated_c is not None:
        warmer = (temperature_c + KELVIN) / (calibrated_c + KELVIN)
    return calibrated_kpa / kpa * warmer
