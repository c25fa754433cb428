"""The data files of limits are read strictly: a broken row or file is refused by file, code and field."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from methods.limits.errors import LimitDataError
from methods.limits.fields import LIMIT_FIELDS
from methods.limits.loader import read
from methods.limits.model import Claim

GOOD: dict[str, object] = {
    "code": "TEST-1",
    "source": "guidelines reference, row TEST-1",
    "document": "An invented document",
    "edition": "2020",
    "parameter": "formaldehyde",
    "operator": "<=",
    "value": Decimal("0.1"),
    "unit": "mg/m³",
    "averaging": "rolling_mean",
    "averaging_minutes": 30,
    "statistic": "worst 30-minute mean",
    "population": "occupants",
    "scopes": ["dwelling"],
    "short_campaign": "compare",
    "reason": "minutes_30",
    "reference_stated": False,
    "confidence_value": "V",
}


class Absent:
    """Says that a key is left out. Its name is the same in every process, so that test names are too."""

    def __repr__(self) -> str:
        return "absent"


ABSENT = Absent()


def toml(value: object) -> str:
    if isinstance(value, str | bool | list):
        return json.dumps(value, ensure_ascii=False)
    return value.isoformat() if isinstance(value, date) else str(value).lower()


def library(folder: Path, *rows: dict[str, object], head: str = 'body = "Nobody"\njurisdiction = "XX"\n') -> Path:
    tables = ["[[limit]]\n" + "".join(f"{key} = {toml(value)}\n" for key, value in row.items()) for row in rows]
    (folder / "nobody.toml").write_text(head + "\n".join(tables), encoding="utf-8")
    return folder


def changed(**changes: object) -> dict[str, object]:
    return {key: value for key, value in {**GOOD, **changes}.items() if value is not ABSENT}


def refusal(folder: Path, *rows: dict[str, object]) -> LimitDataError:
    with pytest.raises(LimitDataError) as caught:
        read(library(folder, *rows))
    return caught.value


def test_the_row_that_the_broken_rows_start_from_is_good(tmp_path: Path) -> None:
    limit = read(library(tmp_path, GOOD)).limits["TEST-1"]
    assert limit.body == "Nobody"
    assert limit.value == Decimal("0.1")
    assert limit.text() == "≤ 0.1 mg/m³, worst 30-minute mean – Nobody 2020"
    assert limit.citation() == "Nobody, An invented document, 2020 [guidelines reference, row TEST-1]"
    assert limit.laboratory is Claim.COMPARE


@pytest.mark.parametrize("key", [name for name, field in LIMIT_FIELDS.items() if field.required and name != "code"])
def test_a_missing_key_is_refused_by_name(tmp_path: Path, key: str) -> None:
    error = refusal(tmp_path, changed(**{key: ABSENT}))
    assert (error.file, error.code, error.field) == ("nobody.toml", "TEST-1", key)
    assert str(error) == f"nobody.toml: TEST-1: {key}: missing"


BROKEN: list[tuple[str, dict[str, object]]] = [
    ("colour", {"colour": "red"}),
    ("code", {"code": "lower case"}),
    ("source", {"source": "a web page"}),
    ("source", {"source": "guidelines reference, row"}),
    ("document", {"document": "  "}),
    ("statistic", {"statistic": " padded"}),
    ("parameter", {"parameter": "phlogiston"}),
    ("unit", {"unit": "Bq/m³"}),
    ("unit", {"unit": "mg/m3"}),
    ("in_words_pair", {"in_words_pair": "0.1 mg/m³"}),
    ("in_words_pair", {"in_words_pair": Decimal("0.08")}),
    ("equivalent", {"equivalent": "toluene"}),
    ("value", {"value": ABSENT}),
    ("value", {"value": Decimal("-0.1")}),
    ("value", {"value": 0}),
    ("value", {"value": "0.1"}),
    ("value", {"value": True}),
    ("value", {"value": Decimal("nan")}),
    ("low", {"low": 1}),
    ("operator", {"operator": "=="}),
    ("operator", {"operator": ">="}),
    ("operator", {"bound": "lower"}),
    ("bound", {"bound": "sideways"}),
    ("value", {"bound": "range", "low": 1, "high": 2}),
    ("high", {"bound": "range", "value": ABSENT, "low": 1}),
    ("low", {"bound": "range", "value": ABSENT, "high": 1}),
    ("high", {"bound": "range", "value": ABSENT, "low": 2, "high": 2}),
    ("tolerance", {"tolerance": 0}),
    ("tolerance", {"tolerance": Decimal("1.2")}),
    ("tolerance", {"tolerance": "20 %"}),
    ("tolerance", {"bound": "range", "value": ABSENT, "low": 1, "high": 2, "tolerance": Decimal("0.2")}),
    ("averaging", {"averaging": "mean"}),
    ("averaging_minutes", {"averaging_minutes": ABSENT}),
    ("averaging_minutes", {"averaging_minutes": 0}),
    ("averaging_minutes", {"averaging_minutes": Decimal("30.5")}),
    ("averaging_minutes", {"averaging": "spot"}),
    ("averaging_minutes", {"averaging": "long_term_mean", "short_campaign": "context"}),
    ("short_campaign", {"averaging": "long_term_mean", "averaging_minutes": 525600}),
    ("short_campaign", {"averaging": "long_term_mean", "averaging_minutes": 525600, "short_campaign": "indicative"}),
    ("laboratory", {"averaging": "chamber", "averaging_minutes": ABSENT, "short_campaign": "context"}
     | {"comparable": "never", "laboratory": "compare"}),
    ("short_campaign", {"averaging": "percentile"}),
    ("short_campaign", {"averaging": "ceiling", "averaging_minutes": ABSENT}),
    ("short_campaign", {"averaging": "design", "averaging_minutes": ABSENT}),
    ("short_campaign", {"averaging": "sample_mean", "averaging_minutes": ABSENT}),
    ("short_campaign", {"averaging": "sample_mean", "averaging_minutes": 6480}),
    ("short_campaign", {"scopes": ["workplace"]}),
    ("short_campaign", {"status": "draft"}),
    ("short_campaign", {"status": "proposal"}),
    ("short_campaign", {"comparable": "never"}),
    ("short_campaign", {"parameter": "radon", "unit": "Bq/m³"}),
    ("short_campaign", {"short_campaign": "perhaps"}),
    ("comparable", {"scopes": ["product"]}),
    ("reason", {"reason": "because"}),
    ("scopes", {"scopes": []}),
    ("scopes", {"scopes": "dwelling"}),
    ("scopes", {"scopes": ["castle"]}),
    ("scopes", {"scopes": ["dwelling", "dwelling"]}),
    ("outdoor_rule", {"outdoor_rule": "subtract"}),
    ("outdoor_rule", {"scopes": ["outdoor"], "outdoor_rule": "above_outdoor"}),
    ("rounding_digits", {"rounding": "half_up"}),
    ("rounding_digits", {"rounding_digits": 1}),
    ("rounding_digits", {"rounding": "truncate", "rounding_digits": 9}),
    ("rounding", {"rounding": "banker"}),
    ("temperature_c", {"pressure_kpa": Decimal("101.3")}),
    ("pressure_kpa", {"temperature_c": 25, "pressure_kpa": 760}),
    ("reference_stated", {"reference_stated": True}),
    ("reference_stated", {"reference_stated": "no"}),
    ("actual_conditions", {"actual_conditions": True, "temperature_c": 25}),
    ("status", {"status": "fine"}),
    ("interim", {"interim": 1}),
    ("valid_from", {"valid_from": "2020-01-01"}),
    ("valid_to", {"valid_from": date(2020, 1, 1), "valid_to": date(2019, 1, 1)}),
    ("superseded_by", {"superseded_by": "TEST-1"}),
    ("superseded_by", {"status": "superseded", "superseded_by": "TEST-1"}),
    ("superseded_by", {"status": "superseded", "superseded_by": "TEST-9"}),
    ("confidence_value", {"confidence_value": "certain"}),
    ("shared", {"shared": "nothing"}),
]  # fmt: skip


@pytest.mark.parametrize(("field", "changes"), BROKEN, ids=lambda part: part if isinstance(part, str) else str(part))
def test_a_broken_row_is_refused_by_file_code_and_field(tmp_path: Path, field: str, changes: dict[str, object]) -> None:
    row = changed(**changes)
    error = refusal(tmp_path, row)
    assert (error.file, error.code, error.field) == ("nobody.toml", row["code"], field)
    assert str(error).startswith(f"nobody.toml: {row['code']}: {field}: ")


def test_a_row_without_a_code_is_refused(tmp_path: Path) -> None:
    error = refusal(tmp_path, changed(code=ABSENT))
    assert (error.code, error.field) == ("row without a code", "code")


def test_a_code_may_be_given_once_even_across_files(tmp_path: Path) -> None:
    assert refusal(tmp_path, GOOD, GOOD).field == "code"
    library(tmp_path, GOOD)
    (tmp_path / "other.toml").write_bytes((tmp_path / "nobody.toml").read_bytes())
    with pytest.raises(LimitDataError, match=r"other\.toml: TEST-1: code: already in nobody\.toml"):
        read(tmp_path)


def test_a_limit_may_only_be_superseded_by_one_for_the_same_parameter(tmp_path: Path) -> None:
    old = changed(status="superseded", superseded_by="TEST-2")
    other = changed(code="TEST-2", parameter="benzene")
    assert refusal(tmp_path, old, other).field == "superseded_by"
    assert len(read(library(tmp_path, old, changed(code="TEST-2"))).limits) == 2


@pytest.mark.parametrize(
    ("head", "field"),
    [
        ('jurisdiction = "XX"\n', "body"),
        ('body = "Nobody"\n', "jurisdiction"),
        ('body = "Nobody"\njurisdiction = "XX"\nauthor = "me"\n', "author"),
        ('body = "Nobody"\njurisdiction = "XX"\nlimit = 3\n', "limit"),
        ('body = "Nobody"\njurisdiction = "XX"\nwithout_value = ["x"]\n', "without_value"),
        ('body = "Nobody"\njurisdiction = "XX"\nshared = 3\n', "shared"),
        ('body = "Nobody"\njurisdiction = "XX"\n[shared.idle]\nunit = "ppm"\n', "shared"),
        ("body = Nobody\n", "syntax"),
    ],
)
def test_a_broken_file_is_refused_by_name(tmp_path: Path, head: str, field: str) -> None:
    library(tmp_path, head=head)
    with pytest.raises(LimitDataError) as caught:
        read(tmp_path)
    assert (caught.value.file, caught.value.code, caught.value.field) == ("nobody.toml", "whole file", field)


def test_a_file_that_is_not_utf8_is_refused(tmp_path: Path) -> None:
    (tmp_path / "latin.toml").write_bytes('body = "Île"\n'.encode("latin-1"))
    with pytest.raises(LimitDataError, match=r"latin\.toml: whole file: syntax"):
        read(tmp_path)


def test_shared_keys_are_taken_over_and_not_given_twice(tmp_path: Path) -> None:
    head = 'body = "Nobody"\njurisdiction = "XX"\n[shared.air]\nunit = "mg/m³"\n'
    library(tmp_path, changed(unit=ABSENT, shared="air"), head=head)
    assert read(tmp_path).limits["TEST-1"].unit == "mg/m³"
    library(tmp_path, changed(shared="air"), head=head)
    with pytest.raises(LimitDataError, match=r"TEST-1: unit: given in the row and in \[shared\.air\]"):
        read(tmp_path)


@pytest.mark.parametrize(
    ("line", "field"),
    [('reason = "none"\n', "parameter"), ('parameter = "ether"\nreason = "none"\n', "parameter"),
     ('parameter = "co2"\n', "reason"), ('parameter = "co2"\nreason = "none"\nvalue = 3\n', "value")],
)  # fmt: skip
def test_a_broken_row_without_value_is_refused(tmp_path: Path, line: str, field: str) -> None:
    head = 'body = "Nobody"\njurisdiction = "XX"\n[[without_value]]\ncode = "TEST-1"\n'
    library(tmp_path, head=head + 'source = "guidelines reference, row TEST-1"\ndocument = "None"\n' + line)
    with pytest.raises(LimitDataError) as caught:
        read(tmp_path)
    assert (caught.value.code, caught.value.field) == ("TEST-1", field)
