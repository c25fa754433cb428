"""From a log file to a verdict in a few lines, for a notebook or a script: docs/methods-as-a-library.md.

The app goes the same way through the same functions, and has more to go by: deployments, clock checks, the climate
beside the meter, outdoor air. What is left out here is left out in the open: the whole file counts as one visit, and
without a ``clock`` and a ``chain`` its stamps are UTC and its values what the meter showed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import numpy.typing as npt

from methods.averages import Series, Window, worst_window
from methods.clock import Basis, ClockModel
from methods.correction import Chain, correct
from methods.limits.model import Bound, LimitDefinition
from methods.logs import Column, Layout, LogProblem, Unreadable, read, understand
from methods.placing import typical_interval_ms
from methods.quantities.flags import Flag
from methods.quantities.moments import utc_moment
from methods.quantities.units import Reference, convert
from methods.uncertainty.budget import Budget, budget, coverage_part, noise_part, scatter
from methods.uncertainty.noise import Noise, noise_of
from methods.uncertainty.worst_of_many import choice, rivals_within
from methods.verdicts import ChannelAbilities, Estimate, Judgement, Levels, judge
from methods.verdicts.comparability import comparable, data_of
from methods.wording.numbers import measured, span

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]

IN_UTC = ClockModel(Basis.utc())
AS_SHOWN = Chain()
_UTC = ZoneInfo("UTC")


@dataclass(frozen=True, eq=False)
class WholeLog:
    """A log read whole: ``stamps_ms`` (n,) of the logger's own clock, in the order of the file; ``values`` (n, k) and
    ``flags`` (n, k) of the columns ``layout.values``; ``problems``: what was wrong at which line."""

    layout: Layout
    stamps_ms: Ints
    values: Floats
    flags: npt.NDArray[np.int16]
    problems: tuple[LogProblem, ...]

    def series(
        self,
        parameter: str,
        unit: str = "",
        *,
        clock: ClockModel = IN_UTC,
        chain: Chain = AS_SHOWN,
        reference: Reference | None = None,
    ) -> Series:
        """One parameter's readings as moments, placed on the ``clock``, corrected by the ``chain``, flagged, in
        ``unit`` (the file's own if none is given).

        ``chain`` is in the file's unit. ``reference`` is where a mass concentration counts its air: 25 °C and
        101.325 kPa if not given. KeyError for a parameter the log does not have, ValueError for fewer than two
        readings, ``methods.quantities.units.NotConvertible`` for units that do not go together.
        """
        k, column = self._column(parameter)
        there = np.isfinite(self.values[:, k]) | (self.flags[:, k] != 0)
        utc, doubtful = clock.to_utc(self.stamps_ms[there])
        order = np.argsort(utc, kind="stable")
        utc = utc[order]
        interval = typical_interval_ms(utc)
        if interval is None:
            raise ValueError(f"The log holds too few readings of {parameter} to show a logging interval.")
        chain = replace(chain, facts=replace(chain.facts, interval_s=interval / 1000))
        flags = self.flags[there, k][order] | doubtful[order]
        corrected = correct(utc, self.values[there, k][order], chain, flags=flags)
        shown, at = _unit(column), reference or Reference()
        value = _raised(corrected.value, corrected.flags, chain)
        return Series(
            utc_ms=utc,
            value=convert(value, parameter, shown, unit or shown, at, at),
            flags=corrected.flags.astype(np.int16),
            interval_ms=interval,
            start_ms=int(utc[0]) - interval // 2,
            end_ms=int(utc[-1]) + interval // 2,
        )

    def _column(self, parameter: str) -> tuple[int, Column]:
        for k, column in enumerate(self.layout.values):
            if column.parameter == parameter:
                return k, column
        raise KeyError(parameter)


def _unit(column: Column) -> str:
    assert column.unit is not None  # a layout with open questions is not read
    return column.unit


def _raised(values: Floats, flags: npt.NDArray[np.int32], chain: Chain) -> Floats:
    """A number shown under the detection limit is no more than "<" it."""
    limit = chain.facts.detection_limit
    if limit is None:
        return values
    return np.where((flags & int(Flag.BELOW_DETECTION)) != 0, np.maximum(values, limit), values)


def read_log(path: Path | str, layout: Layout | None = None) -> WholeLog:
    """The log at ``path``, read whole by ``layout``, or as it is understood by itself.

    Raises ``methods.logs.Unreadable``, whose problems say why, for what is no log and for one that leaves a question
    open (``methods.logs.understand`` asks it, and gives the layout to answer it in).
    """
    path = Path(path)
    if layout is None:
        found = understand(path, name=path.name)
        if found.layout is None:
            raise Unreadable(*found.problems)
        if found.questions:
            raise Unreadable(*(LogProblem(0, "", "", asked.code, asked.message) for asked in found.questions))
        layout = found.layout
    chunks = list(read(path, layout))
    return WholeLog(
        layout,
        np.concatenate([chunk.stamps for chunk in chunks]),
        np.concatenate([chunk.values for chunk in chunks]),
        np.concatenate([chunk.flags for chunk in chunks]),
        tuple(problem for chunk in chunks for problem in chunk.problems),
    )


@dataclass(frozen=True)
class WorstMean:
    """The worst mean over a limit's averaging time: the window, the estimate with its budget, and the judgement."""

    limit: LimitDefinition
    window: Window
    estimate: Estimate
    judgement: Judgement

    def __str__(self) -> str:
        bounds = self.estimate.lower, self.estimate.upper
        expanded, open_above = self.estimate.expanded, self.estimate.is_lower_bound
        value = measured(self.estimate.value, expanded, self.limit.unit, bounds=bounds, at_least=open_above)
        when = span(utc_moment(self.window.start_ms), utc_moment(self.window.end_ms), _UTC)
        return f"{value}, {when} UTC: {self.judgement.words} ({self.limit.value_text()})"


def worst_mean(
    series: Series, limit: LimitDefinition, meter: ChannelAbilities, levels: Levels | None = None, **facts: Any
) -> WorstMean:
    """The worst mean of ``series`` over the averaging time of ``limit``, with its uncertainty and the verdict.

    ``series`` and ``meter`` are in the limit's unit, the parts of ``meter`` standard uncertainties; where its noise is
    not stated, the readings show it. ``facts`` are fields of ``methods.verdicts.comparability.Data``, such as
    ``t90_s`` or ``place``. ValueError, with words for people, where the readings have no such mean.
    """
    comparison = comparable(limit, data_of(series, limit, **facts))
    minutes = limit.averaging_minutes
    if minutes is None:
        raise ValueError(f"The limit states no averaging time: {limit.text()}.")
    noise = noise_of(
        series,
        step=meter.resolution or 0.0,
        t90_s=facts.get("t90_s"),
        repeatability=meter.noise,
        detection_limit=meter.detection_limit,
    )
    lowest = limit.bound is Bound.LOWER
    window = worst_window(series, minutes, lowest=lowest, within=rivals_within(noise, series, minutes))
    if window is None:
        raise ValueError(comparison.words)
    chosen = choice(noise, window.n, *window.rivals).times(-1.0 if lowest else 1.0)
    estimate = Estimate.of(window, _budget(series, window, meter, noise), chosen)
    return WorstMean(limit, window, estimate, judge(estimate, limit, levels, comparison))


def _budget(series: Series, window: Window, meter: ChannelAbilities, noise: Noise) -> Budget:
    inside = slice(window.first, window.last + 1)
    counts = series.usable[inside]
    spread = scatter(series.value[inside][counts], series.flags[inside][counts])
    return budget(
        window.mean,
        (noise_part(noise, spread), coverage_part(window.coverage, spread)),
        resolution=meter.resolution,
        zero_u=meter.zero_u,
        span_u_rel=meter.span_u_rel,
        drift_u=meter.drift_u,
        span_drift_u_rel=meter.span_drift_u_rel,
        temperature_u=meter.temperature_u,
        interference_u=meter.interference_u,
    )
