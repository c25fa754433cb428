"""What a result is traced by as it is stored: the fields of each format, and how other formats are read."""

from __future__ import annotations

from dataclasses import fields
from typing import Any

import pytest

from campaigns.frozen.records import RecordError
from methods.verdicts.comparability import Reason
from reports.models import Result
from reports.trace import (
    FORMAT,
    BudgetPart,
    OutdoorComparison,
    OutdoorMissing,
    OutdoorNotAsked,
    ResultTrace,
    SourceReading,
)
from reports.trace import stored as formats
from reports.trace.stored import UnknownFormatError
from tests.tracing import reading_at, stored_budget, stored_trace

#: A field that comes or goes changes what is stored: raise ``FORMAT``, write an upgrader, and change this.
OF_FORMAT_2 = {
    ResultTrace: "format instrument channel deployments interval_s unit lower upper is_lower_bound said details "
    "outdoor place personal is_context first last advice levels words is_met p_not_met edge is_upper u_at_limit dof",
    SourceReading: "upload file sha256 line stamp at raw value",
    OutdoorComparison: "value u text words deployments indoor indoor_text difference u_difference difference_text "
    "ratio u_ratio ratio_text taken_off",
    OutdoorMissing: "missing",
    OutdoorNotAsked: "",
    BudgetPart: "name u share source missing",
    Reason: "code words",
}


def result(trace: Any, **other: Any) -> Result:
    return Result(trace=trace, **other)


@pytest.mark.parametrize("kind", OF_FORMAT_2, ids=lambda kind: kind.__name__)
def test_the_fields_of_a_format_stay(kind: Any) -> None:
    assert FORMAT == 2
    assert [field.name for field in fields(kind)] == OF_FORMAT_2[kind].split()


def test_the_number_is_stored_with_the_trace() -> None:
    assert stored_trace(first=reading_at(2))["format"] == stored_trace()["format"] == FORMAT


def test_an_older_format_is_read_as_todays(monkeypatch: pytest.MonkeyPatch) -> None:
    """Before: no ``personal``, budgets of pairs, reasons without a code."""

    def upgrade(part: str, stored: Any) -> Any:
        if part == "trace":
            return stored | {"personal": False}
        if part == "budget":
            return [{"name": n, "u": u, "share": None, "source": "", "missing": u is None} for n, u in stored]
        return [{"code": "", "words": words} for words in stored]

    monkeypatch.setitem(formats.UPGRADERS, FORMAT - 1, upgrade)
    now = stored_trace(first=reading_at(2), unit="ppm")
    old = {name: value for name, value in now.items() if name != "personal"} | {"format": FORMAT - 1}
    found = result(old, budget=[["zero", 0.002]], reasons=["It is short."])
    assert found.traced == ResultTrace(first=reading_at(2), unit="ppm")
    assert found.budget_parts == (BudgetPart("zero", 0.002, None, "", missing=False),)
    assert found.stated_reasons == (Reason("", "It is short."),)
    assert found.in_current_format("trace") == now
    assert found.trace == old


def test_todays_format_is_not_touched(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(formats.UPGRADERS, FORMAT, lambda part, stored: pytest.fail("nothing to upgrade"))
    assert result(stored_trace(unit="ppm")).traced.unit == "ppm"


@pytest.mark.parametrize(
    ("trace", "words"),
    [
        ({"format": FORMAT + 1}, f"format {FORMAT + 1}, which a newer Fanlight wrote: this one reads formats up to"),
        ({"format": -3}, "format -3: nothing here reads it"),
        ({}, "no number of a format"),
        ({"format": "1"}, "no number of a format"),
        ({"format": True}, "no number of a format"),
        ([], "no number of a format"),
    ],
)
def test_a_format_that_nothing_here_reads_is_refused(trace: Any, words: str) -> None:
    found = result(trace, reasons=[{"code": "a", "words": "b"}])
    for read in (lambda: found.traced, lambda: found.stated_reasons, lambda: found.budget_parts):
        with pytest.raises(UnknownFormatError, match=words):
            read()


def test_a_trace_of_another_shape_is_refused_with_the_place() -> None:
    trace = stored_trace(first=reading_at(2))
    trace["first"]["line"] = "2"
    with pytest.raises(RecordError, match=r"^first\.line: a whole number expected, not '2'$"):
        _ = result(trace).traced


def test_it_is_read_once_until_something_else_is_stored() -> None:
    found = result(stored_trace(unit="ppm"), budget=stored_budget())
    assert found.traced is found.traced
    found.trace = stored_trace(unit="mg/m³")
    assert found.traced.unit == "mg/m³"
