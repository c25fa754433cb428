"""One result as a report prints it: the value with its uncertainty, when and where, and the way down to the file."""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

from campaigns.models import SamplingPoint
from methods.uncertainty.budget import COVERAGE_FACTOR
from methods.verdicts import VERDICT_WORDS, Verdict
from methods.verdicts.comparability import ComparabilityState
from methods.wording.numbers import probability, span
from reports.content.canonical import number
from reports.models import Result
from reports.services import result_cells
from reports.services.zone_findings import less_outdoors, value_of

Json = dict[str, Any]

PER_MINUTE = 60.0


def brief(result: Result, ref: str, zone: ZoneInfo) -> Json:
    """What a table of points shows of a result, and its chain."""
    point = result.point
    return {
        "ref": ref,
        "point": point.name,
        "room": point.room.name if point.room else "",
        "kind": point.kind,
        "kind_word": SamplingPoint.Kind(point.kind).label,
        "verdict": result.verdict,
        "word": word_of(result),
        "value": number(result.value),
        "expanded": number(None if result.u is None else COVERAGE_FACTOR * result.u),
        "unit": result.unit,
        "text": value_of(result),
        "number": result_cells.number(result),
        "spread": result_cells.spread(result),
        "when": when(result, zone),
        "start": _local(result.window_start, zone),
        "end": _local(result.window_end, zone),
        "chain": chain(result),
    }


def full(result: Result, ref: str, zone: ZoneInfo, usual: str = "") -> Json:
    """Everything about the result that speaks for a zone. ``usual``: what is said of the limit itself, once for all."""
    trace, point = result.trace, result.point
    return brief(result, ref, zone) | {
        "place": point.place,
        "height_m": number(point.height_m),
        "p_above": number(result.p_above),
        "statistic": statistic(result),
        "probability": "" if result.p_above is None else probability(result.p_above),
        "edge": number(trace.get("edge")),
        "readings": result.reading_count,
        "coverage": number(result.coverage),
        "interval": interval(trace.get("interval_s")),
        "comparability": result.comparability,
        "reasons": _reasons(result, usual),
        "assumptions": [f"{said[:1].upper()}{said[1:]}." for said in trace.get("said", [])],
        "details": [list(detail) for detail in trace.get("details", [])],
        "outdoor": outdoor(trace.get("outdoor") or {}),
        "place_kind": trace.get("place", ""),
        "unit_text": trace.get("unit", result.unit),
        "budget": [
            {
                "name": row["name"],
                "u": number(row["u"]),
                "share": number(row["share"]),
                "source": row["source"],
                "missing": row["missing"],
            }
            for row in result.budget
        ],
    }


def statistic(result: Result) -> str:
    """Where it is not simply what the limit asks for."""
    said = ["mean of the visit"] if result.trace.get("is_context") else []
    return ", ".join([*said, *(["less the outdoor value"] if less_outdoors(result) else [])])


def outdoor(beside: Json) -> Json:
    """The outdoor air that goes with it: what was taken off or set beside, or why there is none."""
    if "value" not in beside:
        return {"missing": beside.get("missing", "")}
    return {
        "missing": "",
        "value": number(beside["value"]),
        "u": number(beside["u"]),
        "text": beside["text"],
        "words": beside["words"],
        "difference": beside["difference_text"],
        "ratio": beside["ratio_text"],
        "taken_off": beside["taken_off"],
    }


def _reasons(result: Result, usual: str) -> list[str]:
    """Why it is as it is. Where nothing stands in the way of comparing, how the limit is compared is not repeated."""
    known = {usual} if result.comparability == ComparabilityState.YES.word else set()
    return [r["words"] for r in result.reasons if r["code"] != "accepted" and r["words"] not in known]


def word_of(result: Result) -> str:
    """The verdict in words; for lower limits and ranges it says which end is meant."""
    return str(result.trace.get("words") or VERDICT_WORDS[Verdict(result.verdict)])


def met(result: Result) -> bool | None:
    """Whether the limit is met; None while undecided or not comparable."""
    said = result.trace.get("is_met")
    return None if said is None else bool(said)


def when(result: Result, zone: ZoneInfo) -> str:
    if result.window_start is None or result.window_end is None:
        return ""
    return span(result.window_start, result.window_end, zone)


def interval(seconds: float | None) -> str:
    if not seconds:
        return ""
    return f"{seconds:g} s" if seconds < PER_MINUTE else f"{seconds / PER_MINUTE:g} min"


def chain(result: Result) -> Json:
    """From the result to the lines of the original file, by serial number and SHA-256."""
    trace, instrument = result.trace, result.deployment.instrument if result.deployment else None
    return {
        "instrument": instrument.name if instrument else result.get_origin_display(),
        "serial": instrument.serial if instrument else "",
        "channel": trace.get("channel", ""),
        "first": _reading(trace.get("first")),
        "last": _reading(trace.get("last")),
        "lines": _lines(trace.get("first"), trace.get("last")),
        "method": result.method,
        "digest": result.digest,
    }


def _reading(said: Json | None) -> Json | None:
    if not said:
        return None
    return {
        "file": said["file"],
        "sha256": said["sha256"],
        "line": said["line"],
        "stamp": said["stamp"],
        "stored": number(said["raw"]),
        "corrected": number(said["value"]),
    }


def _lines(first: Json | None, last: Json | None) -> str:
    if not first or not last:
        return ""
    if first["sha256"] != last["sha256"]:
        return f"line {first['line']} of {first['file']} to line {last['line']} of {last['file']}"
    if first["line"] == last["line"]:
        return f"line {first['line']}"
    return f"lines {first['line']} to {last['line']}"


def _local(moment: Any, zone: ZoneInfo) -> str:
    return "" if moment is None else moment.astimezone(zone).isoformat(timespec="seconds")
