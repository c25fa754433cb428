"""Readings of a zone over time: by themselves, beside outdoor air, and with what says how a place was used."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from campaigns.models import Deployment
from methods.figures import Course, DeploymentBar, Layer, Span, Worst, stack, time_series
from methods.quantities.moments import utc_ms
from methods.quantities.substances import SUBSTANCES
from reports.models import Result
from reports.pages.figure_query import FigureQuery, FigureReadings, Shown, drawn_of, drawn_together, is_long
from reports.pages.figure_set import FigureDrawing, FigureSet, nothing_held, numbers
from reports.services.result_cells import number, spread

VISITS, ALWAYS, OUTDOOR, CONDITIONS = "visits", "always", "outdoor", "conditions"
#: Figures over time of which the server shows any part in more detail.
ZOOMING = (VISITS, ALWAYS, OUTDOOR, CONDITIONS)


def over_time(look: FigureQuery) -> FigureSet:
    """What was measured in the zone: the visits, and on a drawing of their own what stood there for long."""
    readings = drawn_of(look, look.deployments())
    out = FigureSet(unit=readings.unit, refused=readings.refused)
    for key in (VISITS, ALWAYS) if readings.shown else ():
        part = [part_shown for part_shown in readings.shown if part_shown.is_long == (key == ALWAYS)]
        if part or look.span:
            out.drawings.append(_over_time(look, readings, key, part))
    if not out.drawings:
        out.empty = nothing_held(look)
    return out


def _over_time(look: FigureQuery, readings: FigureReadings, key: str, part: Sequence[Shown]) -> FigureDrawing:
    others = [shown for shown in readings.shown if shown not in part] if key == VISITS else []
    inside = governs_in(look, part)
    stays = [stay for stay in readings.stays if is_long(stay) == (key == ALWAYS)]
    figure = series(look, part, stays, others, unit=readings.short_unit, worst=worst_of(look) if inside else [])
    when = "during the visits" if key == VISITS else "all the time"
    return FigureDrawing(
        key=key,
        figure=figure,
        caption=f"{look.name} in {look.zone.name}, {when}, corrected. {clock_words(look, figure)}",
        said=_said(look.governing) if inside else "",
        notes=[f"In {readings.unit}.", *marks_words(figure)],
        numbers=numbers(look, part, readings.short_unit, f", {when}"),
        zooms=True,
        parameters=(look.parameter,),
        only_long=key == ALWAYS,
    )


def series(
    look: FigureQuery,
    part: Sequence[Shown],
    stays: Sequence[DeploymentBar],
    others: Sequence[Shown] = (),
    *,
    unit: str,
    worst: Sequence[Worst] = (),
) -> dict[str, Any]:
    """``others`` are drawn too where they were measuring while something of ``stays`` stood."""
    spans = [(stay.start_ms, stay.end_ms) for stay in stays]
    beside = [cut for shown in others if (cut := during(shown.course, spans)) is not None]
    return time_series(
        [*(shown.course for shown in part), *beside],
        stays,
        unit=unit,
        limits=look.limits(),
        worst=worst,
        from_zero=SUBSTANCES[look.parameter].axis_from_zero,
        span=look.span,
    )


def during(course: Course, spans: Sequence[Span]) -> Course | None:
    """The readings that lie in one of the spans."""
    inside = np.zeros(len(course.wall_ms), dtype=bool)
    for start, end in spans:
        inside |= (course.wall_ms >= start) & (course.wall_ms < end)
    if not inside.any():
        return None
    kept = np.flatnonzero(inside)

    def cut(array: Any) -> Any:
        return None if array is None else array[kept]

    return Course(
        course.label,
        course.instrument,
        course.wall_ms[kept],
        course.value[kept],
        course.counts[kept],
        [course.why_not[k] for k in kept.tolist()],
        course.gap_ms,
        below=cut(course.below),
        over=cut(course.over),
    )


def governs_in(look: FigureQuery, part: Sequence[Shown]) -> bool:
    return look.governing is not None and look.governing.deployment_id in {shown.deployment.pk for shown in part}


def clock_words(look: FigureQuery, figure: dict[str, Any]) -> str:
    squeezed = "; stretches without a deployment are left out" if figure["layout"]["xaxis"]["rangebreaks"] else ""
    return f"Times of {look.campaign.site.time_zone}{squeezed}."


def marks_words(figure: dict[str, Any]) -> list[str]:
    """What the marks of the figure mean, as far as it has any."""
    names = {trace["name"] for trace in figure["data"]}
    words = {
        "does not count": "Rings do not count (warming up, settling, errors).",
        "below the detection limit": "An arrow down stands at the detection limit: the true value is somewhere below.",
        "over range": "An arrow up stands at the end of the range: the true value may be higher.",
    }
    return [said for name, said in words.items() if name in names]


def worst_of(look: FigureQuery) -> list[Worst]:
    governing, current = look.governing, look.current
    if governing is None or current is None or governing.value is None or governing.window_start is None:
        return []
    assert governing.window_end is not None
    start, end = look.clock.from_utc([utc_ms(governing.window_start), utc_ms(governing.window_end)]).tolist()
    what = "mean of the visit" if governing.traced.is_context else current.limit.statistic
    return [Worst(start, end, governing.value, what)]


def _said(governing: Result | None) -> str:
    if governing is None or governing.value is None:
        return ""
    value = f"{number(governing)} {spread(governing)} {governing.unit}"
    return f"The thick bar is the result that governs: {value} at {governing.point}."


# --- beside outdoor air -----------------------------------------------------------------------------------------------


def beside_outdoors(
    look: FigureQuery, indoors: Sequence[Deployment], outdoors: Sequence[Deployment]
) -> FigureDrawing | None:
    """Room air and outdoor air on one axis of time; None where one of the two has no readings."""
    readings = drawn_of(look, [*indoors, *outdoors])
    inside, outside = readings.room_air(), [shown for shown in readings.shown if shown.deployment.point.room_id is None]
    if look.span is None and not (inside and outside):
        return None
    part = [*inside, *outside]
    worst = worst_of(look) if governs_in(look, inside) else []
    figure = series(look, part, readings.stays, unit=readings.short_unit, worst=worst)
    return FigureDrawing(
        key=OUTDOOR,
        figure=figure,
        caption=f"{look.name} in the room air of {look.zone.name} and outdoors, corrected. {clock_words(look, figure)}",
        notes=[f"In {readings.unit}.", *marks_words(figure)],
        numbers=numbers(look, part, readings.short_unit),
        zooms=True,
        parameters=(look.parameter,),
        outdoors=True,
        room_air=True,
    )


# --- with temperature, humidity and what else says how a place was used -----------------------------------------------


def with_conditions(look: FigureQuery, conditions: Sequence[str]) -> FigureSet:
    """The parameter, and under it on the same axis of time every condition that was measured in the zone."""
    looks = [look, *(look.of(parameter) for parameter in conditions)]
    readings, *conditions_found = drawn_together(looks, look.deployments_by([query.parameter for query in looks]))
    out = FigureSet(unit=readings.unit, refused=list(readings.refused))
    layers = [
        Layer(
            look.name, readings.short_unit, _courses(readings), SUBSTANCES[look.parameter].axis_from_zero, look.limits()
        )
    ]
    stays, missing = list(readings.stays), []
    for parameter, beneath in zip(conditions, conditions_found, strict=True):
        out.refused += beneath.refused
        if not beneath.shown:
            missing.append(SUBSTANCES[parameter].name.lower())
            continue
        substance = SUBSTANCES[parameter]
        name = substance.symbol if substance.is_gas else substance.name
        layers.append(Layer(name, beneath.short_unit, _courses(beneath), SUBSTANCES[parameter].axis_from_zero))
        stays += [stay for stay in beneath.stays if not _among(stay, stays)]
    if look.span is None and not readings.shown:
        out.empty = nothing_held(look)
        return out
    if missing:
        out.notes.append(f"Not held from this zone: {', '.join(missing)}.")
    figure = stack(layers, stays, span=look.span)
    drawing = FigureDrawing(
        key=CONDITIONS,
        figure=figure,
        caption=f"{look.name} in {look.zone.name}, and the conditions under it. {clock_words(look, figure)}",
        notes=[f"{look.name} in {readings.unit}.", *marks_words(figure)],
        numbers=numbers(look, readings.shown, readings.short_unit),
        zooms=True,
        parameters=(look.parameter, *conditions),
    )
    out.drawings.append(drawing)
    if len(layers) == 1:
        out.notes.append("Temperature and humidity were not measured here: a channel for them says how warm it was.")
    return out


def _among(stay: DeploymentBar, stays: Sequence[DeploymentBar]) -> bool:
    """Whether the deployment has its bar already."""
    same = (stay.label, stay.instrument, stay.start_ms)
    return any((among.label, among.instrument, among.start_ms) == same for among in stays)


def _courses(readings: FigureReadings) -> list[Course]:
    return [shown.course for shown in readings.shown]


# --- a part of a figure in more detail --------------------------------------------------------------------------------


def part_of(look: FigureQuery, key: str, conditions: Sequence[str]) -> FigureDrawing | None:
    """The figure ``key`` over the look's span; None where nothing was measured in it."""
    if key == OUTDOOR:
        return beside_outdoors(look, look.deployments(), look.outdoors())
    if key == CONDITIONS:
        return next(iter(with_conditions(look, conditions).drawings), None)
    return next((drawing for drawing in over_time(look).drawings if drawing.key == key), None)


def count_words(drawing: FigureDrawing) -> str:
    """How many readings the figure stands for, as a sentence to be spoken."""
    assert drawing.numbers is not None
    rows = drawing.numbers.rows
    counted = sum(int(str(row[1]).replace(",", "")) for row in rows)
    return f"{counted:,} readings in this part, from {len(rows)} deployment{'' if len(rows) == 1 else 's'}."
