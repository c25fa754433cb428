"""Every file is read exactly, asked about or refused: none is read silently wrong, and answers lead to what is in it.

The table of outcomes is printed at the end of the run, and stands in ``docs/methods/outcomes.md`` (``make docs``).
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.methods.logs.corpus.outcomes import PAGE, Outcomes, outcomes, page, tabled
from tests.methods.logs.corpus.truth import FileEnd, answered

FEWEST = 250


@pytest.fixture(scope="module")
def ended(tmp_path_factory: pytest.TempPathFactory) -> Outcomes:
    return outcomes(tmp_path_factory.mktemp("corpus"))


def test_nothing_is_read_silently_wrong(ended: Outcomes, record_property: Callable[[str, object], None]) -> None:
    assert len(ended) >= FEWEST
    total = sum(tabled(ended).values(), start=type(tabled(ended)["commas"])())
    said = ", ".join(f"{outcome} {total[outcome]}" for outcome in FileEnd)
    record_property("says", f"{len(ended)} generated files: {said}")
    assert [case.name for case, fate in ended if fate.outcome is FileEnd.WRONG] == []


def test_the_table_of_outcomes_is_that_of_the_docs(ended: Outcomes) -> None:
    assert PAGE.read_text(encoding="utf-8") == page(ended), "run: make docs"


def test_answers_lead_to_what_is_in_the_file(ended: Outcomes, tmp_path: Path) -> None:
    asked = [case for case, fate in ended if fate.outcome is FileEnd.ASKED]
    assert [case.name for case in asked if case.answers is None] == []
    ends = {case.name: answered(case, tmp_path).outcome for case in asked}
    assert {name for name, outcome in ends.items() if outcome not in (FileEnd.EXACT, FileEnd.TOLD)} == set()
