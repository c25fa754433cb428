"""``python -m tests.methods.simulation``: every cell of the grid, as the page docs/methods/simulations.md.

Takes about an hour of one core. Rows are printed as they come.
"""

from __future__ import annotations

import sys
from pathlib import Path

from tests.methods.simulation.cells import HEAD, RUNS, GridCell, grid, run, untold

PAGE = Path(__file__).parents[3] / "docs" / "methods" / "simulations.md"
INTRODUCTION = f"""# How often verdicts are wrong, simulated

Made by `python -m tests.methods.simulation`; {RUNS:,} runs a cell, of a fixed seed. In each the worst mean of the air
lies exactly at the limit, which is drawn anywhere within a step of the display: the worst case, in which every "below"
and every "above" is wrong. Promised are at most 6.5 % of each (5 %, and what chance adds). U covers the true value 93
to 98 % of the time; more where a coarse display (its rounding counts as noise, too), noise that lasts (its scatter is
known to few degrees of freedom) or the choice of the worst of many (U is widened for it) makes it larger.

*Constant*: all of the air is at the limit; *3 at the limit*: three stretches as long as the averaging time are, the
rest is at a third of it. ρ: how the noise lasts from one reading to the next, as the response time says. Meters and
their errors are invented: the ordinary one has u 0.004 ppm (zero), 5 % (span) and noise of 0.006 ppm, the good one
0.001, 2 % and 0.002.

Two dozen of these cells, and what it costs (how often "above" is said where the truth lies 20 % above), are tests.

"""
UNTOLD = """
## Noise that lasts and nothing tells

Neither the response time nor quiet stretches of the log say that the noise lasts: it cannot be told from real change,
and "above" is said too often of constant air at the limit.

"""


def _rows(cells: list[GridCell]) -> str:
    return "\n".join([HEAD, *(cell.row for cell in cells)]) + "\n"


def main() -> None:
    told: list[GridCell] = []
    others: list[GridCell] = []
    for visits, cells in ((grid(), told), (untold(), others)):
        for visit in visits:
            cells.append(cell := run(visit))
            print(cell.row, file=sys.stderr, flush=True)
    PAGE.write_text(INTRODUCTION + _rows(told) + UNTOLD + _rows(others), encoding="utf-8")


main()
