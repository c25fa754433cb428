"""Alerts as records: each event once, whatever is read, placed or corrected again.

An event is known by its level, its channel, and the stamps of its readings, which never change; times, places and
values do. The campaign is held.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import timedelta
from typing import Any

from django.db.models import Max, Q
from django.utils import timezone

from campaigns.enqueue import enqueue
from campaigns.models import AlertLevel, Campaign, QualityRun
from campaigns.services.alert_levels import STAFF_ROLES, may_be_told
from methods.quantities.moments import utc_moment
from readings.job_kinds import TELL_ALERT
from readings.models import Alert, AlertNotice, SettingAside, Upload
from readings.services.alerts.found import FoundEvent

#: An event that was closed is told anew where it goes on, or turns out to be so much higher (project rule, no source).
MUCH_HIGHER = 1.1


def keep(campaign: Campaign, levels: Iterable[AlertLevel], found: Sequence[FoundEvent]) -> list[Alert]:
    """Raise what is new, bring what is open up to date, mark what the readings no longer say. Returns the new ones."""
    on = {level.pk for level in levels}
    held = list(campaign.alerts.filter(channel__isnull=False).order_by("first_stamp_ms", "pk"))
    matched = [(_match(events, held), events) for events in _together(found)]
    known: dict[int, list[FoundEvent]] = {}
    for alert, events in matched:
        if alert is not None:
            known.setdefault(alert.pk, []).extend(events)
    for alert in held:
        if alert.pk in known:
            _bring_up_to_date(alert, known[alert.pk])
        elif not (_waits(alert) or any(_same(event, alert) for event in found)):
            _mark_unfounded(alert, is_looked_at=alert.level_id in on)
    return [_raise(campaign, events) for alert, events in matched if alert is None]


def keep_asked(upload: Upload, found: Sequence[FoundEvent]) -> list[Alert]:
    """Raise what a file reaches that waits for an answer, as it was understood so far; returns the new ones. What was
    raised by it when it was understood otherwise is marked."""
    held = list(upload.campaign.alerts.filter(channel__isnull=False).order_by("first_stamp_ms", "pk"))
    matched = [(_match(events, held), events) for events in _together(found)]
    of_it = [alert for alert in held if alert.upload_id == upload.pk and alert.standing != Alert.Standing.STANDS]
    known = {alert.pk: events for alert, events in matched if alert is not None}
    for alert in of_it:
        if alert.pk in known:
            _bring_up_to_date(alert, known[alert.pk], Alert.Standing.ASKED)
        elif alert.standing == Alert.Standing.ASKED:
            alert.standing = Alert.Standing.GONE
            alert.save()
    asked = {"standing": Alert.Standing.ASKED}
    return [_raise(upload.campaign, events, **asked) for alert, events in matched if alert is None]


def _waits(alert: Alert) -> bool:
    """Whether it was raised by a file that nothing is stored of until a person has answered."""
    if alert.standing != Alert.Standing.ASKED or alert.upload_id is None:
        return False
    return Upload.objects.filter(pk=alert.upload_id, state=Upload.State.ATTENTION, stored=0, held=0).exists()


def _same(event: FoundEvent, alert: Alert) -> bool:
    is_its_level = event.level.pk == alert.level_id
    return is_its_level and event.meets(alert.channel_id, alert.first_stamp_ms, alert.last_stamp_ms)


def _match(events: Sequence[FoundEvent], held: Iterable[Alert]) -> Alert | None:
    """The alert that ``events`` are known by: an open one, else one that is closed, or of other
    terms, and that they tell nothing new of."""
    same = [alert for alert in held if any(_same(event, alert) for event in events)]
    if still := [alert for alert in same if alert.is_open and _as_raised(alert, events[0].level)]:
        return still[0]
    return next((alert for alert in same if not any(_goes_on(event, alert) for event in events)), None)


def _as_raised(alert: Alert, level: AlertLevel) -> bool:
    """Whether its level still reads as it did: what is found by another one is told by another alert, or not at all."""
    return (alert.level_words, alert.unit, alert.parameter) == (str(level)[:300], level.unit_text, level.parameter)


def _goes_on(event: FoundEvent, known: Alert) -> bool:
    lasts = event.last_stamp_ms > (known.last_stamp_ms or 0)
    return lasts or (event.level.unit_text == known.unit and event.value > MUCH_HIGHER * known.value)


def _together(events: Iterable[FoundEvent]) -> list[list[FoundEvent]]:
    """Those that are one alert: of one level and channel, close to each other in time, and not in two places."""
    groups: list[list[FoundEvent]] = []
    for event in events:
        group = next((group for group in groups if any(_are_one(event, other) for other in group)), None)
        if group is None:
            groups.append([event])
        else:
            group.append(event)
    return groups


def _are_one(event: FoundEvent, other: FoundEvent) -> bool:
    if event.level.pk != other.level.pk or event.channel.pk != other.channel.pk:
        return False
    if event.meets(other.channel.pk, other.first_stamp_ms, other.last_stamp_ms):
        return True
    return event.is_near(other) and (None in (event.point, other.point) or event.point == other.point)


def _facts(events: Sequence[FoundEvent]) -> dict[str, Any]:
    """What the events of one alert say together."""
    by_stamp = sorted(events, key=lambda event: event.first_stamp_ms)
    first, top = by_stamp[0], max(events, key=lambda event: event.value)
    places = list(dict.fromkeys(str(event.point) for event in by_stamp if event.point is not None))
    return {
        "value": top.value,
        "is_at_least": any(event.is_at_least for event in events),
        "is_partial": all(event.is_partial for event in events),
        "minutes": sum(event.minutes for event in events),
        "basis": top.basis,
        "reached_at": utc_moment(min(event.reached_ms for event in events)),
        "until_at": utc_moment(max(event.until_ms for event in events)),
        "first_stamp_ms": first.first_stamp_ms,
        "last_stamp_ms": max(event.last_stamp_ms for event in events),
        "upload_id": first.upload_id,
        "line": first.line,
        "point": top.point or next((event.point for event in by_stamp if event.point is not None), None),
        "place": ("; ".join(places) or _run_of(top))[:300],
        "standing": Alert.Standing.STANDS,
    }


def _run_of(event: FoundEvent) -> str:
    """The quality run that its instrument was in then; "" where it was in none."""
    runs = QualityRun.objects.filter(
        members__instrument=event.channel.instrument,
        starts_at__lte=utc_moment(event.until_ms),
        ends_at__gte=utc_moment(event.start_ms),
    )
    run = runs.first()
    if run is None:
        return ""
    return f"a quality run, {run.get_kind_display()}" + (f": {run.place}" if run.place else "")


def _bring_up_to_date(
    alert: Alert, events: Sequence[FoundEvent], standing: Alert.Standing = Alert.Standing.STANDS
) -> None:
    """A closed alert keeps what was known when it was closed; only that the readings say so, or no longer, is told."""
    facts: dict[str, Any] = {"standing": standing}
    if alert.is_open and _as_raised(alert, events[0].level):
        facts = {**_facts(events), "standing": standing}
        assert alert.first_stamp_ms is not None
        assert alert.last_stamp_ms is not None
        # it goes on being known by what it was raised by
        facts["first_stamp_ms"] = min(facts["first_stamp_ms"], alert.first_stamp_ms)
        facts["last_stamp_ms"] = max(facts["last_stamp_ms"], alert.last_stamp_ms)
    before = alert.value if alert.told_value is None else alert.told_value
    is_over = facts.get("is_at_least", False) and not alert.is_at_least
    rises = facts.get("value", before) > MUCH_HIGHER * before or is_over
    if rises:
        facts["told_value"] = facts["value"]
    changed = {name: value for name, value in facts.items() if getattr(alert, name) != value}
    for name, value in changed.items():
        setattr(alert, name, value)
    if changed:
        alert.save()
    if rises:
        _tell(alert, events[0].level)


def _mark_unfounded(alert: Alert, *, is_looked_at: bool) -> None:
    """``is_looked_at``: its level is on, so that readings which reached it would have been found."""
    if _is_aside(alert):
        standing = Alert.Standing.ASIDE
    elif is_looked_at:
        standing = Alert.Standing.GONE
    else:
        return
    if alert.standing != standing:
        alert.standing = standing
        alert.save()


def _is_aside(alert: Alert) -> bool:
    """Whether its file was withdrawn, or a stretch set aside that holds readings of it."""
    if alert.upload_id and Upload.objects.filter(pk=alert.upload_id, state=Upload.State.WITHDRAWN).exists():
        return True
    stretch = Q(first_stamp_ms__lte=alert.last_stamp_ms, last_stamp_ms__gte=alert.first_stamp_ms)
    return SettingAside.objects.filter(stretch, channel=alert.channel_id, taken_back_at=None).exists()


def _raise(campaign: Campaign, events: Sequence[FoundEvent], **facts: Any) -> Alert:
    level = events[0].level
    return raise_alert(campaign, level, channel=events[0].channel, **{**_facts(events), **facts})


def raise_alert(campaign: Campaign, level: AlertLevel, **facts: Any) -> Alert:
    """A new alert, and a job that tells whom its level names; both or neither."""
    alert = Alert(
        campaign=campaign,
        level=level,
        level_words=str(level)[:300],
        parameter=level.parameter,
        advice=level.advice,
        unit=level.unit_text,
        due_at=timezone.now() + timedelta(minutes=level.within_minutes),
        **facts,
    )
    alert.told_value = alert.value
    alert.save(force_insert=True)
    _tell(alert, level)
    return alert


def _tell(alert: Alert, level: AlertLevel) -> None:
    """Notices for all whom ``level`` names, once for each turn, and a job that sends them."""
    last = alert.notices.aggregate(last=Max("turn"))["last"]
    notices = notices_of(alert, level)
    for notice in notices:
        notice.turn = 0 if last is None else last + 1
    AlertNotice.objects.bulk_create(notices)
    if notices:
        enqueue(TELL_ALERT, alert.pk, organisation_id=alert.campaign.site.organisation_id, owner=None)


def notices_of(alert: Alert, level: AlertLevel) -> list[AlertNotice]:
    """One for each address. Whoever has lost the role for which they were told is told no more."""
    by_address: dict[str, AlertNotice] = {}
    for person in may_be_told(alert.campaign).filter(alert_levels=level):
        user = person.user
        by_address[user.email.lower()] = AlertNotice(
            alert=alert, name=str(user), address=user.email, is_staff=person.role in STAFF_ROLES
        )
    for address in level.addresses.split():
        by_address.setdefault(address.lower(), AlertNotice(alert=alert, name=address, address=address))
    return list(by_address.values())
