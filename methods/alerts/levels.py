"""Alert levels as data, read strictly: a row that says less than it must stops the program."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from math import isfinite
from pathlib import Path
from types import MappingProxyType
from typing import Any

from methods.quantities.digits import as_entered, in_digits
from methods.quantities.substances import SUBSTANCES

DATA = Path(__file__).parent / "levels.toml"
#: How a value came into the file, as with limits: seen in the document, in somebody else's page, from memory.
CONFIDENCE = MappingProxyType(
    {"V": "seen in the document", "S": "seen in somebody else's page", "M": "from memory: compare with the document"}
)
_TEXTS = ("code", "parameter", "unit", "averaging", "advice", "source", "confidence")
_NUMBERS = ("value", "minutes")
_MAY = ("temperature_c",)
LONGEST_MINUTES = 60 * 24 * 366


class AlertAveraging(StrEnum):
    """How readings are taken together before they are held against a level."""

    ANY = "any"
    SUSTAINED = "sustained"
    MEAN = "mean"


class AlertDataError(ValueError):
    """The file of alert levels is wrong: names the row and the field."""

    def __init__(self, code: str, field: str, message: str) -> None:
        super().__init__(f"levels.toml: {code}: {field}: {message}")
        self.code = code
        self.field = field


def minutes_text(minutes: float) -> str:
    """``15 min``, ``2 h``, ``48 h``."""
    if minutes >= 120 and minutes % 60 == 0:
        return f"{in_digits(minutes / 60)} h"
    return f"{in_digits(minutes)} min"


@dataclass(frozen=True, slots=True)
class AlertRule:
    """A level in the unit of what is held against it. ``minutes``: 0 where one reading is enough.

    ValueError where value, averaging and minutes make no rule.
    """

    value: float
    averaging: AlertAveraging
    minutes: float = 0.0

    def __post_init__(self) -> None:
        if not (isfinite(self.value) and self.value > 0):
            raise ValueError("A level is a number above 0.")
        if self.averaging is AlertAveraging.ANY and self.minutes:
            raise ValueError("Where one reading is enough there is no length of time.")
        if self.averaging is not AlertAveraging.ANY and not 0 < self.minutes <= LONGEST_MINUTES:
            raise ValueError("Say over how many minutes, up to a year.")

    def words(self, unit: str) -> str:
        """``above 2 ppm as mean of 15 min``."""
        above = f"above {as_entered(self.value)} {unit}"
        match self.averaging:
            case AlertAveraging.ANY:
                return f"{above}, one reading is enough"
            case AlertAveraging.SUSTAINED:
                return f"{above} without a break for {minutes_text(self.minutes)}"
            case AlertAveraging.MEAN:
                return f"{above} as mean of {minutes_text(self.minutes)}"


@dataclass(frozen=True, slots=True)
class LevelDefinition:
    """A level that may be chosen. ``temperature_c``: of the air a mass per volume is counted in, None elsewhere."""

    code: str
    parameter: str
    rule: AlertRule
    unit: str
    temperature_c: float | None
    advice: str
    source: str
    confidence: str

    @property
    def words(self) -> str:
        return self.rule.words(self.unit)


@cache
def load_levels() -> Mapping[str, LevelDefinition]:
    """All levels by code, in the order of the file; read once per process. Raises AlertDataError."""
    return read_levels(DATA.read_text(encoding="utf-8"))


def read_levels(text: str) -> Mapping[str, LevelDefinition]:
    """The levels of a file's text. Raises AlertDataError for the first row that is not as it must be."""
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise AlertDataError("whole file", "syntax", str(problem)) from None
    rows = content.pop("level", None)
    if content or not isinstance(rows, list) or not rows:
        raise AlertDataError("whole file", "level", "[[level]] tables expected, and nothing else")
    levels: dict[str, LevelDefinition] = {}
    for row in rows:
        level = _level(row)
        if level.code in levels:
            raise AlertDataError(level.code, "code", "given twice")
        levels[level.code] = level
    return MappingProxyType(levels)


def _level(row: Mapping[str, Any]) -> LevelDefinition:
    code = str(row.get("code", "row without a code"))
    for name in row:
        if name not in (*_TEXTS, *_NUMBERS, *_MAY):
            raise AlertDataError(code, name, "unknown key")
    for name in _TEXTS:
        if not isinstance(row.get(name), str) or not row[name].strip():
            raise AlertDataError(code, name, "missing")
    for name in _NUMBERS:
        if isinstance(row.get(name), bool) or not isinstance(row.get(name), int | float):
            raise AlertDataError(code, name, "a number expected")
    _look_at_terms(code, row)
    try:
        rule = AlertRule(float(row["value"]), AlertAveraging(row["averaging"]), float(row["minutes"]))
    except ValueError as problem:
        raise AlertDataError(code, "averaging", str(problem)) from None
    temperature = row.get("temperature_c")
    return LevelDefinition(
        code, row["parameter"], rule, row["unit"], None if temperature is None else float(temperature),
        row["advice"], row["source"], row["confidence"],
    )  # fmt: skip


def _look_at_terms(code: str, row: Mapping[str, Any]) -> None:
    """Parameter, unit, reference and confidence are such as there are."""
    if row["parameter"] not in SUBSTANCES:
        raise AlertDataError(code, "parameter", f"unknown parameter {row['parameter']!r}")
    substance = SUBSTANCES[row["parameter"]]
    if row["unit"] not in substance.units:
        raise AlertDataError(code, "unit", f"{substance.name} is measured in {' or '.join(substance.units)}")
    if substance.is_gas and row["unit"].endswith("/m³") and "temperature_c" not in row:
        raise AlertDataError(code, "temperature_c", "a mass of a gas per volume needs the temperature of the air")
    if row["confidence"] not in CONFIDENCE:
        raise AlertDataError(code, "confidence", f"one of {', '.join(CONFIDENCE)} expected")
