"""``python -m tests.methods.simulation [words]``: the cells of the grid, as the page docs/methods/simulations.md.

All of them take about an hour and a half of one core. With words, such as ``"3 at the limit"``, only cells in whose row
all of them stand are run, and the others stay as they are on the page. Rows are printed as they come.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

from tests.methods.simulation.air import Visit
from tests.methods.simulation.cells import HEAD, RUNS, cell_name, grid, run, untold

PAGE = Path(__file__).parents[3] / "docs" / "methods" / "simulations.md"
INTRODUCTION = f"""# How often verdicts are wrong, simulated

Made by `python -m tests.methods.simulation`; {RUNS:,} runs a cell, of a fixed seed. In each the worst mean of the air
lies exactly at the limit, which is drawn anywhere within a step of the display: the worst case, in which every "below"
and every "above" is wrong. Promised are at most 6.5 % of each (5 %, and what chance adds). U covers the true value 93
to 98 % of the time; more where a coarse display (its rounding counts as noise, too), noise that lasts (its scatter is
known to few degrees of freedom) or the choice of the worst of many (U is widened for it) makes it larger.

*Constant*: all of the air is at the limit; *3 at the limit*: three stretches as long as the averaging time are, the
rest is at a third of it. *The day's readings*, *the day in use* (nine hours of it): the mean of the worst of seven
days. ρ: how the noise lasts from one reading to the next, as the response time says. Meters and their errors are
invented: the ordinary one has u 0.004 ppm (zero), 5 % (span) and noise of 0.006 ppm, the good one 0.001, 2 % and 0.002.

Some thirty of these cells, and what it costs (how often "above" is said where the truth lies 20 % above), are tests.

"""
UNTOLD = """
## Noise that lasts and nothing tells

Neither the response time nor quiet stretches of the log say that the noise lasts: it cannot be told from real change,
and "above" is said too often of constant air at the limit.

"""


def page(rows: dict[str, str]) -> str:
    """``rows``: by the name of each cell."""

    def table(cells: Iterable[Visit]) -> str:
        return "\n".join([HEAD, *(rows[name] for cell in cells if (name := cell_name(cell)) in rows)]) + "\n"

    return INTRODUCTION + table(grid()) + UNTOLD + table(untold())


def rows_on(text: str) -> dict[str, str]:
    """The rows of a page, by the name of each cell: what stands in a row before its figures."""
    lines = [line for line in text.splitlines() if line.startswith("| ") and line not in HEAD]
    return {" | ".join(line.split(" | ")[:-3]): line for line in lines}


def main(words: Sequence[str]) -> None:
    rows = rows_on(PAGE.read_text(encoding="utf-8")) if words else {}
    for visit in (*grid(), *untold()):
        name = cell_name(visit)
        if all(word in name for word in words):
            rows[name] = run(visit).row
            print(rows[name], file=sys.stderr, flush=True)
    PAGE.write_text(page(rows), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
