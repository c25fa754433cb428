"""One table of a data file → one ``LimitDefinition``: which keys there are, of which kind, and which must be given."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from typing import Any, TypeVar

from methods.limits.errors import LimitDataError
from methods.limits.model import (
    Averaging,
    Bound,
    Claim,
    Comparable,
    Confidence,
    LimitDefinition,
    Occupied,
    Operator,
    OutdoorRule,
    PopulationScope,
    Rounding,
    Status,
    WithoutValue,
)

Choice = TypeVar("Choice", bound=StrEnum)
CODE = re.compile(r"[A-Z0-9]+(-[A-Z0-9]+)+")
SOURCE = re.compile(r"guidelines reference(?:, additions of \d{4})?, row ([A-Z0-9]+(?:-[A-Z0-9]+)+)")


@dataclass(frozen=True, slots=True)
class Field:
    parse: Callable[[object], Any]
    required: bool = False
    default: Any = None


def _text(raw: object) -> str:
    if not isinstance(raw, str) or not raw.strip() or raw != raw.strip():
        raise ValueError(f"text expected, without blanks around it, got {raw!r}")
    return raw


def _code(raw: object) -> str:
    if not isinstance(raw, str) or not CODE.fullmatch(raw):
        raise ValueError(f"a code of capitals, digits and hyphens expected, got {raw!r}")
    return raw


def _number(raw: object) -> Decimal:
    if isinstance(raw, bool) or not isinstance(raw, int | Decimal):
        raise ValueError(f"a number expected, got {raw!r}")
    number = Decimal(raw)
    if not number.is_finite():
        raise ValueError(f"a finite number expected, got {raw!r}")
    return number


def _whole(raw: object) -> int:
    if isinstance(raw, bool) or not isinstance(raw, int):
        raise ValueError(f"a whole number expected, got {raw!r}")
    return raw


def _truth(raw: object) -> bool:
    if not isinstance(raw, bool):
        raise ValueError(f"true or false expected, got {raw!r}")
    return raw


def _day(raw: object) -> date:
    if isinstance(raw, datetime) or not isinstance(raw, date):
        raise ValueError(f"a date expected, got {raw!r}")
    return raw


def _one_of(choices: type[Choice]) -> Callable[[object], Choice]:
    def parse(raw: object) -> Choice:
        try:
            return choices(raw)  # type: ignore[arg-type]
        except ValueError:
            raise ValueError(f"one of {', '.join(choices)} expected, got {raw!r}") from None

    return parse


def _scopes(raw: object) -> tuple[PopulationScope, ...]:
    if not isinstance(raw, list) or not raw:
        raise ValueError(f"a list of scopes expected, got {raw!r}")
    scopes = tuple(_one_of(PopulationScope)(item) for item in raw)
    if len(set(scopes)) != len(scopes):
        raise ValueError(f"a scope is named twice in {raw!r}")
    return scopes


LIMIT_FIELDS: dict[str, Field] = {
    "code": Field(_code, required=True),
    "source": Field(_text, required=True),
    "document": Field(_text, required=True),
    "edition": Field(_text, default=""),
    "clause": Field(_text, default=""),
    "parameter": Field(_text, required=True),
    "bound": Field(_one_of(Bound), default=Bound.UPPER),
    "operator": Field(_one_of(Operator), required=True),
    "value": Field(_number),
    "low": Field(_number),
    "high": Field(_number),
    "unit": Field(_text, required=True),
    "in_words_pair": Field(_text, default=""),
    "averaging": Field(_one_of(Averaging), required=True),
    "averaging_minutes": Field(_whole),
    "occupied": Field(_one_of(Occupied)),
    "statistic": Field(_text, required=True),
    "population": Field(_text, required=True),
    "scopes": Field(_scopes, required=True),
    "comparable": Field(_one_of(Comparable), default=Comparable.YES),
    "short_campaign": Field(_one_of(Claim), required=True),
    "reason": Field(_text, required=True),
    "laboratory": Field(_one_of(Claim)),  # as short_campaign, unless the file says otherwise
    "outdoor_rule": Field(_one_of(OutdoorRule), default=OutdoorRule.ABSOLUTE),
    "rounding": Field(_one_of(Rounding), default=Rounding.NONE),
    "rounding_digits": Field(_whole),
    "tolerance": Field(_number),
    "temperature_c": Field(_number),
    "pressure_kpa": Field(_number),
    "reference_stated": Field(_truth, required=True),
    "actual_conditions": Field(_truth, default=False),
    "equivalent": Field(_text, default=""),
    "status": Field(_one_of(Status), default=Status.IN_FORCE),
    "interim": Field(_truth, default=False),
    "valid_from": Field(_day),
    "valid_to": Field(_day),
    "superseded_by": Field(_code, default=""),
    "confidence_value": Field(_one_of(Confidence), required=True),
    "confidence_note": Field(_text, default=""),
    "notes": Field(_text, default=""),
}
WITHOUT_VALUE_FIELDS: dict[str, Field] = {
    "code": Field(_code, required=True),
    "source": Field(_text, required=True),
    "document": Field(_text, required=True),
    "parameter": Field(_text, required=True),
    "reason": Field(_text, required=True),
}


def _parse(file: str, table: Mapping[str, object], fields: Mapping[str, Field]) -> dict[str, Any]:
    code = str(table.get("code", "row without a code"))
    for key in table:
        if key not in fields:
            raise LimitDataError(file, code, key, "unknown key")
    parsed: dict[str, Any] = {}
    for name, field in fields.items():
        if name not in table:
            if field.required:
                raise LimitDataError(file, code, name, "missing")
            parsed[name] = field.default
            continue
        try:
            parsed[name] = field.parse(table[name])
        except ValueError as problem:
            raise LimitDataError(file, code, name, str(problem)) from None
    return parsed


def _row_of(file: str, parsed: Mapping[str, Any]) -> str:
    match = SOURCE.fullmatch(parsed["source"])
    if match is None:
        message = 'must read "guidelines reference, row " and the row\'s id, or name the year it was added in before'
        raise LimitDataError(file, parsed["code"], "source", message)
    return match[1]


def limit_from(file: str, body: str, jurisdiction: str, table: Mapping[str, object]) -> LimitDefinition:
    """A ``LimitDefinition`` from one table of ``file``; raises LimitDataError on unknown, missing or ill-typed keys."""
    parsed = _parse(file, table, LIMIT_FIELDS)
    parsed["row"] = _row_of(file, parsed)
    parsed["reason_code"] = parsed.pop("reason")
    parsed["laboratory"] = parsed["laboratory"] or parsed["short_campaign"]
    return LimitDefinition(body=body, jurisdiction=jurisdiction, **parsed)


def without_value_from(file: str, body: str, table: Mapping[str, object]) -> WithoutValue:
    """A ``WithoutValue`` from one table of ``file``; raises LimitDataError like ``limit_from``."""
    parsed = _parse(file, table, WITHOUT_VALUE_FIELDS)
    return WithoutValue(body=body, row=_row_of(file, parsed), **parsed)
