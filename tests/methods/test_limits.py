"""A limit judges by its own operator and rounding rule; the catalogue chooses by scope, status and dates."""

from __future__ import annotations

import math
from dataclasses import FrozenInstanceError, fields, replace
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from methods.limits.catalogue import PARENTS, STARTER_SETS, for_parameter, jurisdictions, parameters, starter_set
from methods.limits.fields import LIMIT_FIELDS
from methods.limits.loader import load, without_value
from methods.limits.model import Bound, Claim, Comparable, Confidence, LimitDefinition, PopulationScope
from methods.limits.reasons import REASONS
from methods.quantities.substances import SUBSTANCES
from methods.verdicts import as_compared, is_met

A_DAY = date(2026, 11, 30)


def test_the_library_is_read_once_and_cannot_be_changed() -> None:
    assert load() is load()
    limit = load()["HCHO-WHO10-30M"]
    with pytest.raises(FrozenInstanceError):
        limit.value = Decimal(1)  # type: ignore[misc]
    with pytest.raises(TypeError):
        load()["X-1"] = limit  # type: ignore[index]


# of the check values: CO rounds half up to whole ppm, ozone is truncated to the third decimal.
@pytest.mark.parametrize(
    ("code", "measured", "compared", "met"),
    [
        ("CO-US-8H", 9.4, 9, True),
        ("CO-US-8H", 9.5, 10, False),
        ("CO-US-8H", 9.499999999999998, 10, False),  # a mean of 9.5 with its binary noise
        ("CO-US-8H", 8.5, 9, True),
        ("CO-US-1H", 34.5, 35, True),
        ("CO-US-1H", 35.5, 36, False),
        ("O3-US", 0.0709, 0.070, True),
        ("O3-US", 0.0710, 0.071, False),
    ],
)
def test_rounding_follows_the_limits_own_rule(code: str, measured: float, compared: float, met: bool) -> None:
    limit = load()[code]
    assert as_compared(limit, measured) == compared
    assert is_met(limit, measured) is met


# T17 of the guidelines reference: the scheme of Hong Kong says "<", Korea "at most"; others are not rounded first.
@pytest.mark.parametrize(
    ("code", "measured", "met"),
    [
        ("HCHO-HK-2003-EX", 29.999, True),
        ("HCHO-HK-2003-EX", 30.0, False),
        ("HCHO-KR-GEN", 100.0, True),
        ("HCHO-KR-GEN", 100.0001, False),
        ("HCHO-WHO10-30M", 0.1, True),
        ("HCHO-WHO10-30M", 0.10001, False),
        ("TRH-WHO", 18.0, True),
        ("TRH-WHO", 17.99, False),
        ("TRH-HK-T-EX", 19.9, False),
        ("TRH-HK-T-EX", 20.0, True),
        ("TRH-HK-T-EX", 25.5, False),
        ("TRH-JP-T", 28.0, True),
        ("TRH-JP-T", 28.1, False),
    ],
)
def test_the_operator_and_both_ends_are_kept(code: str, measured: float, met: bool) -> None:
    assert is_met(load()[code], measured) is met


@given(st.sampled_from(sorted(load())), st.floats(0, 2), st.floats(0, 2))
def test_less_of_it_never_breaks_an_upper_limit(code: str, one: float, two: float) -> None:
    limit = load()[code]
    edge = limit.upper
    if limit.bound is Bound.UPPER and edge is not None:
        less, more = sorted((one * edge, two * edge))
        assert is_met(limit, less) or not is_met(limit, more)


def test_upper_and_lower_are_plain_numbers_for_the_judging_code() -> None:
    limits = load()
    assert (limits["HCHO-HC-1H"].upper, limits["HCHO-HC-1H"].lower) == (123.0, None)
    assert (limits["TRH-WHO"].upper, limits["TRH-WHO"].lower) == (None, 18.0)
    assert (limits["TRH-JP-RH"].upper, limits["TRH-JP-RH"].lower) == (70.0, 40.0)
    assert all(
        math.isfinite(number)
        for limit in limits.values()
        for number in (limit.upper, limit.lower)
        if number is not None
    )


@pytest.mark.parametrize(
    ("code", "text"),
    [
        ("HCHO-WHO10-30M", "≤ 0.1 mg/m³, worst 30-minute mean – WHO (Europe) 2010"),
        ("HCHO-HK-2003-EX", "< 30 µg/m³, 8-hour mean (excellent) – Hong Kong EPD 2003 (superseded)"),
        ("TRH-WHO", "≥ 18 °C, temperature in the cold season – WHO 2018"),
        ("TRH-HK-T-EX", "20 to < 25.5 °C, 8-hour mean (excellent) – Hong Kong EPD 2003 (superseded)"),
        ("CO2-FI-545", "≤ 1150 ppm above outdoor, in use – Finland 2015"),
        ("HCHO-TSCA25", "≤ 0.3 ppm, acute or peak exposure, uncertainty factor 1 – US EPA 2025 (draft)"),
    ],
)
def test_a_limit_reads_as_one_line(code: str, text: str) -> None:
    assert load()[code].text() == text


def test_only_what_was_seen_in_the_document_needs_no_check() -> None:
    for limit in load().values():
        assert limit.needs_check is (limit.confidence_value is not Confidence.VERIFIED)
    assert load()["HCHO-WHO10-30M"].needs_check
    assert not load()["HCHO-OSHA-TWA"].needs_check


def test_dates_say_what_is_in_force_on_a_day() -> None:
    benzene = load()["BZ-OEL-EU"]
    assert not benzene.in_force_on(date(2026, 4, 4))
    assert benzene.in_force_on(date(2026, 4, 5))
    assert not load()["CO-JP-OLD"].in_force_on(date(2020, 1, 1))  # superseded: the status decides


@pytest.mark.parametrize(
    ("code", "day", "words"),
    [
        ("PM25-EU-2030-A", date(2029, 12, 31), "in force from 2030-01-01"),
        ("PM25-EU-2030-A", date(2030, 1, 1), "in force"),
        ("PM25-EU-OLD", date(2026, 12, 12), "in force"),  # carried on by the directive that repeals its own
        ("PM25-EU-OLD", date(2030, 1, 1), "in force until 2029-12-31"),
        ("PM25-EU-STAGE2", date(2026, 12, 12), "in force until 2026-12-11"),
        ("HCHO-REACH-EMIS-VEHICLE", date(2027, 8, 5), "in force from 2027-08-06"),
        ("CO-JP-OLD", date(2030, 1, 1), "superseded"),
        ("HCHO-AU-TWA", date(2030, 1, 1), "proposal"),
    ],
)
def test_how_a_limit_stands_on_a_day_is_said_by_status_and_dates(code: str, day: date, words: str) -> None:
    assert load()[code].standing_on(day) == words
    assert load()[code].in_force_on(day) is (words == "in force")


def test_the_printed_pair_changes_no_verdict() -> None:
    for limit in load().values():
        edge = limit.upper if limit.upper is not None else limit.lower
        assert edge is not None
        absurd = replace(limit, in_words_pair="999 ppq")
        assert [is_met(absurd, edge), absurd.upper, absurd.lower] == [is_met(limit, edge), limit.upper, limit.lower]


def test_every_field_of_a_data_file_ends_in_the_model() -> None:
    derived = {"row", "body", "jurisdiction", "reason_code"}
    assert {field.name for field in fields(LimitDefinition)} == (set(LIMIT_FIELDS) - {"reason"}) | derived


def test_for_parameter_lists_every_limit_once_and_those_in_force_first() -> None:
    listed = [limit.code for code in SUBSTANCES for limit in for_parameter(code, A_DAY)]
    assert sorted(listed) == sorted(load())
    for code in SUBSTANCES:
        statuses = [limit.in_force_on(A_DAY) for limit in for_parameter(code, A_DAY)]
        assert statuses == sorted(statuses, reverse=True)
        assert (True in statuses) is (code in parameters())
    with pytest.raises(KeyError):
        for_parameter("phlogiston", A_DAY)


@pytest.mark.parametrize("name", sorted(STARTER_SETS))
def test_a_starter_set_holds_only_what_a_short_campaign_may_be_judged_by(name: str) -> None:
    chosen = starter_set(name, on=A_DAY)
    assert "formaldehyde" in {limit.parameter for limit in chosen}
    for limit in chosen:
        assert STARTER_SETS[name] in limit.scopes
        assert limit.in_force_on(A_DAY)
        assert limit.comparable is Comparable.YES
        assert limit.short_campaign is not Claim.CONTEXT
        assert limit.confidence_value is not Confidence.DOUBTFUL
        assert not limit.interim
    assert {limit.workplace for limit in chosen} == {name == "workplace"}


def test_a_starter_set_is_narrowed_by_place_parameter_and_day() -> None:
    german = {
        limit.code for limit in starter_set("dwelling", on=A_DAY, jurisdiction="DE", parameters=("formaldehyde",))
    }
    assert german == {"HCHO-DE-RW1", "HCHO-WHO10-30M"}
    european = {limit.code for limit in starter_set("workplace", on=A_DAY, jurisdiction="DE")}
    assert {"HCHO-DE-AGW", "HCHO-EU-8H"} <= european
    assert "HCHO-OSHA-TWA" not in european
    before = {limit.code for limit in starter_set("workplace", on=date(2026, 4, 4))}
    after = {limit.code for limit in starter_set("workplace", on=date(2026, 4, 5))}
    assert after - before == {"BZ-OEL-EU"}
    with pytest.raises(KeyError):
        starter_set("castle", on=A_DAY)


def test_every_jurisdiction_that_stands_over_another_has_limits() -> None:
    assert {parent for parents in PARENTS.values() for parent in parents} | set(PARENTS) <= set(jurisdictions())


def test_every_reason_is_used_and_is_a_sentence() -> None:
    assert {limit.reason_code for limit in load().values()} == set(REASONS)
    for words in REASONS.values():
        assert words[0].isupper()
        assert words.endswith(".")


def test_rows_without_value_carry_a_reason_and_no_code_of_a_limit() -> None:
    assert {row.code for row in without_value()}.isdisjoint(load())
    for row in without_value():
        assert row.parameter in SUBSTANCES
        assert len(row.reason) > 20


def test_a_limit_for_products_is_never_compared_with_air() -> None:
    products = [limit for limit in load().values() if PopulationScope.PRODUCT in limit.scopes]
    assert {limit.row for limit in products} == {"HCHO-REACH-EMIS"}
    assert {limit.comparable for limit in products} == {Comparable.NEVER}
