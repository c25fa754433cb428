"""One result as a report prints it: the value with its uncertainty, when and where, and the way down to the file."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from methods.wording import kinds
from methods.wording.meters import BESIDE
from methods.wording.numbers import probability
from methods.wording.results import in_full, interval, number_text, spread_text, statistic
from reports.content.canonical import number
from reports.content.findings import PointResult, ReportedResult
from reports.content.parts import values_of
from reports.models import Result
from reports.services.freezing import traced
from reports.services.result_values import indication_of, less_outdoors, measured_value, of_visit, when, word_of


def brief(result: Result, ref: str, zone: ZoneInfo) -> PointResult:
    """What a table of points shows of a result, and its chain."""
    point, said = result.point, measured_value(result)
    return PointResult(
        ref=ref,
        point=point.name,
        room=point.room.name if point.room else "",
        kind=point.kind,
        kind_word=kinds.POINTS[point.kind],
        verdict=result.verdict,
        word=word_of(result),
        value=number(result.value),
        expanded=number(result.expanded),
        unit=result.unit,
        text=in_full(said),
        number=number_text(said),
        spread=spread_text(said),
        when=when(result, zone),
        start=_local(result.window_start, zone),
        end=_local(result.window_end, zone),
        indication=indication_of(result),
        evidence=BESIDE.get(result.evidence, ""),
        accepted=traced.accepted(result),
        calibration="",
        chain=traced.chain(result),
    )


def full(result: Result, ref: str, zone: ZoneInfo, usual: str = "") -> ReportedResult:
    """Everything about the result that speaks for a zone. ``usual``: what is said of the limit itself, once for all."""
    return ReportedResult(
        **values_of(brief(result, ref, zone), PointResult),
        place=result.point.place,
        height_m=number(result.point.height_m),
        p_above=number(result.p_above),
        statistic=statistic(of_visit=of_visit(result), less_outdoors=less_outdoors(result)),
        probability="" if result.p_above is None else probability(result.p_above),
        edge=traced.edge(result),
        readings=result.reading_count,
        coverage=number(result.coverage),
        interval=interval(traced.interval_s(result)),
        comparability=result.comparability,
        reasons=traced.reasons(result, usual),
        assumptions=traced.assumptions(result),
        details=traced.details(result),
        outdoor=traced.outdoor(result),
        outdoor_missing=traced.outdoor_missing(result),
        place_kind=traced.place_kind(result),
        unit_text=traced.unit_text(result),
        budget=traced.budget(result),
    )


def _local(moment: datetime | None, zone: ZoneInfo) -> str:
    return "" if moment is None else moment.astimezone(zone).isoformat(timespec="seconds")
