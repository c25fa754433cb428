"""Results, findings and unmeasured points as rows of sheets: what pages say of them, in columns to compute on."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from datetime import date

from campaigns.models import Calibration, Campaign, SamplingPoint
from methods.limits.model import LimitDefinition, OutdoorRule
from methods.verdicts import Verdict
from methods.wording.meters import BESIDE
from methods.wording.numbers import all_below
from reports.models import Finding, Result
from reports.pages.result_facts import WELL_KNOWN
from reports.services import result_cells
from reports.services.result_values import indication_of, less_outdoors, value_of, word_of

Row = dict[str, object]
#: Of a result: what is said of the calibration of its meter.
CalibrationSaid = Callable[[Result], str]


def result_row(result: Result, zone: str, calibration: str) -> Row:
    """``zone``: of the clock its times are on. A result of readings below detection alone has no value, but the limit
    under which it lies."""
    first, trace = result.traced.first, result.traced
    below = result.value is not None and all_below(trace.lower, trace.upper)
    expanded = None if below else result.expanded
    return {
        "point": str(result.point),
        "instrument": result.taken_with,
        "criterion": str(result.criterion.limit),
        "verdict": result.verdict,
        "in words": word_of(result),
        "result as printed": value_of(result),
        "< or ≥": "<" if below else "≥" if trace.is_lower_bound and result.value is not None else "",
        "value": None if below else result.value,
        "below detection, under": trace.upper if below else None,
        "U": expanded,
        "k = U/u": expanded / result.u if expanded is not None and result.u else None,
        "ν of u (empty: over 1,000)": result.dof if result.dof is not None and result.dof < WELL_KNOWN else None,
        "unit": result.unit,
        "probability above": result.p_above,
        "indication": indication_of(result),
        "why": result_cells.why(result),
        "field check": BESIDE.get(result.evidence, ""),
        "calibration": calibration,
        "readings": result.reading_count,
        "coverage": result.coverage,
        f"window from ({zone})": result.window_start,
        f"window to ({zone})": result.window_end,
        "first reading in file": first and first.file,
        "at line": first and first.line,
        "SHA-256 of the file": first and first.sha256,
        "digest": result.digest,
    }


def finding_row(finding: Finding, limit: LimitDefinition) -> Row:
    governing = finding.governing
    return {
        "floor": finding.zone.floor.name,
        "zone": finding.zone.name,
        "criterion": str(finding.criterion.limit),
        "verdict": finding.verdict,
        "in words": word_of(governing),
        "indication": indication_of(governing),
        "fraction of the limit": _fraction(finding, limit),
        "statement": finding.statement,
        "what would decide it": finding.advice,
        "digest": finding.digest,
    }


def _fraction(finding: Finding, limit: LimitDefinition) -> float | None:
    """None where a comparison would mean nothing: not comparable, below detection, or the outdoor value that the limit
    asks to be taken off is not."""
    governing = finding.governing
    if finding.verdict == Verdict.NOT_COMPARABLE or all_below(governing.traced.lower, governing.traced.upper):
        return None
    if limit.outdoor_rule in (OutdoorRule.OUTDOOR_SUBTRACTED, OutdoorRule.ABOVE_OUTDOOR) and not less_outdoors(
        governing
    ):
        return None
    return finding.fraction


def unmeasured_row(point: SamplingPoint, why: str) -> Row:
    room = point.room
    return {
        "floor": room.zone.floor.name if room else "",
        "zone": room.zone.name if room else "",
        "room": room.name if room else "",
        "point": point.name,
        "why": why,
    }


def calibration_said(campaign: Campaign, results: Sequence[Result]) -> CalibrationSaid:
    """What is said of the calibration of the meters behind a result, "" where it was in force. Two queries."""
    keys = {key for result in results for key in result.traced.deployments}
    rows = campaign.deployments.filter(key__in=keys).order_by().values_list("key", "instrument_id")
    instruments = {str(key): instrument for key, instrument in rows}
    papers: dict[tuple[int, str], list[tuple[date, date]]] = defaultdict(list)
    used = set(instruments.values()) | {r.deployment.instrument_id for r in results if r.deployment}
    lines = Calibration.objects.filter(channel__instrument__in=used).order_by("date", "pk")
    named = ("channel__instrument_id", "channel__spec__parameter", "date", "due")
    for instrument, parameter, day, due in lines.values_list(*named):
        papers[instrument, parameter].append((day, due))
    zone = campaign.site.zone_info

    def said(result: Result) -> str:
        behind = {instruments[key] for key in result.traced.deployments if key in instruments}
        if result.deployment:
            behind.add(result.deployment.instrument_id)
        taken = result.taken_over
        end = result.window_end or (taken[0] if taken else None)
        if not behind or end is None:
            return ""
        day, parameter = end.astimezone(zone).date(), result.criterion.limit.parameter
        words = [_in_force(papers[instrument, parameter], day) for instrument in sorted(behind)]
        return "; ".join(dict.fromkeys(filter(None, words)))

    return said


def _in_force(lines: Iterable[tuple[date, date]], day: date) -> str:
    earlier = [due for begun, due in lines if begun <= day]
    if not earlier:
        return "no calibration on record"
    return f"calibration overdue since {earlier[-1]:%Y-%m-%d}" if earlier[-1] <= day else ""
