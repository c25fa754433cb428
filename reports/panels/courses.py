"""Readings of a zone as figures over time."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from campaigns.models import Campaign, Deployment, Zone
from campaigns.parameters import PARAMETERS
from campaigns.stamps import utc_ms
from readings.clock import Basis
from readings.flags import EXCLUDES, words
from readings.queries import Placed, placed_in
from readings.units import NotConvertible, convert
from reports.figures import Course, LimitLine, Stay, Worst, time_series
from reports.limits.model import Averaging, Bound
from reports.models import Result
from reports.panels.chosen import Chosen
from reports.panels.printed import number, spread
from reports.services.terms import reference_of, terms
from reports.wording import duration

Floats = npt.NDArray[np.float64]

#: Deployments longer than this are drawn on an axis of their own: beside them a visit would be a hair's width.
LONG_MS = 6 * 3600 * 1000
ZERO_BASED = frozenset(PARAMETERS) - {"temperature", "humidity", "co2"}
BRIDGED_INTERVALS = 2


@dataclass
class Drawn:
    """Figures for ``parts/chart.html``: (figure, caption, what it says in words). ``unit`` with its reference;
    ``refused``: why readings of some instrument are missing from them."""

    unit: str
    figures: list[tuple[dict[str, Any], str, str]] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)


@dataclass(frozen=True, eq=False)
class Shown:
    """One deployment, ready to be drawn."""

    course: Course
    stay: Stay
    is_long: bool
    deployment_id: int


def drawn(campaign: Campaign, zone: Zone, parameter: str, criteria: Sequence[Chosen], current: Chosen | None) -> Drawn:
    """What was measured of ``parameter`` in the zone: in the terms of ``current``, or in the channel's own unit.

    Queries grow with the instruments used here, not with rooms or readings.
    """
    deployments = campaign.deployments.filter(point__room__zone=zone).select_related("point__room", "instrument")
    governing = _governing(current, zone)
    out = Drawn("")
    shown = list(_shown(campaign, parameter, deployments, current, governing, out))
    limits = _limit_lines(criteria, current)
    worst = _worst(campaign, governing, current)
    name = f"{PARAMETERS[parameter].name} in {zone.name}"
    visits = [one for one in shown if not one.is_long]
    long = [one for one in shown if one.is_long]
    for part, others, when in ((visits, long, "during the visits"), (long, [], "all the time")):
        if part:
            inside = worst if governing and governing.deployment_id in {one.deployment_id for one in part} else []
            unit = out.unit.partition(" at ")[0]  # the reference stands beside the drawing
            figure = _figure(part, others, unit, limits, inside, from_zero=parameter in ZERO_BASED)
            said = _said(governing) if inside else ""
            out.figures.append((figure, f"{name}, {when}, corrected. {_clock(campaign, figure)}", said))
    return out


def _clock(campaign: Campaign, figure: dict[str, Any]) -> str:
    squeezed = "; stretches without a deployment are left out" if figure["layout"]["xaxis"]["rangebreaks"] else ""
    return f"Times of {campaign.site.time_zone}{squeezed}."


def _governing(current: Chosen | None, zone: Zone) -> Result | None:
    if current is None:
        return None
    finding = current.criterion.findings.filter(zone=zone).select_related("governing__point__room").first()
    return finding.governing if finding else None


def _shown(
    campaign: Campaign,
    parameter: str,
    deployments: Iterable[Deployment],
    current: Chosen | None,
    governing: Result | None,
    out: Drawn,
) -> Iterable[Shown]:
    clock = Basis.in_zone(campaign.site.time_zone)
    for placed in placed_in(campaign, parameter=parameter, deployments=list(deployments)):
        try:
            values, unit = _values(placed, current, out.unit)
        except NotConvertible as error:
            out.refused.append(f"{placed.deployment.instrument} at {placed.deployment.point}: {error}")
            continue
        out.unit = out.unit or unit
        governs = governing is not None and governing.point_id == placed.deployment.point_id
        yield _one(placed, values, clock, governs=governs)


def _values(placed: Placed, current: Chosen | None, unit: str) -> tuple[Floats, str]:
    """Values in the figure's unit, and that unit with its reference. ``unit``: what was taken before, "" at first."""
    if current is not None:
        how = terms(placed.channel.spec, current.limit)
        return how.values(placed.value), how.unit_text
    own = placed.channel.spec.unit
    return convert(placed.value, placed.channel.spec.parameter, own, unit or own), unit or own


def _one(placed: Placed, values: Floats, clock: Basis, *, governs: bool) -> Shown:
    deployment = placed.deployment
    start, end = utc_ms(deployment.starts_at), int(placed.utc_ms[-1])
    if deployment.ends_at:
        end = utc_ms(deployment.ends_at)
    wall_start, wall_end = clock.from_utc([start, end]).tolist()
    label, instrument = str(deployment.point), str(deployment.instrument)
    course = Course(
        label=label,
        instrument=instrument,
        wall_ms=clock.from_utc(placed.utc_ms),
        value=values,
        counts=(placed.flags & int(EXCLUDES)) == 0,
        why_not=_why_not(placed),
        gap_ms=BRIDGED_INTERVALS * placed.interval_ms,
        governs=governs,
    )
    stay = Stay(label, wall_start, wall_end, instrument, governs=governs)
    return Shown(course, stay, end - start > LONG_MS, deployment.pk)


def _why_not(placed: Placed) -> list[str]:
    """The excluding flags of each reading in words; few combinations, so each is spelled once."""
    excluding = placed.flags & int(EXCLUDES)
    spelled = {int(flag): ", ".join(words(int(flag))) for flag in np.unique(excluding)}
    return [spelled[flag] for flag in excluding.tolist()]


def _figure(
    part: Sequence[Shown],
    others: Sequence[Shown],
    unit: str,
    limits: Sequence[LimitLine],
    worst: Sequence[Worst],
    *,
    from_zero: bool,
) -> dict[str, Any]:
    """``others`` are drawn too where they were measuring at the same time."""
    spans = [(one.stay.start_ms, one.stay.end_ms) for one in part]
    beside = [cut for one in others if (cut := _during(one.course, spans)) is not None]
    return time_series(
        [*(one.course for one in part), *beside],
        [one.stay for one in part],
        unit=unit,
        limits=limits,
        worst=worst,
        from_zero=from_zero,
    )


def _during(course: Course, spans: Sequence[tuple[int, int]]) -> Course | None:
    inside = np.zeros(len(course.wall_ms), dtype=bool)
    for start, end in spans:
        inside |= (course.wall_ms >= start) & (course.wall_ms < end)
    if not inside.any():
        return None
    kept = np.flatnonzero(inside)
    return Course(
        course.label,
        course.instrument,
        course.wall_ms[kept],
        course.value[kept],
        course.counts[kept],
        [course.why_not[k] for k in kept.tolist()],
        course.gap_ms,
    )


def _limit_lines(criteria: Sequence[Chosen], current: Chosen | None) -> list[LimitLine]:
    """The chosen limit, and others stated in the same unit and reference; the rest would have to be recomputed."""
    if current is None:
        return []
    same = (current.limit.parameter, current.limit.unit, reference_of(current.limit))
    lines = []
    for one in criteria:
        limit = one.limit
        if (limit.parameter, limit.unit, reference_of(limit)) == same:
            ends = {Bound.UPPER: (limit.upper,), Bound.LOWER: (limit.lower,), Bound.RANGE: (limit.lower, limit.upper)}
            lines += [LimitLine(end, _line_label(one)) for end in ends[limit.bound] if end is not None]
    return lines


def _line_label(one: Chosen) -> str:
    minutes = one.limit.averaging_minutes
    if one.limit.averaging is Averaging.CEILING:
        over = "ceiling"
    else:
        over = f"{duration(minutes)} mean" if minutes else one.limit.statistic
    return f"{one.limit.value_text()} {over}, {one.limit.body}"


def _worst(campaign: Campaign, governing: Result | None, current: Chosen | None) -> list[Worst]:
    if governing is None or current is None or governing.value is None or governing.window_start is None:
        return []
    assert governing.window_end is not None
    clock = Basis.in_zone(campaign.site.time_zone)
    start, end = clock.from_utc([utc_ms(governing.window_start), utc_ms(governing.window_end)]).tolist()
    what = "mean of the visit" if governing.trace.get("is_context") else current.limit.statistic
    return [Worst(start, end, governing.value, what)]


def _said(governing: Result | None) -> str:
    if governing is None or governing.value is None:
        return ""
    value = f"{number(governing)} {spread(governing)} {governing.unit}"
    return f"The thick bar is the result that governs: {value} at {governing.point}."
