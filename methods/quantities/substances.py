"""What can be measured: the substances and other parameters of ``substances.toml``, read once.

Pure: knows no framework, so planning, reading and judging share one vocabulary. Adding a substance is one row of the
table; nothing else of the tree lists their codes. Molar masses are computed from formulas with the IUPAC/CIAAW
conventional atomic weights (U-07 of the check values lists those of six). Only gases have one: particles, radon and
climate are no gases in this sense, and a sum of compounds has no factor without a named equivalent.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from types import MappingProxyType

from methods.quantities.substance_rows import Kind, Substance, SubstanceDataError, read
from methods.quantities.unit_names import MG_M3, PPB, PPM, UG_M3, UNITS

__all__ = [
    "MG_M3", "PPB", "PPM", "SUBSTANCES", "TABLE", "UG_M3", "UNITS", "Kind", "Substance", "SubstanceDataError",
    "conditions", "first", "grouped", "name_of",
]  # fmt: skip

TABLE = Path(__file__).with_name("substances.toml")

_ROWS = read(TABLE)
#: By code, in the order of the table.
SUBSTANCES: Mapping[str, Substance] = MappingProxyType(_ROWS)

_GROUPS = {
    Kind.SUM: "Sums",
    Kind.PARTICLES: "Particles",
    Kind.RADIOACTIVITY: "Radioactivity",
    Kind.CLIMATE: "Climate",
}
USUAL = "Usual"


def first() -> str:
    """The code of what is looked for first: formaldehyde."""
    return next(iter(SUBSTANCES))


def name_of(code: str) -> str:
    """The name for people; the code itself where the table no longer has it."""
    return SUBSTANCES[code].name if code in SUBSTANCES else code


def conditions() -> tuple[str, ...]:
    """Codes of what says how a place was used and aired while something else was measured, climate first."""
    found = [substance for substance in SUBSTANCES.values() if substance.condition]
    return tuple(substance.code for substance in sorted(found, key=lambda substance: not substance.is_climate))


def grouped(codes: Iterable[str] | None = None) -> list[tuple[str, list[tuple[str, str]]]]:
    """(group, [(code, name), …]) for people to choose from: the usual ones first, then group by group.

    ``codes`` narrows to those. Within a group the order of the table holds.
    """
    kept = set(SUBSTANCES if codes is None else codes)
    groups: dict[str, list[tuple[str, str]]] = {}
    for substance in sorted(SUBSTANCES.values(), key=lambda substance: not substance.usual):
        if substance.code in kept:
            name = USUAL if substance.usual else substance.group or _GROUPS[substance.kind]
            groups.setdefault(name, []).append((substance.code, substance.name))
    return list(groups.items())
