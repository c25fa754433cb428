"""The table of substances, read strictly: a wrong row stops the program instead of converting a building wrongly."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import product
from pathlib import Path
from types import MappingProxyType
from typing import Any

from methods.quantities.chemistry import is_cas_number, molar_mass
from methods.quantities.digits import as_entered
from methods.quantities.header_words import LONGEST_NAME, joined, tokens
from methods.quantities.unit_names import MG_M3, UNITS

#: How far a molar mass that is given may lie from that of its formula, as a share: older atomic weights differ so much.
MASS_TOLERANCE = 5e-5
#: In letters: a shorter part would be in words that mean something else.
SHORTEST_STEM = 4
_CODE = re.compile(r"[a-z][a-z0-9_]{0,19}")


class SubstanceDataError(ValueError):
    """The table of substances is wrong: names the file, the row (or its place) and the key."""

    def __init__(self, file: str, code: str, key: str, message: str) -> None:
        super().__init__(f"{file}: {code}: {key}: {message}")
        self.file, self.code, self.key = file, code, key


class Kind(StrEnum):
    """What sort of thing a row is; it decides which units and conversions make sense."""

    GAS = "gas"
    SUM = "sum"  # of compounds, as one number: no molar mass of its own
    PARTICLES = "particles"
    RADIOACTIVITY = "radioactivity"
    CLIMATE = "climate"


@dataclass(frozen=True, slots=True, kw_only=True)
class Substance:
    """One row: what a channel, a limit or a result names as its parameter.

    units: those it may be measured and limited in, the usual one first. molar_mass in g/mol, of gases only. aliases:
    words of headers by language ("any": formulas and abbreviations); stems: parts of long words. size_um: of
    particles. better: what measures it better than a direct-reading meter. caution: said beside every finding on it.
    """

    code: str
    name: str
    kind: Kind
    units: tuple[str, ...]
    symbol: str = ""
    formula: str = ""
    cas: str = ""
    molar_mass: float | None = None
    group: str = ""
    usual: bool = False
    axis_from_zero: bool = True
    zero_check: bool = True
    condition: bool = False
    decimals: int | None = None
    named_by_unit: bool = False
    size_um: float | None = None
    equivalents: tuple[str, ...] = ()
    better: str = "a reference instrument"
    caution: str = ""
    stems: tuple[str, ...] = ()
    aliases: Mapping[str, tuple[str, ...]] = field(default_factory=lambda: MappingProxyType({}), hash=False)

    @property
    def answers_to_pressure(self) -> bool:
        """Whether a sensor for it may count molecules in a volume: gases, and sums of them."""
        return self.kind in (Kind.GAS, Kind.SUM)

    @property
    def is_gas(self) -> bool:
        """Whether ppm and mg/m³ can be converted into each other."""
        return self.molar_mass is not None

    @property
    def is_sum(self) -> bool:
        return self.kind is Kind.SUM

    @property
    def is_climate(self) -> bool:
        return self.kind is Kind.CLIMATE

    @property
    def is_radioactivity(self) -> bool:
        return self.kind is Kind.RADIOACTIVITY

    @property
    def label(self) -> str:
        """The name with its symbol, where it has one of its own."""
        return self.name if self.symbol == self.name else f"{self.name} ({self.symbol})"

    @property
    def size(self) -> str:
        """As headers write it; "" for what is no particles."""
        return "" if self.size_um is None else as_entered(self.size_um)

    @property
    def words(self) -> Iterator[str]:
        """Every alias, whatever its language."""
        return (word for words in self.aliases.values() for word in words)


# --- one row ----------------------------------------------------------------------------------------------------------


def _text(raw: object) -> str:
    if not isinstance(raw, str) or not raw.strip() or raw != raw.strip():
        raise ValueError(f"text expected, without blanks around it, got {raw!r}")
    return raw


def _code(raw: object) -> str:
    if not isinstance(raw, str) or not _CODE.fullmatch(raw):
        raise ValueError(f"up to 20 small letters, digits and underscores expected, got {raw!r}")
    return raw


def _number(raw: object) -> float:
    if isinstance(raw, bool) or not isinstance(raw, int | float) or not 0 < raw < 1e6:
        raise ValueError(f"a number above zero expected, got {raw!r}")
    return float(raw)


def _whole(raw: object) -> int:
    if isinstance(raw, bool) or not isinstance(raw, int) or not 0 <= raw <= 6:
        raise ValueError(f"a whole number from 0 to 6 expected, got {raw!r}")
    return raw


def _truth(raw: object) -> bool:
    if not isinstance(raw, bool):
        raise ValueError(f"true or false expected, got {raw!r}")
    return raw


def _kind(raw: object) -> Kind:
    if raw not in list(Kind):
        raise ValueError(f"one of {', '.join(Kind)} expected, got {raw!r}")
    return Kind(str(raw))


def _cas(raw: object) -> str:
    if not is_cas_number(_text(raw)):
        raise ValueError(f"{raw!r} is no CAS number: its form or its check digit is wrong")
    return str(raw)


def _texts(raw: object) -> tuple[str, ...]:
    if not isinstance(raw, list) or not raw:
        raise ValueError(f"a list of texts expected, got {raw!r}")
    texts = tuple(_text(item) for item in raw)
    if len(set(texts)) != len(texts):
        raise ValueError(f"something is named twice in {raw!r}")
    return texts


def _units(raw: object) -> tuple[str, ...]:
    units = _texts(raw)
    for unit in units:
        if unit not in UNITS:
            raise ValueError(f"{unit!r} is none of {', '.join(UNITS)}")
    return units


def _aliases(raw: object) -> Mapping[str, tuple[str, ...]]:
    if not isinstance(raw, dict):
        raise ValueError(f"a table of languages expected, got {raw!r}")
    for language in raw:
        if not re.fullmatch(r"any|[a-z]{2}", language):
            raise ValueError(f"{language!r} is neither “any” nor a language of two letters")
    aliases = {language: _texts(words) for language, words in raw.items()}
    for word in (word for words in aliases.values() for word in words):
        if not 1 <= len(tokens(word)) <= LONGEST_NAME:
            raise ValueError(f"{word!r} has {len(tokens(word))} words: from 1 to {LONGEST_NAME} are looked up together")
        if re.search(r",(?!\d)", word):
            raise ValueError(f"{word!r}: a header does not turn the words of a name around a comma")
    return MappingProxyType(aliases)


def _stems(raw: object) -> tuple[str, ...]:
    stems = _texts(raw)
    for stem in stems:
        if tokens(stem) != [stem] or len(stem) < SHORTEST_STEM:
            raise ValueError(f"part of a word of {SHORTEST_STEM} small letters or more expected, no accents: {stem!r}")
    return stems


_KEYS: dict[str, Callable[[object], Any]] = {
    "code": _code, "name": _text, "kind": _kind, "units": _units, "symbol": _text, "formula": _text, "cas": _cas,
    "molar_mass": _number, "group": _text, "usual": _truth, "axis_from_zero": _truth, "zero_check": _truth,
    "condition": _truth, "decimals": _whole, "named_by_unit": _truth, "size_um": _number, "equivalents": _texts,
    "better": _text, "caution": _text, "stems": _stems, "aliases": _aliases,
}  # fmt: skip
_NEEDED = ("code", "name", "kind", "units")
#: Keys that only rows of one kind have, and that these must have.
_OF_KIND = {
    "cas": {Kind.GAS, Kind.RADIOACTIVITY},
    "formula": {Kind.GAS, Kind.RADIOACTIVITY},
    "group": {Kind.GAS},
    "size_um": {Kind.PARTICLES},
    "equivalents": {Kind.SUM},
}


def substance_from(file: str, table: Mapping[str, object]) -> Substance:
    """One ``[[substance]]`` table of ``file``. Raises SubstanceDataError for unknown, missing and wrong keys."""
    code = str(table.get("code", "row without a code"))
    parsed: dict[str, Any] = {}
    for key in [*table, *(key for key in _NEEDED if key not in table)]:
        if key not in _KEYS:
            raise SubstanceDataError(file, code, key, "unknown key")
        if key not in table:
            raise SubstanceDataError(file, code, key, "missing")
        try:
            parsed[key] = _KEYS[key](table[key])
        except ValueError as problem:
            raise SubstanceDataError(file, code, key, str(problem)) from None
    for key, message in _problems(parsed):
        raise SubstanceDataError(file, code, key, message)
    if parsed["kind"] is Kind.GAS:
        parsed.setdefault("molar_mass", molar_mass(parsed["formula"]))
    return Substance(**{"symbol": parsed["name"]} | parsed)


def _problems(parsed: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    kind: Kind = parsed["kind"]
    for key, kinds in _OF_KIND.items():
        if (key in parsed) is not (kind in kinds):
            yield key, f"missing for {kind}" if kind in kinds else f"{kind} has none"
            return
    if kind is Kind.GAS:
        yield from _mass_problems(parsed)
    elif "molar_mass" in parsed:
        yield "molar_mass", f"{kind} has none"
    if kind is Kind.PARTICLES and MG_M3 not in parsed["units"]:
        yield "units", "particles are weighed"


def _mass_problems(parsed: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    try:
        computed = molar_mass(parsed["formula"])
    except ValueError as problem:
        yield "formula", str(problem)
        return
    given = parsed.get("molar_mass", computed)
    if abs(given - computed) > MASS_TOLERANCE * computed:
        yield "molar_mass", f"{given} is not that of {parsed['formula']}: {computed}"


# --- the whole table --------------------------------------------------------------------------------------------------


def read(path: Path) -> dict[str, Substance]:
    """All substances of a TOML file by code, in its order. Raises SubstanceDataError."""
    try:
        content = tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as problem:
        raise SubstanceDataError(path.name, "whole file", "TOML", str(problem)) from problem
    tables = content.pop("substance", None)
    if content or not isinstance(tables, list) or not tables:
        raise SubstanceDataError(path.name, "whole file", "substance", "[[substance]] tables expected, nothing else")
    rows: dict[str, Substance] = {}
    for row in (substance_from(path.name, table) for table in tables):
        for key, message in _problems_between(row, rows):
            raise SubstanceDataError(path.name, row.code, key, message)
        rows[row.code] = row
    for row in rows.values():
        for other in row.equivalents:
            if other not in rows or not rows[other].is_gas:
                raise SubstanceDataError(path.name, row.code, "equivalents", f"{other!r} is no gas of the table")
    return rows


def _problems_between(row: Substance, rows: Mapping[str, Substance]) -> Iterator[tuple[str, str]]:
    """What one row may not share with those before it."""
    if row.code in rows:
        yield "code", "already in the table"
    for other in rows.values():
        if row.name == other.name:
            yield "name", f"{other.code} has the same"
        if row.symbol == other.symbol:
            yield "symbol", f"{other.code} has the same"
        if row.cas and row.cas == other.cas:
            yield "cas", f"{other.code} has the same"
        if row.size_um is not None and row.size == other.size:
            yield "size_um", f"{other.code} has the same, as headers write it"
        yield from _words_between(row, other)
        shared = set(row.units) & set(other.units)
        if shared and (row.named_by_unit or other.named_by_unit):
            yield "units", f"{other.code} is measured in {', '.join(sorted(shared))}, too, so the unit names neither"


def _words_between(row: Substance, other: Substance) -> Iterator[tuple[str, str]]:
    words = {joined(word): word for word in row.words}
    for word in words.keys() & {joined(word) for word in other.words}:
        yield "aliases", f"{words[word]!r} is already one of {other.code}"
    for one, two in product(row.stems, other.stems):
        if one in two or two in one:
            yield "stems", f"{one!r} and {two!r} of {other.code} are in the same words"
