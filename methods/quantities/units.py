"""Quantities: what a unit's spelling means, and conversions with temperature and pressure (docs/methods/units.md).

Pure. ``ppm`` is a fraction of the volume and the same at any pressure; a mass concentration is not, so every one
carries the :class:`Reference` at which its air volume is counted, and pages print it.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from methods.quantities.arrays import Floats
from methods.quantities.digits import as_entered
from methods.quantities.substances import SUBSTANCES, Substance
from methods.quantities.unit_names import (
    BELOW_ZERO,
    BQ_M3,
    CELSIUS,
    FAHRENHEIT,
    MG_M3,
    PCI_L,
    PERCENT,
    PERCENT_RH,
    PPB,
    PPM,
    UG_M3,
    UNITS,
)

GAS_CONSTANT = 8.314462618  # J/(mol·K): CODATA 2018, exact since the 2019 SI
KELVIN = 273.15
BQ_PER_PCI_L = 37.0  # exact: 1 pCi = 0.037 Bq and 1 m³ = 1000 L

_TO_PPM = {PPM: 1.0, PPB: 1e-3, PERCENT: 1e4}
_TO_MG_M3 = {MG_M3: 1.0, UG_M3: 1e-3}


class UnknownUnit(ValueError):
    """A spelling that is no unit we know. The message is for people."""


class NotConvertible(ValueError):
    """Two units between which the parameter has no conversion. The message says why."""


@dataclass(frozen=True, slots=True)
class Reference:
    """Temperature (°C) and pressure (kPa) at which the air volume of a mass concentration is counted."""

    temperature_c: float = 25.0
    pressure_kpa: float = 101.325

    def __post_init__(self) -> None:
        if not (np.isfinite(self.temperature_c) and self.temperature_c > -KELVIN):
            raise ValueError(f"A reference temperature of {self.temperature_c} °C is not possible.")
        if not (np.isfinite(self.pressure_kpa) and self.pressure_kpa > 0):
            raise ValueError(f"A reference pressure of {self.pressure_kpa} kPa is not possible.")

    @property
    def molar_volume(self) -> float:
        """Litres of ideal gas per mole: 24.4654 at 25 °C and 101.325 kPa."""
        return GAS_CONSTANT * (KELVIN + self.temperature_c) / self.pressure_kpa

    @property
    def text(self) -> str:
        """As printed beside a figure: ``at 25 °C, 101.325 kPa``."""
        return f"at {as_entered(self.temperature_c)} °C, {as_entered(self.pressure_kpa)} kPa"

    def __str__(self) -> str:
        return self.text


# --- spelling ---------------------------------------------------------------------------------------------------------

_SPELLINGS: dict[str, str] = {
    spelling: unit
    for unit, spellings in {
        PPM: "partspermillion ppm ppmv ppmvol vppm vpm ml/m3 mlm-3 cm3/m3 µl/l ul/l µll-1 ull-1 µl/dm3 ul/dm3 nl/cm3 "
        "umol/mol µmol/mol umolmol-1 µmolmol-1",
        PPB: "partsperbillion ppb ppbv ppbvol vppb vpb mm3/m3 µl/m3 ul/m3 µlm-3 ulm-3 nl/l nll-1 nl/dm3 "
        "nmol/mol nmolmol-1",
        MG_M3: "mg/m3 mgm-3 mg/cbm mg/cum µg/l ug/l mcg/l µgl-1 ugl-1 mcgl-1 µg/dm3 ug/dm3 mcg/dm3 ng/cm3",
        UG_M3: "µg/m3 ug/m3 mcg/m3 µgm-3 ugm-3 mcgm-3 µg/cbm ug/cbm µg/cum ug/cum ng/l ngl-1 ng/dm3",
        PERCENT: "% percent pct %vol vol% %v/v vol.% vol-% vol.-% %byvolume percentvol percentbyvolume",
        BQ_M3: "bq/m3 bqm-3 bq/cbm bq/cum",
        PCI_L: "pci/l pcil-1 pci/dm3",
        CELSIUS: "°c c degc deg.c celsius degcelsius degreec degreescelsius degreecelsius centigrade",
        FAHRENHEIT: "°f f degf deg.f fahrenheit degfahrenheit degreef degreesfahrenheit degreefahrenheit",
        PERCENT_RH: "%rh %r.h. rh rh% %relh %hr %rel.hum. r.h. r.h.% %relativehumidity relativehumidity percentrh "
        "pctrh %rf",
    }.items()
    for spelling in spellings.split()
}

#: Words for what the table spells with symbols, in the singular and in British spelling.
_WORDS = {
    "microgram": "µg", "milligram": "mg", "nanogram": "ng",
    "micromole": "µmol", "nanomole": "nmol", "mole": "mol",
    "microlitre": "µl", "nanolitre": "nl", "millilitre": "ml", "litre": "l",
    "cubic metre": "m3", "cubic centimetre": "cm3", "cubic millimetre": "mm3", "metre": "m",
    "becquerel": "bq", "picocurie": "pci", "per": "/",
}  # fmt: skip
_WORD = re.compile(rf"(?<![a-zµ])({'|'.join(sorted(_WORDS, key=len, reverse=True))})s?(?![a-zµ])")
LONGEST = 200  # characters of a cell that are looked at: a unit is short, an upload is hostile


def _plain(text: str) -> str:
    """One way of writing: both micro signs, superscripts, dashes, mojibake and stray brackets made equal."""
    text = text[:LONGEST].replace("Â", "").replace("º", "°").replace("˚", "°")
    text = unicodedata.normalize("NFKC", text).replace("μ", "µ").replace("−", "-").replace("–", "-")
    return " ".join(text.strip().strip("[]()").casefold().replace("μ", "µ").split())


def parse_unit(text: str, parameter: Substance | str | None = None) -> str:
    """The canonical spelling (one of ``unit_names.UNITS``) of any sensible spelling of a unit.

    With a parameter, ``%`` of relative humidity is understood as ``%RH``. Raises :class:`UnknownUnit` otherwise.
    """
    # the spelling of this app itself, which conversions ask for again and again, needs no looking up
    unit = text if text in UNITS else _understood(text)
    if unit == PERCENT and parameter is not None and PERCENT_RH in _parameter(parameter).units:
        return PERCENT_RH
    return unit


def _understood(text: str) -> str:
    plain = _plain(text)
    unit = _SPELLINGS.get(_squeezed(plain)) or _SPELLINGS.get(_squeezed(_spelled_out(plain)))
    if unit is None:
        raise UnknownUnit(_unknown_message(text, plain))
    return unit


def _squeezed(text: str) -> str:
    """Without blanks, brackets and signs of multiplication and of powers: “µg * m^-3” is “µgm-3”."""
    return re.sub(r"[\s_^*·⋅()\[\]]", "", text)


def _unknown_message(text: str, plain: str) -> str:
    shown = " ".join(text.split())[:40]
    if not plain:
        return "The unit is missing."
    if "nm3" in re.sub(r"[\s^*]", "", plain):
        return f"“{shown}” counts air at normal conditions: choose the unit per m³ and state its reference."
    return f"“{shown}” is not a unit known here. Known are {', '.join(UNITS)}."


def _spelled_out(plain: str) -> str:
    """“micrograms per cubic meter” with the symbols for its words."""
    return _WORD.sub(lambda found: _WORDS[found[1]], re.sub(r"(met|lit)er(?=s?(?![a-zµ]))", r"\1re", plain))


# --- conversion -------------------------------------------------------------------------------------------------------


def _parameter(parameter: Substance | str) -> Substance:
    return parameter if isinstance(parameter, Substance) else SUBSTANCES[parameter]


def _molar_mass(parameter: Substance, equivalent: str | None) -> float:
    if parameter.is_sum:
        return _molar_mass(_equivalent(parameter, equivalent), None)
    if parameter.molar_mass is None:
        raise NotConvertible(f"{parameter.name}: not a gas with a molar mass, so ppm and mg/m³ do not convert.")
    return parameter.molar_mass


def _equivalent(parameter: Substance, equivalent: str | None) -> Substance:
    """The one substance that a sum of compounds is expressed as: without one there is no factor.

    Method: docs/methods/units.md.
    """
    known = " or ".join(parameter.equivalents)
    if equivalent is None:
        raise NotConvertible(
            f"{parameter.symbol} is a mixture: between a volume and a mass unit there is no factor "
            f"unless it is expressed as one substance ({known})."
        )
    if equivalent not in parameter.equivalents:
        raise NotConvertible(f"“{equivalent}” is not an equivalent known here: {known}.")
    return SUBSTANCES[equivalent]


def convert(
    values: npt.ArrayLike,
    parameter: Substance | str,
    source_unit: str,
    target_unit: str,
    source_reference: Reference | None = None,
    target_reference: Reference | None = None,
    *,
    equivalent: str | None = None,
) -> Floats:
    """``values`` of any shape in another unit, as float64 of the same shape; NaN stays NaN.

    Gases go through ppm, which no pressure changes. A reference belongs to a mass unit and is ignored elsewhere; it
    is needed where volume and mass units meet, and on both sides or neither between two mass units.
    Raises :class:`UnknownUnit` or :class:`NotConvertible` with words for people, ``KeyError`` for no parameter.
    """
    known = _parameter(parameter)
    source, target = parse_unit(source_unit, known), parse_unit(target_unit, known)
    array = np.asarray(values, dtype=np.float64)
    for unit in (source, target):
        _require_unit_fits(known, unit)
    if source in BELOW_ZERO:
        return _convert_temperature(array, source, target)
    if source == target and (source not in _TO_MG_M3 or source_reference == target_reference):
        return array.copy()
    if known.is_radioactivity:
        return array * BQ_PER_PCI_L if source == PCI_L else array / BQ_PER_PCI_L
    return array * _concentration_factor(known, (source, source_reference), (target, target_reference), equivalent)


def _require_unit_fits(parameter: Substance, unit: str) -> None:
    gas = parameter.is_gas or parameter.is_sum
    if unit in parameter.units or (gas and (unit in _TO_PPM or unit in _TO_MG_M3)):
        return
    reason = (
        " They are weighed, not counted as a fraction of the volume."
        if unit in _TO_PPM and MG_M3 in parameter.units
        else ""
    )
    raise NotConvertible(f"{parameter.name} cannot be given in {unit}, only in {' or '.join(parameter.units)}.{reason}")


def _convert_temperature(array: Floats, source: str, target: str) -> Floats:
    if source == target:
        return array.copy()
    return (array - 32.0) / 1.8 if source == FAHRENHEIT else array * 1.8 + 32.0


Side = tuple[str, Reference | None]


def _concentration_factor(parameter: Substance, source: Side, target: Side, equivalent: str | None) -> float:
    """The one number by which a concentration is multiplied."""
    (source_unit, source_reference), (target_unit, target_reference) = source, target
    if source_unit in _TO_MG_M3 and target_unit in _TO_MG_M3:
        scale = _TO_MG_M3[source_unit] / _TO_MG_M3[target_unit]
        return scale * _same_air(parameter, source_reference, target_reference)
    to_ppm = _ppm_per(parameter, source_unit, source_reference, equivalent)
    return to_ppm / _ppm_per(parameter, target_unit, target_reference, equivalent)


def _same_air(parameter: Substance, source: Reference | None, target: Reference | None) -> float:
    """Mass per volume at one reference to another: the molar mass cancels, so this holds for particles and TVOC too."""
    if source == target:
        return 1.0
    if source is None or target is None:
        raise NotConvertible(
            f"{parameter.name}: only one of the two mass concentrations states its temperature and pressure."
        )
    return source.molar_volume / target.molar_volume


def _ppm_per(parameter: Substance, unit: str, reference: Reference | None, equivalent: str | None) -> float:
    if unit in _TO_PPM:
        return _TO_PPM[unit]
    molar_mass = _molar_mass(parameter, equivalent)
    if reference is None:
        raise NotConvertible(f"{parameter.name}: {unit} needs its reference temperature and pressure to become ppm.")
    return _TO_MG_M3[unit] * reference.molar_volume / molar_mass


# --- the standard atmosphere ------------------------------------------------------------------------------------------

LAPSE_K_PER_M, SEA_LEVEL_K, SEA_LEVEL_KPA, GRAVITY, AIR_GAS_CONSTANT = 0.0065, 288.15, 101.325, 9.80665, 287.05287


def standard_temperature_c(altitude_m: float) -> float:
    """Temperature of the ISO 2533 atmosphere, °C, for −2 000 to 11 000 m (constants from memory; U-10)."""
    if not -2_000 <= altitude_m <= 11_000:
        raise ValueError(f"The standard atmosphere is used from −2000 to 11 000 m, not at {altitude_m} m.")
    return SEA_LEVEL_K - LAPSE_K_PER_M * altitude_m - KELVIN


def standard_pressure_kpa(altitude_m: float) -> float:
    """Pressure of the ISO 2533 atmosphere, kPa, for −2 000 to 11 000 m (constants from memory; U-12).

    The altitude is taken as geopotential: at 3 000 m the difference from a surveyed height is below 0.02 %.
    """
    ratio = (standard_temperature_c(altitude_m) + KELVIN) / SEA_LEVEL_K
    return SEA_LEVEL_KPA * float(ratio ** (GRAVITY / (LAPSE_K_PER_M * AIR_GAS_CONSTANT)))
