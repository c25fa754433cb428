"""What a report takes from a result's trace, its reasons and its budget: read here and nowhere else in freezing."""

from __future__ import annotations

from methods.verdicts.comparability import CHECK_ACCEPTED, ComparabilityState
from methods.wording.numbers import sentence_case
from methods.wording.results import BEFORE_OUTDOORS, lines
from reports.content.canonical import number
from reports.content.findings import ChainReading, ReportedBudgetPart, ReportedChain, ReportedOutdoor
from reports.models import Result
from reports.trace import OutdoorMissing, SourceReading


def deployment_keys(result: Result) -> list[str]:
    """Keys of the consecutive deployments that the result rests on."""
    own = (str(result.deployment.key),) if result.deployment else ()
    return list(result.traced.deployments or own)


def met(result: Result) -> bool | None:
    """Whether the limit is met; None while undecided or not comparable."""
    return result.traced.is_met


def edge(result: Result) -> float | None:
    """The end of the limit that it was compared with, in the result's unit."""
    return number(result.traced.edge)


def interval_s(result: Result) -> float | None:
    """Between readings, seconds; None where nobody knows."""
    return result.traced.interval_s or None


def place_kind(result: Result) -> str:
    return result.traced.place


def unit_text(result: Result) -> str:
    return result.traced.unit or result.unit


def assumptions(result: Result) -> tuple[str, ...]:
    return tuple(f"{sentence_case(said)}." for said in result.traced.said)


def details(result: Result) -> tuple[tuple[str, str], ...]:
    return result.traced.details


def reasons(result: Result, usual: str) -> tuple[str, ...]:
    """Why it is as it is. Where nothing stands in the way of comparing, how the limit is compared is not repeated."""
    known = {usual} if result.comparability == ComparabilityState.YES.word else set()
    return tuple(
        reason.words for reason in result.stated_reasons if reason.code != "accepted" and reason.words not in known
    )


def accepted(result: Result) -> str:
    """Which failed checks behind it a person accepted, and why; "" where none was."""
    return " ".join(reason.words for reason in result.stated_reasons if reason.code == CHECK_ACCEPTED)


def budget(result: Result) -> tuple[ReportedBudgetPart, ...]:
    return tuple(
        ReportedBudgetPart(part.name, number(part.u), number(part.share), part.source, part.missing)
        for part in result.budget_parts
    )


# --- outdoors ---------------------------------------------------------------------------------------------------------


def outdoor(result: Result) -> ReportedOutdoor | None:
    """The outdoor air that goes with it: what was taken off or set beside."""
    compared = result.traced.compared
    if compared is None:
        return None
    return ReportedOutdoor(
        value=number(compared.value),
        u=number(compared.u),
        text=compared.text,
        words=compared.words,
        difference=compared.difference_text,
        ratio=compared.ratio_text,
        taken_off=compared.taken_off,
    )


def outdoor_missing(result: Result) -> str:
    """Why there is none; "" where nobody asked for one."""
    beside = result.traced.outdoor
    return beside.missing if isinstance(beside, OutdoorMissing) else ""


def as_measured(result: Result, text: str) -> tuple[float | None, str]:
    """The value before an outdoor value was taken off, and in words. ``text``: of the result itself."""
    taken_off = result.traced.taken_off
    if taken_off is not None:
        return taken_off.indoor, f"{taken_off.indoor_text}, {BEFORE_OUTDOORS}"
    return result.value, text


# --- down to the file -------------------------------------------------------------------------------------------------


def chain(result: Result) -> ReportedChain:
    """From the result to the lines of the original file, by serial number and SHA-256."""
    trace, instrument = result.traced, result.deployment.instrument if result.deployment else None
    first, last = _reading(trace.first), _reading(trace.last)
    return ReportedChain(
        instrument=instrument.name if instrument else result.get_origin_display(),
        serial=instrument.serial if instrument else "",
        channel=trace.channel,
        first=first,
        last=last,
        lines=_lines(first, last),
        method=result.method,
        digest=result.digest,
    )


def _reading(source: SourceReading | None) -> ChainReading | None:
    if source is None:
        return None
    return ChainReading(
        file=source.file,
        sha256=source.sha256,
        line=source.line,
        stamp=source.stamp,
        stored=number(source.raw),
        corrected=number(source.value),
    )


def _lines(first: ChainReading | None, last: ChainReading | None) -> str:
    if first is None or last is None:
        return ""
    return lines((first.file, first.line), (last.file, last.line), same_file=first.sha256 == last.sha256)
