"""Reads the data files of limits, strictly: a wrong row stops the program instead of judging a building.

A file holds one issuing body: ``body`` and ``jurisdiction`` (see ``catalogue.PARENTS``), any number of ``[[limit]]``
and ``[[without_value]]`` tables, and ``[shared.NAME]`` tables of keys that several limits of one document have in
common (a limit takes one over with ``shared = "NAME"`` and may not give any of its keys again).
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from decimal import Decimal
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import NamedTuple

from methods.limits.errors import LimitDataError
from methods.limits.fields import limit_from, without_value_from
from methods.limits.model import LimitDefinition, WithoutValue
from methods.limits.rules import problems_between, problems_of
from methods.quantities.substances import SUBSTANCES

DATA = Path(__file__).parent / "data"
_TOP = {"body", "jurisdiction", "shared", "limit", "without_value"}
_OWN_KEYS = {"code", "source", "shared"}


class Library(NamedTuple):
    limits: Mapping[str, LimitDefinition]
    without_value: tuple[WithoutValue, ...]


def load() -> Mapping[str, LimitDefinition]:
    """All limits by code, in file order; read once per process. Raises LimitDataError."""
    return _library().limits


def without_value() -> tuple[WithoutValue, ...]:
    """The rows of the guidelines reference that carry no limit, each with its reason. Raises LimitDataError."""
    return _library().without_value


@cache
def _library() -> Library:
    return read(DATA)


def read(folder: Path) -> Library:
    """All ``*.toml`` of ``folder``, checked row by row and against each other. Raises LimitDataError."""
    limits: dict[str, LimitDefinition] = {}
    absent: dict[str, WithoutValue] = {}
    files: dict[str, str] = {}
    for path in sorted(folder.glob("*.toml")):
        for entry in _read_file(path):
            if entry.code in files:
                raise LimitDataError(path.name, entry.code, "code", f"already in {files[entry.code]}")
            files[entry.code] = path.name
            if isinstance(entry, LimitDefinition):
                limits[entry.code] = entry
            else:
                absent[entry.code] = entry
    for limit in limits.values():
        for field, message in problems_between(limit, limits):
            raise LimitDataError(files[limit.code], limit.code, field, message)
    return Library(MappingProxyType(limits), tuple(absent.values()))


def _read_file(path: Path) -> Iterator[LimitDefinition | WithoutValue]:
    try:
        content = tomllib.loads(path.read_text(encoding="utf-8"), parse_float=Decimal)
    except ValueError as problem:  # TOMLDecodeError and UnicodeDecodeError are both ValueErrors
        raise LimitDataError(path.name, "whole file", "syntax", str(problem)) from None
    for key in content:
        if key not in _TOP:
            raise LimitDataError(path.name, "whole file", key, "unknown key")
    body, jurisdiction = (_heading(path.name, content, key) for key in ("body", "jurisdiction"))
    shared = _groups(path.name, content)
    for table in _tables(path.name, content, "limit"):
        limit = limit_from(path.name, body, jurisdiction, _merged(path.name, table, shared))
        for field, message in problems_of(limit):
            raise LimitDataError(path.name, limit.code, field, message)
        yield limit
    for table in _tables(path.name, content, "without_value"):
        row = without_value_from(path.name, body, table)
        if row.parameter not in SUBSTANCES:
            raise LimitDataError(path.name, row.code, "parameter", f"unknown parameter {row.parameter!r}")
        yield row


def _tables(file: str, content: Mapping[str, object], key: str) -> list[dict[str, object]]:
    tables = content.get(key, [])
    if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
        raise LimitDataError(file, "whole file", key, f"[[{key}]] tables expected")
    return tables


def _groups(file: str, content: Mapping[str, object]) -> dict[str, dict[str, object]]:
    groups = content.get("shared", {})
    if not isinstance(groups, dict) or not all(isinstance(group, dict) for group in groups.values()):
        raise LimitDataError(file, "whole file", "shared", "[shared.NAME] tables expected")
    used = {str(table.get("shared")) for table in _tables(file, content, "limit")}
    for name in groups:
        if name not in used:
            raise LimitDataError(file, "whole file", "shared", f"no limit uses [shared.{name}]")
    return groups


def _heading(file: str, content: Mapping[str, object], key: str) -> str:
    value = content.get(key)
    if not isinstance(value, str) or not value.strip():
        raise LimitDataError(file, "whole file", key, "missing")
    return value


def _merged(file: str, table: Mapping[str, object], shared: Mapping[str, Mapping[str, object]]) -> dict[str, object]:
    code = str(table.get("code", "row without a code"))
    merged = {key: value for key, value in table.items() if key != "shared"}
    name = table.get("shared")
    if name is None:
        return merged
    if not isinstance(name, str) or name not in shared:
        raise LimitDataError(file, code, "shared", f"there is no [shared.{name}]")
    for key, value in shared[name].items():
        if key in merged or key in _OWN_KEYS:
            raise LimitDataError(file, code, key, f"given in the row and in [shared.{name}], or the row's own")
        merged[key] = value
    return merged
