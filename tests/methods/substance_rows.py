"""A table of substances with one row more than ours."""

from __future__ import annotations

from pathlib import Path

import pytest

from methods.logs.words import substance_words, vocabulary
from methods.quantities import substances
from methods.quantities.substance_rows import read

#: n-Octanal: CAS number, formula and words from memory; the check digit and the mass are tested with the row.
OCTANAL = """
[[substance]]
code = "octanal"
name = "Octanal"
formula = "C8H16O"
cas = "124-13-0"
kind = "gas"
group = "Aldehydes"
units = ["µg/m³", "mg/m³", "ppb", "ppm"]
[substance.aliases]
en = ["octanal", "caprylaldehyde"]
"""


def add_row(row: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The program with a table that is ours and ``row``, as if it had been started with it."""
    path = folder / "substances.toml"
    path.write_text(substances.TABLE.read_text(encoding="utf-8") + row, encoding="utf-8")
    for code, substance in read(path).items():
        if code not in substances.SUBSTANCES:
            monkeypatch.setitem(substances._ROWS, code, substance)
    forget_words()


def forget_words() -> None:
    """What was worked out of the table's words, once per process."""
    for known in (substance_words.codes_by_word, substance_words._stems, substance_words._sizes, vocabulary._heading):
        known.cache_clear()
