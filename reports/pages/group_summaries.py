"""Summaries of groups of results of which some are below detection (METHODS M7): three methods side by side."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from django.db.models import F

from campaigns.models import Campaign
from campaigns.pages.chosen_criteria import Chosen
from methods.nondetects.summaries import Method, Refusal, Summary, summarise
from methods.wording.numbers import all_below, plain
from reports.models import Result

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


def told(campaign: Campaign, chosen: Chosen) -> SummariesShown:
    """By kind of point, by building and by zone. One query."""
    related = ("point__room__zone__floor__building", "deployment")
    in_time = F("deployment__starts_at").asc(nulls_last=True)
    rows = list(chosen.criterion.results.select_related(*related).order_by(in_time, "pk"))
    there = [r for r in rows if r.value is not None and not r.traced.is_lower_bound]
    asked = [r for r in there if not r.traced.is_context]
    kept = asked or there
    ways: tuple[tuple[str, Callable[[Result], str]], ...] = (
        ("Kind of point", lambda r: str(r.point.get_kind_display())),
        ("Building, room air", _building),
        ("Zone, room air", _zone),
    )
    conventions: dict[str, str] = {}
    return SummariesShown(
        groupings=[_grouping(name, key, kept, chosen.limit.unit, conventions) for name, key in ways],
        conventions=list(conventions.items()),
        statistic=chosen.limit.statistic if asked else "mean of each visit, as context",
        left_out=len(rows) - len(kept),
        partly=sum(_is_partly(r) for r in kept),
    )


def _building(result: Result) -> str:
    room = result.point.room
    return room.zone.floor.building.name if room and result.point.kind == "room_air" else ""


def _zone(result: Result) -> str:
    room = result.point.room
    return room.zone.name if room and result.point.kind == "room_air" else ""


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


def _grouping(
    name: str, key: Callable[[Result], str], results: Iterable[Result], unit: str, conventions: dict[str, str]
) -> Grouping:
    groups: dict[str, list[Value]] = defaultdict(list)
    for result in results:
        if label := key(result):
            groups[label].append(value_of(result))
    rows: list[list[Any]] = []
    refused: list[tuple[str, str]] = []
    for label, values in groups.items():
        for method in Method:
            found = _summary(values, method)
            if isinstance(found, Refusal):
                refused.append((f"{label}, {METHODS[method]}", found.words))
            else:
                conventions[METHODS[method]] = found.convention
                rows.append(_row(label, found, unit))
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


def _summary(values: Sequence[Value], method: Method) -> Summary | Refusal:
    numbers = np.array([one.value for one in values], dtype=np.float64)
    below = np.array([one.below for one in values], dtype=np.bool_)
    return summarise(numbers, below, method)


def _row(label: str, found: Summary, unit: str) -> list[Any]:
    def cell(value: float | None) -> Any:
        return AMONG if value is None else {"text": plain(value), "unit": unit}

    return [
        {"text": label, "note": METHODS[found.method]},
        str(found.n),
        str(found.n - found.detects),
        cell(found.mean),
        cell(found.sd),
        cell(found.median),
        cell(found.p95),
    ]
