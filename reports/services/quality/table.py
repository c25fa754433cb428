"""The one table of quality control: every measure against its acceptance limit, what failed first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from zoneinfo import ZoneInfo

from campaigns.services.acceptance_limits import InForce
from methods.quality.acceptance import MEASURES, OUTCOME_WORDS, Assessed, QualityMeasure, QualityOutcome, assess
from methods.quantities.substances import name_of
from methods.wording.numbers import minute
from methods.wording.quality import LATE, USUAL, both_limits, limit_words, percent_words
from reports.content.canonical import number
from reports.content.quality import ReportedQualityRow
from reports.trace.quality import BesideMeasured, DuplicatesTogether, ParameterComplete, QualityMeasured, ZeroMeasured

#: Beside the measures that have acceptance limits: points of a control chart have limits of their own.
CHART, OWN_HISTORY = "Checks outside the limits of their control chart", "none, by the limits of its own history"
ORDER = list(QualityOutcome)


@dataclass(frozen=True, slots=True)
class WorstFound:
    """The worst of one measure and parameter. ``share``: a fraction; None, with ``why``, where it is not known.

    ``lacks``: too little was measured to know it, which a good one beside it does not put right. ``unknown``: what of
    the same lacks beside the worst that is known, in words.
    """

    parameter: str
    share: float | None
    about: str = ""
    why: str = ""
    signed: bool = False
    lacks: bool = False
    unknown: str = ""


def quality_rows(
    measured: QualityMeasured, limits: Mapping[str, InForce], zone: ZoneInfo
) -> tuple[ReportedQualityRow, ...]:
    """``limits``: those in force, by code of the measure. A measure without limit and without data has no row."""
    rows = [
        _row(measure, taken, limits.get(code), zone)
        for code, measure in MEASURES.items()
        for taken in _taken(code, measured, is_asked=code in limits and limits[code].percent is not None)
    ]
    return tuple(sorted([*rows, *_charts(measured)], key=lambda row: ORDER.index(QualityOutcome(row.outcome))))


def _taken(code: str, measured: QualityMeasured, *, is_asked: bool) -> list[WorstFound]:
    found = list(_FOUND[code](measured))
    return found or ([WorstFound("", None, why=_NOTHING[code])] if is_asked else [])


def _row(measure: QualityMeasure, taken: WorstFound, limit: InForce | None, zone: ZoneInfo) -> ReportedQualityRow:
    asked = limit.percent if limit else None
    value = None if taken.share is None else 100 * taken.share
    told: Assessed = assess(measure, value, asked, taken.why)
    if taken.unknown and told.outcome is QualityOutcome.PASSED:
        told = Assessed(QualityOutcome.NOT_ASSESSED, f"what is known keeps to the limit, but not of {taken.unknown}")
    return ReportedQualityRow(
        outcome=told.outcome.value,
        word=OUTCOME_WORDS[told.outcome],
        measure=measure.name,
        parameter=name_of(taken.parameter) if taken.parameter else "",
        about="; ".join(filter(None, (taken.about, taken.unknown and f"not assessed: {taken.unknown}"))),
        percent=number(value),
        value="" if taken.share is None else f"{percent_words(taken.share, signed=taken.signed)} {measure.of}",
        limit="" if asked is None else limit_words(measure, asked),
        set_when=set_words(limit, measure, zone) if limit and asked is not None else "",
        late=bool(limit and limit.late and asked is not None),
        why=told.why,
    )


def set_words(limit: InForce, measure: QualityMeasure, zone: ZoneInfo) -> str:
    """When and by whom; that it was late, and what was agreed before."""
    row = limit.row
    by = f", {row.by.get_full_name() or row.by}" if row.by else ""
    said = [f"{minute(row.set_at, zone)}{by}"]
    if row.is_usual:
        said.append(USUAL)
    if limit.late:
        before = limit.agreed.percent if limit.agreed else None
        agreed = f"agreed before: {limit_words(measure, before)}" if before is not None else "none was agreed before"
        said.append(f"{LATE}; {agreed}")
    return "; ".join(said)


# --- what was measured, the worst by parameter ------------------------------------------------------------------------


def _worst(found: Iterable[WorstFound]) -> Iterator[WorstFound]:
    """By parameter the one of most size, with what lacks beside it; where none is known, why the first is not."""
    by_parameter: dict[str, list[WorstFound]] = {}
    for taken in found:
        by_parameter.setdefault(taken.parameter, []).append(taken)
    for here in by_parameter.values():
        known = [taken for taken in here if taken.share is not None]
        if not known:
            yield here[0]
            continue
        unknown = "; ".join(f"{taken.about} ({taken.why})" for taken in here if taken.share is None and taken.lacks)
        yield replace(max(known, key=lambda taken: abs(taken.share or 0.0)), unknown=unknown)


def _bias(measured: QualityMeasured) -> Iterator[WorstFound]:
    told: list[WorstFound] = []
    for run in measured.beside:
        where = f"{run.name}, {run.when}"
        told += [
            WorstFound(run.parameter, m.relative, f"{_against(m.meter, run)}; {where}", NO_SHARE, signed=True)
            for m in run.meters
        ]
        if not run.meters:
            told.append(WorstFound(run.parameter, None, where, run.why, lacks=True))
    return _worst(told)


def _against(meter: str, run: BesideMeasured) -> str:
    """Of two meters the bias is told against the other one."""
    others = [other.meter for other in run.meters if other.meter != meter]
    return f"{meter} against {others[0]}" if len(others) == 1 else meter


def _between(measured: QualityMeasured) -> Iterator[WorstFound]:
    return _worst(
        WorstFound(
            run.parameter, run.between_relative, f"{run.name}, {run.when}", run.why or NO_SHARE, lacks=bool(run.why)
        )
        for run in measured.beside
    )


def _difference(measured: QualityMeasured) -> Iterator[WorstFound]:
    return _worst(
        WorstFound(
            pair.parameter, pair.relative, f"{pair.first} and {pair.second}, {pair.point}, {pair.when}", pair.left_out,
            signed=True,
        )
        for pair in measured.duplicates
    )  # fmt: skip


def _variation(measured: QualityMeasured) -> Iterator[WorstFound]:
    for each in measured.together:
        yield WorstFound(each.parameter, each.bound, _pairs(each), f"too few pairs: {each.n}")


def _pairs(each: DuplicatesTogether) -> str:
    return f"{each.n} pair{'' if each.n == 1 else 's'}"


def _detection(measured: QualityMeasured) -> Iterator[WorstFound]:
    return _worst(
        WorstFound(
            zero.parameter, zero.share, _limits_of(zero), zero.why or NO_LIMIT, lacks=bool(zero.why),
        )
        for zero in measured.zeros
    )  # fmt: skip


def _limits_of(zero: ZeroMeasured) -> str:
    """Both detection limits, of which the larger one is judged, and what it is held against."""
    both = both_limits(zero.limit, zero.makers, zero.unit) if zero.limit is not None else ""
    return "; ".join(filter(None, (zero.meter, both, zero.against)))


def _drift(measured: QualityMeasured, kind: str) -> Iterator[WorstFound]:
    return _worst(
        WorstFound(drift.parameter, drift.share, f"{drift.meter}, check of {drift.at}", NO_LIMIT, signed=True)
        for drift in measured.drifts
        if drift.kind == kind
    )


def _points(measured: QualityMeasured) -> Iterator[WorstFound]:
    for each in measured.complete:
        share = each.points / each.planned_points if each.planned_points else None
        yield WorstFound(each.parameter, share, points_words(each), NOT_PLACED)


def _time(measured: QualityMeasured) -> Iterator[WorstFound]:
    for each in measured.complete:
        share = min(each.valid_h / each.planned_h, 1.0) if each.planned_h else None
        yield WorstFound(each.parameter, share, "", NOT_PLACED)


def points_words(each: ParameterComplete) -> str:
    """``1 of 1 point; 6 where no instrument for it stood are not counted``"""
    if not each.planned_points:
        return ""
    counted = f"{each.points} of {each.planned_points} point{'' if each.planned_points == 1 else 's'}"
    are = "is" if each.elsewhere == 1 else "are"
    rest = f"; {each.elsewhere} where no instrument for it stood {are} not counted" if each.elsewhere else ""
    return f"{counted}{rest}"


NOT_PLACED = "no instrument for it was placed at a planned point"
NO_SHARE = "a temperature has no share"
NO_LIMIT = "no limit with an upper end is chosen for it"
_FOUND = {
    "bias": _bias,
    "between": _between,
    "difference": _difference,
    "variation": _variation,
    "detection": _detection,
    "zero_drift": lambda measured: _drift(measured, "zero"),
    "span_drift": lambda measured: _drift(measured, "span"),
    "points": _points,
    "time": _time,
}
_NOTHING = {
    "bias": "no side-by-side run is entered",
    "between": "no side-by-side run is entered",
    "difference": "no two instruments stood at one point at a time",
    "variation": "no two instruments stood at one point at a time",
    "detection": "no zero run is entered",
    "zero_drift": "fewer than two zero checks in the campaign",
    "span_drift": "fewer than two span checks in the campaign",
    "points": "nothing was judged yet",
    "time": "nothing was judged yet",
}


def _charts(measured: QualityMeasured) -> Iterator[ReportedQualityRow]:
    """By parameter, where a meter has history enough: checks of this campaign beyond the limits of its own chart."""
    known: dict[str, list[str]] = {}
    for chart in measured.charts:
        if chart.centre is not None and any(point.here for point in chart.points):
            outside = [point for point in chart.points if point.here and point.outside]
            known.setdefault(chart.parameter, []).extend(
                f"{chart.meter}, {chart.kind} check of {point.at}" for point in outside
            )
    for parameter, named in known.items():
        outcome = QualityOutcome.FAILED if named else QualityOutcome.PASSED
        yield ReportedQualityRow(
            outcome=outcome.value,
            word=OUTCOME_WORDS[outcome],
            measure=CHART,
            parameter=name_of(parameter),
            about="; ".join(named),
            percent=None,
            value=f"{len(named)}",
            limit=OWN_HISTORY,
            set_when="",
            late=False,
            why="",
        )


def in_short(rows: Sequence[ReportedQualityRow]) -> tuple[ReportedQualityRow, ...]:
    """Without what is counted anyway and nobody set a limit for: drift and completeness of every parameter."""
    anyway = {MEASURES[code].name for code in ("zero_drift", "span_drift", "points", "time")}
    return tuple(row for row in rows if row.limit or row.measure not in anyway)


def failed_of(rows: Sequence[ReportedQualityRow]) -> list[str]:
    """What failed, a few words each."""
    return [
        f"{', '.join(filter(None, (row.measure, row.parameter)))}: {row.value}{f' ({row.about})' if row.about else ''}"
        for row in rows
        if row.outcome == QualityOutcome.FAILED.value
    ]
