"""Which limit accepts which data: may this measurement be compared with that limit.

Method: docs/methods/comparability.md; T9, T10 and T11.

Pure. A limit says what it averages over and what a short campaign may claim (``methods.limits``); the data say how
long, how densely, where and with what they were taken. The weaker of the two decides.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from methods.averages import MIN_COVERAGE, MIN_READINGS, Series, best_coverage
from methods.limits.model import (
    Averaging,
    Claim,
    Comparable,
    LimitDefinition,
    OutdoorRule,
    PopulationScope,
    Status,
)
from methods.limits.reasons import REASONS
from methods.quantities.digits import in_digits
from methods.quantities.substances import SUBSTANCES
from methods.verdicts.in_use import TimeInUse, by_use
from methods.verdicts.rulings import ComparabilityState, Reason, Ruling

__all__ = ["Comparability", "ComparabilityState", "Data", "ReadingsOfDay", "Reason", "comparable", "data_of"]

#: docs/methods/comparability.md: up to a fifth of the window the mean is a mean; up to a third it is an indication.
FULL_SHARE, INDICATIVE_SHARE = 5, 3
#: T9: a ceiling may be watched with one-minute logging; with nine minutes not.
CEILING_INTERVAL_S = 60.0
#: T9, an engineering rule: a 15-minute mean needs a sensor that settles within about two minutes.
SHORT_WINDOW_MINUTES, SHORT_WINDOW_T90_S = 15, 120.0
DAY_MINUTES = 24 * 60
#: T9: radon needs three months at least (V in the guidelines reference: Canada, 3 to 12 months).
RADON_MINUTES = 90 * DAY_MINUTES
YEAR_MINUTES = 365 * DAY_MINUTES
#: Project rules, no source: the mean of the readings of a day needs two, and says what it should where they lie two
#: hours apart at least and twelve at most.
MIN_DAY_READINGS, DAY_READINGS_APART, DAY_READINGS_LONGEST = 2, 120.0, 720.0


@dataclass(frozen=True, slots=True)
class ReadingsOfDay:
    """How many usable readings of a day there are, and the minutes from the first of them to the last."""

    count: int
    minutes: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Data:
    """What was measured, as far as it matters for comparing.

    ``interval_s``: logging interval. ``span_minutes``: length of the deployment, or of consecutive ones at the same
    point. ``covered_minutes``: within the best window of the limit's length (or within the span, if shorter), the
    minutes usable readings stand for; ``n`` such readings. ``t90_s``: response time, None if not stated. ``place``:
    what the place is, None if not said. ``shift_minutes``: length of the work shift, where one matters.
    ``outdoor_missing``: why there is no outdoor value, in words. ``on``: the last day of the readings, by whose law a
    mean over a year is judged; None: the dates of the limit are not asked about. ``day``: the readings of the day that
    is judged, where the limit is for their mean. ``failed_checks``, ``accepted_checks``: checks outside their
    tolerance that it rests on, in words, and those of them a person accepted; ``dead_checks``: those at which a meter
    did not answer to gas at all; ``zero_off``: what zero runs say against its zero. ``type_data_only``: neither a
    calibration in force nor a check in the campaign speaks for the meter itself. ``in_use``: of a place with
    a timetable of use; the other figures are then those of the time in use. ``clock``: why it
    is in doubt which readings these are, if it is.
    """

    interval_s: float
    span_minutes: float
    covered_minutes: float
    n: int
    t90_s: float | None = None
    place: PopulationScope | None = None
    outdoors: bool = False
    personal: bool = False
    laboratory: bool = False
    has_outdoor_value: bool = False
    shift_minutes: float | None = None
    outdoor_missing: str = ""
    on: date | None = None
    day: ReadingsOfDay | None = None
    failed_checks: str = ""
    accepted_checks: str = ""
    dead_checks: str = ""
    type_data_only: bool = False
    zero_off: str = ""
    in_use: TimeInUse | None = None
    clock: Reason | None = None


def data_of(series: Series, limit: LimitDefinition, **facts: Any) -> Data:
    """``Data`` of one series (of one deployment, or ``joined`` ones) for ``limit``; ``facts`` are the other fields."""
    minutes = limit.averaging_minutes
    if minutes is None or limit.averaging in (Averaging.SHIFT_TWA, Averaging.LONG_TERM_MEAN):
        minutes = 0
    covered, n = best_coverage(series, minutes or series.minutes)
    return Data(
        interval_s=series.interval_ms / 1000, span_minutes=series.minutes, covered_minutes=covered, n=n, **facts
    )


@dataclass(frozen=True, slots=True)
class Comparability:
    """``state`` with the reason that governs it, and everything else worth saying.

    ``can_be_below`` is false where readings can show that a limit was exceeded, but never that it was kept: a ceiling.
    """

    state: ComparabilityState
    code: str
    words: str
    notes: tuple[Reason, ...] = ()
    can_be_below: bool = True

    @property
    def is_comparable(self) -> bool:
        return self.state is not ComparabilityState.NO


def comparable(limit: LimitDefinition, data: Data) -> Comparability:
    """Judge whether ``data`` may be compared with ``limit``: yes, as an indication, or not."""
    rulings = [*_by_kind(limit), *_by_place(limit, data), *by_use(limit, data.in_use, laboratory=data.laboratory)]
    if not any(state is ComparabilityState.NO for state, _ in rulings):
        rulings += [*_by_time(limit, data), *_by_meter(data)]
        if data.clock is not None:
            rulings.append((ComparabilityState.INDICATIVE, data.clock))
    state, reason = min(rulings, key=lambda ruling: ruling[0], default=(ComparabilityState.YES, _FULL))
    if state is ComparabilityState.YES:
        reason = _FULL
    notes = tuple(dict.fromkeys(other for _, other in rulings if other is not reason))
    return Comparability(state, reason.code, reason.words, notes, can_be_below=limit.averaging is not Averaging.CEILING)


_FULL = Reason("accepted", "The data cover what the limit averages over.")


def _by_kind(limit: LimitDefinition) -> Iterator[Ruling]:
    """What the limit itself allows, whatever the data."""
    if limit.comparable is Comparable.NEVER or limit.averaging is Averaging.CHAMBER:
        yield ComparabilityState.NO, Reason(limit.reason_code, limit.reason)
    elif limit.averaging is Averaging.PERCENTILE:
        yield ComparabilityState.NO, Reason("percentile", REASONS["percentile"])
    elif limit.averaging is Averaging.DESIGN:
        yield ComparabilityState.INDICATIVE, Reason(limit.reason_code, limit.reason)


def _by_place(limit: LimitDefinition, data: Data) -> Iterator[Ruling]:
    """Whose air the limit is about, and what it needs from outdoors."""
    if data.place is not None:
        yield from _by_population(limit, data.place)
    if data.outdoors and PopulationScope.OUTDOOR not in limit.scopes:
        yield ComparabilityState.NO, Reason("indoor_limit", "The limit is for indoor air, and the point is outdoors.")
    if not data.outdoors and set(limit.scopes) == {PopulationScope.OUTDOOR}:
        yield ComparabilityState.NO, Reason("outdoor_limit", "The limit is for outdoor air, and the point is indoors.")
    if limit.workplace and not data.personal:
        yield (
            ComparabilityState.INDICATIVE,
            Reason("area_sample", "A reading in a room only indicates what a worker breathes."),
        )
    if limit.outdoor_rule is not OutdoorRule.ABSOLUTE and not data.has_outdoor_value:
        words = f"The limit needs an outdoor value from the same time. {data.outdoor_missing}".strip()
        yield ComparabilityState.NO, Reason("outdoor_needed", words)


#: Codes of what is said of the meter behind a result; stored beside it (docs/methods/correction.md).
CHECK_FAILED, CHECK_ACCEPTED, TYPE_DATA_ONLY = "check_failed", "check_accepted", "type_data_only"


def _by_meter(data: Data) -> Iterator[Ruling]:
    """What is known of the individual meter, beside what its type promises."""
    if data.dead_checks:
        words = f"{data.dead_checks} A meter that does not answer measures nothing, and no acceptance changes that."
        yield ComparabilityState.NO, Reason("meter_dead", words)
    if data.failed_checks:
        words = f"{data.failed_checks} What rests on it is an indication until a person accepts it with a reason."
        yield ComparabilityState.INDICATIVE, Reason(CHECK_FAILED, words)
    if data.accepted_checks:
        yield ComparabilityState.YES, Reason(CHECK_ACCEPTED, data.accepted_checks)
    if data.zero_off:
        yield ComparabilityState.INDICATIVE, Reason("zero_run_off", f"{data.zero_off} So the result is an indication.")
    if data.type_data_only:
        words = (
            "This meter has neither a calibration in force nor a check in the campaign: what its type promises is no "
            "knowledge of it, so the result is an indication."
        )
        yield ComparabilityState.INDICATIVE, Reason(TYPE_DATA_ONLY, words)


#: Scopes that name people; voluntary schemes and a client's own specification are for whoever chooses them.
_PEOPLE = {
    PopulationScope.DWELLING: "people in dwellings",
    PopulationScope.PUBLIC: "people in offices, schools and public buildings",
    PopulationScope.WORKPLACE: "workers",
}


def _by_population(limit: LimitDefinition, place: PopulationScope) -> Iterator[Ruling]:
    """Workplace limits and guidelines for the public never stand for each other (T11); a guideline for dwellings in a
    public building, or the reverse, is an indication (project rule)."""
    people = [scope for scope in limit.scopes if scope in _PEOPLE]
    if not people or place in people:
        return
    about = f"The limit is about {' and '.join(_PEOPLE[scope] for scope in people)}"
    if place is PopulationScope.WORKPLACE or people == [PopulationScope.WORKPLACE]:
        yield ComparabilityState.NO, Reason("other_population", f"{about}, which this place is not measured for.")
    else:
        yield ComparabilityState.INDICATIVE, Reason("other_place", f"{about}; this is another kind of place.")


def _by_time(limit: LimitDefinition, data: Data) -> Iterator[Ruling]:
    """Whether the readings are long and dense enough for what the limit averages over."""
    if limit.averaging is Averaging.LONG_TERM_MEAN:
        yield from _long_term(limit, data)
        return
    yield from _claimed(limit, data)
    if data.laboratory:
        yield from _length(limit, data)
    elif limit.averaging is Averaging.CEILING:
        yield from _ceiling(data)
    elif limit.averaging is Averaging.SHIFT_TWA:
        yield from _shift(limit, data)
    elif limit.averaging is Averaging.DAY_READINGS:
        yield from _day(data)
    elif limit.averaging_minutes is None or limit.averaging is Averaging.SPOT:
        yield from _some(data)
    else:
        yield from _density(limit.averaging_minutes, data)
        yield from _length(limit, data)
        yield from _response(limit.averaging_minutes, data)


#: Reasons for "indicative" that fall away when the readings were taken in a worker's breathing zone.
_ANSWERED_BY_PERSONAL_SAMPLING = {"personal", "personal_15", "personal_ceiling"}


def _claimed(limit: LimitDefinition, data: Data) -> Iterator[Ruling]:
    claim = limit.claim(laboratory=data.laboratory)
    reason = Reason(limit.reason_code, limit.reason)
    if claim is Claim.CONTEXT:
        yield ComparabilityState.NO, reason
    elif claim is Claim.INDICATIVE and not (data.personal and limit.reason_code in _ANSWERED_BY_PERSONAL_SAMPLING):
        yield ComparabilityState.INDICATIVE, reason
    else:
        yield ComparabilityState.YES, reason


def _long_term(limit: LimitDefinition, data: Data) -> Iterator[Ruling]:
    """Never from hours or days; only a campaign as long as the mean itself may say something (T9)."""
    covered = data.covered_minutes
    is_radioactivity = SUBSTANCES[limit.parameter].is_radioactivity
    is_year = covered >= MIN_COVERAGE * YEAR_MINUTES and data.span_minutes >= YEAR_MINUTES
    is_enough = is_year or (is_radioactivity and covered >= RADON_MINUTES)
    in_force = limit.status is Status.IN_FORCE if data.on is None else limit.in_force_on(data.on)
    if not is_enough:
        yield ComparabilityState.NO, Reason(limit.reason_code, limit.reason)
    elif not in_force:
        yield ComparabilityState.NO, Reason("not_in_force", REASONS["not_in_force"])
    elif is_year:
        yield ComparabilityState.INDICATIVE, Reason("whole_year", "A whole year was logged.")
    else:
        words = "Radon over at least three months indicates the yearly mean."
        yield ComparabilityState.INDICATIVE, Reason("radon_months", words)


def _ceiling(data: Data) -> Iterator[Ruling]:
    if data.interval_s > CEILING_INTERVAL_S:
        yield (
            ComparabilityState.NO,
            Reason("ceiling_interval", "A ceiling cannot be watched at a logging interval above a minute."),
        )
    elif data.t90_s is not None and data.t90_s > data.interval_s:
        yield (
            ComparabilityState.NO,
            Reason("slow_sensor", "The sensor is slower than the logging interval and rounds peaks off."),
        )
    else:
        yield (
            ComparabilityState.INDICATIVE,
            Reason("ceiling", "Readings can show a ceiling exceeded, or not seen exceeded at this logging interval."),
        )
    if data.t90_s is None:
        yield ComparabilityState.INDICATIVE, _T90_UNSTATED


_T90_UNSTATED = Reason("response_unstated", "The response time of the sensor is not stated.")


def _shift(limit: LimitDefinition, data: Data) -> Iterator[Ruling]:
    shift = data.shift_minutes or limit.averaging_minutes or 8 * 60
    if data.covered_minutes < MIN_COVERAGE * shift:
        yield (
            ComparabilityState.NO,
            Reason(
                "short_shift",
                f"Readings cover {_minutes(data.covered_minutes)} of a shift of {_minutes(shift)}; "
                f"{_minutes(MIN_COVERAGE * shift)} are needed.",
            ),
        )
    yield from _some(data)


def _day(data: Data) -> Iterator[Ruling]:
    """Two readings of a day, hours apart and while the place is in use (project rules for a law that names neither)."""
    day = data.day or ReadingsOfDay(0, 0.0)
    if day.count < MIN_DAY_READINGS:
        words = "The limit is for the mean of at least two readings of a day, and no day has two."
        yield ComparabilityState.NO, Reason("single_reading_of_day", words)
    elif day.minutes < DAY_READINGS_APART:
        words = (
            f"The readings of the day lie within {_minutes(day.minutes)}; less than {_minutes(DAY_READINGS_APART)} "
            "apart they only indicate its mean."
        )
        yield ComparabilityState.INDICATIVE, Reason("day_readings_close", words)
    elif day.minutes > DAY_READINGS_LONGEST:
        words = (
            f"The readings of the day reach over {_minutes(day.minutes)}, more than a working day: those out of use "
            "count as well, so their mean only indicates that of the day in use."
        )
        yield ComparabilityState.INDICATIVE, Reason("day_readings_long", words)


def _some(data: Data) -> Iterator[Ruling]:
    if data.n < 1:
        yield ComparabilityState.NO, Reason("no_readings", "No usable reading.")


def _length(limit: LimitDefinition, data: Data) -> Iterator[Ruling]:
    """The whole averaging time fully inside the stay, and enough of it covered."""
    minutes = limit.averaging_minutes
    if minutes is None:
        return
    needed = MIN_COVERAGE * minutes
    is_covered = data.covered_minutes >= needed - 1e-6
    if data.span_minutes < minutes:
        # T9 accepts a day from 18 hours of data; shorter windows must fit into the visit.
        state = ComparabilityState.INDICATIVE if minutes == DAY_MINUTES and is_covered else ComparabilityState.NO
        visit = f"The visit of {_minutes(data.span_minutes)}"
        yield state, Reason("short_visit", f"{visit} is shorter than the {_minutes(minutes)} averaged over.")
    elif not is_covered:
        covered = f"Usable readings cover {_minutes(data.covered_minutes)} of {_minutes(minutes)}"
        yield ComparabilityState.NO, Reason("too_little", f"{covered}; {_minutes(needed)} are needed.")
    elif data.n < MIN_READINGS and not data.laboratory:
        yield (
            ComparabilityState.NO,
            Reason("too_few", f"{data.n} readings in {_minutes(minutes)}; {MIN_READINGS} are needed."),
        )


def _density(minutes: int, data: Data) -> Iterator[Ruling]:
    interval, window = data.interval_s, minutes * 60.0
    said = f"{_minutes(interval / 60)} logging for a mean over {_minutes(minutes)}"
    if interval > window / INDICATIVE_SHARE:
        yield ComparabilityState.NO, Reason("coarse_interval", f"{said}: fewer than three readings make no mean.")
    elif interval > window / FULL_SHARE:
        yield (
            ComparabilityState.INDICATIVE,
            Reason("few_readings", f"{said}: fewer than five readings only indicate the mean."),
        )


def _response(minutes: int, data: Data) -> Iterator[Ruling]:
    if minutes > SHORT_WINDOW_MINUTES:
        return
    if data.t90_s is None:
        yield ComparabilityState.INDICATIVE, _T90_UNSTATED
    elif data.t90_s > SHORT_WINDOW_T90_S:
        yield (
            ComparabilityState.NO,
            Reason(
                "slow_sensor", f"A sensor settling in {in_digits(data.t90_s)} s is too slow for {_minutes(minutes)}."
            ),
        )


def _minutes(minutes: float) -> str:
    """A length of time as people write it: 45 s, 9 min, 18 h, 7 d."""
    if minutes < 1:
        return f"{in_digits(minutes * 60, 4)} s"
    if minutes < 120:
        return f"{in_digits(minutes)} min"
    if minutes < 4 * DAY_MINUTES:
        return f"{in_digits(minutes / 60)} h"
    return f"{in_digits(minutes / DAY_MINUTES, 4)} d"
