"""``python -m tests.demo.truth``: twenty simulated houses, loaded, judged and held against what is true of them.

Writes docs/methods/demo-truth.md. Takes two to three minutes.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from tests.bench.stage import database

if TYPE_CHECKING:
    from tests.demo.judged_truth import Called, CalledHouse

PAGE = Path(__file__).parents[2] / "docs" / "methods" / "demo-truth.md"
SEEDS = range(1, 21)
INTRODUCTION = """# The demo's verdicts and the truth

Made by `python -m tests.demo.truth`. The demo's house is [simulated](demo-air.md), so what was in its air is known.
Each seed is another house: how the rooms of a zone differ, and the noise of every meter, are drawn anew; zeros, spans
and clocks are off as the scenario has it. Its logs are handed in and judged by the app itself. A verdict is *called*
where it is above or below, and *wrong* where the same statistic of the true air, over the whole visit, lies on the
other side of the limit. The truth of a zone is that of the highest of its measured rooms. At a limit one verdict in
twenty may be wrong, far from it hardly any; most rooms of this house are far from most limits.

| seed | results called | wrong | undecided | zones called | wrong | undecided |
| ---: | ---: | ---: | ---: | ---: | ---: | ---: |
"""


def _counts(verdicts: Sequence[Called]) -> tuple[int, int, int]:
    """Called, wrong, undecided."""
    called = sum(each.is_called for each in verdicts)
    return called, sum(each.is_wrong for each in verdicts), len(verdicts) - called


def _row(name: str, results: Sequence[Called], findings: Sequence[Called]) -> str:
    return f"| {name} | {' | '.join(map(str, (*_counts(results), *_counts(findings))))} |\n"


def page(houses: Sequence[CalledHouse]) -> str:
    rows = [_row(str(house.seed), house.results, house.findings) for house in houses]
    results, findings = (
        [each for house in houses for each in getattr(house, part)] for part in ("results", "findings")
    )
    wrong = [f"* seed {house.seed}, {each}\n" for house in houses for each in house.wrong]
    told = "".join(["\n## The wrong ones\n\n", *wrong]) if wrong else ""
    return "".join([INTRODUCTION, *rows, _row("all", results, findings), told])


def main() -> None:
    with database():
        from django.db import transaction

        from tests.demo.judged_truth import called

        houses = []
        for seed in SEEDS:
            with transaction.atomic():
                houses.append(house := called(seed))
                transaction.set_rollback(True)
            print(_row(str(seed), house.results, house.findings), *house.wrong, sep="", file=sys.stderr, flush=True)
    PAGE.write_text(page(houses), encoding="utf-8")


if __name__ == "__main__":
    main()
