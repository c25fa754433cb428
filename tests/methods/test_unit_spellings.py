"""How units are written: every spelling is understood, refused or asked about, never guessed."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from methods.quantities.substances import UNITS
from methods.quantities.units import (
    UnknownUnit,
    convert,
    parse_unit,
)


@pytest.mark.parametrize(
    ("unit", "spellings"),
    {
        "ppm": ["PPM", " ppm ", "ppmv", "ppm (v)", "[ppm]", "µmol/mol", "umol mol-1", "parts per million", "ml/m3",
                "micromoles per mole", "uL/L", "millilitres per cubic metre"],
        "ppb": ["Ppb", "ppbv", "nmol/mol", "nL/L"],
        "mg/m³": ["mg m-3", "mg/m3", "MG/M3", "mg·m⁻³", "mg*m^-3", "mg/m**3", "ug/L", "milligrams per cubic meter"],
        "µg/m³": [
            "ug/m3", "µg/m^3", "\u00b5g/m3", "\u03bcg/m³", "Âµg/m³", "μg·m⁻³", "(µg/m³)", "mcg/m3", "ug m^-3",
            "micrograms per cubic metre", "microgram/meter**3", "µg / m 3", "ng/L", "ug per cubic meter",
            "nanograms per litre",
        ],
        "%": ["%", "vol.%", "% vol", "percent", "%v/v", "Vol-%"],
        "%RH": ["% RH", "%rh", "rH", "% r.H.", "RH (%)", "%RH", "relative humidity"],
        "°C": ["degC", "C", "°c", "ºC", "℃", "deg C", "Celsius", "° C"],
        "°F": ["F", "degF", "℉", "°f", "Fahrenheit"],
        "Bq/m³": ["Bq m-3", "bq/m3", "Bq·m⁻³", "becquerel per cubic metre"],
        "pCi/L": ["pCi/l", "PCI/L", "pCi L-1", "picocuries per liter"],
    }.items(),
)  # fmt: skip
def test_spellings(unit: str, spellings: list[str]) -> None:
    assert {spelling: parse_unit(spelling) for spelling in spellings} == dict.fromkeys(spellings, unit)


@settings(deadline=None)
@given(unit=st.sampled_from(UNITS), upper=st.booleans(), space=st.sampled_from(["", " ", "\u00a0", "\t", "\u2009"]))
def test_each_unit_is_its_own_spelling(unit: str, upper: bool, space: str) -> None:
    assert parse_unit(space + (unit.upper() if upper else unit) + space) == unit


def test_percent_of_humidity_is_relative_humidity() -> None:
    assert parse_unit("%", "humidity") == "%RH"
    assert parse_unit("%", "co2") == "%"
    assert convert([40.0], "humidity", "%", "%RH").tolist() == [40.0]


@pytest.mark.parametrize(
    "text",
    [
        "kg",
        "g/m3",
        "mg/l",
        "mg/m2",
        "ppt",
        "9**9**9**9",
        "__import__('os')",
        "m**999",
        "µg/m³/h",
        "-",
        "1",
        "ppm²",
        "µg/kg",
        "micrograms per kilogram",
        "milligrams per square metre",
        "microgramless per metre",
    ],
)
def test_other_units_are_unknown(text: str) -> None:
    with pytest.raises(UnknownUnit, match="not a unit known here"):
        parse_unit(text)


@pytest.mark.parametrize("text", ["", "  ", "[]"])
def test_a_missing_unit_is_said_to_be_missing(text: str) -> None:
    with pytest.raises(UnknownUnit, match="The unit is missing"):
        parse_unit(text)


def test_normal_cubic_metres_ask_for_their_reference() -> None:
    with pytest.raises(UnknownUnit, match="normal conditions"):
        parse_unit("mg/Nm³")


def test_a_very_long_cell_is_no_unit() -> None:
    with pytest.raises(UnknownUnit, match="not a unit known here"):
        parse_unit("ppm " * 100_000)


@settings(deadline=None)
@given(st.text(max_size=80))
def test_any_text_is_a_unit_or_a_message(text: str) -> None:
    try:
        answer = parse_unit(text)
    except UnknownUnit as error:
        answer = str(error)
    assert answer in UNITS or ("unit" in answer and len(answer) < 200)
