"""Formulas and registry numbers of substances: molar mass, check digit."""

from __future__ import annotations

import re
from decimal import Decimal
from types import MappingProxyType

#: g/mol: conventional atomic weights of IUPAC/CIAAW, from memory; tests hold the masses against a library.
ATOMIC_WEIGHTS = MappingProxyType(
    {
        symbol: Decimal(weight)
        for symbol, weight in {
            "H": "1.008", "C": "12.011", "N": "14.007", "O": "15.999", "F": "18.998", "Si": "28.085", "P": "30.974",
            "S": "32.06", "Cl": "35.45", "Br": "79.904", "I": "126.90", "Hg": "200.59",
        }.items()
    }
)  # fmt: skip
_FORMULA = re.compile(r"(?:[A-Z][a-z]?(?:[1-9][0-9]{0,3})?)+")
_ATOMS = re.compile(r"([A-Z][a-z]?)([0-9]*)")
_CAS = re.compile(r"([0-9]{2,7})-([0-9]{2})-([0-9])")


def molar_mass(formula: str) -> float:
    """g/mol of a plain molecular formula such as ``CH2O``: the sum of the atomic weights of its atoms.

    ValueError for what is no such formula, and for an element without a weight here.
    """
    if not _FORMULA.fullmatch(formula):
        raise ValueError(f"{formula!r} is no molecular formula")
    total = Decimal(0)
    for symbol, count in _ATOMS.findall(formula):
        if symbol not in ATOMIC_WEIGHTS:
            raise ValueError(f"{symbol!r} in {formula!r} has no atomic weight here")
        total += ATOMIC_WEIGHTS[symbol] * int(count or 1)
    return float(total)


def is_cas_number(text: str) -> bool:
    """Whether ``text`` is a CAS Registry Number by its form and check digit.

    The check digit is the sum of the other digits, each times its place counted from the right, modulo 10 (the rule of
    the registry, from memory): 50-00-0, 7732-18-5 (7·6 + 7·5 + 3·4 + 2·3 + 1·2 + 8·1 = 105).
    """
    match = _CAS.fullmatch(text)
    if match is None:
        return False
    digits = [int(digit) for digit in reversed(match[1] + match[2])]
    return sum(place * digit for place, digit in enumerate(digits, start=1)) % 10 == int(match[3])
