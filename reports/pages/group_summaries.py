"""Summaries of groups of results of which some are below detection: three methods side by side.

Method: docs/methods/nondetects.md.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from statistics import fmean
from typing import TYPE_CHECKING, Any

from django.db.models import F

from campaigns.models import Campaign, Zone
from campaigns.pages.chosen_criteria import Chosen
from methods.nondetects.summaries import Method, Refusal, Summary, summarise
from methods.wording.numbers import all_below, plain
from reports.models import Result
from reports.services.quality.duplicates import at_one_time

if TYPE_CHECKING:
    import pandas as pd

COLUMNS: list[dict[str, Any]] = [
    {"label": "Group and method"},
    {"label": "Results", "num": True},
    {"label": "Below detection", "num": True},
    {"label": "Mean", "num": True},
    {"label": "Standard deviation", "num": True},
    {"label": "Median", "num": True},
    {"label": "95th percentile", "num": True},
]
METHODS = {
    Method.KAPLAN_MEIER: "Kaplan–Meier",
    Method.ROS: "Regression on order statistics",
    Method.MLE: "Lognormal likelihood",
}
AMONG = "among results below detection"


@dataclass(frozen=True, slots=True)
class Value:
    """One result of the group. ``below``: only known to lie under ``value``."""

    value: float
    below: bool


@dataclass(frozen=True)
class Grouping:
    """One way to group: its name, rows of ``parts/table.html``, and why groups have no summary."""

    name: str
    rows: list[list[Any]]
    refused: list[tuple[str, str]]


@dataclass(frozen=True)
class SummariesShown:
    groupings: list[Grouping]
    conventions: list[tuple[str, str]]
    statistic: str
    left_out: int
    partly: int
    duplicates: int


def told(campaign: Campaign, chosen: Chosen) -> SummariesShown:
    """By kind of point, by building and by zone. One query."""
    related = ("point__room__zone__floor__building", "deployment")
    in_time = F("deployment__starts_at").asc(nulls_last=True)
    rows = list(chosen.criterion.results.select_related(*related).order_by(in_time, "pk"))
    there = [r for r in rows if r.value is not None and not r.traced.is_lower_bound]
    asked = [r for r in there if not r.traced.is_context]
    kept = asked or there
    counted = once_each(kept)
    table = _table(counted)
    conventions: dict[str, str] = {}
    return SummariesShown(
        groupings=[_grouping(name, table, chosen.limit.unit, conventions) for name in WAYS],
        conventions=list(conventions.items()),
        statistic=chosen.limit.statistic if asked else "mean of each visit, as context",
        left_out=len(rows) - len(kept),
        partly=sum(_is_partly(r) for r in kept),
        duplicates=len(kept) - len(counted),
    )


@dataclass(frozen=True, slots=True)
class CountedOnce:
    """``result``: the first of those that were taken at one point at a time; ``value``, ``below``: of their mean."""

    result: Result
    value: float
    below: bool


def once_each(results: Iterable[Result]) -> list[CountedOnce]:
    """Duplicates count once, with the mean of the pair: two instruments at one point are one piece of air. Where one of
    them is only known to lie under its value, so is the mean. ``results`` have values, and their deployments."""
    groups: list[list[Result]] = []
    for result in results:
        group = next((group for group in groups if any(_is_duplicate(result, other) for other in group)), None)
        if group is None:
            groups.append([result])
        else:
            group.append(result)
    return [_mean_of(group) for group in groups]


def _is_duplicate(one: Result, other: Result) -> bool:
    first, second = one.deployment, other.deployment
    if first is None or second is None or one.point_id != other.point_id:
        return False
    return first.instrument_id != second.instrument_id and at_one_time(first, second)


def _mean_of(group: Sequence[Result]) -> CountedOnce:
    values = [value_of(result) for result in group]
    return CountedOnce(group[0], fmean(v.value for v in values), any(v.below for v in values))


def _zone(result: Result) -> Zone | None:
    room = result.point.room
    return room.zone if room and result.point.kind == "room_air" else None


#: By name of a grouping: the group of a result, None where it is in none.
WAYS: dict[str, Callable[[Result], str | None]] = {
    "Kind of point": lambda result: str(result.point.get_kind_display()),
    "Building, room air": lambda result: zone.floor.building.name if (zone := _zone(result)) else None,
    "Zone, room air": lambda result: zone.name if (zone := _zone(result)) else None,
}


def _table(counted: Sequence[CountedOnce]) -> pd.DataFrame:
    """A row for each: ``value``, ``below``, and the group it is in by each of ``WAYS``."""
    import pandas as pd  # late: it costs every process a second, and only a few pages need it

    groups = {name: [group(each.result) for each in counted] for name, group in WAYS.items()}
    return pd.DataFrame({"value": [v.value for v in counted], "below": [v.below for v in counted], **groups})


def _is_partly(result: Result) -> bool:
    lower, upper = result.traced.lower, result.traced.upper
    return lower is not None and not all_below(lower, upper) and _is_open(result)


def _is_open(result: Result) -> bool:
    """Whether readings below detection leave the mean open by more than its uncertainty makes of it."""
    lower, upper = result.traced.lower, result.traced.upper
    return lower is not None and upper is not None and upper - lower >= (result.u or 0.0) / 2


def value_of(result: Result) -> Value:
    """A mean that readings below detection leave open is known to lie under its upper bound, and no more is used."""
    assert result.value is not None
    upper = result.traced.upper
    below = all_below(result.traced.lower, upper) or _is_open(result)
    return Value(float(upper) if below and upper is not None else result.value, below)


def _grouping(name: str, table: pd.DataFrame, unit: str, conventions: dict[str, str]) -> Grouping:
    rows: list[list[Any]] = []
    refused: list[tuple[str, str]] = []
    for label, group in table.groupby(name, sort=False):
        for method in Method:
            summary = summarise(group["value"].to_numpy(float), group["below"].to_numpy(bool), method)
            if isinstance(summary, Refusal):
                refused.append((f"{label}, {METHODS[method]}", summary.words))
            else:
                conventions[METHODS[method]] = summary.convention
                rows.append(_row(str(label), summary, unit))
    return Grouping(name, rows, _together(refused))


def _together(refused: Sequence[tuple[str, str]]) -> list[tuple[str, str]]:
    """Where all three methods refuse for the same reason, it is said once."""
    by_group: dict[tuple[str, str], list[str]] = defaultdict(list)
    for label, words in refused:
        group, _, method = label.rpartition(", ")
        by_group[group, words].append(method)
    every = len(METHODS)
    return [
        (group if len(methods) == every else f"{group}, {' and '.join(methods)}", words)
        for (group, words), methods in by_group.items()
    ]


def _row(label: str, summary: Summary, unit: str) -> list[Any]:
    def cell(value: float | None) -> Any:
        return AMONG if value is None else {"text": plain(value), "unit": unit}

    return [
        {"text": label, "note": METHODS[summary.method]},
        str(summary.n),
        str(summary.n - summary.detects),
        cell(summary.mean),
        cell(summary.sd),
        cell(summary.median),
        cell(summary.p95),
    ]
