"""What can be measured: the parameters, their symbols, molar masses and usual units.

Pure: imports nothing but the standard library, so planning, reading and judging share one vocabulary.

Molar masses in g/mol are rounded from the IUPAC/CIAAW standard atomic weights (U-07 of the check values lists
the same figures). ``None`` means that no volume-to-mass conversion exists for the parameter: particles and radon
are not gases in this sense, and TVOC has no factor without a named equivalent.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Parameter:
    code: str
    name: str
    symbol: str
    molar_mass: float | None
    units: tuple[str, ...]

    @property
    def is_gas(self) -> bool:
        """Whether ppm and mg/m³ can be converted into each other."""
        return self.molar_mass is not None


PPM, PPB, MG_M3, UG_M3 = "ppm", "ppb", "mg/m³", "µg/m³"
GAS_UNITS = (PPM, PPB, MG_M3, UG_M3)

PARAMETERS: dict[str, Parameter] = {
    parameter.code: parameter
    for parameter in (
        Parameter("formaldehyde", "Formaldehyde", "HCHO", 30.026, GAS_UNITS),
        Parameter("co2", "Carbon dioxide", "CO₂", 44.009, (PPM, "%", MG_M3)),
        Parameter("co", "Carbon monoxide", "CO", 28.010, GAS_UNITS),
        Parameter("no2", "Nitrogen dioxide", "NO₂", 46.0055, GAS_UNITS),
        Parameter("o3", "Ozone", "O₃", 47.998, GAS_UNITS),
        Parameter("tvoc", "Total volatile organic compounds", "TVOC", None, GAS_UNITS),
        Parameter("pm25", "Particles up to 2.5 µm", "PM2.5", None, (UG_M3, MG_M3)),
        Parameter("pm10", "Particles up to 10 µm", "PM10", None, (UG_M3, MG_M3)),
        Parameter("benzene", "Benzene", "C₆H₆", 78.114, GAS_UNITS),
        Parameter("radon", "Radon", "Rn", None, ("Bq/m³", "pCi/L")),
        Parameter("temperature", "Temperature", "T", None, ("°C", "°F")),
        Parameter("humidity", "Relative humidity", "RH", None, ("%RH",)),
    )
}

UNITS: tuple[str, ...] = tuple(dict.fromkeys(unit for p in PARAMETERS.values() for unit in p.units))

#: Axes of these begin at zero: outdoor air has none of them, or little.
ZERO_BASED = frozenset(PARAMETERS) - {"temperature", "humidity", "co2"}
