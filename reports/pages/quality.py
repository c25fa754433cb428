"""Quality control in the shapes that pages take: the one table, and run by run what it rests on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.urls import reverse

from campaigns.links import anchor
from campaigns.models import Campaign, QualityRun
from methods.figures.control import ControlPoint, bias_figure, control_figure
from methods.quality.acceptance import MEASURES
from methods.quantities.digits import in_digits
from methods.quantities.substances import name_of
from methods.wording.numbers import mid_sentence, plain, span, with_uncertainty
from methods.wording.quality import LATE, MARKS, RULES, bias_words, percent_words
from reports.content.quality import ReportedQualityRow
from reports.content.record import ReportContent
from reports.services.quality.table import NOT_PLACED, points_words
from reports.services.quality.told import QualityTold
from reports.services.result_cells import NO_BREAK
from reports.trace.quality import BesideMeasured, ChartMeasured, DuplicateMeasured, QualityMeasured, ZeroMeasured

Cells = list[list[Any]]


def _columns(*labels: str, num: Sequence[int] = ()) -> list[dict[str, Any]]:
    """``num``: which of them hold numbers, counted from one."""
    return [{"label": label, "num": n in num} for n, label in enumerate(labels, 1)]


TABLE = _columns("Measure", "Outcome", "Measured", "Acceptance limit")
#: Where on the page of details a measure is told.
PLACES = {
    "bias": "beside", "between": "beside", "difference": "duplicates", "variation": "duplicates", "detection": "zeros",
    "zero_drift": "charts", "span_drift": "charts", "points": "complete", "time": "complete",
}  # fmt: skip
_BY_NAME = {measure.name: code for code, measure in MEASURES.items()}


def table(rows: Iterable[ReportedQualityRow], details: str = "") -> Cells:
    """As rows of ``parts/table.html``, each leading to where it is told; ``details``: address of that page."""
    return [
        [
            {
                "text": row.measure,
                "url": f"{details}#{PLACES.get(_BY_NAME.get(row.measure, ''), 'charts')}" if details else "",
                "note": row.parameter,
            },
            {"text": f"{MARKS[row.outcome]} {row.word}", "note": row.why},
            {"text": row.value or "–", "note": row.about},
            {"text": (row.limit or "none set").replace(" ", NO_BREAK), "note": LATE if row.late else ""},
        ]
        for row in rows
    ]


def set_notes(rows: Iterable[ReportedQualityRow]) -> list[str]:
    """When the limits were set and by whom, each said once with the measures it holds for."""
    by_words: dict[str, dict[str, None]] = {}
    for row in rows:
        if row.set_when:
            by_words.setdefault(row.set_when, {})[row.measure] = None
    if len(by_words) == 1:
        return [f"All acceptance limits: {words}." for words in by_words]
    return [f"{', '.join(measures)}: {words}." for words, measures in by_words.items()]


def section(campaign: Campaign) -> dict[str, Any]:
    """For ``reports/parts/quality.html``. A constant number of queries."""
    told, url = QualityTold.of(campaign), details_address(campaign)
    return {
        "url": url,
        "disagreements": told.disagreements + told.unlike,
        "columns": TABLE,
        "rows": table(told.in_short, url),
        "set_notes": set_notes(told.in_short),
        "more": len(told.rows) - len(told.in_short),
    }


def reported(content: ReportContent) -> dict[str, Any]:
    """For ``reports/released/quality.html``."""
    return {
        "quality_apart": [each.sentence for each in content.quality.disagreements],
        "quality_columns": TABLE,
        "quality_rows": table(content.quality.rows),
        "quality_set": set_notes(content.quality.rows),
    }


# --- runs -------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class RunLine:
    """One run in the list. ``anchor``: its id on the page."""

    row: QualityRun
    anchor: str
    name: str
    when: str
    instruments: str
    free_of: str


def runs(campaign: Campaign) -> list[RunLine]:
    """Two queries."""
    zone = campaign.site.zone_info
    return [
        RunLine(
            run,
            anchor(run),
            str(run),
            span(run.starts_at, run.ends_at, zone),
            ", ".join(str(member.instrument) for member in run.members.all()),
            ", ".join(mid_sentence(name_of(code)) for code in run.free_of_codes),
        )
        for run in campaign.quality_runs.prefetch_related("members__instrument")
    ]


# --- side by side -----------------------------------------------------------------------------------------------------

BIASES = _columns("Meter", "Mean", "Bias ± U", "of the median", num=(2, 3, 4))
PAIRS = _columns("Two meters", "u between them", num=(2,))


@dataclass(frozen=True)
class BesideTold:
    """One run and parameter; ``why`` alone where it says nothing."""

    heading: str
    words: str
    why: str
    chart: dict[str, Any] | None
    chart_id: str
    caption: str
    biases: Cells
    pairs: Cells


def beside(measured: QualityMeasured) -> list[BesideTold]:
    return [_beside(n, run) for n, run in enumerate(measured.beside)]


def _beside(n: int, run: BesideMeasured) -> BesideTold:
    name = mid_sentence(name_of(run.parameter)) if run.parameter else ""
    heading = f"{run.name}, {run.when}{f': {name}' if name else ''}"
    if run.why or run.between is None:
        return BesideTold(heading, "", run.why, None, f"beside-{n}", "", [], [])
    against = "the other" if len(run.meters) == 2 else "the median of all"
    relative = f", {percent_words(run.between_relative)} of the median" if run.between_relative is not None else ""
    return BesideTold(
        heading=heading,
        words=f"{run.steps} common steps of {in_digits(run.step_s / 60)} min. Uncertainty between instruments, all "
        f"pairs together: {plain(run.between)} {run.unit}{relative}.",
        why="",
        chart=bias_figure(
            [m.meter for m in run.meters],
            [m.bias for m in run.meters],
            [m.expanded for m in run.meters],
            name=f"bias, {run.unit}",
        ),
        chart_id=f"beside-{n}",
        caption=f"Bias of each meter against {against}, with U, {name}.",
        biases=[
            [
                meter.meter,
                f"{plain(meter.mean)} {run.unit}",
                bias_words(meter.bias, meter.expanded, run.unit),
                "–" if meter.relative is None else percent_words(meter.relative, signed=True),
            ]
            for meter in run.meters
        ],
        pairs=[[f"{pair.first} and {pair.second}", f"{plain(pair.u)} {run.unit}"] for pair in run.pairs],
    )


# --- duplicates, zero runs, completeness ------------------------------------------------------------------------------

DUPLICATES = _columns("Point", "One ± U", "The other ± U", "Difference", "Within both uncertainties", num=(2, 3, 4))
TOGETHER = _columns("Parameter", "Pairs", "Pooled s", "Variation, upper bound", num=(2, 3, 4))
ZEROS = _columns(
    *("Meter", "Readings", "Mean in zero air", "s", "Detection limit", "Its maker states"),
    "The larger, of the lowest limit", num=(2, 3, 4, 5, 6, 7),
)  # fmt: skip
COMPLETE = _columns("Parameter", "Points with a usable result", "Valid time", num=(2, 3))


def duplicates(pairs: Iterable[DuplicateMeasured]) -> Cells:
    """Contradicting ones first."""
    return [
        [
            {"text": pair.point, "note": f"{mid_sentence(name_of(pair.parameter))}, {pair.when}"},
            {"text": with_uncertainty(pair.value_first, pair.expanded_first, pair.unit), "note": pair.first},
            {"text": with_uncertainty(pair.value_second, pair.expanded_second, pair.unit), "note": pair.second},
            {"text": "–", "note": pair.left_out}
            if pair.relative is None
            else percent_words(pair.relative, signed=True),
            f"{MARKS['failed']} no" if pair.apart else f"{MARKS['passed']} yes",
        ]
        for pair in sorted(pairs, key=lambda pair: not pair.apart)
    ]


def together(measured: QualityMeasured) -> Cells:
    return [
        [
            name_of(each.parameter),
            str(each.n),
            "–" if each.pooled is None else f"{plain(each.pooled)} {each.unit}",
            "too few pairs" if each.bound is None else percent_words(each.bound),
        ]
        for each in measured.together
    ]


def zeros(measured: QualityMeasured) -> Cells:
    return [_zero(zero) for zero in measured.zeros]


def _zero(zero: ZeroMeasured) -> list[Any]:
    def of(value: float | None) -> str:
        return "–" if value is None else f"{in_digits(value)} {zero.unit}"

    return [
        {"text": zero.meter, "note": mid_sentence(name_of(zero.parameter))},
        {"text": str(zero.n), "note": f"{zero.runs} run{'' if zero.runs == 1 else 's'}"},
        of(zero.mean),
        of(zero.s),
        {"text": of(zero.limit), "note": RULES.get(zero.rule, zero.why)},
        of(zero.makers),
        {"text": "–" if zero.share is None else percent_words(zero.share), "note": zero.against},
    ]


def complete(measured: QualityMeasured) -> Cells:
    return [
        [
            name_of(each.parameter),
            points_words(each) or NOT_PLACED,
            f"{in_digits(each.valid_h)} of {in_digits(each.planned_h)} h",
        ]
        for each in measured.complete
    ]


# --- control charts ---------------------------------------------------------------------------------------------------

CHECKS = _columns("Check", "Value", "Within the limits", num=(2,))
DRIFTS = _columns("Meter", "Largest change", "To the check of", num=(2,))


@dataclass(frozen=True)
class ChartTold:
    heading: str
    why: str
    words: str
    chart: dict[str, Any] | None
    chart_id: str
    rows: Cells


def charts(measured: QualityMeasured) -> list[ChartTold]:
    """Those with limits first."""
    ordered = sorted(measured.charts, key=lambda chart: chart.centre is None)
    return [_chart(n, chart) for n, chart in enumerate(ordered)]


def _chart(n: int, chart: ChartMeasured) -> ChartTold:
    heading = f"{chart.meter}, {mid_sentence(name_of(chart.parameter))}: {chart.kind}"
    if chart.centre is None or chart.lower is None or chart.upper is None:
        return ChartTold(heading, chart.why, "", None, "", [])
    outside = [point.at for point in chart.points if point.outside]
    low, middle, high = (f"{in_digits(value)} {chart.unit}" for value in (chart.lower, chart.centre, chart.upper))
    return ChartTold(
        heading=heading,
        why="",
        words=f"{len(chart.points)} checks; mean {middle}, limits {low} to {high}. "
        f"Outside: {', '.join(outside) if outside else 'none'}.",
        chart=control_figure(
            [
                ControlPoint(p.at, p.value, p.outside, f"{p.at}: {in_digits(p.value)} {chart.unit}")
                for p in chart.points
            ],
            chart.centre,
            chart.lower,
            chart.upper,
            name=f"zero, {chart.unit}" if chart.kind == "zero" else "shown of the reference, %",
        ),
        chart_id=f"control-{n}",
        rows=[
            [
                {"text": point.at, "note": "in this campaign" if point.here else ""},
                f"{in_digits(point.value)} {chart.unit}",
                f"{MARKS['failed']} no" if point.outside else f"{MARKS['passed']} yes",
            ]
            for point in reversed(chart.points)
        ],
    )


def drifts(measured: QualityMeasured) -> Cells:
    """``change`` of a span is in points of a hundred."""
    return [
        [
            {"text": drift.meter, "note": f"{mid_sentence(name_of(drift.parameter))}, {drift.kind}"},
            {
                "text": f"{'+' if drift.change > 0 else ''}{in_digits(drift.change)} {drift.unit}",
                "note": f"{percent_words(drift.share, signed=True)} of {drift.against}"
                if drift.share is not None
                else "",
            },
            drift.at,
        ]
        for drift in measured.drifts
    ]


def details_address(campaign: Campaign) -> str:
    return reverse("quality", args=[campaign.key])
