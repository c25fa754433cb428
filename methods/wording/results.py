"""A result in words and numbers: its value with the uncertainty, where, when, and on which lines it rests. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from methods.quantities.digits import as_entered, in_digits
from methods.wording.numbers import all_below, bound_texts, measured, plain, rounded_to

PER_MINUTE = 60.0
NO_VALUE = "no value"
OF_VISIT, LESS_OUTDOORS = "mean of the visit", "less the outdoor value"
#: Beside the verdict of what can only be compared with reservations, everywhere the same.
INDICATION = "an indication"
BEFORE_OUTDOORS = "before the outdoor value was taken off"
VISITED, PLANNED = "visited, but no reading was held that counts", "planned, not visited"


@dataclass(frozen=True, slots=True)
class MeasuredValue:
    """A value in ``unit``, None where there is none. expanded: its uncertainty U. lower, upper: the value with readings
    below detection at zero and at their limit, None where there were none. at_least: readings were over range."""

    value: float | None
    expanded: float | None
    unit: str
    lower: float | None = None
    upper: float | None = None
    at_least: bool = False


def in_full(said: MeasuredValue) -> str:
    """``0.123 ± 0.021 mg/m³``, and what readings below detection or over range leave open."""
    if said.value is None:
        return NO_VALUE
    return measured(said.value, said.expanded, said.unit, bounds=(said.lower, said.upper), at_least=said.at_least)


def number_text(said: MeasuredValue) -> str:
    """The value alone: ``0.123``; ``< 0.012`` all below detection; ``0.004 to 0.012`` partly; ``≥ 0.61`` over range."""
    if said.value is None:
        return NO_VALUE
    if said.at_least:
        return f"≥ {plain(said.value)}"
    if said.lower is not None and said.upper is not None:
        if all_below(said.lower, said.upper):
            return f"< {plain(said.upper)}"
        low, high = bound_texts(said.lower, said.upper, said.expanded)
        if low != high:
            return f"{low} to {high}"
    return rounded_to(said.value, said.expanded)[0] if said.expanded else plain(said.value)


def spread_text(said: MeasuredValue) -> str:
    """``± 0.021``, the expanded uncertainty; empty where there is none."""
    if said.value is None or not said.expanded or all_below(said.lower, said.upper):
        return ""
    return f"± {rounded_to(said.value, said.expanded)[1]}"


def statistic(*, of_visit: bool, less_outdoors: bool) -> str:
    """Where it is not simply what the limit asks for; else empty."""
    return ", ".join([*([OF_VISIT] if of_visit else []), *([LESS_OUTDOORS] if less_outdoors else [])])


def place(room: str, point: str) -> str:
    """``Office 1.02, centre``; outdoors, where there is no room, the point alone."""
    return ", ".join(part for part in (room, point) if part)


def interval(seconds: float | None) -> str:
    """``5 s``, ``2 min``; empty where nobody knows."""
    if not seconds:
        return ""
    seconds = float(in_digits(seconds)) if seconds >= 1 else seconds  # a clock that runs off makes a minute 59.997 s
    return f"{as_entered(seconds)} s" if seconds < PER_MINUTE else f"{in_digits(seconds / PER_MINUTE)} min"


def lines(first: tuple[str, int], last: tuple[str, int], *, same_file: bool) -> str:
    """Where readings stand: ``lines 3 to 92``. ``first``, ``last``: file and line of each."""
    (file, line), (last_file, last_line) = first, last
    if not same_file:
        return f"line {line} of {file} to line {last_line} of {last_file}"
    return f"line {line}" if line == last_line else f"lines {line} to {last_line}"


def fraction(value: float) -> str:
    """Of the limit: ``0.37``."""
    return f"{value:.2f}"


def extremes(low: float, mean: float, high: float, unit: str, *, digits: int) -> str:
    """``20.8 to 22.1 °C, mean 21.4``"""
    return f"{low:.{digits}f} to {high:.{digits}f} {unit}, mean {mean:.{digits}f}"


def lowest(value: float, *, below: bool) -> str:
    """Of readings; ``below``: it is a detection limit, and the true value is under it."""
    return f"{'< ' if below else ''}{plain(value)}"


def highest(value: float, *, over: bool) -> str:
    """Of readings; ``over``: it is the end of the range, and the true value may be higher."""
    return f"{'≥ ' if over else ''}{plain(value)}"


def measuring_range(low: float, high: float) -> str:
    """Of an instrument, in its unit."""
    return f"{as_entered(low)} to {as_entered(high)}"
