"""Units against published factors. Ids are those of the check values; 11.x are sections of the guideline collection."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.quantities.substances import SUBSTANCES, Substance
from methods.quantities.units import (
    NotConvertible,
    Reference,
    convert,
    standard_pressure_kpa,
    standard_temperature_c,
)

AT_0, AT_20, AT_23, AT_25 = (Reference(t, 101.325) for t in (0.0, 20.0, 23.0, 25.0))
GASES = ("formaldehyde", "co", "no2", "o3", "benzene", "co2")


def mass_factor(parameter: Substance | str, reference: Reference, equivalent: str | None = None) -> float:
    """mg/m³ per ppm."""
    return float(convert(1.0, parameter, "ppm", "mg/m³", None, reference, equivalent=equivalent))


SO2, NH3, NO = (SUBSTANCES[code] for code in ("so2", "ammonia", "nitric_oxide"))


# --- factors ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("parameter", GASES)
@pytest.mark.parametrize(("temperature", "mmhg"), [(25.0, 760.0), (20.0, 760.0), (30.0, 700.0), (10.0, 640.0)])
def test_u02_the_formula_for_other_conditions(parameter: str, temperature: float, mmhg: float) -> None:
    """Washington Adm. Code 296-62-07340: ppm = mg/m³ · 24.45/M · 760/P · (t+273)/298, to its own rounding."""
    molar_mass = SUBSTANCES[parameter].molar_mass
    assert molar_mass is not None
    expected = 24.45 / molar_mass * 760 / mmhg * (temperature + 273) / 298
    reference = Reference(temperature, mmhg * 101.325 / 760)
    assert convert(1.0, parameter, "mg/m³", "ppm", reference) == pytest.approx(expected, rel=1e-3)


def test_u03_molar_volume() -> None:
    """CCOHS text on converting limits: 24.45 L/mol at 25 °C and 760 torr."""
    assert AT_25.molar_volume == pytest.approx(24.45, abs=0.02)
    assert AT_25.molar_volume == pytest.approx(24.4654, abs=5e-5)


@pytest.mark.parametrize(
    ("parameter", "at_0", "at_25"),
    [
        (NH3, 7.6, 7.0),
        (SUBSTANCES["o3"], 21.4, 19.6),
        (NO, 13.4, 12.3),
        (SUBSTANCES["no2"], 20.5, 18.8),
        (SO2, 28.6, 26.2),
    ],
)
def test_u04_pphm_to_micrograms(parameter: Substance, at_0: float, at_25: float) -> None:
    """NSW Government, air pollutant units and conversion factors: µg/m³ per pphm (10 ppb) at 0 and 25 °C."""
    assert convert(10, parameter, "ppb", "µg/m³", target_reference=AT_0) == pytest.approx(at_0, abs=0.05)
    assert convert(10, parameter, "ppb", "µg/m³", target_reference=AT_25) == pytest.approx(at_25, abs=0.05)


def test_u04_carbon_monoxide() -> None:
    """Same source: mg/m³ per ppm 1.25 at 0 °C; 1.15 is printed for 25 °C, where the law gives 1.1449."""
    assert mass_factor("co", AT_0) == pytest.approx(1.25, abs=0.006)
    assert mass_factor("co", AT_25) == pytest.approx(1.15, abs=0.006)


@pytest.mark.parametrize(
    ("parameter", "printed", "tolerance"),
    [
        (SO2, 2.62, 0.005),
        (SUBSTANCES["no2"], 1.88, 0.005),
        (SUBSTANCES["co"], 1.145, 0.0005),
        (SUBSTANCES["benzene"], 3.19, 0.005),
    ],
)
def test_u05_micrograms_per_ppb(parameter: Substance, printed: float, tolerance: float) -> None:
    """“Conversion between µg/m3 and ppb” sheet, 25 °C: 12.187·M/(273.15 + t)."""
    assert convert(1, parameter, "ppb", "ug/m3", None, AT_25) == pytest.approx(printed, abs=tolerance)


def test_u06_nitrogen_dioxide() -> None:
    """WHO Air quality guidelines for Europe, conversion line: 1 ppm NO2 = 1880 µg/m³."""
    assert convert(1, "no2", "ppm", "µg/m³", None, AT_25) == pytest.approx(1880, abs=5)


@pytest.mark.parametrize(
    ("reference", "expected"),
    [
        (AT_0, (1.3396, 1.2497, 2.0525, 2.1414, 3.4851, 1.9635)),
        (AT_20, (1.2482, 1.1644, 1.9125, 1.9953, 3.2473, 1.8295)),
        (AT_23, (1.2356, 1.1526, 1.8931, 1.9751, 3.2144, 1.8110)),
        (AT_25, (1.2273, 1.1449, 1.8804, 1.9619, 3.1928, 1.7988)),
    ],
)
def test_u07_factors(reference: Reference, expected: tuple[float, ...]) -> None:
    """Ideal gas law with the masses of U-07; the 23 °C row is from 11.2."""
    for parameter, factor in zip(GASES, expected, strict=True):
        assert mass_factor(parameter, reference) == pytest.approx(factor, abs=5e-4), parameter


@pytest.mark.parametrize(
    ("parameter", "printed"),
    list(zip(GASES, (1.23, 1.15, 1.88, 1.96, 3.19, 1.80), strict=True)),
)
def test_u08_pocket_guide(parameter: str, printed: float) -> None:
    """NIOSH Pocket Guide, “Conversion” lines, from memory."""
    assert mass_factor(parameter, AT_25) == pytest.approx(printed, abs=0.006)


def test_u12_altitude() -> None:
    """1 ppm HCHO at the standard pressure of 1500 m (84 556 Pa) and 20 °C: 1.0416 mg/m³."""
    assert standard_pressure_kpa(1500) == pytest.approx(84.556, abs=5e-4)
    assert mass_factor("formaldehyde", Reference(20, standard_pressure_kpa(1500))) == pytest.approx(1.0416, abs=5e-4)


@pytest.mark.parametrize(
    ("altitude", "printed"), [(-500, 18.2), (0, 15.0), (500, 11.8), (1000, 8.5), (4000, -11.0), (10000, -50.0)]
)
def test_u10_standard_temperature(altitude: float, printed: float) -> None:
    """Temperatures of U-10; its altitudes are from memory (ASHRAE Fundamentals 2017 ch. 1, Table 1)."""
    assert standard_temperature_c(altitude) == pytest.approx(printed, abs=0.1)


@pytest.mark.parametrize(("altitude", "kpa"), [(-500, 107.478), (500, 95.461), (1000, 89.875), (10000, 26.436)])
def test_standard_pressure(altitude: float, kpa: float) -> None:
    """ASHRAE Fundamentals 2017 ch. 1, Table 1, from memory; P-04 to P-06 use 95 461 Pa."""
    assert standard_pressure_kpa(altitude) == pytest.approx(kpa, abs=0.02)


@pytest.mark.parametrize("altitude", [-2001, 11_001, float("nan")])
def test_the_standard_atmosphere_has_ends(altitude: float) -> None:
    with pytest.raises(ValueError, match="standard atmosphere"):
        standard_pressure_kpa(altitude)


def test_molar_volumes_of_11_1() -> None:
    for reference, expected in ((AT_0, 22.414), (AT_20, 24.055), (Reference(20, 101.3), 24.061), (AT_23, 24.301)):
        assert reference.molar_volume == pytest.approx(expected, abs=5e-4)


@pytest.mark.parametrize(
    ("parameter", "per_mg_20", "per_mg_25"),
    list(
        zip(
            GASES,
            (0.8011, 0.8588, 0.5229, 0.5012, 0.3079, 0.5466),
            (0.8148, 0.8735, 0.5318, 0.5097, 0.3132, 0.5559),
            strict=True,
        )
    ),
)
def test_ppm_per_milligram_of_11_2(parameter: str, per_mg_20: float, per_mg_25: float) -> None:
    assert convert(1, parameter, "mg/m³", "ppm", AT_20) == pytest.approx(per_mg_20, abs=5.1e-5)
    assert convert(1, parameter, "mg/m³", "ppm", AT_25) == pytest.approx(per_mg_25, abs=5.1e-5)


@pytest.mark.parametrize(
    ("equivalent", "at_20", "at_25"), [("toluene", 3.8304, 3.7662), ("isobutylene", 2.3324, 2.2933)]
)
def test_named_equivalents_of_11_2(equivalent: str, at_20: float, at_25: float) -> None:
    assert mass_factor("tvoc", AT_20, equivalent) == pytest.approx(at_20, abs=5e-4)
    assert mass_factor("tvoc", AT_25, equivalent) == pytest.approx(at_25, abs=5e-4)


@pytest.mark.parametrize(
    ("parameter", "ppm", "printed", "tolerance", "reference", "equivalent"),
    [
        ("formaldehyde", 0.016, 0.0196, 5e-5, AT_25, None),  # NIOSH
        ("formaldehyde", 0.1, 0.123, 5e-4, AT_25, None),  # NIOSH
        ("formaldehyde", 0.1, 0.12, 5e-3, AT_25, None),  # ACGIH
        ("formaldehyde", 0.3, 0.37, 5e-3, AT_25, None),  # ACGIH
        ("formaldehyde", 0.081, 0.1, 1e-3, AT_25, None),  # Hong Kong: 100 µg/m³ = 81 ppb
        ("formaldehyde", 2, 2.5, 0.05, AT_20, None),  # UK
        ("formaldehyde", 0.1, 0.124, 5e-4, AT_23, None),  # Germany, older
        ("co", 100, 117, 0.7, AT_20, None),  # EU, 116.4 by the law
        ("co2", 1000, 1800, 5, AT_25, None),  # Health Canada
        ("tvoc", 0.087, 0.2, 1e-3, AT_25, "isobutylene"),  # Hong Kong: 200 µg/m³ = 87 ppb
    ],
)
def test_published_pairs_of_11_3(
    parameter: str, ppm: float, printed: float, tolerance: float, reference: Reference, equivalent: str | None
) -> None:
    found = convert(ppm, parameter, "ppm", "mg/m³", None, reference, equivalent=equivalent)
    assert found == pytest.approx(printed, abs=tolerance)


def test_altitude_facts_of_11_2() -> None:
    """25 °C: 1.024 at 84.56 kPa and 0.933 at 77 kPa, −17 % and −24 % against sea level."""
    sea = mass_factor("formaldehyde", AT_25)
    for kpa, factor, change in ((84.56, 1.024, -0.17), (77.0, 0.933, -0.24)):
        found = mass_factor("formaldehyde", Reference(25, kpa))
        assert found == pytest.approx(factor, abs=5e-4)
        assert found / sea - 1 == pytest.approx(change, abs=5e-3)


# --- conversion -------------------------------------------------------------------------------------------------------


def test_radon_is_exact() -> None:
    """11.2: 1 pCi/L = 37 Bq/m³ exactly."""
    assert convert([1, 4, 2.7], "radon", "pCi/L", "Bq/m³").tolist() == pytest.approx([37, 148, 99.9], rel=1e-15)
    assert convert([100, 300], "radon", "Bq/m³", "pCi/l") == pytest.approx([2.70, 8.11], abs=0.005)


def test_temperature() -> None:
    """Fixed points of the two scales, and 77 °F = 25 °C of 24 CFR 3280.406 (section 3 of the check values)."""
    assert convert([32, 212, -40, 77], "temperature", "°F", "°C").tolist() == [0, 100, -40, 25]
    assert convert([0, 100, -40, 25], "temperature", "degC", "F").tolist() == [32, 212, -40, 77]


def test_mass_to_mass_at_another_reference_goes_through_the_air() -> None:
    """20 °C against 25 °C differ by 1.7 % (trap a of section 1); the EU limit 0.37 mg/m³ at 20 °C is 0.364 at 25 °C."""
    assert convert(0.37, "formaldehyde", "mg/m³", "mg/m³", AT_20, AT_25) == pytest.approx(0.37 * 293.15 / 298.15)
    assert convert(50, "pm10", "µg/m³", "mg/m³", AT_20, AT_25) == pytest.approx(0.05 * 293.15 / 298.15)
    assert convert(50, "tvoc", "µg/m³", "mg/m³").tolist() == pytest.approx(0.05)


def test_ppm_does_not_feel_the_pressure() -> None:
    """Trap d of section 1."""
    low, high = Reference(25, 77.0), AT_25
    assert convert(0.08, "formaldehyde", "ppm", "ppb", low, high) == pytest.approx(80)
    assert convert(0.08, "formaldehyde", "ppm", "mg/m³", None, low) < convert(
        0.08, "formaldehyde", "ppm", "mg/m³", None, high
    )


def test_percent_of_carbon_dioxide() -> None:
    """CO2-CN of the guideline values: 0.10 % by volume; 1 % is 10 000 ppm."""
    assert convert(0.10, "co2", "%", "ppm") == pytest.approx(1000)


@pytest.mark.parametrize(
    ("parameter", "source", "target", "words"),
    [
        ("tvoc", "ppb", "µg/m³", "mixture"),
        ("tvoc", "mg/m³", "ppm", "toluene or isobutylene"),
        ("pm25", "ppm", "µg/m³", "weighed"),
        ("pm25", "µg/m³", "ppb", "weighed"),
        ("radon", "Bq/m³", "ppm", "Radon cannot be given in ppm"),
        ("humidity", "%RH", "ppm", "Relative humidity cannot be given in ppm"),
        ("temperature", "°C", "%", "Temperature cannot be given in %"),
        ("formaldehyde", "ppm", "°C", "Formaldehyde cannot be given in °C"),
    ],
)
def test_what_cannot_be_converted_is_refused_in_words(parameter: str, source: str, target: str, words: str) -> None:
    with pytest.raises(NotConvertible, match=words):
        convert([1.0], parameter, source, target, AT_25, AT_25)


@pytest.mark.parametrize("parameter", ["pm10", "radon", "temperature", "humidity", "tvoc"])
def test_no_factor_without_a_molar_mass(parameter: str) -> None:
    with pytest.raises(NotConvertible):
        mass_factor(parameter, AT_25)


def test_an_equivalent_must_be_known() -> None:
    with pytest.raises(NotConvertible, match="“hexane” is not an equivalent"):
        convert(1, "tvoc", "ppm", "mg/m³", None, AT_25, equivalent="hexane")


@pytest.mark.parametrize(("source", "target"), [("ppm", "mg/m³"), ("mg/m³", "ppm")])
def test_a_mass_without_reference_does_not_become_ppm(source: str, target: str) -> None:
    with pytest.raises(NotConvertible, match="needs its reference"):
        convert(1, "formaldehyde", source, target)


def test_two_masses_state_both_references_or_none() -> None:
    with pytest.raises(NotConvertible, match="only one"):
        convert(1, "formaldehyde", "mg/m³", "µg/m³", AT_25, None)


@settings(deadline=None)
@given(
    parameter=st.sampled_from(GASES),
    units=st.tuples(*[st.sampled_from(["ppm", "ppb", "mg/m³", "µg/m³"])] * 2),
    temperatures=st.tuples(*[st.floats(-20, 45)] * 2),
    pressures=st.tuples(*[st.floats(60, 110)] * 2),
    values=st.lists(st.one_of(st.floats(-10, 1e6), st.just(float("nan"))), max_size=5),
)
def test_there_and_back(
    parameter: str,
    units: tuple[str, str],
    temperatures: tuple[float, float],
    pressures: tuple[float, float],
    values: list[float],
) -> None:
    one, two = (Reference(t, p) for t, p in zip(temperatures, pressures, strict=True))
    there = convert(values, parameter, units[0], units[1], one, two)
    back = convert(there, parameter, units[1], units[0], two, one)
    np.testing.assert_allclose(back, values, rtol=1e-12, atol=1e-12)


def test_values_keep_their_shape_and_the_input_is_left_alone() -> None:
    values = np.array([[1, 2], [3, 4]])
    result = convert(values, "co", "ppm", "ppm")
    result[0, 0] = 9
    assert values[0, 0] == 1
    assert result.dtype == np.float64
    assert result.shape == (2, 2)


# --- references -------------------------------------------------------------------------------------------------------


def test_a_reference_prints_itself() -> None:
    assert str(Reference()) == "at 25 °C, 101.325 kPa"
    assert Reference(20.0, standard_pressure_kpa(1500)).text == "at 20 °C, 84.556 kPa"


@pytest.mark.parametrize(("temperature", "pressure"), [(-273.15, 101.325), (25, 0), (float("nan"), 101), (25, -1)])
def test_impossible_references(temperature: float, pressure: float) -> None:
    with pytest.raises(ValueError, match="not possible"):
        Reference(temperature, pressure)
