"""How units are written here: the one spelling of each that is stored and printed."""

from __future__ import annotations

PPM, PPB, MG_M3, UG_M3 = "ppm", "ppb", "mg/m³", "µg/m³"
PERCENT, BQ_M3, PCI_L = "%", "Bq/m³", "pCi/L"
CELSIUS, FAHRENHEIT, PERCENT_RH = "°C", "°F", "%RH"

UNITS: tuple[str, ...] = (PPM, PPB, MG_M3, UG_M3, PERCENT, BQ_M3, PCI_L, CELSIUS, FAHRENHEIT, PERCENT_RH)
FRACTIONS = frozenset({PPM, PPB, PERCENT})
MASSES = frozenset({MG_M3, UG_M3})
#: A value in one of these may lie below zero and mean it.
BELOW_ZERO = (CELSIUS, FAHRENHEIT)
