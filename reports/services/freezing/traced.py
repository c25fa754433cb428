"""What a report takes from a result's trace, its reasons and its budget: read here and nowhere else in freezing."""

from __future__ import annotations

from typing import Any

from methods.verdicts.comparability import ComparabilityState
from methods.wording.numbers import sentence_case
from methods.wording.results import BEFORE_OUTDOORS, lines
from reports.content.canonical import number
from reports.content.findings import ChainReading, ReportedBudgetPart, ReportedChain, ReportedOutdoor
from reports.models import Result


def deployment_keys(result: Result) -> list[str]:
    """Keys of the consecutive deployments that the result rests on."""
    own = [result.deployment.key] if result.deployment else []
    return [str(key) for key in result.trace.get("deployments") or own]


def met(result: Result) -> bool | None:
    """Whether the limit is met; None while undecided or not comparable."""
    said = result.trace.get("is_met")
    return None if said is None else bool(said)


def edge(result: Result) -> float | None:
    """The end of the limit that it was compared with, in the result's unit."""
    said: float | None = result.trace.get("edge")
    return number(said)


def interval_s(result: Result) -> float | None:
    """Between readings, seconds; None where nobody knows."""
    said: float | None = result.trace.get("interval_s")
    return said


def place_kind(result: Result) -> str:
    return str(result.trace.get("place", ""))


def unit_text(result: Result) -> str:
    return str(result.trace.get("unit", result.unit))


def assumptions(result: Result) -> tuple[str, ...]:
    return tuple(f"{sentence_case(said)}." for said in result.trace.get("said", []))


def details(result: Result) -> tuple[tuple[str, str], ...]:
    return tuple((name, words) for name, words in result.trace.get("details", []))


def reasons(result: Result, usual: str) -> tuple[str, ...]:
    """Why it is as it is. Where nothing stands in the way of comparing, how the limit is compared is not repeated."""
    known = {usual} if result.comparability == ComparabilityState.YES.word else set()
    return tuple(r["words"] for r in result.reasons if r["code"] != "accepted" and r["words"] not in known)


def budget(result: Result) -> tuple[ReportedBudgetPart, ...]:
    return tuple(
        ReportedBudgetPart(row["name"], number(row["u"]), number(row["share"]), row["source"], row["missing"])
        for row in result.budget
    )


# --- outdoors ---------------------------------------------------------------------------------------------------------


def outdoor(result: Result) -> ReportedOutdoor | None:
    """The outdoor air that goes with it: what was taken off or set beside."""
    beside = result.trace.get("outdoor") or {}
    if "value" not in beside:
        return None
    return ReportedOutdoor(
        value=number(beside["value"]),
        u=number(beside["u"]),
        text=beside["text"],
        words=beside["words"],
        difference=beside["difference_text"],
        ratio=beside["ratio_text"],
        taken_off=beside["taken_off"],
    )


def outdoor_missing(result: Result) -> str:
    """Why there is none; "" where nobody asked for one."""
    beside = result.trace.get("outdoor") or {}
    return "" if "value" in beside else str(beside.get("missing", ""))


def as_measured(result: Result, text: str) -> tuple[float | None, str]:
    """The value before an outdoor value was taken off, and in words. ``text``: of the result itself."""
    beside = result.trace.get("outdoor") or {}
    if beside.get("taken_off"):
        return beside["indoor"], f"{beside['indoor_text']}, {BEFORE_OUTDOORS}"
    return result.value, text


# --- down to the file -------------------------------------------------------------------------------------------------


def chain(result: Result) -> ReportedChain:
    """From the result to the lines of the original file, by serial number and SHA-256."""
    trace, instrument = result.trace, result.deployment.instrument if result.deployment else None
    first, last = _reading(trace.get("first")), _reading(trace.get("last"))
    return ReportedChain(
        instrument=instrument.name if instrument else result.get_origin_display(),
        serial=instrument.serial if instrument else "",
        channel=trace.get("channel", ""),
        first=first,
        last=last,
        lines=_lines(first, last),
        method=result.method,
        digest=result.digest,
    )


def _reading(said: dict[str, Any] | None) -> ChainReading | None:
    if not said:
        return None
    return ChainReading(
        file=said["file"],
        sha256=said["sha256"],
        line=said["line"],
        stamp=said["stamp"],
        stored=number(said["raw"]),
        corrected=number(said["value"]),
    )


def _lines(first: ChainReading | None, last: ChainReading | None) -> str:
    if first is None or last is None:
        return ""
    return lines((first.file, first.line), (last.file, last.line), same_file=first.sha256 == last.sha256)
