"""One place against another: enclosed spaces against their room, room air against outdoor air.

Method: docs/methods/zones.md.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from math import inf
from typing import Any

import numpy as np
from django.db.models import F
from django.urls import reverse

from campaigns.models import Deployment, SamplingPoint
from methods.comparison import correlation
from methods.comparison.correlation import Compared, compared
from methods.quantities.durations import MINUTE_MS
from methods.wording.numbers import length, plain, rounded_to
from reports.models import Result
from reports.pages.figure_query import OUTDOOR, ROOM_AIR, FigureQuery, Shown, label_of, readings_of
from reports.pages.figure_set import FigureSet, FigureTable, nothing_held
from reports.pages.time_series import beside_outdoors
from reports.services import result_cells
from reports.services.result_cells import NO_BREAK
from reports.trace import OutdoorComparison, OutdoorMissing

#: From when to when; None: still going on.
Stretch = tuple[datetime, datetime | None]
PLUS_MINUS = f"{NO_BREAK}±{NO_BREAK}"
#: Shared blocks of time below which two series are not called simultaneous.
FEWEST_SHARED = 3

RESULTS: list[dict[str, Any]] = [
    {"label": "Point"},
    {"label": "Result ± U", "num": True},
    {"label": "Against"},
    {"label": "Result ± U", "num": True},
    {"label": "Ratio ± U", "num": True},
    {"label": "Difference ± U", "num": True},
    {"label": "Time basis"},
]
MEANS: list[dict[str, Any]] = [
    {"label": "Room air"},
    {"label": "Outdoors"},
    {"label": "Time basis"},
    {"label": "n", "num": True},
    {"label": "Room air, mean", "num": True},
    {"label": "Outdoors, mean", "num": True},
    {"label": "Ratio", "num": True},
    {"label": "Difference", "num": True},
]
CONTRAST: list[dict[str, Any]] = [
    {"label": "Point"},
    {"label": "Indoors ± U", "num": True},
    {"label": "Outdoors ± U"},
    {"label": "Ratio ± U", "num": True},
    {"label": "Difference ± U", "num": True},
]
WHOLE_U = "The two results are taken to be independent of each other, also where one instrument measured both."


# --- by the results of the criterion ----------------------------------------------------------------------------------


def points_compared(look: FigureQuery, out: FigureSet) -> None:
    """Enclosed spaces and supply air of the zone against its room air, by the results of the criterion."""
    if look.current is None:
        return
    rows = list(_results(look).filter(point__room__zone=look.zone))
    air = [row for row in rows if row.point.kind == ROOM_AIR]
    beside = [row for row in rows if row.point.kind != ROOM_AIR]
    if not beside:
        out.notes.append(
            "No enclosed space or supply air of this zone was measured: a point in a cabinet or at an outlet, measured "
            "beside the room air, shows whether the source is near."
        )
        return
    if not air:
        out.notes.append("The room air of this zone was not measured, so there is nothing to compare with.")
        return
    caption = f"Against the room air: {look.current.limit.statistic}, by the results of the criterion. {WHOLE_U}"
    pairs = [
        (result, _nearest(result, [a for a in air if a.point.room_id == result.point.room_id] or air))
        for result in beside
    ]
    out.tables.append(FigureTable(caption, RESULTS, [_pair(look, result, two) for result, two in pairs]))


def _results(look: FigureQuery) -> Any:
    assert look.current is not None
    rows = look.current.criterion.results.filter(value__isnull=False)
    return rows.select_related("point__room", "deployment__instrument").order_by(
        F("deployment__starts_at").asc(nulls_last=True), "pk"
    )


def _nearest(result: Result, others: Sequence[Result]) -> Result:
    """The result closest in time: a room changes from day to day."""
    when = result.taken_over

    def apart(other: Result) -> tuple[float, int]:
        its = other.taken_over
        return abs((its[0] - when[0]).total_seconds()) if its and when else inf, other.pk

    return min(others, key=apart)


def _pair(look: FigureQuery, result: Result, other: Result) -> list[Any]:
    comparison = compare_results(result, other)
    return [
        {"text": label_of(result.point), "url": reverse("result", args=[result.key])},
        result_cells.value_cell(result),
        {"text": label_of(other.point), "url": reverse("result", args=[other.key])},
        result_cells.value_cell(other),
        ratio_cell(comparison),
        difference_cell(comparison, result.unit),
        _basis(result, other),
    ]


def compare_results(here: Result, other: Result) -> Compared:
    """Two results in the same terms; what readings below detection leave open stays open."""
    assert here.value is not None
    assert other.value is not None
    over = [result.traced.is_lower_bound for result in (here, other)]
    return compared(
        here.value,
        other.value,
        u_a=here.u,
        u_b=other.u,
        a_open=_open(here),
        b_open=_open(other),
        a_over=over[0],
        b_over=over[1],
    )


def _open(result: Result) -> float:
    lower, upper = result.traced.lower, result.traced.upper
    return 0.0 if lower is None or upper is None else max(0.0, upper - lower)


def ratio_cell(comparison: Compared) -> Any:
    """``1.83 ± 0.31``; ``≥ 1.83`` where the lower part of the fraction is below detection."""
    if comparison.ratio is None:
        return {"text": "–", "note": "not clear of zero"}
    if comparison.at_least and comparison.at_most:
        return {"text": "open", "note": "below detection or over range on both sides"}
    if comparison.at_least or comparison.at_most:
        return f"{'≥' if comparison.at_least else '≤'}{NO_BREAK}{plain(comparison.ratio)}"
    if not comparison.u_ratio:
        return plain(comparison.ratio)
    return PLUS_MINUS.join(rounded_to(comparison.ratio, 2 * comparison.u_ratio))


def difference_cell(comparison: Compared, unit: str) -> Any:
    if comparison.at_least and comparison.at_most:
        return "open"
    if comparison.at_least or comparison.at_most:
        return {"text": f"{'≥' if comparison.at_least else '≤'}{NO_BREAK}{plain(comparison.difference)}", "unit": unit}
    if not comparison.u_difference:
        return {"text": plain(comparison.difference), "unit": unit}
    return {"text": PLUS_MINUS.join(rounded_to(comparison.difference, 2 * comparison.u_difference)), "unit": unit}


def _basis(result: Result, other: Result) -> str:
    if result.traced.is_context != other.traced.is_context:
        return "different statistics: one of the two could not be measured long enough"
    first, second = result.taken_over, other.taken_over
    if first is None or second is None:
        return "the time of one of the two is not known"
    apart = minutes_between(first, second)
    return "at the same time" if apart is None else f"{length(apart)} apart"


def gap_minutes(deployment: Deployment, other: Deployment) -> float | None:
    """Minutes between the end of the earlier and the start of the later; None where they overlap."""
    return minutes_between((deployment.starts_at, deployment.ends_at), (other.starts_at, other.ends_at))


def minutes_between(one: Stretch, two: Stretch) -> float | None:
    (_, end), (start, _) = sorted((one, two), key=lambda stretch: stretch[0])
    if end is None or end > start:
        return None
    return (start - end).total_seconds() / 60


# --- room air against outdoor air -------------------------------------------------------------------------------------


def indoors_outdoors(look: FigureQuery) -> FigureSet:
    """Room air of the zone and outdoor air of the campaign: over time, block by block, and by the results."""
    out = FigureSet()
    indoors = [d for d in look.deployments() if d.point.kind == ROOM_AIR]
    outdoors = look.outdoors()
    if reason := _no_outdoors(look, indoors, outdoors):
        out.empty = reason
        return out
    drawing = beside_outdoors(look, indoors, outdoors)
    if drawing is None:
        out.empty = nothing_held(look, f"No reading of {look.name.lower()} is held from one of the two places.")
        return out
    out.drawings.append(drawing)
    readings = readings_of(look, [*indoors, *outdoors])
    out.unit, out.refused = readings.unit, readings.refused
    outside = [part for part in readings.shown if part.deployment.point.kind == OUTDOOR]
    _by_results(look, out)
    rows = list(_mean_rows(readings.room_air(), outside, readings.short_unit))
    if rows:
        caption = "Means over what both have: blocks of the same time where there are enough, else the whole visits."
        out.tables.append(FigureTable(caption, MEANS, rows))
        out.notes.append("Plain means of the readings that count; their uncertainty is in the results.")
    return out


def _no_outdoors(
    look: FigureQuery, indoors: Sequence[Deployment], outdoors: Sequence[Deployment]
) -> tuple[str, str, str] | None:
    """Why there is nothing to compare, in words, and where to mend it."""
    campaign, name = look.campaign, look.name.lower()
    deployments = reverse("deployments", args=[campaign.key]), "Deployments"
    if not indoors:
        return (f"Nothing that measures {name} stood in this zone’s room air.", *deployments)
    if outdoors:
        return None
    if campaign.deployments.filter(point__kind=OUTDOOR).exists():
        return (f"Something stood outdoors, but nothing that measures {name}.", *deployments)
    if campaign.site.points.filter(kind=SamplingPoint.Kind.OUTDOOR).exists():
        return ("Nothing has stood at the outdoor point in this campaign yet.", *deployments)
    return (
        "The site has no outdoor point. One visit outdoors at the start and one at the end of a day show what the "
        "building adds.",
        reverse("site", args=[campaign.site.key]),
        "Add an outdoor point to the site",
    )


def _mean_rows(inside: Iterable[Shown], outside: Sequence[Shown], unit: str) -> Iterable[list[Any]]:
    for part in inside:
        together = [row for two in outside if (row := _same_time(part, two, unit))]
        if together:
            yield from together
        elif near := _closest(part, outside):
            yield _visits(part, near, unit)


def _same_time(indoors: Shown, outdoors: Shown, unit: str) -> list[Any] | None:
    step = correlation.step_ms(indoors.interval_ms, outdoors.interval_ms)
    a, b = blocks_of(indoors, step), blocks_of(outdoors, step)
    here, there = correlation.together(a, b)
    if len(here) < FEWEST_SHARED:
        return None
    basis = f"the same {step // MINUTE_MS}-minute blocks"
    means = float(a.mean[here].mean()), float(b.mean[there].mean())
    opens = float(a.open[here].mean()), float(b.open[there].mean())
    return _mean_row(indoors, outdoors, basis, f"{len(here)} blocks", means, opens, unit)


def blocks_of(part: Shown, step: int) -> correlation.Blocks:
    counts = part.course.drawn
    below = None if part.course.below is None else part.course.below[counts]
    return correlation.blocks(part.utc_ms[counts], part.course.value[counts], step, below)


def _closest(part: Shown, others: Sequence[Shown]) -> Shown | None:
    known = [other for other in others if other.course.drawn.any()]
    if not known or not part.course.drawn.any():
        return None
    return min(known, key=lambda other: gap_minutes(part.deployment, other.deployment) or 0.0)


def _visits(indoors: Shown, outdoors: Shown, unit: str) -> list[Any]:
    apart = gap_minutes(indoors.deployment, outdoors.deployment)
    basis = "whole visits, not at the same time" + ("" if apart is None else f": {length(apart)} apart")
    means, opens, n = [], [], []
    for shown in (indoors, outdoors):
        sample = shown.sample()
        means.append(float(sample.value.mean()))
        opens.append(float(np.where(sample.below, np.maximum(sample.value, 0.0), 0.0).mean()))
        n.append(len(sample))
    text = f"{n[0]:,} and {n[1]:,} readings"
    return _mean_row(indoors, outdoors, basis, text, (means[0], means[1]), (opens[0], opens[1]), unit)


def _mean_row(
    indoors: Shown,
    outdoors: Shown,
    basis: str,
    n: str,
    means: tuple[float, float],
    opens: tuple[float, float],
    unit: str,
) -> list[Any]:
    comparison = compared(*means, a_open=opens[0], b_open=opens[1])
    signs = [f"≤{NO_BREAK}" if left else "" for left in opens]
    cells = [{"text": f"{sign}{plain(mean)}", "unit": unit} for sign, mean in zip(signs, means, strict=True)]
    return [
        {"text": indoors.course.label, "note": indoors.course.instrument},
        {"text": outdoors.course.label, "note": outdoors.course.instrument},
        basis,
        n,
        *cells,
        ratio_cell(comparison),
        difference_cell(comparison, unit),
    ]


def _by_results(look: FigureQuery, out: FigureSet) -> None:
    """How every room-air result of the zone stands to the outdoor air that goes with its window, as it was judged."""
    if look.current is None:
        return
    rows, missing = [], set()
    for result in _results(look).filter(point__room__zone=look.zone, point__kind=ROOM_AIR):
        beside = result.traced.outdoor
        if isinstance(beside, OutdoorMissing):
            missing.add(beside.missing)
        elif isinstance(beside, OutdoorComparison):
            rows.append(_contrast(result, beside))
    if rows:
        caption = f"By the results: {look.current.limit.statistic}, beside the outdoor air of its time. {WHOLE_U}"
        out.tables.append(FigureTable(caption, CONTRAST, rows))
    out.notes += [f"No outdoor value beside the result: {reason}" for reason in sorted(missing)]


def _contrast(result: Result, beside: OutdoorComparison) -> list[Any]:
    ratio = beside.ratio_text or {"text": "–", "note": "outdoor air not clear of zero"}
    return [
        {"text": label_of(result.point), "url": reverse("result", args=[result.key])},
        beside.indoor_text,
        {"text": beside.text, "note": beside.words},
        ratio,
        beside.difference_text,
    ]
