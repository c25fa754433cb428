"""What the traps of the guidelines reference (T1 to T18) ask of the limits, checked over all of them.

Values of single rows are checked in test_limits_data.
"""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from methods.limits.loader import load
from methods.limits.model import Averaging, Claim, OutdoorRule, PopulationScope, Status
from methods.quantities.substances import SUBSTANCES

# T8 of the reference: old value, new value, first day of the new one.
REPLACED: list[tuple[str, str, date]] = [
    ("HCHO-FR-ERP-OLD", "HCHO-FR-ERP", date(2023, 1, 1)),
    ("HCHO-DE-RW1-OLD", "HCHO-DE-RW1", date(2016, 6, 21)),
    ("HCHO-CN-18883-02", "HCHO-CN-18883-22", date(2023, 2, 1)),
    ("HCHO-CN-50325-I-OLD", "HCHO-CN-50325-I", date(2020, 8, 1)),
    ("HCHO-HK-2003-EX", "HCHO-HK-2019-8H-EX", date(2019, 7, 1)),
    ("CO-JP-OLD", "CO-JP", date(2022, 4, 1)),
    ("TRH-JP-T-OLD", "TRH-JP-T", date(2022, 4, 1)),
    ("BZ-OEL-EU-2024", "BZ-OEL-EU", date(2026, 4, 5)),
]
# Edition of 2010: in force on 1 June 2011, replaced on 1 August 2020 (from memory).
FIRST_EDITION = ("HCHO-CN-50325-II-01", "HCHO-CN-50325-II-OLD", date(2011, 6, 1))
#: Air counted at 0 °C (273 K) and 101.325 kPa, from memory: gases of GB/T 18883-2002, and of every GB 50325.
COUNTED_AT_ZERO = {"formaldehyde", "benzene", "tvoc", "co", "no2", "o3"}


def test_units_are_those_of_the_parameter() -> None:
    for limit in load().values():
        assert limit.unit in SUBSTANCES[limit.parameter].units
    assert {limit.parameter for limit in load().values()} == {
        "formaldehyde", "co2", "co", "no2", "o3", "tvoc", "pm25", "pm10", "benzene", "radon", "temperature", "humidity",
        "acetaldehyde", "acrolein", "acetone", "ammonia", "dichloromethane", "naphthalene", "phenol",
        "tetrachloroethylene", "toluene", "xylenes",
    }  # fmt: skip


def test_a_mean_over_weeks_to_a_lifetime_is_context_only() -> None:
    """T9 of the reference: never from a campaign of hours or days, whatever the instrument."""
    words = ("annual", "lifetime", "long-term mean", "long-term target", "year or more", "over 3 years")
    long_term = [
        limit
        for limit in load().values()
        if (limit.averaging_minutes or 0) > 10080 or any(word in limit.statistic for word in words)
    ]
    assert len(long_term) > 60
    for limit in long_term:
        assert (limit.code, limit.short_campaign, limit.laboratory) == (limit.code, Claim.CONTEXT, Claim.CONTEXT)


def test_nothing_for_workers_is_more_than_indicative_in_a_room() -> None:
    workers = [limit for limit in load().values() if limit.workplace]
    assert Claim.COMPARE not in {limit.short_campaign for limit in workers}
    assert all(limit.scopes == (PopulationScope.WORKPLACE,) for limit in workers if limit.code != "HCHO-TSCA25")


@pytest.mark.parametrize(
    ("code", "claim", "laboratory"),
    [
        ("HCHO-WHO10-30M", Claim.COMPARE, Claim.COMPARE),  # T9: 30-minute mean
        ("HCHO-CN-18883-22", Claim.COMPARE, Claim.COMPARE),  # T9: 1-hour mean
        ("HCHO-HC-8H", Claim.COMPARE, Claim.COMPARE),  # T9, T10: the 8-hour sample
        ("HCHO-AT-24H", Claim.COMPARE, Claim.COMPARE),  # T9: 24-hour mean
        ("HCHO-FR-HCSP30", Claim.INDICATIVE, Claim.COMPARE),  # T9: the sampler over days is the reference
        ("HCHO-OSHA-TWA", Claim.INDICATIVE, Claim.INDICATIVE),  # T9: breathing zone
        ("O3-OEL-NIOSH-C", Claim.INDICATIVE, Claim.INDICATIVE),  # T9: ceiling
        ("PM25-US-24", Claim.CONTEXT, Claim.CONTEXT),  # T9: percentile of years
        ("RN-HK-2019-GOOD", Claim.CONTEXT, Claim.CONTEXT),  # T18: a screen
        ("TVOC-UBA-3", Claim.CONTEXT, Claim.COMPARE),  # T5: not with a sensor index
        ("HCHO-REACH-EMIS-WOOD", Claim.CONTEXT, Claim.CONTEXT),  # T12: emission limits
    ],
)
def test_what_a_short_campaign_may_say(code: str, claim: Claim, laboratory: Claim) -> None:
    limit = load()[code]
    assert limit.claim() is claim
    assert limit.claim(laboratory=True) is laboratory


def test_the_outdoor_rule_of_each_document() -> None:
    """T7 of the reference; radon is not corrected in GB 50325 (T6)."""
    subtracted = {limit.row for limit in load().values() if limit.outdoor_rule is OutdoorRule.OUTDOOR_SUBTRACTED}
    assert subtracted == {"HCHO-CN-50325-I", "HCHO-CN-50325-II", "BZ-CN-50325", "TVOC-CN-50325"}
    above = {limit.row for limit in load().values() if limit.outdoor_rule is OutdoorRule.ABOVE_OUTDOOR}
    assert above == {
        "CO2-EN16798", "CO2-EN16798-R", "CO2-EN13779", "CO2-FI-545", "CO2-FI-S", "CO-LEED", "HCHO-NL-BB", "CO2-BR",
    }  # fmt: skip


def test_strict_operators_are_kept_where_the_document_says_below() -> None:
    """T17 of the reference, and the tables: Hong Kong and WELL v1 in all rows, three rows in one class."""
    strict = {limit.row for limit in load().values() if limit.operator.value == "<"}
    assert strict == {
        "HCHO-HK-2003", "HCHO-HK-2019", "CO2-HK", "TVOC-HK", "NO2-HK", "O3-HK", "PM10-HK", "CO-HK", "RN-HK", "TRH-HK",
        "HCHO-WELL1", "PM-WELL1", "CO-WELL1", "O3-WELL1", "TVOC-WELL",
        "CO2-DE", "CO2-EN13779", "CO2-UK-BB101",
    }  # fmt: skip


def test_stated_references_are_those_the_reference_calls_stated() -> None:
    stated = {limit.row: limit.temperature_c for limit in load().values() if limit.reference_stated}
    at_25 = ("HCHO-JP-MHLW", "HCHO-BC-AMB", "PM10-US-24", "CO-US", "NO2-US", "O3-US")
    assert stated == dict.fromkeys(at_25, Decimal(25)) | {
        "HCHO-JP-BLDG": Decimal(23),
        **dict.fromkeys(("HCHO-PT", "TVOC-PT", "CO2-PT", "CO-PT", "PM25-PT", "PM10-PT"), Decimal(20)),
        "PM25-US-A": None,  # actual conditions
        "PM25-US-24": None,
    }


@pytest.mark.parametrize(("old", "new", "day"), REPLACED)
def test_replaced_values_name_their_successor_and_its_first_day(old: str, new: str, day: date) -> None:
    limits = load()
    assert limits[old].status is Status.SUPERSEDED
    assert limits[old].superseded_by == new
    assert limits[old].valid_to is not None
    assert (day - limits[old].valid_to).days == 1  # type: ignore[operator]
    assert limits[new].in_force_on(day)


def test_an_edition_is_followed_by_the_next_and_not_by_the_newest() -> None:
    old, new, day = FIRST_EDITION
    assert load()[old].superseded_by == new
    assert load()[old].valid_to == day - timedelta(days=1)


def test_chinese_gases_are_counted_at_zero_degrees_except_in_the_edition_that_has_to_be_read() -> None:
    for limit in load().values():
        if limit.unit == "mg/m³" and limit.jurisdiction == "CN" and limit.parameter in COUNTED_AT_ZERO:
            expected = None if "18883" in limit.document and limit.edition == "2022" else Decimal(0)
            assert (limit.code, limit.temperature_c, limit.reference_stated) == (limit.code, expected, False)


def test_drafts_and_proposals() -> None:
    pending = {limit.row for limit in load().values() if limit.status in {Status.DRAFT, Status.PROPOSAL}}
    assert pending == {"HCHO-TSCA25", "RN-SA", "HCHO-FR-VLEP", "HCHO-AU", "BZ-AU", "NO2-AU"}


def test_a_sum_of_compounds_in_parts_per_billion_names_what_it_counts_as() -> None:
    """T5 of the reference: 200 µg/m³ = 87 ppb holds for isobutylene only; the Finnish decree counts as toluene."""
    for limit in load().values():
        if limit.parameter == "tvoc" and limit.in_words_pair:
            assert limit.equivalent == "isobutylene"
    assert load()["TVOC-FI"].equivalent == "toluene"


def test_only_ceilings_and_percentiles_of_the_closed_set_are_named_so() -> None:
    ceilings = {limit.code for limit in load().values() if limit.averaging is Averaging.CEILING}
    assert ceilings == {
        "HCHO-ACGIH-C92", "HCHO-NIOSH-IDLH", "CO-US-OEL-NIOSH-C", "O3-OEL-NIOSH-C", "NO2-OSHA-C", "CO2-MY",
    }  # fmt: skip
    assert load()["HCHO-NIOSH-C"].averaging is Averaging.ROLLING_MEAN  # T11: a 15-minute mean


# Section 11.2 of the reference: mg/m³ per ppm of carbon monoxide at 20 and at 25 °C.
CO_FACTORS = (1.1644, 1.1449)


@pytest.mark.parametrize(("code", "printed"), [("CO-WHO00-15M", 90), ("CO-WHO00-8H", 10)])
def test_a_wrong_printed_pair_is_kept_and_not_put_right(code: str, printed: int) -> None:
    """T1, T3 of the reference: 100 mg/m³ is 86 to 87 ppm and 10 mg/m³ is 8.6 to 8.7 ppm, whatever was printed."""
    limit = load()[code]
    assert limit.in_words_pair == f"{printed} ppm"
    assert limit.upper is not None
    assert printed not in {round(limit.upper / factor) for factor in CO_FACTORS}


def test_the_pairs_of_one_document_may_imply_two_temperatures() -> None:
    """T1 of the reference: 123/100 = 1.23 beside 50/40 = 1.25; both printed values stand."""
    implied = []
    for code in ("HCHO-HC-1H", "HCHO-HC-8H"):
        limit = load()[code]
        assert limit.upper is not None
        implied.append(limit.upper / float(limit.in_words_pair.removesuffix(" ppb")))
    assert implied == [1.23, 1.25]
