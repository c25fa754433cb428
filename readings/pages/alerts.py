"""What pages show of alerts: open ones first, each with a word for how it stands."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import Count, F, Q, QuerySet
from django.urls import reverse
from django.utils import timezone

from campaigns import access
from campaigns.models import Campaign, User
from campaigns.services.mail_server import NO_SERVER
from campaigns.urgent import Urgent
from methods.quantities.substances import name_of
from methods.wording.alerts import lasting_words, names_text, value_words
from methods.wording.numbers import minute
from readings.models import Alert, AlertNotice

Fact = tuple[str, ...]  # name, text, and perhaps an address
SHOWN = 200


@dataclass(frozen=True)
class AlertLine:
    """One alert in a list. ``state``: open, overdue, acknowledged or closed, in words. untold: how many
    people no mail has reached yet; unsent: those of them to whom none went, as no mail server is set."""

    key: str
    url: str
    title: str
    state: str
    is_open: bool
    level: str
    where: str
    when: str
    standing: str
    untold: int
    unsent: int


def state_of(alert: Alert, now: datetime | None = None) -> str:
    if not alert.is_open:
        return "closed"
    if alert.acknowledged_at is not None:
        return "acknowledged"
    return "overdue" if alert.is_overdue(now) else "open"


def title_of(alert: Alert) -> str:
    value = value_words(alert.value, alert.unit, at_least=alert.is_at_least)
    return f"{name_of(alert.parameter)} {value}"


def in_order(alerts: QuerySet[Alert]) -> QuerySet[Alert]:
    """Open ones first, of them those that nobody acknowledged, then the latest."""
    rows = alerts.select_related("level", "campaign__site")
    untold = Q(notices__told_at__isnull=True)
    unsent = Count("notices", filter=untold & Q(notices__failed=NO_SERVER))
    rows = rows.annotate(untold=Count("notices", filter=untold), unsent=unsent)
    closed, seen = F("closed_at").asc(nulls_first=True), F("acknowledged_at").asc(nulls_first=True)
    return rows.order_by(closed, seen, "-reached_at", "-pk")


def lines(alerts: Iterable[Any]) -> list[AlertLine]:
    now = timezone.now()
    return [line(alert, now) for alert in alerts]


def line(alert: Any, now: datetime) -> AlertLine:
    site = alert.campaign.site
    return AlertLine(
        key=str(alert.key),
        url=reverse("alert", args=[alert.key]),
        title=title_of(alert),
        state=state_of(alert, now),
        is_open=alert.is_open,
        level=alert.level_words,
        where=alert.where,
        when=f"{minute(alert.reached_at, site.zone_info)}, clock of {site.time_zone}",
        standing="" if alert.standing == Alert.Standing.STANDS else alert.get_standing_display(),
        untold=alert.untold,
        unsent=alert.unsent,
    )


def of_campaign(campaign: Campaign) -> list[AlertLine]:
    """One query."""
    return lines(in_order(campaign.alerts.all())[:SHOWN])


def token(found: Iterable[AlertLine]) -> str:
    """Another text whenever the list would read differently."""
    return "|".join(f"{each.key}{each.state}{each.title}{each.where}{each.standing}" for each in found)


def unanswered(person: User) -> list[Urgent]:
    """Alerts that nobody has acknowledged, the overdue ones first. One query."""
    now = timezone.now()
    rows = access.visible(person, Alert).filter(closed_at__isnull=True, acknowledged_at__isnull=True)
    rows = rows.select_related("level", "campaign__site").order_by("due_at", "pk")[:SHOWN]
    return [
        Urgent(
            "Alert, overdue" if alert.is_overdue(now) else "Alert",
            f"{title_of(alert)}: {alert.campaign.site.name}, {alert.where}",
            reverse("alert", args=[alert.key]),
            f"reached {minute(alert.reached_at, alert.campaign.site.zone_info)}, to be acknowledged by "
            f"{minute(alert.due_at, alert.campaign.site.zone_info)}",
            alert.is_overdue(now),
        )
        for alert in rows
    ]


# --- the page of one alert --------------------------------------------------------------------------------------------


def facts(alert: Alert) -> list[Fact]:
    zone = alert.campaign.site.zone_info
    value = value_words(alert.value, alert.unit, at_least=alert.is_at_least)
    lasting = lasting_words(alert.minutes, partial=alert.is_partial)
    said: list[Fact] = [
        ("Highest", f"{value} ({alert.get_basis_display()})"),
        ("Level", alert.level_words, reverse("alert-levels", args=[alert.campaign.key])),
        ("Reached", f"{minute(alert.reached_at, zone)}, clock of {zone.key}"),
    ]
    if lasting:
        said.append(("How long", f"{lasting}, until {minute(alert.until_at, zone)}"))
    said.append(("Where", alert.where))
    if alert.channel is not None:
        instrument = alert.channel.instrument
        said.append(("Instrument", f"{instrument} ({instrument.serial})", reverse("instrument", args=[instrument.key])))
    if alert.typed_by is not None:
        said.append(("Typed by", str(alert.typed_by)))
    if alert.upload is not None:
        upload = alert.upload
        said.append(("Log", upload.filename, reverse("upload", args=[upload.key])))
        said.append(("First line of it", str(alert.line), reverse("upload-line", args=[upload.key, alert.line])))
    if alert.standing != Alert.Standing.STANDS:
        said.append(("By now", alert.get_standing_display()))
    return said


def notice_lines(alert: Alert) -> list[str]:
    """Who was told when, or why not yet."""
    zone = alert.campaign.site.zone_info
    return [_told(notice, zone) for notice in alert.notices.all()]


def _told(notice: AlertNotice, zone: Any) -> str:
    if notice.told_at is not None:
        return f"{notice.name}, by mail {minute(notice.told_at, zone)}"
    if notice.failed == NO_SERVER:
        return f"{notice.name}: {NO_SERVER}"
    return f"{notice.name}: {'not told, ' + notice.failed if notice.failed else 'the mail is on its way'}"


def answers(alert: Alert) -> list[Fact]:
    """What people did about it so far."""
    zone = alert.campaign.site.zone_info
    said: list[Fact] = []
    if alert.acknowledged_at is not None:
        said.append(
            ("Acknowledged", f"{minute(alert.acknowledged_at, zone)} by {names_text(_named(alert.acknowledged_by))}")
        )
    else:
        said.append(("To be acknowledged by", minute(alert.due_at, zone)))
    if alert.done:
        said.append(("What was done", alert.done))
    if alert.closed_at is not None:
        said.append(("Closed", f"{minute(alert.closed_at, zone)} by {names_text(_named(alert.closed_by))}"))
        said.append(("Because", alert.reason))
    return said


def _named(person: User | None) -> list[str]:
    return [str(person)] if person is not None else []
