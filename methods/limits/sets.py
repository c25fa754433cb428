"""Sets of limits: which rows of the library belong together, as data (``sets.toml``). Pure."""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from methods.limits.errors import LimitDataError
from methods.limits.loader import load
from methods.limits.model import Comparable, LimitDefinition, PopulationScope, Status

DATA = Path(__file__).parent / "sets.toml"
_KEYS = {"code", "title", "kind", "document", "members"}


@dataclass(frozen=True, slots=True)
class LimitSet:
    """What one document, or one body's documents, ask for. ``kind``: whose air it is about."""

    code: str
    title: str
    kind: PopulationScope
    document: str
    members: tuple[LimitDefinition, ...]

    def of(self, parameters: Collection[str], on: date) -> tuple[LimitDefinition, ...]:
        """Its limits that are in force ``on`` that day, for some parameters; for all where none is named."""
        chosen = (limit for limit in self.members if not parameters or limit.parameter in parameters)
        return tuple(limit for limit in chosen if limit.in_force_on(on))


def sets() -> Mapping[str, LimitSet]:
    """All sets by code, in file order; read once per process. Raises LimitDataError."""
    return _sets()


@cache
def _sets() -> Mapping[str, LimitSet]:
    return read(DATA)


def read(path: Path) -> Mapping[str, LimitSet]:
    """The sets of one file, each checked against the library. Raises LimitDataError."""
    limit_sets: dict[str, LimitSet] = {}
    for table in tomllib.loads(path.read_text(encoding="utf-8"))["set"]:
        code = str(table.get("code", "set without a code"))
        for field, message in _problems(table, limit_sets):
            raise LimitDataError(path.name, code, field, message)
        members = tuple(load()[member] for member in table["members"])
        limit_sets[code] = LimitSet(code, table["title"], PopulationScope(table["kind"]), table["document"], members)
    return MappingProxyType(limit_sets)


def _problems(table: Mapping[str, Any], held: Mapping[str, LimitSet]) -> Iterator[tuple[str, str]]:
    for key in sorted(_KEYS ^ set(table)):
        yield key, "missing" if key in _KEYS else "unknown key"
        return
    if table["code"] in held:
        yield "code", "is there twice"
    if table["kind"] not in {scope.value for scope in PopulationScope}:
        yield "kind", f"{table['kind']!r} is no scope"
    if not table["members"] or len(set(table["members"])) < len(table["members"]):
        yield "members", "none, or one of them twice"
    for code in table["members"]:
        yield from _problems_of_member(code, table["kind"])


def _problems_of_member(code: str, kind: str) -> Iterator[tuple[str, str]]:
    limit = load().get(code)
    if limit is None:
        yield "members", f"there is no limit {code!r}"
    elif limit.status is not Status.IN_FORCE or limit.comparable is Comparable.NEVER:
        yield "members", f"{code} is not in force, or no limit for air"
    elif kind not in {scope.value for scope in limit.scopes}:
        yield "members", f"{code} is not about {kind}"
