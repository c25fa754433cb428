"""Derived rows written at once: whatever stands in them comes back, and what is there already is changed."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from methods.verdicts.comparability import Reason
from reports.models import Result
from reports.services.judging import RESULTS
from reports.services.upsert import Upsert
from reports.trace import FORMAT, UNTRACED, BudgetPart, OutdoorMissing
from tests.reports.measured import House, house
from tests.worlds import World

NASTY = "a tab\t, a line\nand\r\n, \\N, a back\\slash \\t, \"quotes\", 'single', µg/m³ ≤ 0,1 %s {} é"


pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def judged(own_world: World) -> House:
    built: House = own_world.built
    return built


#: With JSON of any shape.
PLAIN = Upsert(Result, unique=RESULTS.unique, changing=RESULTS.changing)


def columns_of(result: Result, **other: Any) -> SimpleNamespace:
    fields = [f.attname for f in Result._meta.concrete_fields if f.name not in ("id", "key", "created_at")]
    return SimpleNamespace(**{name: getattr(result, name) for name in fields} | other)


def check(result: Result) -> None:
    result.refresh_from_db()
    assert (result.digest, result.unit) == ("other", NASTY[:10])
    assert result.trace == {"said": [NASTY, None, True, 0.1], NASTY: {}}
    assert (result.value, result.u, result.p_not_met, result.window_start) == (0.1 + 0.2, None, None, None)


def odd(result: Result) -> SimpleNamespace:
    trace = {"said": [NASTY, None, True, 0.1], NASTY: {}}
    return columns_of(
        result, digest="other", unit=NASTY[:10], trace=trace, value=0.1 + 0.2, u=None, p_not_met=None, window_start=None
    )


def test_what_is_there_is_changed_and_keeps_its_key(judged: House) -> None:
    result = Result.objects.filter(criterion__campaign=judged.campaign)[0]
    PLAIN.write([PLAIN.row(odd(result))])
    key, made = result.key, result.created_at
    check(result)
    assert (result.key, result.created_at) == (key, made)
    assert Result.objects.count() == 2


@pytest.mark.parametrize("how", ["write", "add"])
def test_what_is_not_there_is_added_with_its_defaults(judged: House, how: str) -> None:
    result = Result.objects.filter(criterion__campaign=judged.campaign)[0]
    row, key = PLAIN.row(odd(result)), result.key
    Result.objects.filter(pk=result.pk).delete()
    getattr(PLAIN, how)([row])
    result = Result.objects.get(digest="other")
    check(result)
    assert result.key != key
    assert result.created_at is not None


def test_records_come_back_as_they_were(judged: House) -> None:
    result = Result.objects.filter(criterion__campaign=judged.campaign)[0]
    trace = replace(result.traced, said=(NASTY, ""), details=((NASTY, NASTY),), outdoor=OutdoorMissing(NASTY))
    reasons, budget = (Reason("odd", NASTY),), (BudgetPart(NASTY, None, 0.1 + 0.2, NASTY, missing=True),)
    RESULTS.write([RESULTS.row(columns_of(result, trace=trace, reasons=reasons, budget=budget))])
    result.refresh_from_db()
    assert (result.traced, result.stated_reasons, result.budget_parts) == (trace, reasons, budget)


def test_a_result_without_a_value_has_no_trace_but_its_format(judged: House) -> None:
    result = Result.objects.filter(criterion__campaign=judged.campaign)[0]
    RESULTS.write([RESULTS.row(columns_of(result, trace=UNTRACED, reasons=(), budget=()))])
    result.refresh_from_db()
    assert (result.trace, result.traced) == ({"format": FORMAT}, UNTRACED)
    assert Result().traced == UNTRACED


def test_nothing_is_written_of_nothing(judged: House) -> None:
    before = list(Result.objects.values())
    RESULTS.write([])
    RESULTS.add([])
    assert list(Result.objects.values()) == before
