"""A group of similar exposure as its page tells it: the results, what they say of the group, and the decision rules."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from math import isinf
from typing import Any

import numpy as np
from django.urls import reverse

from methods.exposure import (
    MOSTLY_CENSORED,
    Bounds,
    CensoredLognormal,
    Decision,
    Exposure,
    Lognormal,
    Outcome,
    censored_test,
    fit,
    fit_censored,
    largest_group,
    preliminary_test,
    probability_plot,
    shapiro_wilk,
    single_shift,
    statistical_test,
)
from methods.figures.probability import probability_figure
from methods.limits.model import Bound, LimitDefinition
from methods.nondetects.summaries import Refusal
from methods.quantities.arrays import Bools, Floats
from methods.quantities.digits import in_digits, percent
from methods.verdicts import Verdict
from methods.wording.numbers import all_below, plain, probability
from reports.models import ExposureGroup, Result
from reports.services import result_cells

Fact = tuple[str, Any]
Fitted = Lognormal | CensoredLognormal

CAUTIONS = (
    "Exposure at work is judged from samples worn by the person and by the law that applies. Area samples do not show "
    "that it is met.",
    "The figures hold for the shifts sampled; they speak for others only as far as those are alike.",
    "What follows is for a licensed or qualified professional to decide under the local code.",
)
#: One-sided 95 % of a normal distribution.
Z95 = 1.6449
PROFILE = "profile likelihood"
OUTCOMES = {
    Outcome.COMPLIES: "passed",
    Outcome.DOES_NOT_COMPLY: "not passed",
    Outcome.NO_DECISION: "no decision",
}
EXPOSURES = {
    Exposure.NO_VIOLATION: "below the limit, also at the upper bound",
    Exposure.POSSIBLE_OVEREXPOSURE: "the bounds lie on both sides of the limit",
    Exposure.VIOLATION: "above the limit, also at the lower bound",
}
RESULTS = [
    {"label": "Sample"},
    {"label": "Result ± U", "num": True},
    {"label": "As a share of the limit"},
    {"label": "One-sided 95 % bounds", "num": True},
    {"label": "This shift alone"},
]


@dataclass
class ExposureGroupShown:
    """What the page shows. ``refusal``: why the group cannot be summarised; ``left_out``: samples that do not count;
    ``warning``: why its figures rest on little."""

    rows: list[list[Any]] = field(default_factory=list)
    left_out: list[tuple[str, str]] = field(default_factory=list)
    refusal: str = ""
    warning: str = ""
    facts: list[Fact] = field(default_factory=list)
    believed: list[Fact] = field(default_factory=list)
    decisions: list[Fact] = field(default_factory=list)
    figure: dict[str, Any] | None = None
    figure_said: str = ""


@dataclass(frozen=True, slots=True)
class Values:
    """``values`` [n] in the limit's unit, one below detection at its limit; ``below`` [n]; ``results`` [n]."""

    values: Floats
    below: Bools
    results: Sequence[Result]

    @property
    def all_measured(self) -> bool:
        return not self.below.any()


def told(group: ExposureGroup) -> ExposureGroupShown:
    """Everything about the group. Two queries."""
    limit = group.criterion.limit.as_library()
    out = ExposureGroupShown()
    values = _values(group, limit, out)
    out.rows = [
        _row(group, limit, result, float(value)) for result, value in zip(values.results, values.values, strict=True)
    ]
    fitted = _fitted(values)
    if isinstance(fitted, Refusal):
        out.refusal = fitted.words
    else:
        out.warning = _warning(fitted)
        out.facts = list(_facts(fitted, limit))
        out.believed = list(_believed(values, fitted))
        if isinstance(fitted, Lognormal):
            out.figure, out.figure_said = _figure(values, fitted, limit)
    out.decisions = [*_decisions(values, fitted, limit), *_sampled(group, values)]
    return out


def _values(group: ExposureGroup, limit: LimitDefinition, out: ExposureGroupShown) -> Values:
    """Comparable results of the group's samples; the others are named."""
    samples = [
        sample.deployment
        for sample in group.samples.select_related("deployment__instrument", "deployment__point__room")
    ]
    rows = group.criterion.results.filter(deployment__in=samples).select_related(
        "deployment__instrument", "point__room"
    )
    by_deployment = {result.deployment_id: result for result in rows}
    kept: list[Result] = []
    for deployment in samples:
        result = by_deployment.get(deployment.pk)
        why = "no reading of it was judged" if result is None else _unfit(result, limit)
        if result is None or why:
            out.left_out.append((str(deployment), why))
        else:
            kept.append(result)
    below = np.array([all_below(r.traced.lower, r.traced.upper) for r in kept], dtype=np.bool_)
    return Values(np.array([r.value for r in kept], dtype=np.float64), below, kept)


def _unfit(result: Result, limit: LimitDefinition) -> str:
    if limit.bound is not Bound.UPPER:
        return "the criterion has no upper limit"
    if result.value is None or result.verdict == Verdict.NOT_COMPARABLE:
        return result_cells.why(result)
    return "a reading was over range, so the value is a lower bound" if result.traced.is_lower_bound else ""


def _fitted(values: Values) -> Fitted | Refusal:
    """The lognormal of the group; with results below detection from lognormal maximum likelihood."""
    return fit(values.values) if values.all_measured else fit_censored(values.values, values.below)


def _warning(group: Fitted) -> str:
    if isinstance(group, Lognormal) or group.share_below <= MOSTLY_CENSORED:
        return ""
    return (
        f"{percent(group.share_below, 2)} of the results are below detection. What is said of this group rests more on "
        "its being lognormal than on what was measured: take its mean and its middle as an indication. A method that "
        "detects less would say more."
    )


# --- the group --------------------------------------------------------------------------------------------------------


def _facts(group: Fitted, limit: LimitDefinition) -> Iterator[Fact]:
    unit, censored = limit.unit, isinstance(group, CensoredLognormal)
    below = len(group.limits) if isinstance(group, CensoredLognormal) else 0
    yield "Results", f"{group.n}, of which {below} below detection"
    yield "Geometric mean", f"{plain(group.gm)} {unit}"
    yield "Geometric standard deviation", f"{in_digits(group.gsd)}"
    if isinstance(group, CensoredLognormal):
        yield "Arithmetic mean", f"{plain(group.mean)} {unit} (of the fitted lognormal)"
    else:
        yield "Arithmetic mean", f"{plain(group.mean_unbiased)} {unit} (minimum-variance unbiased)"
    yield "Its bounds", f"{_bounds(group.mean_bounds(), unit)}, {PROFILE if censored else 'Land’s exact method'}"
    p95 = group.percentile_bounds()
    yield "95th percentile", f"{plain(p95.estimate)} {unit}"
    yield "Its bounds", _bounds(p95, unit)
    yield "Upper tolerance limit", f"{plain(p95.upper)} {unit}: above 95 % of exposures with 95 % confidence"
    if limit.upper:
        over = group.exceedance(limit.upper)
        yield "Exposures above the limit", _share(over.estimate)
        yield "Its bounds", f"{_share(over.lower)} to {_share(over.upper)}, each one-sided 95 %"
    if censored:
        yield "Below detection", f"fitted by lognormal maximum likelihood; all bounds by the {PROFILE}"


def _bounds(bounds: Bounds, unit: str) -> str:
    return f"{plain(bounds.lower)} to {plain(bounds.upper)} {unit}, each one-sided {100 * bounds.confidence:.0f} %"


def _share(share: float) -> str:
    return probability(share)


def _believed(values: Values, group: Fitted) -> Iterator[Fact]:
    """Whether a lognormal may be believed at all."""
    if not values.all_measured:
        yield "Shapiro–Wilk", "not with results below detection"
        return
    w, p = shapiro_wilk(np.log(values.values))
    said = "nothing speaks against a lognormal" if p >= 0.05 else "these are hardly lognormal: look at the plot first"
    few = "; with so few results the test rarely notices" if group.n < 6 else ""
    yield "Shapiro–Wilk", f"W = {w:.3f}, p = {in_digits(p, 2)} on the logarithms: {said}{few}"
    yield (
        "Probability plot",
        f"correlation {probability_plot(values.values).correlation:.3f}; 1 would be a straight line",
    )


def _figure(values: Values, group: Lognormal, limit: LimitDefinition) -> tuple[dict[str, Any], str]:
    plot = probability_plot(values.values)
    order = np.argsort(values.values, kind="stable")
    labels = [str(values.results[k].deployment) for k in order.tolist()]
    line = (group.mean_log, group.sd_log)
    figure = probability_figure(plot.scores, values.values[order], labels, line, limit.upper, limit.unit)
    low, high = plain(float(values.values.min())), plain(float(values.values.max()))
    return figure, f"{group.n} results from {low} to {high} {limit.unit}."


# --- decision rules ---------------------------------------------------------------------------------------------------


def _decisions(values: Values, group: Fitted | Refusal, limit: LimitDefinition) -> Iterator[Fact]:
    """EN 689:2018, numbers from memory; the preliminary test takes a result below detection at its limit."""
    if not limit.upper or not len(values.values):
        return
    first = preliminary_test(values.values.tolist(), limit.upper)
    yield "EN 689, preliminary test", _decided(first)
    if isinstance(group, CensoredLognormal):
        yield "EN 689, statistical test", _decided(censored_test(group, limit.upper))
    elif isinstance(group, Lognormal):
        test = statistical_test(group, limit.upper)
        yield "EN 689, statistical test", _decided(test if isinstance(test, Decision) else test.decision)


def _sampled(group: ExposureGroup, found: Values) -> Iterator[Fact]:
    """Whether so many workers are enough (NIOSH 77-173, table 3-1); area samples are of no worker."""
    if group.sampling != ExposureGroup.Sampling.PERSONAL or not len(found.values):
        return
    n, most = len(found.values), largest_group(len(found.values))
    size = "of any size" if isinf(most) else f"of up to {most:.0f}"
    workers = "1 worker, chosen at random, is" if n == 1 else f"{n} workers, chosen at random, are"
    yield (
        "NIOSH 77-173, workers to sample",
        f"{workers} enough for a group {size}, to have one of its tenth most exposed among them with 90 % confidence. "
        "Each result is counted as another worker.",
    )


def _decided(decision: Decision) -> str:
    return f"{OUTCOMES[decision.outcome].capitalize()}. {decision.words}"


def _row(group: ExposureGroup, limit: LimitDefinition, result: Result, value: float) -> list[Any]:
    """One shift alone, after NIOSH 77-173: on which side of the limit its one-sided 95 % bounds lie."""
    name = {"text": str(result.deployment), "url": reverse("result", args=[result.key])}
    if not limit.upper:
        return [name, result_cells.value_cell(result), "–", "–", "–"]
    error = group.sampling_error
    own = Z95 * (result.u or 0.0) / limit.upper if error is None else error
    shift = single_shift(value, limit.upper, own)
    return [
        name,
        result_cells.value_cell(result),
        {"fraction": shift.y, "low": max(shift.lower, 0.0), "high": shift.upper},
        f"{max(shift.lower, 0.0):.2f} to {shift.upper:.2f}",
        EXPOSURES[shift.exposure],
    ]
