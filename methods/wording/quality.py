"""Quality control in words. Pure."""

from __future__ import annotations

from methods.quality.acceptance import QualityMeasure
from methods.quality.zero_runs import DetectionRule
from methods.quantities.digits import in_digits, percent
from methods.wording.numbers import plain, rounded_to, with_uncertainty

LATE = "set after measuring began"
USUAL = "common practice, no source"
#: What stands beside a word for what became of a measure; no colour, and none of the marks of findings.
MARKS = {"failed": "✕", "not_assessed": "–", "passed": "✓"}
RULES = {
    DetectionRule.SCATTER.value: "by the scatter of its readings (t₀.₉₉ · s)",
    DetectionRule.STEP.value: "one step of its display: the readings show less than that, and prove no less",
}
PROBLEM = "Both results stand here; neither is to be chosen. Find out which is wrong, or measure again."


def limit_words(measure: QualityMeasure, limit: float) -> str:
    return f"{measure.comparison} {in_digits(limit)} %"


def percent_words(share: float, *, signed: bool = False) -> str:
    """``12.3 %`` of a fraction; ``signed``: with a plus, too."""
    text = percent(share, 3)
    return f"+{text}" if signed and share > 0 else text


def apart_words(
    where: str, when: str, parameter: str, first: tuple[str, float, float], second: tuple[str, float, float], unit: str
) -> str:
    """``first`` and ``second``: name of the instrument, value and U in ``unit``."""
    each = " and ".join(f"{name} {with_uncertainty(value, u, unit)}" for name, value, u in (first, second))
    return f"{where}, {when}, {parameter}: {each} are further apart than both uncertainties allow. {PROBLEM}"


def failed_duplicate_words(
    where: str,
    when: str,
    parameter: str,
    first: tuple[str, float, float],
    second: tuple[str, float, float],
    unit: str,
    difference: str,
    limit: str,
) -> str:
    """As ``apart_words``, of two that fail the acceptance limit; ``difference`` and ``limit`` as printed."""
    each = " and ".join(f"{name} {with_uncertainty(value, u, unit)}" for name, value, u in (first, second))
    return (
        f"{where}, {when}, {parameter}: {each} differ by {difference}, which fails the acceptance limit of {limit}; "
        "both uncertainties together would allow it."
    )


def bias_words(bias: float, expanded: float, unit: str) -> str:
    """``+0.012 ± 0.004 ppm``"""
    number, spread = rounded_to(bias, expanded) if expanded > 0 else (plain(bias), "0")
    return f"{'+' if bias > 0 else ''}{number} ± {spread} {unit}"


def detection_words(meter: str, parameter: str, limit: float, unit: str, rule: str, makers: float | None) -> str:
    beside = f"; its maker states {in_digits(makers)} {unit}" if makers is not None else ""
    return f"{meter}, {parameter}: {in_digits(limit)} {unit}, {RULES[rule]}{beside}."


def both_limits(own: float, makers: float | None, unit: str) -> str:
    """The detection limit by a meter's own zero air beside the one its maker states; the larger one is judged."""
    said = f"{in_digits(own)} {unit} in its zero air"
    if makers is None:
        return f"{said}, its maker states none"
    larger = "the maker's counts" if makers > own else "its own counts"
    return f"{said}, its maker states {in_digits(makers)} {unit}: {larger}, as the larger"
