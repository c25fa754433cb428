"""Every check value that judging and the readings engine answer for is named by a test.

The list is that of the check values' ids in these sections. Numbers missing here are gaps there as well: T-05; L-08,
L-09, L-13, L-14; C-05 to C-10, C-15 to C-17; M-07; U-01, U-09, U-11; K-06, K-09, K-10; Z-05, Z-07. Left out because
nothing here computes them: T-02 (mixtures), T-07 (longer weeks), the remaining K- (fits), N- (change points beyond
N-01), W-, V-, P- and F-: those ids belong to what uses them.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from methods.limits.loader import load

_LIST = """
T-01 T-03 T-04 T-06 T-08 T-09 T-10
R-01 R-02 R-03 R-04 R-05 R-06 R-07 R-08 R-09
L-01 L-02 L-03 L-04 L-05 L-06 L-07 L-10 L-11 L-12 L-15
C-01 C-02 C-03 C-04 C-11 C-12 C-13 C-14 C-18 C-19 C-20
M-01 M-02 M-03 M-04 M-05 M-06 M-08 M-09 M-10 M-11
U-02 U-03 U-04 U-05 U-06 U-07 U-08 U-10 U-12
K-11 K-12 N-01
Z-01 Z-02 Z-03 Z-04 Z-06 Z-08 Z-09 Z-10 Z-11 Z-12 Z-13 Z-14 Z-15
"""
IDS = _LIST.split()

#: A test names an id in its own name (test_r07_…, …_c01_c02_…) or in words (R-07).
_IN_WORDS = re.compile(r"\b([A-Z])-(\d\d)\b")
_IN_A_NAME = re.compile(r"(?<=_)([a-z])(\d\d)(?=_|\()")
_TEST_NAME = re.compile(r"def (test_\w+\()")


def named() -> set[str]:
    found: set[str] = set()
    for path in Path(__file__).parents[1].rglob("test_*.py"):
        if path == Path(__file__):
            continue
        text = path.read_text(encoding="utf-8")
        found |= {f"{letter}-{number}" for letter, number in _IN_WORDS.findall(text)}
        for name in _TEST_NAME.findall(text):
            found |= {f"{letter.upper()}-{number}" for letter, number in _IN_A_NAME.findall(name)}
    return found


def test_every_id_is_named_by_a_test() -> None:
    assert set(IDS) - named() - {"T-09"} == set()


@pytest.mark.parametrize(
    ("code", "value", "minutes"), [("HCHO-OSHA-AL", 0.5, 480), ("HCHO-OSHA-TWA", 0.75, 480), ("HCHO-OSHA-STEL", 2, 15)]
)
def test_t09_formaldehyde_at_work(code: str, value: float, minutes: int) -> None:
    """T-09: 29 CFR 1910.1048(b) and (c): action level, permissible limit, short-term limit."""
    limit = load()[code]
    assert (limit.upper, limit.unit, limit.averaging_minutes) == (value, "ppm", minutes)
    assert limit.workplace
