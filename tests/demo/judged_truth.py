"""What was truly in the air of a simulated house, against what the app says of it: wrong verdicts, counted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from campaigns.models import Campaign, Job
from campaigns.services.limit_terms import reference_of
from campaigns.tasks import run_job
from demo.load import load
from demo.physics import HouseAir, build
from demo.scenario import SCENARIO
from demo.simulate import DeploymentTruth, Truth, simulate
from methods.limits.model import Averaging, LimitDefinition, OutdoorRule
from methods.quantities.arrays import Floats
from methods.quantities.units import convert
from methods.verdicts import Verdict
from reports.models import Finding, Result

#: Of the demo's campaign, to which its limits for a shift are weighted.
SHIFT_MINUTES = 480
CALLED = (Verdict.ABOVE, Verdict.BELOW)


@dataclass(frozen=True)
class Called:
    """A verdict beside the truth. ``true``: in the limit's unit; of a zone that of its worst result."""

    what: str
    verdict: str
    true: float
    edge: float

    @property
    def is_called(self) -> bool:
        return self.verdict in CALLED

    @property
    def is_wrong(self) -> bool:
        """Called above where the truth does not exceed the limit, or below where it does."""
        return self.verdict == (Verdict.BELOW if self.true > self.edge else Verdict.ABOVE)

    def __str__(self) -> str:
        return f"{self.what}: called {self.verdict}, truly {self.true:.4g} against {self.edge:.4g}"


@dataclass(frozen=True)
class CalledHouse:
    """All verdicts on one simulated house that could be compared."""

    seed: int
    results: list[Called]
    findings: list[Called]

    @property
    def wrong(self) -> list[Called]:
        return [each for each in (*self.results, *self.findings) if each.is_wrong]


def called(seed: int) -> CalledHouse:
    """The demo of that seed, loaded and judged, in the caller's transaction."""
    campaign = load(seed=seed).campaign
    while waiting := Job.objects.filter(state=Job.State.QUEUED).order_by("pk").first():
        run_job(waiting.pk)
    results = _results(campaign, simulate(SCENARIO, seed).truth, build(SCENARIO.site, seed))
    return CalledHouse(seed, list(results.values()), list(_findings(campaign, results)))


def _results(campaign: Campaign, truth: Truth, air: HouseAir) -> dict[int, Called]:
    """By id, of those that were compared."""
    visits = {(SCENARIO.instrument(v.instrument).serial, v.start): v.key for v in SCENARIO.visits}
    places = {str(d.key): visits[d.instrument.serial, d.starts_at] for d in campaign.deployments.all()}
    found = {}
    stored = Result.objects.filter(criterion__campaign=campaign).exclude(verdict=Verdict.NOT_COMPARABLE)
    for result in stored.select_related("criterion__limit", "point__room"):
        stays = [truth.deployments[places[key]] for key in result.traced.deployments]
        limit = result.criterion.limit.as_library()
        true, edge = true_value(limit, stays, air), result.traced.edge
        assert true is not None, f"{limit.code}: compared, though the visit is shorter than its averaging time"
        assert edge is not None
        found[result.pk] = Called(f"{limit.code}, {result.point}", result.verdict, true, edge)
    return found


def _findings(campaign: Campaign, results: dict[int, Called]) -> list[Called]:
    """The truth of a zone is that of the highest of what was measured in the air of its rooms."""
    found = []
    for finding in Finding.objects.filter(criterion__campaign=campaign).select_related("zone", "criterion__limit"):
        there = Result.objects.filter(
            criterion=finding.criterion, point__room__zone=finding.zone, point__kind="room_air"
        )
        compared = [results[pk] for pk in there.values_list("pk", flat=True) if pk in results]
        if compared:
            worst = max(compared, key=lambda each: each.true)
            what = f"{finding.criterion.limit.code}, {finding.zone.name}"
            found.append(Called(what, finding.verdict, worst.true, worst.edge))
    return found


def true_value(limit: LimitDefinition, stays: list[DeploymentTruth], air: HouseAir) -> float | None:
    """The statistic that the limit asks for, of the air itself, minute by minute; None where the stay is too short."""
    ppm, at = (np.concatenate([getattr(stay, name) for stay in stays]) for name in ("ppm", "utc_ms"))
    if limit.outdoor_rule is OutdoorRule.OUTDOOR_SUBTRACTED:
        ppm = ppm - np.interp(at, air.utc_ms, air.ppm["out"])
    minutes = SHIFT_MINUTES if limit.averaging is Averaging.SHIFT_TWA else limit.averaging_minutes or len(ppm)
    if minutes > len(ppm):
        return None
    total = np.concatenate([[0.0], np.cumsum(ppm)])
    worst: Floats = (total[minutes:] - total[:-minutes]).max(keepdims=True) / minutes
    return float(convert(worst, limit.parameter, "ppm", limit.unit, None, reference_of(limit))[0])
