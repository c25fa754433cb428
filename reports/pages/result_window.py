"""The stay behind one result as a figure, with the window it rests on and the limit it is held against."""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from campaigns.pages.chosen_criteria import Chosen
from campaigns.services.limit_terms import terms
from methods.clock import Basis
from methods.figures import Course, DeploymentBar, LimitLine, Worst, time_series
from methods.quantities.flags import EXCLUDES, Flag, words
from methods.quantities.gaps import BRIDGED_INTERVALS
from methods.quantities.moments import utc_ms
from methods.quantities.substances import SUBSTANCES
from methods.quantities.units import NotConvertible
from readings.queries import Placed
from reports.models import Result
from reports.pages.provenance import TracedReadings


def figure_of(result: Result, chosen: Chosen, traced: TracedReadings, zone: ZoneInfo) -> dict[str, Any] | None:
    """For ``parts/chart.html``: all readings of the stay in the limit's unit; None where no conversion exists."""
    clock = Basis.in_zone(zone.key)
    try:
        courses = [_course(placed, chosen, clock) for placed, _ in traced.parts]
    except NotConvertible:
        return None
    stays = [_stay(placed, clock) for placed, _ in traced.parts]
    limit = chosen.limit
    lines = [LimitLine(end, limit.value_text()) for end in (limit.lower, limit.upper) if end is not None]
    return time_series(
        courses, stays, unit=limit.unit, limits=lines, worst=_window(result, chosen, clock),
        from_zero=SUBSTANCES[limit.parameter].axis_from_zero,
    )  # fmt: skip


def _course(placed: Placed, chosen: Chosen, clock: Basis) -> Course:
    how = terms(placed.channel.spec, chosen.limit)
    excluding = placed.flags & int(EXCLUDES)
    spelled = {int(flag): ", ".join(words(int(flag))) for flag in np.unique(excluding)}
    return Course(
        label=str(placed.deployment.point),
        instrument=str(placed.deployment.instrument),
        wall_ms=clock.from_utc(placed.utc_ms),
        value=how.values(placed.value),
        counts=excluding == 0,
        why_not=[spelled[flag] for flag in excluding.tolist()],
        gap_ms=BRIDGED_INTERVALS * placed.interval_ms,
        governs=True,
        below=(placed.flags & int(Flag.BELOW_DETECTION)) != 0,
    )


def _stay(placed: Placed, clock: Basis) -> DeploymentBar:
    deployment = placed.deployment
    end = utc_ms(deployment.ends_at) if deployment.ends_at else int(placed.utc_ms[-1])
    start, last = clock.from_utc([utc_ms(deployment.starts_at), end]).tolist()
    return DeploymentBar(str(deployment.point), start, last, str(deployment.instrument), governs=True)


def _window(result: Result, chosen: Chosen, clock: Basis) -> list[Worst]:
    """At the mean as it was measured: a result that had the outdoor value taken off lies lower."""
    assert result.window_start is not None
    assert result.window_end is not None
    outdoor = result.traced.taken_off
    mean = result.value if outdoor is None else outdoor.indoor
    if mean is None:
        return []
    start, end = clock.from_utc([utc_ms(result.window_start), utc_ms(result.window_end)]).tolist()
    what = "mean of the visit" if result.traced.is_context else chosen.limit.statistic
    return [Worst(start, end, mean, what)]


def said(result: Result, value: str) -> str:
    outdoor = result.traced.taken_off
    if outdoor is not None:
        return f"The thick bar is the window, before the outdoor value was taken off: {outdoor.indoor_text}."
    return f"The thick bar is the window the result rests on: {value}."
