"""The statistic a limit asks for, from the readings of one stay, with everything the page tells beside it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from campaigns.models import ChannelSpec
from campaigns.services.air_pressure import corrected_words, unsaid_words
from methods.averages import MIN_COVERAGE, Rivals, UnsampledTime, ceiling, shift_twa, whole, window, worst_window
from methods.averages.windows import Window
from methods.limits.model import Averaging, Bound, LimitDefinition, Occupied, OutdoorRule
from methods.quantities.durations import MINUTE_MS
from methods.quantities.moments import utc_moment
from methods.quantities.pressure import StationPressure
from methods.verdicts import Estimate
from methods.verdicts.comparability import Comparability, Data, Reason, comparable, data_of
from reports.services.circumstances import Circumstances, NoOutdoor, OutdoorValue
from reports.services.day_visits import DayTaken, DayVisits
from reports.services.details import Detail, WindowFound, details
from reports.services.estimates import Taken, above_outdoor, estimate_of
from reports.services.failed_checks import FailedChecks, failed_checks
from reports.services.indoor_outdoor import contrast
from reports.services.sampling_periods import SamplingPeriod
from reports.services.time_of_use import InUse, is_mean_in_use, outdoor_in_use
from reports.trace import NOT_ASKED, OutdoorBeside, OutdoorComparison, OutdoorMissing

#: Judged at the worst window of their length; a log longer than a shift holds many shifts, of which the worst counts.
WINDOWED = (Averaging.ROLLING_MEAN, Averaging.SAMPLE_MEAN, Averaging.LONG_TERM_MEAN, Averaging.SHIFT_TWA)


@dataclass(frozen=True)
class StayMeasured:
    """What one stay says in the terms of one limit. ``estimate`` is None where no reading counts.

    ``is_context``: the data cannot give the statistic the limit asks for, so it is the mean of all readings.
    ``outdoor``: how it stands to the outdoor air, or why there is none. ``details``: (name, words) for the page.
    """

    taken: Taken
    comparability: Comparability
    window: Window | None = None
    estimate: Estimate | None = None
    said: tuple[str, ...] = ()
    is_context: bool = False
    outdoor: OutdoorBeside = NOT_ASKED
    details: tuple[Detail, ...] = ()


def measure(stay: SamplingPeriod, limit: LimitDefinition, around: Circumstances, days: DayVisits) -> list[StayMeasured]:
    """The statistic the limit asks for; where the data cannot give it, the mean of all readings as context.

    ``days``: what other visits say of the days of this one. A range asks for two, the highest and the lowest: a room
    may be too warm in the afternoon and too cold at night. Empty where the stay has no time in it. Raises
    methods.quantities.units.NotConvertible (words for people).
    """
    taken = Taken.of(stay, limit)
    if taken is None:
        return []
    return [_measured(taken, limit, around, days, lowest) for lowest in _ends(limit)]


def _ends(limit: LimitDefinition) -> tuple[bool, ...]:
    """Whether the lowest statistic is asked for, the highest, or both."""
    is_mean_of_all = is_mean_in_use(limit) and limit.occupied is not Occupied.DAY
    if is_mean_of_all or limit.averaging not in (*WINDOWED, Averaging.CEILING, Averaging.SPOT, Averaging.DAY_READINGS):
        return (False,)  # the mean of everything is the same at both ends
    return {Bound.UPPER: (False,), Bound.LOWER: (True,), Bound.RANGE: (False, True)}[limit.bound]


def _measured(
    taken: Taken, limit: LimitDefinition, around: Circumstances, days: DayVisits, lowest: bool
) -> StayMeasured:
    use = InUse.of(taken, limit, around.use)
    day = days.worst(taken, limit, lowest=lowest) if limit.averaging is Averaging.DAY_READINGS else None
    if day is None:
        asked_window = asked_for(taken, limit, around, use, lowest=lowest)
    else:
        asked_window = WindowFound(day.own.mean.window, day=day.words(days.zone, limit.unit))
    if asked_window is None:
        return StayMeasured(taken, comparable(limit, _data(taken, limit, around, use=use)))
    if use is not None and asked_window.in_use:
        taken = use.taken
    window = asked_window.window
    estimate = _estimate(taken, asked_window, lowest=lowest) if day is None else day.estimate
    outdoor = _outdoor(around, limit, window, use if asked_window.in_use else None)
    said = [*taken.said, *_pressure(taken.stay, around, corrected_words), *_assumed(asked_window, around)]
    beside = _beside(estimate, outdoor, limit)
    if isinstance(outdoor, OutdoorValue) and isinstance(beside, OutdoorComparison) and beside.taken_off:
        said.append(f"the outdoor value was taken off: {beside.text}, {outdoor.words}")
        estimate = above_outdoor(estimate, outdoor)
    return StayMeasured(
        taken=taken,
        comparability=_with_pressure(
            comparable(limit, _data(taken, limit, around, outdoor, day, window, use)), taken.stay, around
        ),
        window=window,
        estimate=estimate,
        said=tuple(said),
        is_context=asked_window.is_context,
        outdoor=beside,
        details=(
            *details(taken.stay, taken.series, limit, asked_window),
            *(use.details(limit, outdoor) if use is not None else ()),
        ),
    )


def _beside(estimate: Estimate, outdoor: OutdoorValue | NoOutdoor | None, limit: LimitDefinition) -> OutdoorBeside:
    if outdoor is None:
        return NOT_ASKED
    if isinstance(outdoor, NoOutdoor):
        return OutdoorMissing(outdoor.words)
    return contrast(estimate, outdoor, limit.unit, taken_off=limit.outdoor_rule is not OutdoorRule.ABSOLUTE)


def _outdoor(
    around: Circumstances, limit: LimitDefinition, window: Window, use: InUse | None
) -> OutdoorValue | NoOutdoor | None:
    """Of the window; of a mean over several times of use, of those alone."""
    if around.outdoor_at is None:
        return None
    if use is None or not window.out_of_use_ms or limit.occupied is Occupied.DAY:
        return around.outdoor_at(limit, window.start_ms, window.end_ms)
    return outdoor_in_use(around.outdoor_at, limit, use.days_within(window.start_ms, window.end_ms))


def _pressure(
    stay: SamplingPeriod, around: Circumstances, words: Callable[[ChannelSpec, StationPressure], str]
) -> list[str]:
    """What is to be said of the channels of a stay, each once."""
    said = (words(part.channel.spec, around.pressure) for part in stay.parts)
    return [text for text in dict.fromkeys(said) if text]


def pressure_unsaid(stay: SamplingPeriod, around: Circumstances) -> list[str]:
    """How far off a stay may be, because nobody said what its channels answer to; empty by the sea."""
    return _pressure(stay, around, unsaid_words)


def _with_pressure(comparison: Comparability, stay: SamplingPeriod, around: Circumstances) -> Comparability:
    notes = tuple(Reason("pressure_unsaid", words) for words in pressure_unsaid(stay, around))
    return replace(comparison, notes=(*comparison.notes, *notes)) if notes else comparison


def _estimate(taken: Taken, asked_window: WindowFound, *, lowest: bool) -> Estimate:
    shift = asked_window.shift
    covered = None if shift is None or shift.unsampled is UnsampledTime.AS_SAMPLED else 1.0
    return estimate_of(taken, asked_window.window, asked_window.weight, covered=covered, lowest=lowest)


def _assumed(asked_window: WindowFound, around: Circumstances) -> Iterator[str]:
    if asked_window.is_context:
        yield "the mean of all readings of this visit, as context"
    if asked_window.in_use and around.use:
        yield f"only the time of use counts: {around.use.words}"
    if asked_window.shift is not None:
        yield asked_window.shift.assumption
    if asked_window.day:
        yield f"the mean of the readings of a day, {asked_window.day}"
    if around.place:
        yield f"judged as this kind of place: {around.place.label.lower()}"
    if around.personal:
        yield "the instrument was worn by a person, as its exposure group says"


def _data(
    taken: Taken,
    limit: LimitDefinition,
    around: Circumstances,
    outdoor: OutdoorValue | NoOutdoor | None = None,
    day: DayTaken | None = None,
    measured_window: Window | None = None,
    use: InUse | None = None,
) -> Data:
    failed = FailedChecks()
    if day is not None:
        failed = failed_checks(
            stretch for v in day.visits for stretch in v.stay.stretches(v.mean.window.first, v.mean.window.last)
        )
    elif measured_window is not None:
        failed = failed_checks(taken.stay.stretches(measured_window.first, measured_window.last))
    if isinstance(outdoor, OutdoorValue) and limit.outdoor_rule is not OutdoorRule.ABSOLUTE:
        failed = failed.with_those_of(outdoor.failed)
    return data_of(
        taken.series if use is None else use.taken.series,
        limit,
        t90_s=taken.t90_s,
        outdoors=around.outdoors,
        place=around.scope,
        personal=around.personal,
        shift_minutes=around.shift_minutes,
        has_outdoor_value=isinstance(outdoor, OutdoorValue),
        outdoor_missing=outdoor.words if isinstance(outdoor, NoOutdoor) else "",
        on=utc_moment(taken.series.end_ms).date(),
        day=day.readings if day else None,
        failed_checks=" ".join(failed.unaccepted),
        accepted_checks=" ".join(failed.accepted),
        dead_checks=" ".join(failed.dead),
        type_data_only=around.type_data_only,
        zero_off=around.zero_off,
        in_use=use.told if use else None,
        clock=around.clock_reason(limit),
    )


def asked_for(
    taken: Taken, limit: LimitDefinition, around: Circumstances, use: InUse | None = None, *, lowest: bool
) -> WindowFound | None:
    """The statistic that the limit asks for; the mean of everything as context where the readings are too short for
    it, or where nobody knows which of them are of the time it is about; None where no reading counts.

    ``use``: what the time of use leaves of the stay, for a limit that is about it.
    """
    if limit.occupied is None:
        asked_window = _statistic(taken, limit, around, lowest=lowest)
    else:
        asked_window = None if use is None else _in_use(use, limit, around, lowest=lowest)
    if asked_window is not None:
        return asked_window
    context = whole(taken.series)
    return None if context is None else WindowFound(context, is_context=True)


def _in_use(use: InUse, limit: LimitDefinition, around: Circumstances, *, lowest: bool) -> WindowFound | None:
    if not is_mean_in_use(limit):
        found_in_use = _statistic(use.taken, limit, around, lowest=lowest)
        return None if found_in_use is None else replace(found_in_use, in_use=True)
    mean = use.asked_for(limit, lowest=lowest)
    return None if mean is None else WindowFound(mean, in_use=True)


def _statistic(taken: Taken, limit: LimitDefinition, around: Circumstances, *, lowest: bool) -> WindowFound | None:
    minutes, series = limit.averaging_minutes, taken.series
    if limit.averaging in (Averaging.CEILING, Averaging.SPOT):
        return _extreme(taken, lowest=lowest)
    if limit.averaging is Averaging.SHIFT_TWA:
        return _shift(taken, limit, around)
    if limit.averaging in WINDOWED and minutes:
        is_long_enough = minutes <= series.minutes
        worst = worst_window(series, minutes, lowest=lowest, within=taken.near(minutes)) if is_long_enough else None
        return None if worst is None else WindowFound(worst)
    all_of_it = whole(series)
    return None if all_of_it is None else WindowFound(all_of_it)


def _shift(taken: Taken, limit: LimitDefinition, around: Circumstances) -> WindowFound | None:
    """The worst shift of a longer stay; a shorter one is taken to begin the shift (T-01; M6)."""
    minutes, series = around.shift_minutes, taken.series
    start_ms, rivals = series.start_ms, Rivals()
    if minutes <= series.minutes:
        worst = worst_window(series, minutes, within=taken.near(minutes))
        if worst is None:
            return None
        start_ms, rivals = worst.start_ms, worst.rivals
    end_ms = start_ms + round(minutes * MINUTE_MS)
    hours = reference_minutes(limit.averaging_minutes, minutes) / 60
    twa = shift_twa(series, start_ms, end_ms, around.unsampled, hours)
    if twa is None or twa.sampled_minutes < MIN_COVERAGE * minutes:
        return None
    return WindowFound(
        replace(twa.window, rivals=rivals), weight=twa.value / twa.window.mean if twa.window.mean else 1.0, shift=twa
    )


def reference_minutes(limit_minutes: int | None, shift_minutes: float) -> float:
    """What a shift is weighted to. A limit for shifts of up to ten hours is weighted over the shift worked, as its
    notes say, but never to less than eight hours (project rule)."""
    return min(limit_minutes or 480, max(shift_minutes, 480))


def _extreme(taken: Taken, *, lowest: bool) -> WindowFound | None:
    """The highest or lowest single reading, as the interval it stands for."""
    series = taken.series
    top = ceiling(series, lowest=lowest, within=taken.near(series.interval_ms / MINUTE_MS))
    if top is None:
        return None
    # its own stretch, which reaches to both sides of a momentary value and lies before a mean stamped at its end
    k = int(np.searchsorted(series.cells.index, top.index))
    stretch = window(series, int(series.cells.lo[k]), int(series.cells.hi[k]))
    return None if stretch is None else WindowFound(replace(stretch, rivals=top.rivals), top=top)
