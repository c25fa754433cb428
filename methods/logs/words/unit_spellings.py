"""Unit spellings met in logs: when a piece of text is a unit at all, and which one."""

from __future__ import annotations

import re
from functools import lru_cache

from methods.logs.text.characters import plain, spelled_out
from methods.quantities.substances import SUBSTANCES
from methods.quantities.unit_names import CELSIUS, FAHRENHEIT, PERCENT_RH
from methods.quantities.units import UnknownUnit, parse_unit

#: What tells a unit from a word, so that words never reach the slow general parser.
_MARKS = re.compile(
    r"[%°º˚/]|m\s?\^?-3|\bper\b|percent|prozent|celsius|fahrenheit|centigrade|million|billion|\bpct\b", re.I
)
_WORDS = re.compile(r"pp[mb]v?|deg\.?\s?[cf]", re.I)
#: Letters that are a unit only beside a parameter that is measured in it ("temp_c").
_BESIDE = {
    CELSIUS: re.compile(r"c", re.I),
    FAHRENHEIT: re.compile(r"f", re.I),
    PERCENT_RH: re.compile(r"r\.?h\.?|r\.?f\.?", re.I),
}
_RELATIVE = re.compile(
    r"(?:r\.?\s?[fh]\.?|h\.?r\.?|u\.?r\.?|rel.*)\s*%|%\s*(?:r\.?\s?[fh]\.?|h\.?r\.?|u\.?r\.?|rel.*)", re.I
)


_PER_M3 = re.compile(r"([mµμu]g|mcg)[\s_]?(?:m\^?3|cbm)$", re.I)


def read_unit(text: str, parameter: str | None = None) -> str | None:
    """The canonical spelling (``quantities.unit_names``) of ``text``, or None if it is no unit.

    ``parameter`` settles short forms: "C" beside a temperature, "%" beside a humidity.
    """
    text = spelled_out(plain(text)).strip().strip("[]()").strip()
    return _read_unit(text, parameter) if 0 < len(text) <= 40 else None


@lru_cache(maxsize=4096)
def _read_unit(text: str, parameter: str | None) -> str | None:
    if _RELATIVE.fullmatch(text):
        return PERCENT_RH
    text = _PER_M3.sub(r"\1/m3", text)
    for unit in SUBSTANCES[parameter].units if parameter else ():
        if unit in _BESIDE and _BESIDE[unit].fullmatch(text):
            return unit
    if not (_MARKS.search(text) or _WORDS.fullmatch(text)):
        return None
    try:
        return parse_unit(text, parameter)
    except UnknownUnit:
        return None


def fits(unit: str, parameter: str) -> bool:
    return unit in SUBSTANCES[parameter].units


def only_unit(parameter: str) -> str | None:
    """The unit of a parameter that has just one: no question to ask."""
    units = SUBSTANCES[parameter].units
    return units[0] if len(units) == 1 else None


def told_by_unit(unit: str | None) -> str | None:
    """Some units belong to one parameter: a column headed "°C" is a temperature."""
    return next((s.code for s in SUBSTANCES.values() if s.named_by_unit and unit in s.units), None) if unit else None
