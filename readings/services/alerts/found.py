"""Events in which readings of a campaign reached one of its levels, in the level's unit. Reads, and writes nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from campaigns.models import AlertLevel, Campaign, Channel, SamplingPoint
from campaigns.services.alert_terms import LevelInTerms, in_terms_of
from methods.alerts import ReachedLevel, apart_ms, reached
from methods.averages import Series
from methods.quantities.units import NotConvertible
from readings.models import Alert
from readings.queries.alert_readings import AlertReadings, alert_readings


@dataclass(frozen=True)
class FoundEvent:
    """One event of one channel. ``value``: the highest, in the unit of the level. Times are ms UTC, stamps those of the
    logger. ``point``: where it stood, None where nobody knows yet."""

    level: AlertLevel
    channel: Channel
    point: SamplingPoint | None
    basis: Alert.Basis
    value: float
    is_at_least: bool
    is_partial: bool
    minutes: float
    reached_ms: int
    start_ms: int
    until_ms: int
    first_stamp_ms: int
    last_stamp_ms: int
    upload_id: int
    line: int

    def meets(self, channel_id: int | None, first_stamp_ms: int | None, last_stamp_ms: int | None) -> bool:
        """Whether readings from stamp to stamp of a channel are among these."""
        if channel_id != self.channel.pk or first_stamp_ms is None or last_stamp_ms is None:
            return False
        return self.first_stamp_ms <= last_stamp_ms and first_stamp_ms <= self.last_stamp_ms

    def is_near(self, other: FoundEvent) -> bool:
        """Whether there is too little time between them to be two events."""
        return max(self.start_ms - other.until_ms, other.start_ms - self.until_ms) <= apart_ms(self.level.rule)

    def with_stamps_of(self, other: FoundEvent) -> FoundEvent:
        first = min(self.first_stamp_ms, other.first_stamp_ms)
        return replace(self, first_stamp_ms=first, last_stamp_ms=max(self.last_stamp_ms, other.last_stamp_ms))


def events_in(campaign: Campaign, levels: Iterable[AlertLevel]) -> Iterator[FoundEvent]:
    """Stay by stay. A level in whose unit a channel cannot be told has none of that channel: the page of levels says
    so."""
    by_parameter: dict[str, list[AlertLevel]] = {}
    for level in levels:
        by_parameter.setdefault(level.parameter, []).append(level)
    if not by_parameter:
        return
    for readings in alert_readings(campaign, by_parameter.keys()):
        for level in by_parameter[readings.channel.spec.parameter]:
            yield from events_of(readings, level)


def events_of(readings: AlertReadings, level: AlertLevel) -> list[FoundEvent]:
    """By the corrected values, and by those as stored where the corrected ones say nothing: what a correction, or a
    reading left out while a meter settles, takes away is told all the same, as stored."""
    found = _reached(readings, level, readings.as_corrected, Alert.Basis.CORRECTED)
    for event in _reached(readings, level, readings.as_stored, Alert.Basis.STORED):
        near = next((k for k, corrected in enumerate(found) if corrected.is_near(event)), None)
        if near is None:
            found.append(event)
        else:  # it may be known by them, from when nothing was corrected yet
            found[near] = found[near].with_stamps_of(event)
    return found


def _reached(readings: AlertReadings, level: AlertLevel, series: Series | None, basis: Alert.Basis) -> list[FoundEvent]:
    if series is None:
        return []
    try:
        terms = in_terms_of(level, readings.channel.spec)
    except NotConvertible:
        return []
    return [_event(readings, level, event, basis, terms) for event in reached(series, terms.rule)]


def _event(
    readings: AlertReadings, level: AlertLevel, event: ReachedLevel, basis: Alert.Basis, terms: LevelInTerms
) -> FoundEvent:
    stamps = readings.stamp[event.first : event.last + 1]
    return FoundEvent(
        level=level,
        channel=readings.channel,
        point=readings.deployment.point if readings.deployment else None,
        basis=basis,
        value=terms.told(event.highest),
        is_at_least=event.is_at_least,
        is_partial=event.is_partial,
        minutes=event.minutes,
        reached_ms=event.reached_ms,
        start_ms=event.start_ms,
        until_ms=event.end_ms,
        first_stamp_ms=int(stamps.min()),
        last_stamp_ms=int(stamps.max()),
        upload_id=int(readings.upload_id[event.first]),
        line=int(readings.line[event.first]),
    )
