"""One cell of a list of rooms."""

from __future__ import annotations

import math
import re

from methods.floorplans import faults

LONGEST = 100
_NUMBER = re.compile(r"^[+-]?\d+(?:[.,]\d+)?$")
_UNIT = re.compile(r"\s*(m²|m2|m|sqm)$", re.IGNORECASE)
_PAIR = re.compile(r"^(-?\d+(?:\.\d+)?)\s+(-?\d+(?:\.\d+)?)$")


class WrongCell(ValueError):
    """column: which cell of the line; the message says why, for people."""

    def __init__(self, column: str, message: str) -> None:
        super().__init__(message)
        self.column = column


def words(column: str, cell: str) -> str:
    """Text that no spreadsheet would take for a formula. Raises WrongCell."""
    if cell.startswith(("=", "+", "@", "-", "\t")):
        raise WrongCell(column, f"“{cell[:20]}” begins like a formula. Write the name itself.")
    if len(cell) > LONGEST:
        raise WrongCell(column, f"This is longer than {LONGEST} letters.")
    return " ".join(cell.split())


def number(column: str, cell: str, *, signed: bool = False) -> float | None:
    """A length or an area; decimal point or comma, with or without its unit. None when empty. Raises WrongCell."""
    plain = _UNIT.sub("", cell)
    if not plain:
        return None
    if not _NUMBER.match(plain):
        raise WrongCell(column, f"“{cell[:20]}” is not a number.")
    value = float(plain.replace(",", "."))
    if not math.isfinite(value) or abs(value) > 100_000 or (not signed and value <= 0):
        raise WrongCell(column, f"“{cell[:20]}” is not a length or an area in metres.")
    return value


def outline(cell: str) -> list[tuple[float, float]] | None:
    """Corners as ``0 0, 4 0, 4 3``, also as a POLYGON of the simple-features standard. Raises WrongCell."""
    plain = re.sub(r"^\s*polygon\s*", "", cell, flags=re.IGNORECASE).strip()
    if plain.startswith("((") and plain.endswith("))"):
        plain = plain[2:-2]
    if not plain:
        return None
    if "(" in plain:
        raise WrongCell("outline", "Only one ring of corners can be read.")
    corners = []
    for part in re.split(r"\s*[,;|]\s*", plain):
        pair = _PAIR.match(part.strip())
        if not pair:
            raise WrongCell("outline", f"“{part[:20]}” is not a corner: write x, a space, y; then a comma.")
        corners.append((float(pair[1]), float(pair[2])))
    if len(corners) > 1 and corners[0] == corners[-1]:
        corners.pop()
    wrong = faults(corners)
    if wrong:
        raise WrongCell("outline", wrong[0])
    return corners
