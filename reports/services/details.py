"""What a result page tells of a number beside the number: coverage and gaps, blocks, shift, ceiling, rounding."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from methods.averages import Ceiling, Series, ShiftTwa, block_means, daily_shift_factor
from methods.averages.windows import Window
from methods.limits.model import Averaging, LimitDefinition, Rounding
from methods.quantities.digits import as_entered, in_digits
from methods.quantities.durations import MINUTE_MS
from methods.quantities.moments import utc_moment
from methods.verdicts import as_compared
from methods.wording.numbers import length, plain
from reports.services.sampling_periods import SamplingPeriod

Detail = tuple[str, str]


@dataclass(frozen=True, slots=True)
class WindowFound:
    """The statistic a limit asks for.

    ``window``: what it rests on, its mean as measured; ``weight``: what a shift makes of the mean; ``shift``, ``top``
    where the limit is for a shift, or for single readings; ``day``: where it is for the readings of a day, which day
    and which visits, in words; ``in_use``: where only the time of use counts; ``is_context``: the data cannot give
    what is asked for.
    """

    window: Window
    weight: float = 1.0
    shift: ShiftTwa | None = None
    top: Ceiling | None = None
    day: str = ""
    is_context: bool = False
    in_use: bool = False


def details(stay: SamplingPeriod, series: Series, limit: LimitDefinition, asked_window: WindowFound) -> list[Detail]:
    """(name, words), in the order in which a reader asks."""
    return [
        *_together(stay),
        (
            "Covered",
            _covered_in_use(asked_window.window) if asked_window.in_use else _covered(series, asked_window.window),
        ),
        *_shift(asked_window, limit),
        *([("Readings of the day", asked_window.day)] if asked_window.day else []),
        *([] if asked_window.in_use else _blocks(series, limit)),
        *_ceiling(asked_window, limit),
        *_rounded(asked_window, limit),
    ]


def _together(stay: SamplingPeriod) -> Iterator[Detail]:
    if len(stay.parts) < 2:
        return
    there = [
        f"{part.deployment.instrument} from {utc_moment(int(part.utc_ms[0])):%Y-%m-%d %H:%M} UTC" for part in stay.parts
    ]
    yield "One stay", f"{len(there)} consecutive deployments at this point taken together: {', '.join(there)}"


def _covered(series: Series, window: Window) -> str:
    gaps = gaps_in(series, window)
    said = f"{length(window.covered_minutes)} of {length(window.minutes)}, by {window.n} readings"
    if not gaps:
        return f"{said}; no gap"
    word = "gap that is" if len(gaps) == 1 else "gaps that are"
    return f"{said}; {len(gaps)} {word} not bridged, the longest {length(max(gaps))}"


def _covered_in_use(window: Window) -> str:
    """Between two times of use is no gap."""
    return f"{length(window.covered_minutes)} of {length(window.minutes)} in use, by {window.n} readings"


def gaps_in(series: Series, window: Window) -> list[float]:
    """Minutes of each stretch of the window that no usable reading stands for; shorter than an interval is none."""
    times = series.times
    first = int(times.hi.searchsorted(window.start_ms, side="right"))
    last = int(times.lo.searchsorted(window.end_ms, side="left"))
    if first >= last:
        return [window.minutes]
    free = times.lo[first + 1 : last] - times.hi[first : last - 1]
    edges = int(times.lo[first]) - window.start_ms, window.end_ms - int(times.hi[last - 1])
    gaps = [edges[0], *free[free >= series.interval_ms].tolist(), edges[1]]
    return [ms / MINUTE_MS for ms in gaps if ms >= series.interval_ms]


def _shift(asked_window: WindowFound, limit: LimitDefinition) -> Iterator[Detail]:
    twa = asked_window.shift
    if twa is None:
        return
    hours, reference = f"{in_digits(twa.shift_minutes / 60)} h", as_entered(twa.reference_hours)
    yield (
        "Shift",
        f"{hours} long, weighted to {reference} h (E = Σ C·T / {reference} h); measured for "
        f"{length(min(twa.sampled_minutes, twa.shift_minutes))}, where the mean was "
        f"{plain(twa.window.mean)} {limit.unit}",
    )
    yield "Assumed", twa.assumption
    if limit.upper is not None and twa.shift_minutes > 60 * twa.reference_hours:
        factor = daily_shift_factor(twa.shift_minutes / 60)
        yield (
            "Longer day",
            f"a shift of {hours} leaves less time to recover. By the factor of Brief and Scala, {in_digits(factor)}, "
            f"the limit for its mean would be {plain(factor * limit.upper)} {limit.unit}; the verdict does not use it",
        )


def _blocks(series: Series, limit: LimitDefinition) -> Iterator[Detail]:
    """Fixed blocks beside the worst rolling window: they are how many laboratories report."""
    minutes = limit.averaging_minutes
    if limit.averaging not in (Averaging.ROLLING_MEAN, Averaging.SAMPLE_MEAN) or not minutes:
        return
    means = block_means(series, minutes).tolist() if minutes <= series.minutes else []
    if means:
        count = "1 block" if len(means) == 1 else f"{len(means)} blocks"
        between = f"{plain(min(means))} to {plain(max(means))}" if len(means) > 1 else plain(means[0])
        yield "In fixed blocks", f"{count} of {length(minutes)} from the start of the visit: {between} {limit.unit}"


def _ceiling(asked_window: WindowFound, limit: LimitDefinition) -> Iterator[Detail]:
    if asked_window.top is not None:
        name = "Ceiling" if limit.averaging is Averaging.CEILING else "Single readings"
        yield name, asked_window.top.words.replace(" at this", f" {limit.unit} at this", 1)


ROUNDED = {Rounding.HALF_UP: "rounded half up", Rounding.TRUNCATE: "cut off"}


def _rounded(asked_window: WindowFound, limit: LimitDefinition) -> Iterator[Detail]:
    if limit.rounding in ROUNDED:
        x = asked_window.window.mean * asked_window.weight
        how = f"{ROUNDED[limit.rounding]} to {limit.rounding_digits} decimals, as its document says"
        yield "Compared as", f"{as_compared(limit, x):.{limit.rounding_digits or 0}f} {limit.unit}: {how}"
