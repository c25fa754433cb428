"""Results as cells print them."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from methods.uncertainty.budget import COVERAGE_FACTOR
from methods.verdicts import Verdict
from methods.wording.numbers import all_below, bound_texts, plain, probability, rounded_to, span
from reports.models import Result

#: Keeps a value and its uncertainty on one line.
NO_BREAK = "\N{NO-BREAK SPACE}"


def number(result: Result) -> str:
    """The value alone: ``0.123``; ``< 0.012`` all below detection; ``0.004 to 0.012`` partly; ``≥ 0.61`` over range."""
    if result.value is None:
        return "no value"
    lower, upper = result.trace.get("lower"), result.trace.get("upper")
    if result.trace.get("is_lower_bound"):
        return f"≥ {plain(result.value)}"
    if lower is not None and upper is not None:
        if all_below(lower, upper):
            return f"< {plain(upper)}"
        low, high = bound_texts(lower, upper, result.u)
        if low != high:
            return f"{low} to {high}"
    return rounded_to(result.value, COVERAGE_FACTOR * result.u)[0] if result.u else plain(result.value)


def spread(result: Result) -> str:
    """``± 0.021``, the expanded uncertainty; empty where there is none."""
    if result.value is None or not result.u or all_below(result.trace.get("lower"), result.trace.get("upper")):
        return ""
    return f"± {rounded_to(result.value, COVERAGE_FACTOR * result.u)[1]}"


def value_cell(result: Result, url: str = "") -> dict[str, Any]:
    """For ``parts/table.html``: number, unit, and the uncertainty under it."""
    unit = result.unit if result.value is not None else ""
    text = f"{number(result)} {spread(result)}".strip()
    return {"text": text.replace(" ", NO_BREAK), "unit": unit, "url": url}


def fraction_cell(result: Result, fraction: float | None) -> Any:
    """The bar with the interval of ± U; nothing where a comparison would mean nothing."""
    if fraction is None or not result.value or result.verdict == Verdict.NOT_COMPARABLE:
        return "–"
    per_unit = fraction / result.value
    reach = COVERAGE_FACTOR * (result.u or 0.0) * per_unit
    lower, upper = result.trace.get("lower"), result.trace.get("upper")
    low = fraction if lower is None else lower * per_unit
    high = fraction if upper is None else upper * per_unit
    return {"fraction": fraction, "low": low - reach, "high": high + reach}


def verdict_cell(result: Result) -> dict[str, Any]:
    return {"verdict": result.verdict, "said": result.trace.get("words", "")}


def taken_with(result: Result) -> str:
    """The instruments of the stay; of a result without one, what it was taken with instead."""
    return result.trace.get("instrument", "") if result.deployment_id else result.get_origin_display()


def probability_text(result: Result) -> str:
    return "–" if result.p_above is None else probability(result.p_above)


def window_text(result: Result, zone: ZoneInfo) -> str:
    if result.window_start is None or result.window_end is None:
        return "–"
    return span(result.window_start, result.window_end, zone)


def moment_text(moment: datetime, zone: ZoneInfo) -> str:
    """``15 Sep 2026 10:12`` on the clock of the site."""
    local = moment.astimezone(zone)
    return f"{local.day} {local:%b %Y %H:%M}"


def why(result: Result) -> str:
    """The reason that governs what may be compared, in words."""
    return str(result.reasons[0]["words"]) if result.reasons else ""
