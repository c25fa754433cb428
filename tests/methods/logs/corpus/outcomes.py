"""The corpus read file by file, and what became of it as a table. ``python -m`` writes the page."""

from __future__ import annotations

import tempfile
from collections import Counter
from pathlib import Path

from tests.methods.logs.corpus.calendars import calendars
from tests.methods.logs.corpus.charsets import charsets
from tests.methods.logs.corpus.faults import faulty
from tests.methods.logs.corpus.fill_values import fill_values
from tests.methods.logs.corpus.intervals import intervals, offsets
from tests.methods.logs.corpus.qualifiers import qualified
from tests.methods.logs.corpus.shapes import well_formed
from tests.methods.logs.corpus.sparse import sparse
from tests.methods.logs.corpus.tables import tables
from tests.methods.logs.corpus.times import timed
from tests.methods.logs.corpus.truth import Fate, FileEnd, LogCase, fate
from tests.methods.logs.corpus.writings import unusual

PAGE = Path(__file__).parents[4] / "docs" / "methods" / "outcomes.md"
Outcomes = list[tuple[LogCase, Fate]]


def outcomes(folder: Path) -> Outcomes:
    families = (
        well_formed, faulty, timed, unusual, calendars, charsets, tables, intervals, offsets, qualified, fill_values,
        sparse,
    )  # fmt: skip
    return [(case, fate(case, folder)) for family in families for case in family()]


def tabled(found: Outcomes) -> dict[str, Counter[FileEnd]]:
    """By what the cases are about: the words of their names before the colon, or before the brackets."""
    table: dict[str, Counter[FileEnd]] = {}
    for case, end in found:
        family = case.name.partition(":")[0].partition(" (")[0].partition(",")[0]
        table.setdefault(family, Counter())[end.outcome] += 1
    return table


def page(found: Outcomes) -> str:
    lines = [
        "# What becomes of a file that is handed in", "",
        "Made by `make docs`; a test keeps it true. Files are generated (`tests/methods/logs/corpus/`), each with",
        "the truth of what is in it. *Asked* are those that stop at a question; with its answers they are read",
        "exactly, or but for lines that are named.", "",
        "| about | " + " | ".join(FileEnd) + " |", "| --- |" + " ---: |" * len(FileEnd),
    ]  # fmt: skip
    table = tabled(found)
    for family, counts in table.items():
        lines.append(f"| {family} | " + " | ".join(str(counts[outcome] or "") for outcome in FileEnd) + " |")
    total = sum(table.values(), Counter[FileEnd]())
    lines.append("| **all** | " + " | ".join(f"**{total[outcome]}**" for outcome in FileEnd) + " |")
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as place:
        PAGE.write_text(page(outcomes(Path(place))), encoding="utf-8")
