"""Cells of the simulation grid, and what being right costs (docs/methods/verdicts.md, docs/methods/simulations.md).

Of 4,000 runs, which CI makes, 5 % are 200 ± 14: up to 6.5 % is what chance adds four times over. A quick run makes 500.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import settings

from methods.verdicts import Verdict, judge
from tests.examples import QUICK
from tests.methods.limit_samples import a_limit
from tests.methods.simulation.__main__ import PAGE, page, rows_on
from tests.methods.simulation.air import GOOD, ORDINARY, InventedMeter, OfDay, Visit, estimate
from tests.methods.simulation.cells import LIMIT, RUNS, cell_name, grid, run, untold
from tests.methods.simulation.class_stays import STAYS, stays, undecided

CELLS = (
    Visit(ORDINARY, 0.5, 30, 60),
    Visit(ORDINARY, 0.5, 30, 600),
    Visit(ORDINARY, 0.5, 30, 60, rho=0.95),
    Visit(ORDINARY, 0.5, 0, 10, rho=0.5),
    Visit(ORDINARY, 8, 30, 60),
    Visit(ORDINARY, 8, 30, 60, peaks=1),
    Visit(ORDINARY, 8, 30, 60, rho=0.8, peaks=3),
    Visit(ORDINARY, 8, 30, 60, rho=0.95),
    Visit(ORDINARY, 8, 480, 60, step=0.01),
    Visit(ORDINARY, 8, 0, 60),
    Visit(ORDINARY, 8, 0, 600, rho=0.8),
    Visit(ORDINARY, 168, 480, 600, peaks=3),
    Visit(GOOD, 0.5, 30, 60, step=0.01),
    Visit(GOOD, 0.5, 30, 600),
    Visit(GOOD, 8, 30, 10, rho=0.8),
    Visit(GOOD, 8, 30, 60),
    Visit(GOOD, 8, 30, 60, peaks=1),
    Visit(GOOD, 8, 30, 60, rho=0.5, peaks=3),
    Visit(GOOD, 8, 30, 600, rho=0.95),
    Visit(GOOD, 8, 480, 60, rho=0.8),
    Visit(GOOD, 8, 0, 60, rho=0.5),
    Visit(GOOD, 168, 0, 600),
    Visit(GOOD, 168, 30, 600, step=0.01),
    Visit(GOOD, 168, 480, 600),
    Visit(GOOD, 168, 30, 600, rho=0.8, peaks=3),
    Visit(ORDINARY, 168, 0, 600, of_day=OfDay.READINGS),
    Visit(GOOD, 168, 0, 600, rho=0.8, peaks=3, of_day=OfDay.READINGS),
    Visit(GOOD, 168, 0, 600, of_day=OfDay.IN_USE),
    Visit(ORDINARY, 168, 0, 600, rho=0.5, peaks=1, of_day=OfDay.IN_USE),
)


@pytest.mark.slow
@pytest.mark.parametrize("visit", CELLS, ids=str)
def test_at_the_limit_each_verdict_is_wrong_one_time_in_twenty(visit: Visit, record_property: object) -> None:
    is_quick = settings.get_current_profile_name() == QUICK
    cell = run(visit, runs=500 if is_quick else RUNS)
    more = 2.5 if is_quick else 0.0
    if not is_quick:
        record_property("says", cell.row)  # type: ignore[operator]
    assert cell.below <= 6.5 + more
    assert cell.above <= 6.5 + more
    assert cell.covered >= 93 - more
    assert cell.covered <= 98 + more or visit.step >= visit.meter.noise or not visit.window_min or visit.rho >= 0.8


@pytest.mark.slow
@pytest.mark.parametrize("meter", [ORDINARY, GOOD], ids=lambda meter: meter.name)
@pytest.mark.parametrize(("window", "peaks"), [(0, 0), (30, 0), (30, 3)])
def test_a_truth_well_above_is_called_so_as_often_as_can_be(meter: InventedMeter, window: int, peaks: int) -> None:
    """20 % above, against the same maximum held against what it exceeds 5 % of the time at the limit: a rule that
    knows the true noise."""
    visit, rng, runs = Visit(meter, 8, window, 60, peaks=peaks), np.random.default_rng(20), 1500
    at_limit = [estimate(visit, visit.log(LIMIT, rng)).value for _ in range(runs)]
    above = [estimate(visit, visit.log(1.2 * LIMIT, rng)) for _ in range(runs)]
    called = sum(judge(made, a_limit(str(LIMIT))).verdict is Verdict.ABOVE for made in above)
    calibrated = sum(made.value > np.quantile(at_limit, 0.95) for made in above)
    assert called >= 0.95 * calibrated


def test_the_page_of_all_cells_has_a_row_for_each_name_and_keeps_those_that_are_not_run() -> None:
    rows = {name: f"{name} | 1.0 | 2.0 | 95.0 |" for name in map(cell_name, (*grid(), *untold()))}
    assert rows_on(page(rows)) == rows
    committed = rows_on(PAGE.read_text(encoding="utf-8"))
    assert committed.keys() <= rows.keys()
    assert page(committed) == PAGE.read_text(encoding="utf-8")


def test_what_really_changed_leaves_few_means_of_classes_undecided() -> None:
    logs = stays()
    assert undecided(logs, by_scatter=False) <= 10
    assert undecided(logs, by_scatter=True) > STAYS / 4
