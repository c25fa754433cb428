"""How the readings of a zone are distributed, and its points side by side."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from methods.comparison.distribution import PlaceSample, quantile, share_above
from methods.figures import LimitLine, PointStrip, spread, strips
from methods.quantities.digits import in_digits
from methods.quantities.substances import SUBSTANCES
from methods.wording.numbers import plain
from reports.pages.figure_query import FigureQuery, FigureReadings, Shown, readings_of
from reports.pages.figure_set import FigureDrawing, FigureSet, FigureTable, Link, Origins, nothing_held
from reports.pages.indoor_outdoor import points_compared

SPREAD, STRIPS = "spread", "strips"
LINEAR, LOG = "linear", "log"
#: From the lowest to the highest reading: with less there is nothing to spread out.
WORTH_LOG = 8.0

COLUMNS: list[dict[str, Any]] = [
    {"label": "Point"},
    {"label": "Readings that count", "num": True},
    {"label": "Below detection", "num": True},
    {"label": "Median", "num": True},
    {"label": "95th percentile", "num": True},
    {"label": "Highest", "num": True},
    {"label": "Above the limit’s number", "num": True},
    {"label": "Where it comes from"},
]
CAUTION = (
    "Single readings, not means: how many of them are above the limit’s number says nothing about a limit "
    "that holds for a mean over time. The verdict is in the findings."
)


def distribution(look: FigureQuery, axis: str | None, link: Link) -> FigureSet:
    """Histogram and cumulative share of every counted reading of the zone's room air, point by point.

    ``axis``: "log" for a logarithmic one, where values allow it. ``link``: to the page with another axis.
    """
    readings = readings_of(look, look.deployments())
    out = FigureSet(unit=readings.unit, refused=readings.refused)
    pooled = _pooled(readings.room_air())
    if not pooled:
        out.empty = nothing_held(look, f"No reading of {look.name.lower()} in this zone’s room air counts yet.")
        return out
    samples = [sample for sample, _ in pooled.values()]
    is_log = axis == LOG and may_be_log(samples)
    if SUBSTANCES[look.parameter].axis_from_zero and may_be_log(samples):
        ways = (("Linear", LINEAR, not is_log), ("Logarithmic", LOG, is_log))
        out.switches.append(("Axis", [(label, link("axis", code), chosen) for label, code, chosen in ways]))
    limits = look.limits()
    figure = spread(
        samples,
        unit=readings.unit,
        limits=limits,
        governs=_governing_label(readings),
        is_log=is_log,
        from_zero=SUBSTANCES[look.parameter].axis_from_zero,
        step=None if is_log else _resolution(readings),
    )
    out.drawings.append(
        FigureDrawing(
            key=SPREAD,
            figure=figure,
            caption=f"Every reading of {look.name.lower()} in the room air of {look.zone.name} that counts, corrected: "
            "how often each value was read (above), and what share is at or under it (below).",
            said=_said(samples, readings.unit),
            notes=[*_notes(samples, readings.short_unit), CAUTION],
            numbers=_numbers(look, pooled, readings.short_unit, limits),
            parameters=(look.parameter,),
            room_air=True,
        )
    )
    return out


def may_be_log(samples: Iterable[PlaceSample]) -> bool:
    values = np.concatenate([sample.value for sample in samples])
    return bool(values.min() > 0 and values.max() / values.min() >= WORTH_LOG)


def _pooled(shown: Iterable[Shown]) -> dict[int, tuple[PlaceSample, Shown]]:
    """The readings of each point over all its deployments, with its latest deployment; points without any left out."""
    out: dict[int, tuple[PlaceSample, Shown]] = {}
    for part in shown:
        sample, key = part.sample(), part.deployment.point_id
        if not len(sample):
            continue
        if key in out:
            before = out[key][0]
            sample = PlaceSample(
                sample.label,
                np.concatenate([before.value, sample.value]),
                np.concatenate([before.below, sample.below]),
            )
        out[key] = (sample, part)
    return out


def _governing_label(readings: FigureReadings) -> str:
    return next((part.course.label for part in readings.shown if part.course.governs), "")


def _resolution(readings: FigureReadings) -> float | None:
    steps = {round(part.resolution, 12) for part in readings.room_air() if part.resolution > 0}
    return steps.pop() if len(steps) == 1 else None


def _said(samples: Sequence[PlaceSample], unit: str) -> str:
    short = unit.partition(" at ")[0]
    parts = [f"{s.label}: median {text(s, 0.5)}, 95th percentile {text(s, 0.95)} {short}" for s in samples[:3]]
    more = f", and {len(samples) - 3} more points in the numbers" if len(samples) > 3 else ""
    return "; ".join(parts) + more + "."


def text(sample: PlaceSample, q: float) -> str:
    """A quantile as a cell prints it: ``0.051``, or ``< 0.012`` where it is among readings below detection."""
    at_quantile = quantile(sample, q)
    return f"{'< ' if at_quantile.is_below else ''}{plain(at_quantile.value)}"


def _notes(samples: Sequence[PlaceSample], unit: str) -> list[str]:
    notes = ["A round mark is a median, a square one a 95th percentile."]
    hidden = sum(int(s.below.sum()) for s in samples)
    if hidden:
        total = sum(len(s) for s in samples)
        floor = plain(max(s.floor for s in samples if s.floor is not None))
        notes.append(
            f"{hidden:,} of {total:,} readings are below detection: they stand as one block under {floor} {unit} and "
            "are given no value of their own."
        )
    return notes


def _numbers(
    look: FigureQuery, pooled: dict[int, tuple[PlaceSample, Shown]], unit: str, limits: Sequence[LimitLine]
) -> FigureTable:
    origin = Origins(look)
    limit = look.current.limit.upper if look.current and limits else None
    rows = [
        [
            {"text": sample.label, "note": part.course.instrument},
            f"{len(sample):,}",
            f"{int(sample.below.sum()):,}",
            {"text": text(sample, 0.5), "unit": unit},
            {"text": text(sample, 0.95), "unit": unit},
            {"text": text(sample, 1.0), "unit": unit},
            _above(sample, limit),
            origin.of(part),
        ]
        for sample, part in pooled.values()
    ]
    return FigureTable("Readings of each point over all its visits.", COLUMNS, rows)


def _above(sample: PlaceSample, limit: float | None) -> str:
    if limit is None:
        return "–"
    low, high = (100 * share for share in share_above(sample, limit))
    return f"{in_digits(low)} %" if low == high else f"{in_digits(low)} to {in_digits(high)} %"


# --- points side by side ----------------------------------------------------------------------------------------------


def side_by_side(look: FigureQuery) -> FigureSet:
    """Every point of the zone, room air first, with what enclosed spaces and supply air are against it."""
    readings = readings_of(look, look.deployments())
    out = FigureSet(unit=readings.unit, refused=readings.refused)
    pooled = _pooled(readings.shown)
    if not pooled:
        out.empty = nothing_held(look)
        return out
    ordered = sorted(pooled.values(), key=lambda pair: not pair[1].is_room_air)
    rows = [PointStrip(sample, part.is_room_air) for sample, part in ordered]
    figure = strips(rows, unit=readings.unit, limits=look.limits())
    out.drawings.append(
        FigureDrawing(
            key=STRIPS,
            figure=figure,
            caption=f"{look.name} at every point of {look.zone.name}, all readings that count, corrected.",
            said=_said([sample for sample, _ in ordered], readings.unit),
            notes=[
                "Thin line: lowest to highest; thicker: 5 % to 95 %; thickest: the middle half; mark: the median. "
                "A full mark is room air, an open one another kind of place.",
                "Points were measured one after another unless the times say otherwise.",
            ],
            numbers=_numbers(look, pooled, readings.short_unit, look.limits()),
            parameters=(look.parameter,),
        )
    )
    points_compared(look, out)
    return out
