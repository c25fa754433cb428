"""How a file writes numbers: the decimal mark and the mark between thousands."""

from __future__ import annotations

import re
from dataclasses import dataclass

_ONE_MARK = re.compile(r"[<>+−–-]*\s*(\d*)([.,])(\d*)(?:[eE][+-]?\d+)?")
_GROUPS = re.compile(r"[<>+−–-]*\s*[1-9]\d{0,2}(?:([.,'’ ])\d{3})(?:\1\d{3})*(?:([.,])\d*)?")


@dataclass(slots=True)
class Evidence:
    """Counts of cells that speak for each reading of the marks."""

    decimal_point: int = 0
    decimal_comma: int = 0
    either_comma: int = 0  # "1,234": thousands or decimals
    either_point: int = 0
    thousands: str = ""

    @property
    def is_mixed(self) -> bool:
        return bool(self.decimal_point and self.decimal_comma)


def weigh(cells: list[str]) -> Evidence:
    evidence = Evidence()
    for cell in cells:
        text = cell.strip().replace("\u00a0", " ").replace("\u202f", " ").replace("’", "'")
        groups = _GROUPS.fullmatch(text)
        if groups and (groups[2] or groups[1] in "' " or text.count(groups[1]) > 1):
            if groups[2] != groups[1]:
                _count_groups(evidence, groups[1], groups[2] or "")
            continue
        match = _ONE_MARK.fullmatch(text)
        if match:
            _count_mark(evidence, match)
    return evidence


def _count_groups(evidence: Evidence, thousands: str, decimal: str) -> None:
    evidence.thousands = thousands
    if decimal == "," or thousands == ".":
        evidence.decimal_comma += 1
    elif decimal == "." or thousands == ",":
        evidence.decimal_point += 1


def _count_mark(evidence: Evidence, match: re.Match[str]) -> None:
    whole, mark, decimals = match.groups()
    unclear = len(decimals) == 3 and 1 <= len(whole) <= 3 and not whole.startswith("0")
    if mark == ",":
        if unclear:
            evidence.either_comma += 1
        else:
            evidence.decimal_comma += 1
    elif unclear:
        evidence.either_point += 1
    else:
        evidence.decimal_point += 1


def decide(evidence: Evidence) -> tuple[str, str, bool]:
    """Decimal mark, thousands mark, and whether a person has to say.

    A lone "1.234" is a decimal point, as everywhere; a lone "1,234" is anybody's guess. Where some cells can only have
    a decimal point and others only a decimal comma, nothing parts thousands.
    """
    if evidence.is_mixed:
        return "," if evidence.decimal_comma > evidence.decimal_point else ".", "", True
    if evidence.decimal_comma > evidence.decimal_point:
        grouped = "." if evidence.either_point else ""
        return ",", evidence.thousands if evidence.thousands not in ("", ",") else grouped, False
    if evidence.decimal_point:
        grouped = "," if evidence.either_comma else ""
        return ".", evidence.thousands if evidence.thousands not in ("", ".") else grouped, False
    if evidence.either_comma and evidence.either_point:
        return ".", ",", True
    if evidence.either_comma:
        return ",", "", True
    return ".", evidence.thousands, False
