"""The limits that were added or put right in 2026, written out here a second time, by hand, with the document of each.

"V" was seen in the document, "S" in somebody else's page, "M" is from memory: the letters say which, as the rows do.
"""

from __future__ import annotations

from collections.abc import Iterable

import pytest

from methods.limits.loader import load
from methods.limits.model import LimitDefinition

Row = tuple[str, str, str, int | None, str]  # code, value, unit, averaging minutes, confidence
YEAR, DAY, SHIFT = 525600, 1440, 480

# Directive (EU) 2024/2881, annex I, from a copy of it: table 1 from 2030-01-01, table 2 until 2029-12-31.
EU_OUTDOOR: list[Row] = [
    ("PM25-EU-2030-24H", "25", "µg/m³", DAY, "S"),
    ("NO2-EU-2030-24H", "50", "µg/m³", DAY, "S"),
    ("NO2-EU-2030-1H", "200", "µg/m³", 60, "S"),
    ("CO-EU-2030-24H", "4", "mg/m³", DAY, "S"),
    ("CO-EU-2030-8H", "10", "mg/m³", SHIFT, "S"),
    ("O3-EU-2050", "100", "µg/m³", SHIFT, "S"),
    ("PM25-EU-OLD", "25", "µg/m³", YEAR, "S"),
    ("PM10-EU-A-OLD", "40", "µg/m³", YEAR, "S"),
    ("PM10-EU-24H-OLD", "50", "µg/m³", DAY, "S"),
    ("NO2-EU-OLD", "40", "µg/m³", YEAR, "S"),
    ("NO2-EU-1H-OLD", "200", "µg/m³", 60, "S"),
    ("BZ-EU-AMB-2008", "5", "µg/m³", YEAR, "S"),
    ("CO-EU-8H-OLD", "10", "mg/m³", SHIFT, "S"),
    ("PM25-EU-STAGE2", "20", "µg/m³", YEAR, "S"),  # Directive 2008/50/EC, as the European Commission lists it
]
# Regulation (EU) 2023/1464, REACH annex XVII, entry 77.
REACH: list[Row] = [
    ("HCHO-REACH-EMIS-WOOD", "0.062", "mg/m³", None, "V"),
    ("HCHO-REACH-EMIS-OTHER", "0.080", "mg/m³", None, "V"),
    ("HCHO-REACH-EMIS-VEHICLE", "0.062", "mg/m³", None, "V"),
]
# ASHRAE 62.1-2022, table 6-5, with addendum q of 31 October 2024.
ASHRAE: list[Row] = [
    ("HCHO-ASHRAE", "33", "µg/m³", None, "S"),
    ("BZ-ASHRAE", "3", "µg/m³", None, "S"),
    ("TOLUENE-ASHRAE", "300", "µg/m³", None, "S"),
    ("ACETALDEHYDE-ASHRAE", "140", "µg/m³", None, "S"),
    ("XYLENES-ASHRAE", "500", "µg/m³", None, "S"),
    ("NAPHTHALENE-ASHRAE", "9", "µg/m³", None, "S"),
    ("PHENOL-ASHRAE", "70", "µg/m³", None, "S"),
    ("PHENOL-ASHRAE-OLD", "10", "µg/m³", None, "S"),
    ("PCE-ASHRAE", "35", "µg/m³", None, "S"),
    ("DCM-ASHRAE", "400", "µg/m³", None, "S"),
    ("ACETONE-ASHRAE", "1200", "µg/m³", None, "S"),
    ("CO-ASHRAE", "9", "ppm", None, "S"),
    ("PM25-ASHRAE", "12", "µg/m³", None, "M"),
    ("O3-ASHRAE", "70", "ppb", None, "M"),
    ("NH3-ASHRAE", "200", "µg/m³", None, "M"),
]
# Environment code (France), annex to article R221-29; Health Canada's residential guidelines; BR18; StrlSchG; FHI.
DWELLINGS: list[Row] = [
    ("RN-FR", "300", "Bq/m³", YEAR, "M"),
    ("ACROLEIN-HC-1H", "38", "µg/m³", 60, "V"),
    ("ACROLEIN-HC-24H", "0.44", "µg/m³", DAY, "V"),
    ("ACETALDEHYDE-HC-1H", "1420", "µg/m³", 60, "V"),
    ("ACETALDEHYDE-HC-24H", "280", "µg/m³", DAY, "V"),
    ("HCHO-DK", "0.1", "mg/m³", None, "M"),
    ("CO2-DK", "1000", "ppm", None, "M"),
    ("RN-DE", "300", "Bq/m³", YEAR, "M"),
    ("CO2-NO", "1000", "ppm", None, "M"),
    ("RN-NO-ACTION", "100", "Bq/m³", YEAR, "M"),
    ("RN-NO-MAX", "200", "Bq/m³", YEAR, "M"),
    ("NO2-UK-ADF-2021-1H", "200", "µg/m³", 60, "M"),
    ("NO2-UK-ADF-2021-A", "40", "µg/m³", YEAR, "M"),
    ("TVOC-UK-ADF-2021", "300", "µg/m³", SHIFT, "M"),
]
# Ordinance 138-G/2021 (Portugal), the 2012 standards of Taiwan, the 2010 code of practice of Malaysia, NBR 17037:2023
# (Brazil), the Belgian code on well-being at work, the Japanese standards for schools.
PUBLIC: list[Row] = [
    ("PM25-PT", "25", "µg/m³", SHIFT, "M"),
    ("PM10-PT", "50", "µg/m³", SHIFT, "M"),
    ("TVOC-PT", "600", "µg/m³", SHIFT, "M"),
    ("CO-PT", "10", "mg/m³", SHIFT, "M"),
    ("CO2-PT", "2250", "mg/m³", SHIFT, "M"),
    ("RN-PT", "300", "Bq/m³", YEAR, "M"),
    ("CO2-TW", "1000", "ppm", SHIFT, "S"),
    ("CO-TW", "9", "ppm", SHIFT, "S"),
    ("O3-TW", "0.06", "ppm", SHIFT, "M"),
    ("PM25-TW", "35", "µg/m³", DAY, "S"),
    ("PM10-TW", "75", "µg/m³", DAY, "M"),
    ("CO2-MY", "1000", "ppm", None, "M"),
    ("CO-MY", "10", "ppm", SHIFT, "M"),
    ("O3-MY", "0.05", "ppm", SHIFT, "M"),
    ("TVOC-MY", "3", "ppm", SHIFT, "M"),
    ("PM10-MY", "0.15", "mg/m³", SHIFT, "M"),
    ("CO2-BR", "700", "ppm", None, "S"),
    ("CO2-BE-900", "900", "ppm", None, "M"),
    ("CO2-BE-1200", "1200", "ppm", None, "M"),
    ("HCHO-JP-SCHOOL", "100", "µg/m³", None, "M"),
    ("CO2-JP-SCHOOL", "1500", "ppm", None, "M"),
    ("CO-JP-SCHOOL", "6", "ppm", None, "M"),
]
# EH40/2005 (2020), 29 CFR 1910, NIOSH, the Japanese control concentration, the Australian consultation of October 2024.
WORK: list[Row] = [
    ("CO-UK-TWA", "20", "ppm", SHIFT, "M"),
    ("CO-UK-STEL", "100", "ppm", 15, "M"),
    ("NO2-UK-TWA", "0.5", "ppm", SHIFT, "M"),
    ("NO2-UK-STEL", "1", "ppm", 15, "M"),
    ("CO2-UK-TWA", "5000", "ppm", SHIFT, "M"),
    ("NO2-OSHA-C", "5", "ppm", None, "M"),
    ("CO2-OSHA-TWA", "5000", "ppm", SHIFT, "M"),
    ("NO2-NIOSH-STEL", "1", "ppm", 15, "M"),
    ("CO2-NIOSH-TWA", "5000", "ppm", 600, "M"),
    ("CO2-NIOSH-STEL", "30000", "ppm", 15, "M"),
    ("HCHO-JP-CONTROL", "0.1", "ppm", None, "M"),
    ("HCHO-AU-TWA", "0.3", "ppm", SHIFT, "S"),
    ("HCHO-AU-STEL", "0.6", "ppm", 15, "S"),
    ("BZ-AU-TWA", "0.2", "ppm", SHIFT, "S"),
    ("NO2-AU-TWA", "0.2", "ppm", SHIFT, "S"),
]
# National ambient air quality standards of India, 2009.
INDIA: list[Row] = [
    ("PM25-IN-24H", "60", "µg/m³", DAY, "M"),
    ("PM25-IN-A", "40", "µg/m³", YEAR, "M"),
    ("PM10-IN-24H", "100", "µg/m³", DAY, "M"),
    ("PM10-IN-A", "60", "µg/m³", YEAR, "M"),
    ("NO2-IN-24H", "80", "µg/m³", DAY, "M"),
    ("NO2-IN-A", "40", "µg/m³", YEAR, "M"),
    ("O3-IN-8H", "100", "µg/m³", SHIFT, "M"),
    ("O3-IN-1H", "180", "µg/m³", 60, "M"),
    ("CO-IN-8H", "2", "mg/m³", SHIFT, "M"),
    ("CO-IN-1H", "4", "mg/m³", 60, "M"),
    ("BZ-IN-A", "5", "µg/m³", YEAR, "M"),
]
ALL = [*EU_OUTDOOR, *REACH, *ASHRAE, *DWELLINGS, *PUBLIC, *WORK, *INDIA]

# Directive (EU) 2024/2881, annex I: on how many days or in how many hours a year the value may be exceeded.
ALLOWED = {
    "PM25-EU-2030-24H": "at most 18 days",
    "PM10-EU-2030-24H": "at most 18 days",
    "NO2-EU-2030-24H": "at most 18 days",
    "NO2-EU-2030-1H": "at most 3 hours",
    "CO-EU-2030-24H": "at most 18 days",
    "O3-EU": "at most 18 days",
    "PM10-EU-24H-OLD": "at most 35 days",
    "NO2-EU-1H-OLD": "at most 18 hours",
}


def added() -> Iterable[LimitDefinition]:
    return (limit for limit in load().values() if "additions of 2026" in limit.source)


@pytest.mark.parametrize(("code", "value", "unit", "minutes", "confidence"), ALL)
def test_values(code: str, value: str, unit: str, minutes: int | None, confidence: str) -> None:
    limit = load()[code]
    assert (f"{limit.value:f}", limit.unit, limit.averaging_minutes) == (value, unit, minutes)
    assert limit.confidence_value.value == confidence


def test_every_limit_that_was_added_is_written_out_here() -> None:
    assert {limit.code for limit in added()} <= {code for code, *_ in ALL}


@pytest.mark.parametrize(("code", "words"), ALLOWED.items())
def test_how_often_outdoor_law_lets_a_value_be_exceeded(code: str, words: str) -> None:
    assert words in load()[code].statistic


def test_no_outdoor_law_of_europe_is_without_its_dates() -> None:
    outdoor = [limit for limit in load().values() if limit.jurisdiction == "EU" and limit.scopes == ("outdoor",)]
    assert len(outdoor) == 20
    assert all(limit.valid_from or limit.valid_to for limit in outdoor)
