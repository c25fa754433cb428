"""Derived rows written at once: whatever stands in them comes back, and what is there already is changed."""

from __future__ import annotations

from typing import Any

import pytest

from campaigns import models as m
from reports.models import Result
from reports.services.judging import RESULTS
from tests.reports.measured import House, house

NASTY = "a tab\t, a line\nand\r\n, \\N, a back\\slash \\t, \"quotes\", 'single', µg/m³ ≤ 0,1 %s {} é"


@pytest.fixture
def judged(site: m.Site) -> House:
    return house(site)


def values_of(result: Result, **other: Any) -> dict[str, Any]:
    fields = [f.attname for f in Result._meta.concrete_fields if f.name not in ("id", "key", "created_at")]
    return {name: getattr(result, name) for name in fields} | other


def check(result: Result) -> None:
    result.refresh_from_db()
    assert (result.digest, result.unit) == ("other", NASTY[:10])
    assert result.trace == {"said": [NASTY, None, True, 0.1], NASTY: {}}
    assert (result.value, result.u, result.p_not_met, result.window_start) == (0.1 + 0.2, None, None, None)


def odd(result: Result) -> dict[str, Any]:
    trace = {"said": [NASTY, None, True, 0.1], NASTY: {}}
    return values_of(
        result, digest="other", unit=NASTY[:10], trace=trace, value=0.1 + 0.2, u=None, p_not_met=None, window_start=None
    )


def test_what_is_there_is_changed_and_keeps_its_key(judged: House) -> None:
    result = Result.objects.filter(criterion__campaign=judged.campaign)[0]
    RESULTS.write([RESULTS.row(odd(result))])
    key, made = result.key, result.created_at
    check(result)
    assert (result.key, result.created_at) == (key, made)
    assert Result.objects.count() == 2


@pytest.mark.parametrize("how", ["write", "add"])
def test_what_is_not_there_is_added_with_its_defaults(judged: House, how: str) -> None:
    result = Result.objects.filter(criterion__campaign=judged.campaign)[0]
    row, key = RESULTS.row(odd(result)), result.key
    Result.objects.filter(pk=result.pk).delete()
    getattr(RESULTS, how)([row])
    result = Result.objects.get(digest="other")
    check(result)
    assert result.key != key
    assert result.created_at is not None


def test_nothing_is_written_of_nothing(judged: House) -> None:
    before = list(Result.objects.values())
    RESULTS.write([])
    RESULTS.add([])
    assert list(Result.objects.values()) == before
