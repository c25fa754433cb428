"""The table of substances against a library of chemicals, and how strictly it is read."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from chemicals.identifiers import search_chemical

from methods.logs.words import reserved_words
from methods.logs.words.substance_words import parameter_of
from methods.logs.words.vocabulary import heading
from methods.quantities.chemistry import is_cas_number, molar_mass
from methods.quantities.substance_rows import MASS_TOLERANCE, Kind, Substance, SubstanceDataError, read
from methods.quantities.substances import SUBSTANCES, TABLE, conditions, first, grouped, name_of
from methods.quantities.unit_names import UNITS
from methods.quantities.units import parse_unit
from tests.methods.substance_rows import OCTANAL, add_row, forget_words

WITH_CAS = [substance for substance in SUBSTANCES.values() if substance.cas]
GASES = [substance for substance in SUBSTANCES.values() if substance.kind is Kind.GAS]


#: The library does not have the mixture, so formula and mass are those of one isomer, o-xylene. The number of the
#: mixture itself, 1330-20-7, is from memory and stands on its check digit alone.
ISOMER = {"xylenes": "95-47-6"}


def by_code(substance: Substance) -> str:
    return substance.code


# --- against a library of chemicals -----------------------------------------------------------------------------------


@pytest.mark.parametrize("substance", WITH_CAS, ids=by_code)
def test_the_cas_number_is_that_of_the_formula(substance: Substance) -> None:
    """Package “chemicals” of PyPI, whose registry numbers and formulas come from public databases: atom for atom."""
    number = ISOMER.get(substance.code, substance.cas)
    found = search_chemical(number)
    assert found.CASs == number
    assert atoms(found.formula) == atoms(substance.formula)


@pytest.mark.parametrize("substance", GASES, ids=by_code)
def test_the_molar_mass_is_that_of_the_library(substance: Substance) -> None:
    """Same package; its atomic weight of sulfur is an older one, which makes 0.014 % of hydrogen sulfide."""
    number = ISOMER.get(substance.code, substance.cas)
    assert substance.molar_mass == pytest.approx(search_chemical(number).MW, rel=2e-4)


@pytest.mark.parametrize("substance", [s for s in GASES if s.code not in ISOMER], ids=by_code)
def test_the_name_leads_to_the_same_substance(substance: Substance) -> None:
    """Same package, looked up by our name: number and formula of an isomer would pass the tests above."""
    assert search_chemical(substance.name.replace("α", "alpha")).CASs == substance.cas


def atoms(formula: str) -> dict[str, int]:
    return {symbol: int(count or 1) for symbol, count in re.findall(r"([A-Z][a-z]?)(\d*)", formula)}


@pytest.mark.parametrize(
    ("code", "mass"),
    [("formaldehyde", 30.026), ("co", 28.010), ("no2", 46.0055), ("o3", 47.998), ("benzene", 78.114), ("co2", 44.009)],
)
def test_u07_molar_masses(code: str, mass: float) -> None:
    """U-07 of the check values, exactly as before they were computed."""
    assert SUBSTANCES[code].molar_mass == mass


@pytest.mark.parametrize("text", ["7732-18-5", "50-00-0", "58-08-2", "124-38-9"])
def test_cas_numbers(text: str) -> None:
    """Water, formaldehyde, caffeine and carbon dioxide: from memory, and in the library."""
    assert is_cas_number(text)
    assert search_chemical(text).CASs == text


@pytest.mark.parametrize(
    "text", ["7732-18-4", "50-00-1", "50-0-0", "5-00-0", "50000", "", "50-00-0 ", "a50-00-0", "50-00-٠"]
)
def test_what_is_no_cas_number(text: str) -> None:
    assert not is_cas_number(text)


@pytest.mark.parametrize(
    "formula", ["", "ch2o", "CH2O)", "C2H5(OH)", "Xx2", "CH2O ", "H₂O", "H0", "C0H2", "H02", "CH٢O"]
)
def test_what_is_no_formula(formula: str) -> None:
    with pytest.raises(ValueError, match=r"formula|weight"):
        molar_mass(formula)


# --- the table --------------------------------------------------------------------------------------------------------


def test_what_was_there_before_the_table_keeps_code_order_name_and_units() -> None:
    mass = ("mg/m³", "µg/m³")
    gas = ("ppm", "ppb", *mass)
    assert [(s.code, s.name, s.symbol, s.units) for s in SUBSTANCES.values() if s.usual] == [
        ("formaldehyde", "Formaldehyde", "HCHO", gas),
        ("co2", "Carbon dioxide", "CO₂", ("ppm", "%", "mg/m³")),
        ("co", "Carbon monoxide", "CO", gas),
        ("no2", "Nitrogen dioxide", "NO₂", gas),
        ("o3", "Ozone", "O₃", gas),
        ("tvoc", "Total volatile organic compounds", "TVOC", gas),
        ("pm25", "Particles up to 2.5 µm", "PM2.5", ("µg/m³", "mg/m³")),
        ("pm10", "Particles up to 10 µm", "PM10", ("µg/m³", "mg/m³")),
        ("benzene", "Benzene", "C₆H₆", gas),
        ("radon", "Radon", "Rn", ("Bq/m³", "pCi/L")),
        ("temperature", "Temperature", "T", ("°C", "°F")),
        ("humidity", "Relative humidity", "RH", ("%RH",)),
    ]
    assert list(SUBSTANCES)[:12] == [s.code for s in SUBSTANCES.values() if s.usual]
    assert {s.code for s in SUBSTANCES.values() if not s.axis_from_zero} == {"co2", "temperature", "humidity"}
    assert {s.code for s in SUBSTANCES.values() if not s.zero_check} == {"co2", "radon", "temperature", "humidity"}
    assert conditions() == ("temperature", "humidity", "co2")
    assert first() == "formaldehyde"


def test_units_are_spelled_as_they_are_parsed() -> None:
    assert {unit for s in SUBSTANCES.values() for unit in s.units} == set(UNITS)
    assert [parse_unit(unit) for unit in UNITS] == list(UNITS)


def test_the_usual_ones_are_offered_first_and_every_row_once() -> None:
    groups = grouped()
    assert [name for name, _ in groups][:3] == ["Usual", "Aldehydes", "Volatile organic compounds"]
    assert [code for code, _ in groups[0][1]] == list(SUBSTANCES)[:12]
    offered = [code for _, rows in groups for code, _ in rows]
    assert sorted(offered) == sorted(SUBSTANCES)
    assert grouped(["acetone", "co"]) == [
        ("Usual", [("co", "Carbon monoxide")]),
        ("Volatile organic compounds", [("acetone", "Acetone")]),
    ]


def test_a_code_whose_row_is_gone_stands_for_itself() -> None:
    assert (name_of("toluene"), name_of("gone")) == ("Toluene", "gone")


def test_it_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        SUBSTANCES["co"] = SUBSTANCES["co2"]  # type: ignore[index]


# --- words of headers -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("Acétaldéhyde (µg/m³)", "acetaldehyde"),
        ("Ethyl benzene [ppb]", "ethylbenzene"),
        ("Ethylbenzol", "ethylbenzene"),
        ("1,4-Dichlorobenzene µg/m³", "dichlorobenzene_14"),
        ("α-Pinen", "alpha_pinene"),
        ("Toluol mg/m3", "toluene"),
        ("tolueno", "toluene"),
        ("Stickstoffmonoxid ppb", "nitric_oxide"),
        ("NH3 (ppm)", "ammonia"),
        ("dwutlenek siarki", "so2"),
        ("PM1 (µg/m³)", "pm1"),
        ("pm1.0", "pm1"),
        ("PM 4 µg/m³", "pm4"),
    ],
)
def test_a_header_that_names_exactly_one_substance(text: str, code: str) -> None:
    assert heading(text).parameter == code


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("PM10", "pm10"),
        ("pm_10", "pm10"),
        ("PM2.5", "pm25"),
        ("PM1-10", None),
        ("PM1.5", None),
        ("NO", None),  # a number, a negation, a gas
        ("no", None),
        ("NO2", "no2"),
        ("NOx", None),
        ("o-Xylene", None),  # one isomer is not the sum
        ("TVOC as toluene", "tvoc"),
        ("TVOC (isobutylene)", "tvoc"),
        ("PID (ppm isobutylene)", None),
        ("toluene equivalents", None),
        ("Formaldehyde and acetaldehyde", None),
        ("Benzol", "benzene"),
    ],
)
def test_a_header_is_read_as_before_the_table_grew(text: str, code: str | None) -> None:
    assert parameter_of(text) == code


def test_no_word_of_a_substance_means_something_else_in_a_header() -> None:
    assert {"no", "battery", "time", "equivalent"} <= reserved_words.reserved()
    reserved_words.check()


# --- read strictly ----------------------------------------------------------------------------------------------------


def written(folder: Path, text: str) -> Path:
    path = folder / "table.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_one_row_more_is_read(tmp_path: Path) -> None:
    row = read(written(tmp_path, OCTANAL))["octanal"]
    assert (row.symbol, row.label, row.is_gas, row.usual) == ("Octanal", "Octanal", True, False)
    found = search_chemical("octanal")
    assert row.cas == found.CASs
    assert row.molar_mass == pytest.approx(found.MW, rel=MASS_TOLERANCE)


@pytest.mark.parametrize(
    ("was", "becomes", "key"),
    [
        ('code = "octanal"', 'code = "Octanal"', "code"),
        ('code = "octanal"', 'code = "octanal_of_more_than_twenty"', "code"),
        ('name = "Octanal"\n', "", "name"),
        ('name = "Octanal"', 'name = " Octanal"', "name"),
        ('formula = "C8H16O"\n', "", "formula"),
        ('formula = "C8H16O"', 'formula = "C8H16Q"', "formula"),
        ('formula = "C8H16O"', 'formula = "C8H16O"\nmolar_mass = 130.2', "molar_mass"),
        ('formula = "C8H16O"', 'formula = "C8H16O"\nmolar_mass = "128"', "molar_mass"),
        ('cas = "124-13-0"', 'cas = "124-13-1"', "cas"),
        ('cas = "124-13-0"\n', "", "cas"),
        ('kind = "gas"', 'kind = "vapour"', "kind"),
        ('kind = "gas"', 'kind = "particles"', "cas"),
        ('group = "Aldehydes"\n', "", "group"),
        ('units = ["µg/m³", "mg/m³", "ppb", "ppm"]', 'units = ["ug/m3"]', "units"),
        ('units = ["µg/m³", "mg/m³", "ppb", "ppm"]', "units = []", "units"),
        ('units = ["µg/m³", "mg/m³", "ppb", "ppm"]', 'units = ["ppm", "ppm"]', "units"),
        ("[substance.aliases]", 'colour = "blue"\n[substance.aliases]', "colour"),
        ("[substance.aliases]", 'usual = "yes"\n[substance.aliases]', "usual"),
        ("[substance.aliases]", "decimals = 1.5\n[substance.aliases]", "decimals"),
        ("[substance.aliases]", "size_um = 1\n[substance.aliases]", "size_um"),
        ("en = [", "english = [", "aliases"),
        ('en = ["octanal", "caprylaldehyde"]', 'en = "octanal"', "aliases"),
        ('en = ["octanal"', 'en = ["-"', "aliases"),
        ('en = ["octanal"', 'en = ["octanal, n-"', "aliases"),
        ('en = ["octanal"', 'en = ["the aldehyde of caprylic acid"', "aliases"),
        ("[substance.aliases]", 'stems = ["Octan"]\n[substance.aliases]', "stems"),
        ("[substance.aliases]", 'stems = ["octán"]\n[substance.aliases]', "stems"),
        ("[substance.aliases]", 'stems = ["oct an"]\n[substance.aliases]', "stems"),
        ("[substance.aliases]", 'stems = ["al"]\n[substance.aliases]', "stems"),
    ],
)
def test_a_wrong_row_stops_the_program_and_says_where(tmp_path: Path, was: str, becomes: str, key: str) -> None:
    assert was in OCTANAL
    with pytest.raises(SubstanceDataError, match=r"(?i)table\.toml: octanal") as caught:
        read(written(tmp_path, OCTANAL.replace(was, becomes)))
    assert caught.value.key == key


@pytest.mark.parametrize(
    ("was", "becomes", "key"),
    [
        ("", "", "code"),
        ('code = "octanal"', 'code = "other"', "name"),
        ('code = "octanal"\nname = "Octanal"', 'code = "other"\nname = "Other"', "cas"),
        (
            'code = "octanal"\nname = "Octanal"',
            'code = "other"\nname = "Other"\nsymbol = "Octanal"',
            "symbol",
        ),
    ],
)
def test_two_rows_share_neither_code_nor_name_nor_number(tmp_path: Path, was: str, becomes: str, key: str) -> None:
    with pytest.raises(SubstanceDataError) as caught:
        read(written(tmp_path, OCTANAL + OCTANAL.replace(was, becomes)))
    assert caught.value.key == key


def test_a_unit_that_names_a_parameter_is_nobody_elses(tmp_path: Path) -> None:
    thoron = '[[substance]]\ncode = "{}"\nname = "{}"\nformula = "Rn"\ncas = "{}"\nkind = "radioactivity"\n'
    rows = [
        thoron.format("radon", "Radon", "10043-92-2") + 'units = ["Bq/m³"]\nnamed_by_unit = true\n',
        thoron.format("thoron", "Thoron", "22481-48-7") + 'units = ["Bq/m³"]\n',
    ]
    with pytest.raises(SubstanceDataError) as caught:
        read(written(tmp_path, "".join(rows)))
    assert (caught.value.code, caught.value.key) == ("thoron", "units")


@pytest.mark.parametrize("text", ["", "[[substance", "other = 1\n" + OCTANAL, "substance = 3"])
def test_a_file_that_is_no_table(tmp_path: Path, text: str) -> None:
    with pytest.raises(SubstanceDataError, match="whole file"):
        read(written(tmp_path, text))


def test_an_equivalent_is_a_gas_of_the_table(tmp_path: Path) -> None:
    row = '[[substance]]\ncode = "s"\nname = "Sum"\nkind = "sum"\nunits = ["ppb"]\nequivalents = ["toluene"]\n'
    with pytest.raises(SubstanceDataError, match="'toluene' is no gas of the table"):
        read(written(tmp_path, row))
    assert read(TABLE)["tvoc"].equivalents == ("toluene", "isobutylene")


@pytest.fixture
def _words() -> Iterator[None]:
    yield
    forget_words()


@pytest.mark.parametrize(
    ("was", "becomes", "key", "said"),
    [
        ('"octanal",', '"Ozône",', "aliases", "already one of o3"),
        ("[substance.aliases]", 'stems = ["ozon"]\n[substance.aliases]', "stems", "'ozon' of o3"),
        ("[substance.aliases]", 'stems = ["aldeh", "formalde"]\n[substance.aliases]', "stems", "of formaldehyde"),
        ("[substance.aliases]", 'stems = ["phenylbenzol"]\n[substance.aliases]', "stems", "'benzol' of benzene"),
    ],
)
def test_words_that_two_rows_claim(tmp_path: Path, was: str, becomes: str, key: str, said: str) -> None:
    row = OCTANAL.replace(was, becomes)
    with pytest.raises(SubstanceDataError, match=said) as caught:
        read(written(tmp_path, TABLE.read_text(encoding="utf-8") + row))
    assert (caught.value.code, caught.value.key) == ("octanal", key)


def test_two_sizes_that_headers_write_alike(tmp_path: Path) -> None:
    row = '[[substance]]\ncode = "pm{}"\nname = "PM{}"\nkind = "particles"\nunits = ["µg/m³", "mg/m³"]\nsize_um = {}\n'
    with pytest.raises(SubstanceDataError, match="pmb: size_um: pma has the same"):
        read(written(tmp_path, row.format("a", "A", 2.5) + row.format("b", "B", 2.5000001)))


@pytest.mark.usefixtures("_words")
@pytest.mark.parametrize("word", ["time", "Battery", "ppm"])
def test_a_word_that_says_something_else_in_a_header_stops_the_program(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, word: str
) -> None:
    add_row(OCTANAL.replace('"octanal",', f'"{word}",'), tmp_path, monkeypatch)
    with pytest.raises(SubstanceDataError, match="octanal: aliases"):
        reserved_words.check()
