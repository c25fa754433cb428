"""Text that a spreadsheet would run does not arrive as such, however it parts its cells (OWASP, CSV injection)."""

from __future__ import annotations

import csv
import io
import re

import pytest

from methods.wording.spreadsheets import harmless, quoted

FORMULA = re.compile(r"[\s\ufeff\u200b]*[=+\-@＝＋－＠]")
ATTACKS = [
    "=1+1",
    "+1+1",
    "-1+1",
    "@SUM(1)",
    "＝1+1",
    "＋1+1",
    "－1+1",
    "＠SUM(1)",
    "\t=1+1",
    "\r=1+1",
    "\n=1+1",
    " =1+1",
    "\u00a0=1+1",
    "\u3000＝1+1",
    "\ufeff=1+1",
    ";=1+1",
    "Ash;=1+1",
    "Ash; =1+1",
    'Ash;"=1+1',
    "Ash\t=1+1",
    "Ash\r\n=1+1",
    "Ash;\t＝1+1",
    "Ash\x0b;=1+1",
]


@pytest.mark.parametrize("text", ATTACKS)
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_no_cell_begins_as_a_formula(text: str, delimiter: str) -> None:
    """Whatever the sheet takes for its delimiter, here as Python's csv module parts cells."""
    line = f"1,{quoted(text)},2\r\n"
    cells = [cell for row in csv.reader(io.StringIO(line, newline=""), delimiter=delimiter) for cell in row]
    assert not [cell for cell in cells if FORMULA.match(cell)], cells
    assert not [part for part in re.split(r"[;\t\r\n]", harmless(text)) if FORMULA.match(part)]


@pytest.mark.parametrize("text", ["-1.5", "+3", "-0.003", "1e-5", "-2,5", "-1.2E+03", "0"])
def test_numbers_stay_numbers(text: str) -> None:
    assert harmless(text) == text


@pytest.mark.parametrize("text", ["-1.5+1", "-1;-2", "+1-1", "-1.5.2", "-", "-1 -1"])
def test_what_is_more_than_a_number_is_none(text: str) -> None:
    assert harmless(text) != text


@pytest.mark.parametrize("text", ["Attic; 2 m", "a=b", "4 - 5 °C", "north, -2", "µg/m³"])
def test_other_text_stays(text: str) -> None:
    assert harmless(text) == text
