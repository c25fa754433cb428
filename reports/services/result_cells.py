"""Results as cells print them."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from methods.verdicts import Verdict
from methods.wording.numbers import probability
from methods.wording.results import number_text, spread_text
from reports.models import Result
from reports.services.result_values import indication_of, measured_value, when

#: Keeps a value and its uncertainty on one line.
NO_BREAK = "\N{NO-BREAK SPACE}"


def number(result: Result) -> str:
    """The value alone, with what readings below detection or over range leave open."""
    return number_text(measured_value(result))


def spread(result: Result) -> str:
    """``± 0.021``, the expanded uncertainty; empty where there is none."""
    return spread_text(measured_value(result))


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
    reach = (result.expanded or 0.0) * per_unit
    lower, upper = result.traced.lower, result.traced.upper
    low = fraction if lower is None else lower * per_unit
    high = fraction if upper is None else upper * per_unit
    return {"fraction": fraction, "low": low - reach, "high": high + reach}


def verdict_cell(result: Result, note: str = "") -> dict[str, Any]:
    """``note``: what else stands under it, beside that it is only an indication."""
    beside = ", ".join(said for said in (indication_of(result), note) if said)
    return {"verdict": result.verdict, "said": result.traced.words, "note": beside}


def taken_with(result: Result) -> str:
    """The instruments of the stay; of a result without one, what it was taken with instead."""
    return result.traced.instrument if result.deployment_id else result.get_origin_display()


def probability_text(result: Result) -> str:
    return "–" if result.p_above is None else probability(result.p_above)


def window_text(result: Result, zone: ZoneInfo) -> str:
    return when(result, zone) or "–"


def moment_text(moment: datetime, zone: ZoneInfo) -> str:
    """``15 Sep 2026 10:12`` on the clock of the site."""
    local = moment.astimezone(zone)
    return f"{local.day} {local:%b %Y %H:%M}"


def why(result: Result) -> str:
    """The reason that governs what may be compared, in words."""
    return result.stated_reasons[0].words if result.stated_reasons else ""
