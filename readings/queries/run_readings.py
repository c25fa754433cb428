"""The readings of quality runs: placed on the clock and corrected as those of deployments are, and in none of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from campaigns.models import Campaign, Deployment, QualityRun
from methods.quantities.moments import utc_ms
from readings.queries.placed import Placed, PlacingTask, Stays, asked_of, placed_for


def run_readings(campaign: Campaign, runs: Iterable[QualityRun]) -> Iterator[tuple[QualityRun, Placed]]:
    """Of each run, instrument by instrument and channel by channel; those without readings are left out.

    ``runs`` of the campaign, with their ``members`` and the instruments of these. In place of a deployment stands one
    that is kept nowhere: it has no point and no id.
    """
    stands: dict[int, QualityRun] = {}
    stays: list[Deployment] = []
    for run in runs:
        for member in run.members.all():
            stay = Deployment(
                campaign=campaign, instrument=member.instrument, starts_at=run.starts_at, ends_at=run.ends_at
            )
            stands[id(stay)] = run
            stays.append(stay)
    if not stays:
        return
    for task in asked_of(campaign, None, stays):
        for placed in placed_for(replace(task, stays=_with(task, stands))):
            if len(placed):
                yield stands[id(placed.deployment)], placed


def _with(task: PlacingTask, stands: dict[int, QualityRun]) -> Stays:
    """Where the instrument stood, with its runs among them as places of their own: it was moved to each."""
    starts = [utc_ms(stay.starts_at) for stay in task.deployments]
    ends = [utc_ms(stay.ends_at) for stay in task.deployments if stay.ends_at]
    points = [-stands[id(stay)].pk for stay in task.deployments]
    columns = zip(
        (task.stays.starts, task.stays.ends, task.stays.points),
        (np.array(each, dtype=np.int64) for each in (starts, ends, points)),
        strict=True,
    )
    starts_, ends_, points_ = (np.concatenate(pair) for pair in columns)
    order = np.argsort(starts_, kind="stable")
    return Stays(starts_[order], ends_[order], points_[order])
