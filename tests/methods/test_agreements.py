"""What differs from what was agreed is named, item by item.

What has to be agreed: EPA QA/G-4 (question, boundary, statistic, action level, tolerable error), ISO/IEC 17025:2017
7.1.3 and 7.8.6, ILAC-G8:2019; all from memory.
"""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from methods.limits.loader import load
from methods.quantities.units import Reference
from methods.wording.agreements import (
    LIMIT_ITEMS,
    NOTHING,
    AgreedAcceptance,
    AgreedLimit,
    AgreedPoint,
    AgreedTerms,
    differences,
    error_words,
    limit_of,
    point_of,
)

LIMIT = limit_of(load()["HCHO-WHO10-30M"], Reference(25.0, 101.325))
ACCEPTANCE = AgreedAcceptance("bias", "Bias of a meter side by side", "at most 10 % of the median of all meters")
POINT = point_of("k1", "centre", "Studio 4", "Attic", "Top floor", "Main house")
OUTSIDE = point_of("k2", "lawn")
TERMS = AgreedTerms(
    site="Harbour House, 3 Quay",
    objective="Is it raised?",
    protocol="Windows closed",
    parameters=("Formaldehyde",),
    limits=(LIMIT,),
    above=0.95,
    below=0.05,
    shift="over 8 h",
    use=("Attic: Mon-Fri 08:00-16:00",),
    points=(POINT, OUTSIDE),
    first_day="2026-09-14",
    last_day="2026-09-16",
    acceptance=(ACCEPTANCE,),
)
#: Every item of the terms, something else for it, and what the difference has to name.
OTHERWISE: dict[str, tuple[Any, tuple[str, ...]]] = {
    "site": ("Mill House", ("Site", "Harbour House, 3 Quay", "Mill House")),
    "objective": ("Is it low?", ("question", "Is it raised?", "Is it low?")),
    "protocol": ("", ("Protocol", "Windows closed", NOTHING)),
    "parameters": (("Formaldehyde", "Benzene"), ("Parameters", "Formaldehyde, Benzene")),
    "limits": ((), ("Limit", "0.1 mg/m³", "not judged by")),
    "above": (0.9, ("Called above from", "95 %", "90 %")),
    "below": (0.1, ("Called below up to", "5 %", "10 %")),
    "shift": ("over 10 h", ("shift", "over 8 h", "over 10 h")),
    "use": ((), ("Time of use", "Mon-Fri 08:00-16:00", NOTHING)),
    "acceptance": ((), ("bias of a meter", "at most 10 %", NOTHING)),
    "points": ((POINT,), ("Points", "Outdoors: lawn", "not measured")),
    "first_day": ("2026-09-13", ("Dates", "2026-09-14", "2026-09-13")),
    "last_day": ("2026-09-17", ("Dates", "2026-09-16", "2026-09-17")),
}


def test_every_item_is_looked_at() -> None:
    """A new item of the terms, or of a limit, is compared, or this fails."""
    assert set(OTHERWISE) == {field.name for field in fields(AgreedTerms)}
    assert set(LIMIT_ITEMS) | {"code"} == {field.name for field in fields(AgreedLimit)}


def test_what_was_done_as_agreed_differs_in_nothing() -> None:
    assert differences(TERMS, TERMS) == ()


@pytest.mark.parametrize("item", OTHERWISE)
def test_each_item_that_is_another_is_named(item: str) -> None:
    used, named = OTHERWISE[item]
    (found,) = differences(TERMS, replace(TERMS, **{item: used}))
    assert all(words in found.words for words in named), found.words


@given(st.sets(st.sampled_from(sorted(set(OTHERWISE) - {"last_day"})), min_size=1))
def test_several_are_named_each_once(items: set[str]) -> None:
    used = replace(TERMS, **{item: OTHERWISE[item][0] for item in items})
    found = differences(TERMS, used)
    assert len(found) == len(items)
    for item in items:
        assert any(all(words in difference.words for words in OTHERWISE[item][1]) for difference in found)


@pytest.mark.parametrize("name", LIMIT_ITEMS)
def test_each_part_of_a_limit_that_is_another_is_named(name: str) -> None:
    other = replace(LIMIT, **{name: "something else"})
    (found,) = differences(TERMS, replace(TERMS, limits=(other,)))
    assert found.item.endswith(LIMIT_ITEMS[name])
    assert LIMIT.parameter in found.item
    assert (found.agreed, found.used) == (getattr(LIMIT, name) or NOTHING, "something else")


def test_another_limit_beside_the_agreed_ones_is_named() -> None:
    more = limit_of(load()["CO2-DE-1000"], None)
    (found,) = differences(TERMS, replace(TERMS, limits=(LIMIT, more)))
    assert found.agreed == NOTHING
    assert "1000 ppm" in found.used


def test_a_point_is_the_same_by_whatever_name() -> None:
    renamed = replace(POINT, place="Studio four, centre", zone="Under the roof", building="Old house")
    assert differences(TERMS, replace(TERMS, points=(OUTSIDE, renamed))) == ()


def test_a_further_point_is_named() -> None:
    more = AgreedPoint("k3", "Main house", "Cellar", "Boiler room", "Boiler room, centre")
    (found,) = differences(TERMS, replace(TERMS, points=(*TERMS.points, more)))
    assert (found.item, found.used) == ("Further points", "measured: Boiler room: Boiler room, centre")


def test_fewer_days_are_no_departure() -> None:
    assert differences(TERMS, replace(TERMS, first_day="2026-09-15", last_day="2026-09-15")) == ()


def test_a_limit_keeps_what_a_second_person_needs() -> None:
    """HCHO-WHO10-30M: WHO guidelines for indoor air quality (2010), 0.1 mg/m³ over 30 minutes (as in limits/data)."""
    assert (LIMIT.parameter, LIMIT.value, LIMIT.unit) == ("Formaldehyde", "≤ 0.1 mg/m³", "mg/m³")
    assert (LIMIT.averaging, LIMIT.tolerance) == ("30 min", "")
    assert "2010" in LIMIT.edition
    assert "25 °C" in LIMIT.conditions
    tolerant = next(limit for limit in load().values() if limit.tolerance is not None)
    assert limit_of(tolerant, None).tolerance == tolerant.tolerance_percent != ""


def test_zones_stand_together_and_outdoors_last() -> None:
    other = point_of("k4", "by the door", "Studio 4", "Attic", "Top floor", "Main house")
    zones = replace(TERMS, points=(OUTSIDE, POINT, other)).zones
    assert [(zone.name, zone.where, zone.places) for zone in zones] == [
        ("Attic", "Main house, Top floor", ("Studio 4, centre", "Studio 4, by the door")),
        ("Outdoors", "", ("lawn",)),
    ]
    assert TERMS.buildings == ("Main house",)


def test_the_levels_are_told_as_chances_of_a_wrong_call() -> None:
    words = error_words(0.9, 0.02)
    assert "10 % of results may be called above" in words
    assert "2 % below" in words
