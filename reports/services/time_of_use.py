"""When a place is in use, and what a stay says of that time alone, for limits that are about it.

Method: docs/methods/averages.md#time-of-use.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, reduce

from campaigns.models import Campaign, SamplingPoint, UseTimetable
from campaigns.services.use_timetables import UseInForce, use_in_force
from methods.averages.occupancy import OccupiedDay, Timetable
from methods.averages.occupied import OccupiedMean, day_means, only, stay_mean, worst_day
from methods.averages.timetable_text import in_words
from methods.averages.windows import Window
from methods.limits.model import Averaging, LimitDefinition, Occupied, Operator, OutdoorRule
from methods.quantities.digits import in_digits
from methods.quantities.durations import MINUTE_MS
from methods.uncertainty.share_above import ShareAbove, allowed_minutes, share_above
from methods.verdicts.in_use import TimeInUse
from methods.wording.numbers import length, plain
from reports.services.circumstances import NoOutdoor, OutdoorAt, OutdoorValue, UseOfPlace
from reports.services.details import Detail
from reports.services.estimates import Taken
from reports.services.failed_checks import FailedChecks

TIME_OF_USE, DAYS_IN_USE, SHARE_ABOVE = "Time of use", "Days in use", "Share of the time of use above"
#: Beside design values: CEN/TR 16798-2, before it annex G of EN 15251 (from memory).
OFTEN_ALLOWED, ALLOWED = "Often allowed above", (0.03, 0.05)


class UsesOfPlaces:
    """Of the places of a campaign; ``in_force`` None where no limit asks."""

    def __init__(self, in_force: UseInForce | None, zone: str) -> None:
        self._in_force, self._zone = in_force, zone
        self._read: dict[int, UseOfPlace] = {}

    def of(self, point: SamplingPoint) -> UseOfPlace | None:
        """None outdoors, and where nobody said when the place is in use."""
        if self._in_force is None or point.room is None:
            return None
        row = self._in_force.of(point.room.zone)
        if row is None:
            return None
        if row.pk not in self._read:
            self._read[row.pk] = _of_row(row, self._zone)
        return self._read[row.pk]


def _of_row(row: UseTimetable, zone: str) -> UseOfPlace:
    timetable: Timetable = row.timetable
    said = f"{in_words(timetable)} ({row.get_origin_display()}; of the {_word(row)} {row.lies_in})"
    return UseOfPlace(timetable, zone, said, is_assumed=row.is_assumed)


def _word(row: UseTimetable) -> str:
    return "zone" if row.zone_id else "building" if row.building_id else "campaign"


def uses_of(campaign: Campaign, limits: Sequence[LimitDefinition]) -> UsesOfPlaces:
    """One query where any of ``limits`` is for occupied time, else none."""
    is_asked = any(limit.occupied for limit in limits)
    return UsesOfPlaces(use_in_force(campaign) if is_asked else None, campaign.site.zone_info.key)


@dataclass(frozen=True, eq=False)
class InUse:
    """A stay in the terms of a limit, as far as its place was in use: ``taken`` holds nothing else. ``days``: those in
    use during it, whole."""

    use: UseOfPlace
    days: list[OccupiedDay]
    taken: Taken

    @classmethod
    def of(cls, taken: Taken, limit: LimitDefinition, use: UseOfPlace | None) -> InUse | None:
        """None where all time counts, or nobody knows when the place is in use. Limits in the same terms share it."""
        if limit.occupied is None or use is None:
            return None
        held: dict[str, InUse] = taken.__dict__.setdefault("in_use", {})
        if use.words not in held:
            held[use.words] = cls._of(taken, use)
        return held[use.words]

    @classmethod
    def _of(cls, taken: Taken, use: UseOfPlace) -> InUse:
        series = taken.series
        days = use.timetable.occupied(use.zone, series.start_ms, series.end_ms)
        kept = replace(taken, series=only(series, days))
        # what an instrument's noise is does not depend on who is there, and gaps tell nothing of it
        kept.__dict__["noise"] = taken.noise
        return cls(use, days, kept)

    @cached_property
    def means(self) -> list[OccupiedMean]:
        return day_means(self.taken.series, self.days)

    @property
    def whole_days(self) -> list[OccupiedMean]:
        return [mean for mean in self.means if mean.is_enough]

    @cached_property
    def told(self) -> TimeInUse:
        covered = int(self.taken.series.cells.total_ms[-1]) / MINUTE_MS
        return TimeInUse(covered, len(self.whole_days), self.use.is_assumed)

    def asked_for(self, limit: LimitDefinition, *, lowest: bool) -> Window | None:
        """The mean that the limit asks for: of the worst day, or of all time in use; None where it has none."""
        if limit.occupied is Occupied.DAY:
            return self.worst_day(lowest=lowest)
        return self.mean

    @cached_property
    def mean(self) -> Window | None:
        return stay_mean(self.taken.series, self.days)

    def worst_day(self, *, lowest: bool = False) -> Window | None:
        return worst_day(self.whole_days, self.taken.near, lowest=lowest)

    def days_within(self, start_ms: int, end_ms: int) -> list[OccupiedDay]:
        """Its days, cut to [start_ms, end_ms)."""
        return [inside for day in self.days if len((inside := day.within(start_ms, end_ms)).start)]

    # --- told beside the number ---

    def details(self, limit: LimitDefinition, outdoor: object) -> Iterator[Detail]:
        yield TIME_OF_USE, self.use.words
        if limit.occupied is Occupied.DAY and self.means:
            yield DAYS_IN_USE, self._days_text(limit)
        share = self.share(limit, outdoor)
        if share is not None:
            yield SHARE_ABOVE, share_text(share)
            if limit.averaging is Averaging.DESIGN:
                yield OFTEN_ALLOWED, allowed_text(share)

    def _days_text(self, limit: LimitDefinition) -> str:
        enough = self.whole_days
        short = len(self.means) - len(enough)
        said = []
        if enough:
            values = [mean.window.mean for mean in enough]
            between = " to ".join(dict.fromkeys((plain(min(values)), plain(max(values)))))
            count = "1 day" if len(enough) == 1 else f"{len(enough)} days"
            said.append(f"{count} with a mean: {between} {limit.unit}")
        if short:
            said.append(f"{short} with less than three quarters of the time of use covered")
        return "; ".join(said)

    def share(self, limit: LimitDefinition, outdoor: object) -> ShareAbove | None:
        """How much of the time in use lay above the limit; None for a limit without an upper end, and where the outdoor
        value that it is counted from is not known."""
        value = limit.upper
        if value is None or (limit.outdoor_rule is not OutdoorRule.ABSOLUTE and not isinstance(outdoor, OutdoorValue)):
            return None
        if isinstance(outdoor, OutdoorValue) and limit.outdoor_rule is not OutdoorRule.ABSOLUTE:
            value += outdoor.value
        return share_above(self.taken.series, value, or_at=limit.operator is Operator.BELOW)


def outdoor_in_use(
    outdoor_at: OutdoorAt, limit: LimitDefinition, days: Sequence[OccupiedDay]
) -> OutdoorValue | NoOutdoor:
    """The outdoor mean that goes with a mean over the time of use of several days: each day's, as long as it was in
    use. One day without an outdoor value leaves all of them without. What is unsure is common to the days."""
    each: list[OutdoorValue] = []
    for day in days:
        outdoor = outdoor_at(limit, int(day.start[0]), int(day.end[-1]))
        if isinstance(outdoor, NoOutdoor):
            return outdoor
        each.append(outdoor)
    weights = [day.occupied_ms / sum(day.occupied_ms for day in days) for day in days]

    def mean(values: Iterable[float]) -> float:
        return sum(weight * value for weight, value in zip(weights, values, strict=True))

    return OutdoorValue(
        value=mean(outdoor.value for outdoor in each),
        u=max(outdoor.u for outdoor in each),
        lower=mean(outdoor.lower for outdoor in each),
        upper=mean(outdoor.upper for outdoor in each),
        words="; ".join(dict.fromkeys(outdoor.words for outdoor in each)),
        deployments=tuple(dict.fromkeys(key for outdoor in each for key in outdoor.deployments)),
        failed=reduce(FailedChecks.with_those_of, (outdoor.failed for outdoor in each), FailedChecks()),
    )


def is_mean_in_use(limit: LimitDefinition) -> bool:
    """Whether the limit asks for a mean of the time of use itself, and not for windows or single readings within it."""
    if limit.occupied is None:
        return False
    return limit.averaging_minutes is None and limit.averaging is not Averaging.SPOT


def share_text(share: ShareAbove) -> str:
    """ "1 h of 24 h (4.2 %); over a longer time of such use 0.1 to 20 % (95 %; as 14 independent readings)" """
    part = length(share.minutes_above) if share.minutes_above else "none"
    of_all = f"{part} of {length(share.minutes)} ({percent(share.share)} %)"
    between = f"{percent(share.lower)} to {percent(share.upper)} %"
    independent = max(round(share.independent), 1)
    readings = "1 independent reading" if independent == 1 else f"{independent} independent readings"
    return f"{of_all}; over a longer time of such use {between} (95 %; counted as {readings})"


def allowed_text(share: ShareAbove) -> str:
    """ "3 to 5 % of the time of use, here 43 min to 72 min" """
    low, high = (length(allowed_minutes(each, share.minutes / 60)) for each in ALLOWED)
    return (
        f"3 to 5 % of the time of use, here {low} to {high} (CEN/TR 16798-2, from memory); the verdict does not use it"
    )


def percent(share: float) -> str:
    """Two digits: 0, 0.12, 4.2, 42, 100."""
    x = 100 * share
    return "under 0.01" if 0 < x < 0.01 else in_digits(x, 3 if x >= 100 else 2)
