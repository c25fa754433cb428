"""The chain of one reading in words and numbers, so that a second professional can retrace it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from methods.correction.chain import Corrected
from methods.correction.drift import Period, periods
from methods.correction.facts import Kind
from methods.quantities.flags import words


@dataclass(frozen=True, slots=True)
class Input:
    """A named number that entered a step; ``at_utc_ms`` where it belongs to a moment (pages show local time)."""

    name: str
    value: float
    at_utc_ms: int | None = None


@dataclass(frozen=True, slots=True)
class ChainStep:
    """One link of the chain. ``output`` is in the channel's unit, None where there is no value."""

    name: str
    formula: str
    inputs: tuple[Input, ...]
    output: float | None
    note: str = ""


def explain_reading(corrected: Corrected, index: int) -> list[ChainStep]:
    """Stored value, air pressure where it counts, zero, span, calibration, flags: each step's output is the next one's
    first input."""
    at = int(corrected.utc_ms[index])
    period = _period_at(corrected, at)
    raw, zero, span = (float(array[index]) for array in (corrected.raw, corrected.zero, corrected.span))
    slope, intercept = float(corrected.slope[index]), float(corrected.intercept[index])
    value = float(corrected.value[index])
    line_from = period.line.valid_from_utc_ms if period.calibrated else None
    flagged = words(int(corrected.flags[index]))
    shown = raw * corrected.chain.factor
    before = "value" if corrected.chain.factor_said else "stored value"
    less_zero, over_span = shown - zero, (shown - zero) / span
    return [
        ChainStep("stored", "as the logger stored it", (), _number(raw), "" if raw == raw else "no value"),
        *_thinned(corrected, raw),
        ChainStep("zero", f"{before} − zero", (Input(before, shown), *_checked(period, "zero", at, zero)),
             _number(less_zero), _held(period, "zero", at)),
        ChainStep("span", "value ÷ span factor", (Input("value", less_zero), *_checked(period, "span", at, span)),
             _number(over_span), _held(period, "span", at)),
        ChainStep("calibration", "slope × value + intercept",
             (Input("value", over_span), Input("slope", slope, line_from), Input("intercept", intercept, line_from)),
             _number(value), "" if period.calibrated else "no calibration on record at this time: left as it is"),
        ChainStep("flags", "what is said against it", (), _number(value), "; ".join(flagged) or "nothing"),
    ]  # fmt: skip


def _thinned(corrected: Corrected, raw: float) -> list[ChainStep]:
    """The step of air pressure, where the channel answers to it."""
    chain = corrected.chain
    if not chain.factor_said:
        return []
    inputs = Input("stored value", raw), Input("factor", chain.factor)
    return [ChainStep("air pressure", "stored value × factor", inputs, _number(raw * chain.factor), chain.factor_said)]


def _period_at(corrected: Corrected, at: int) -> Period:
    return [period for period in periods(corrected.chain) if period.line.valid_from_utc_ms <= at][-1]


def _number(value: float) -> float | None:
    return value if np.isfinite(value) else None


def _checked(period: Period, kind: Kind, at: int, value: float) -> tuple[Input, ...]:
    """The value in force, and the one or two checks it comes from."""
    name = "zero" if kind == "zero" else "span factor"
    series = period.of(kind)
    inputs = [Input(name, value)]
    if series.at.size:
        before, after = (int(side[0]) for side in series.around(np.array([at], dtype=np.int64)))
        inputs += [
            Input(f"{name} by the check", float(series.values[i]), int(series.at[i])) for i in sorted({before, after})
        ]
    return tuple(inputs)


def _held(period: Period, kind: Kind, at: int) -> str:
    series = period.of(kind)
    if series.at.size == 0:
        return f"no {kind} check: left as it is"
    if at > series.at[-1]:
        return f"no {kind} check after this reading: the last one is held"
    if at < series.at[0]:
        return f"no {kind} check before this reading: the first one is held"
    return "" if at in series.at else f"in a straight line between the {kind} checks before and after"
