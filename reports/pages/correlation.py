"""Two quantities of a zone against each other, block of time by block of time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from campaigns.models import ChannelSpec
from methods.comparison import correlation
from methods.comparison.correlation import Blocks, agreement
from methods.figures import Cloud, scatter
from methods.figures.scatter import drawn_count
from methods.quantities.durations import MINUTE_MS
from methods.quantities.moments import stamp_text
from methods.quantities.substances import SUBSTANCES, conditions
from reports.pages.figure_query import FigureQuery, FigureReadings, Shown, readings_of
from reports.pages.figure_set import FigureDrawing, FigureSet, FigureTable, Link, nothing_held
from reports.pages.indoor_outdoor import blocks_of

OUTDOORS, TOGETHER = "outdoors", "together"

COLUMNS: list[dict[str, Any]] = [
    {"label": "Point"},
    {"label": "Against"},
    {"label": "Blocks of"},
    {"label": "n", "num": True},
    {"label": "Pearson r", "num": True},
    {"label": "Spearman ρ", "num": True},
    {"label": "n if independent", "num": True},
]
CAUTION = (
    "Neighbouring readings are alike: two quantities that both drift for an hour go together whether or not one has "
    "to do with the other. “n if independent” says how many pairs these are worth; a coefficient from a handful says "
    "little, and none says what causes what."
)


def partners(look: FigureQuery) -> list[str]:
    """What the parameter can be held against: whatever else instruments measured in the zone, and outdoor air."""
    used = look.campaign.deployments.filter(point__room__zone=look.zone).values("instrument__type")
    parameters = set(
        ChannelSpec.objects.filter(instrument_type__in=used).values_list("parameter", flat=True).order_by()
    )
    order = (*conditions(), *SUBSTANCES)
    codes = [code for code in dict.fromkeys(order) if code in parameters and code != look.parameter]
    return [*codes, OUTDOORS] if look.outdoors() else codes


def words_of(code: str, look: FigureQuery) -> str:
    return f"{look.name} outdoors" if code == OUTDOORS else SUBSTANCES[code].name


def against(look: FigureQuery, asked: str | None, link: Link) -> FigureSet:
    """The figure for one partner, ``asked`` or the first there is. ``link``: to the page with another one."""
    out = FigureSet()
    codes = partners(look)
    if not codes:
        out.empty = nothing_held(look, "Nothing else was measured in this zone, so nothing can be held against it.")
        return out
    chosen = asked if asked in codes else codes[0]
    ways = [(words_of(code, look), link("against", code), code == chosen) for code in codes]
    out.switches.append(("Against", ways))
    readings = readings_of(look, look.deployments())
    other = _partner(look, chosen)
    out.unit, out.refused = readings.unit, [*readings.refused, *other.refused]
    paired = [pair for group in _by_point(readings.room_air()) if (pair := _pair(look, group, other.shown))]
    if not paired:
        out.empty = nothing_held(
            look,
            f"{look.name} and {words_of(chosen, look).lower()} were not measured at the same time in this zone, "
            "so there are no pairs.",
        )
        return out
    out.drawings.append(_drawing(look, readings, other, paired, chosen))
    return out


def _partner(look: FigureQuery, chosen: str) -> FigureReadings:
    if chosen == OUTDOORS:
        return readings_of(look, look.outdoors())
    other = look.of(chosen)
    return readings_of(other, other.deployments())


def _by_point(shown: Sequence[Shown]) -> list[list[Shown]]:
    groups: dict[int, list[Shown]] = {}
    for part in shown:
        groups.setdefault(part.deployment.point_id, []).append(part)
    return list(groups.values())


@dataclass(frozen=True, eq=False)
class Pairs:
    """Blocks of one point with those of its partner: ``x`` and ``y`` [n] in order of time, ``start_ms`` [n] UTC."""

    label: str
    partner: str
    step: int
    start_ms: Any
    x: Any
    y: Any


def _pair(look: FigureQuery, group: Sequence[Shown], others: Sequence[Shown]) -> Pairs | None:
    """The partner measured closest: at the same point, else in the same room, else anywhere in the zone or outdoors."""
    point = group[0].deployment.point
    same_point = [part for part in others if part.deployment.point_id == point.pk]
    same_room = [part for part in others if part.deployment.point.room_id == point.room_id]
    for near in (same_point, same_room, list(others)):
        if near and (pairs := _pairs(group, near)):
            return pairs
    return None


def _pairs(group: Sequence[Shown], near: Sequence[Shown]) -> Pairs | None:
    step = correlation.step_ms(*(part.interval_ms for part in (*group, *near)))
    y, x = _blocks(group, step), _blocks(near, step)
    here, there = correlation.together(y, x)
    if not len(here):
        return None
    partner = ", ".join(dict.fromkeys(part.course.label for part in near))
    return Pairs(group[0].course.label, partner, step, y.start_ms[here], x.mean[there], y.mean[here])


def _blocks(group: Sequence[Shown], step: int) -> Blocks:
    parts = [part for part in group if part.course.drawn.any()]
    if not parts:
        return correlation.blocks(np.zeros(0, np.int64), np.zeros(0), step)
    if len(parts) == 1:
        return blocks_of(parts[0], step)
    utc = np.concatenate([part.utc_ms[part.course.drawn] for part in parts])
    value = np.concatenate([part.course.value[part.course.drawn] for part in parts])
    return correlation.blocks(utc, value, step)


def _drawing(
    look: FigureQuery, readings: FigureReadings, other: FigureReadings, paired: Sequence[Pairs], chosen: str
) -> FigureDrawing:
    name = words_of(chosen, look)
    clouds = [Cloud(p.label, p.x, p.y, _times(look, p)) for p in paired]
    limit = look.current.limit.upper if look.current and look.limits() else None
    figure = scatter(clouds, f"{name}, {other.unit}", f"{look.name}, {readings.unit}", y_limit=limit)
    rows = [_row(p) for p in paired]
    n = sum(len(p.x) for p in paired)
    drawn = sum(drawn_count(len(p.x), len(paired)) for p in paired)
    thinned = f" Of {n:,} pairs {drawn:,} are drawn, evenly; the coefficients rest on all." if drawn < n else ""
    return FigureDrawing(
        key=TOGETHER,
        figure=figure,
        caption=f"{look.name} in the room air of {look.zone.name} against {name.lower()}: one mark for each block of "
        f"time in which both were measured, both corrected.{thinned}",
        said=_said(rows),
        notes=[CAUTION],
        numbers=FigureTable("How they go together, point by point.", COLUMNS, rows),
        parameters=(look.parameter,) if chosen == OUTDOORS else (look.parameter, chosen),
        outdoors=chosen == OUTDOORS,
    )


def _times(look: FigureQuery, pairs: Pairs) -> list[str]:
    return [stamp_text(ms)[:16] for ms in look.clock.from_utc(pairs.start_ms).tolist()]


def _row(pairs: Pairs) -> list[Any]:
    correlated = agreement(pairs.x, pairs.y)
    none = "too few pairs" if correlated.n < correlation.LEAST_PAIRS else "one never changes"
    worth = correlated.n_effective
    return [
        pairs.label,
        pairs.partner,
        f"{pairs.step // MINUTE_MS} min",
        f"{correlated.n:,}",
        none if correlated.pearson is None else _signed(correlated.pearson),
        none if correlated.spearman is None else _signed(correlated.spearman),
        "–" if worth is None else f"{worth:.1f}" if worth < 10 else f"{worth:,.0f}",
    ]


def _signed(coefficient: float) -> str:
    return f"{coefficient:.2f}".replace("-", "−")


def _said(rows: Sequence[Sequence[Any]]) -> str:
    parts = [f"{row[0]}: Pearson r {row[4]}, Spearman ρ {row[5]}, n {row[3]}, worth {row[6]}" for row in rows[:3]]
    return "; ".join(parts) + "."
