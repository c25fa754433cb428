"""R-06: the ozone standard of 2015 (40 CFR 50 App. U, as the check values tell it): 17 eight-hour windows a day, from
07–15 h to 23–07 h; 0.070 ppm meets, 0.071 violates. Its percentile of years is never compared here; what it is made of
can be."""

from __future__ import annotations

import numpy as np
import pytest

from methods.averages import window
from methods.limits.loader import load
from methods.quantities.durations import MINUTE_MS
from methods.quantities.stamp_convention import StampConvention
from methods.verdicts.comparability import ComparabilityState, comparable, data_of
from methods.verdicts.edges import is_met
from tests.methods.series_samples import series

HOUR = 60.0
HOURLY = np.round(0.04 + 0.03 * np.sin(np.arange(31) / 4), 3)  # a day and the night after it


def test_r06_seventeen_windows_a_day() -> None:
    """Each the mean of its eight hours, as pandas' rolling means say."""
    import pandas as pd

    day = series(
        [HOUR * k for k in range(31)], HOURLY.tolist(), interval=HOUR, end=31 * HOUR, represents=StampConvention.START
    )
    begins = range(7, 24)
    found = [window(day, round(h * HOUR * MINUTE_MS), round((h + 8) * HOUR * MINUTE_MS)) for h in begins]
    rolling = pd.Series(HOURLY).rolling(8).mean()
    assert len(found) == 17
    means = [one.mean for one in found if one is not None and one.coverage == 1.0]
    assert means == pytest.approx([rolling[h + 7] for h in begins])


@pytest.mark.parametrize(("ppm", "meets"), [(0.070, True), (0.0709, True), (0.071, False)])
def test_r06_the_edge(ppm: float, meets: bool) -> None:
    assert is_met(load()["O3-US"], ppm) is meets


def test_r06_a_percentile_of_years_is_never_compared() -> None:
    day = series([float(k) for k in range(1440)], [0.08] * 1440)
    assert comparable(load()["O3-US"], data_of(day, load()["O3-US"])).state is ComparabilityState.NO
