"""How often verdicts are wrong, and U covers, where the true worst mean lies exactly at the limit: cells of a grid."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import product

import numpy as np

from methods.limits.model import LimitDefinition
from methods.verdicts import Verdict, judge
from tests.methods.limit_samples import a_limit
from tests.methods.simulation.air import GOOD, ORDINARY, OfDay, Visit, estimate

#: Of a display; the limit is drawn anywhere within the coarser one, so that rounding favours neither side.
STEPS = (0.001, 0.01)
LIMIT = 0.1
RUNS = 4000
RHOS = (0.0, 0.5, 0.8, 0.95)


@dataclass(frozen=True)
class GridCell:
    """Shares of all runs, in per cent. ``u``: median standard uncertainty, in ppm."""

    visit: Visit
    below: float
    above: float
    covered: float
    u: float

    @property
    def row(self) -> str:
        return f"{cell_name(self.visit)} | {self.below:.1f} | {self.above:.1f} | {self.covered:.1f} |"


def cell_name(visit: Visit) -> str:
    """The row of a cell as far as it says which one it is."""
    length = f"{visit.hours:g} h" if visit.hours < 48 else f"{visit.hours / 24:g} d"
    window = visit.of_day or (f"{visit.window_min:g} min" if visit.window_min else "single readings")
    air = f"{visit.peaks} at the limit" if visit.peaks else "constant"
    said = f"{visit.rho:g}" if visit.told or not visit.rho else f"{visit.rho:g}, not told"
    return f"| {visit.meter.name} | {length} | {window} | {visit.interval_s:g} s | {air} | {said} | {visit.step:g}"


HEAD = (
    "| meter | log | mean over | every | air | noise lasts, ρ | step | called below | called above | U covers |\n"
    "| --- | ---: | ---: | ---: | --- | ---: | ---: | ---: | ---: | ---: |"
)


def run(visit: Visit, *, runs: int = RUNS, times: float = 1.0, seed: int = 20261130) -> GridCell:
    """``times``: where the truth lies, in limits."""
    rng = np.random.default_rng(seed)
    said = dict.fromkeys(Verdict, 0)
    covered, us = 0, []
    for _ in range(runs):
        limit = round(LIMIT + rng.uniform(-0.5, 0.5) * STEPS[-1], 5)
        made = estimate(visit, visit.log(limit * times, rng))
        said[judge(made, _limit(limit)).verdict] += 1
        covered += abs(made.value - limit * times) <= made.expanded
        us.append(made.budget.combined)
    share = 100 / runs
    return GridCell(
        visit, share * said[Verdict.BELOW], share * said[Verdict.ABOVE], share * covered, float(np.median(us))
    )


@cache
def _limit(value: float) -> LimitDefinition:
    return a_limit(f"{value:.5f}")


def grid() -> Iterator[Visit]:
    """Every cell. Coarse displays with noise that does not last, where they matter most; ten seconds for up to eight
    hours: nothing is in a week of them that is not in a day."""
    logs = ((0.5, 10), (0.5, 60), (0.5, 600), (8, 10), (8, 60), (8, 600), (168, 60), (168, 600))
    noises = ((0.0, STEPS[0]), (0.0, STEPS[1]), (0.5, STEPS[0]), (0.8, STEPS[0]), (0.95, STEPS[0]))
    for meter, (rho, step), (hours, interval), window in product((ORDINARY, GOOD), noises, logs, (0, 30, 480)):
        if window <= 60 * hours:
            for peaks in (0, 1, 3) if window and hours * 60 > 4 * window else (0,):
                yield Visit(meter, hours, window, interval, rho, peaks, step)
    yield from days()


def days() -> Iterator[Visit]:
    """Means of days, of which the worst of a week counts: of all readings of a day, and of the time in use."""
    for meter, rho, interval, of_day in product((ORDINARY, GOOD), RHOS, (60, 600), OfDay):
        for peaks in (0, 1, 3):
            yield Visit(meter, 168, 0, interval, rho, peaks, of_day=of_day)


def untold() -> Iterator[Visit]:
    """What happens where nothing says that noise lasts."""
    for meter, rho in product((ORDINARY, GOOD), RHOS[1:]):
        yield Visit(meter, 8, 30, 60, rho, told=False)
