"""Alerts of a campaign as they stand when its report is made: open ones are printed as open."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from campaigns.models import Campaign, User
from campaigns.services.mail_server import NO_SERVER
from methods.quantities.substances import name_of
from methods.wording.alerts import lasting_words, value_words
from methods.wording.numbers import minute
from readings.models import Alert, AlertNotice
from reports.content.alerts import ReportedAlert
from reports.content.canonical import number


def alerts_of(campaign: Campaign) -> tuple[ReportedAlert, ...]:
    """In order of time. Two queries."""
    rows = campaign.alerts.select_related("level", "channel__instrument", "acknowledged_by", "closed_by")
    zone = campaign.site.zone_info
    return tuple(_told(alert, zone) for alert in rows.prefetch_related("notices").order_by("reached_at", "pk"))


def _told(alert: Alert, zone: ZoneInfo) -> ReportedAlert:
    instrument = alert.channel.instrument if alert.channel else None
    stands = alert.standing == Alert.Standing.STANDS
    return ReportedAlert(
        parameter=name_of(alert.parameter),
        level=alert.level_words,
        value=number(alert.value),
        unit=alert.unit,
        said=value_words(alert.value, alert.unit, at_least=alert.is_at_least),
        reached=minute(alert.reached_at, zone),
        lasting=lasting_words(alert.minutes, partial=alert.is_partial),
        place=alert.place,
        instrument=instrument.name if instrument else "",
        serial=instrument.serial if instrument else "",
        basis=alert.get_basis_display(),
        standing="" if stands else alert.get_standing_display(),
        told=tuple(_notice(notice, zone) for notice in alert.notices.all()),
        acknowledged=_by(alert.acknowledged_at, alert.acknowledged_by, zone),
        done=alert.done,
        closed=_by(alert.closed_at, alert.closed_by, zone),
        reason=alert.reason,
    )


def _notice(notice: AlertNotice, zone: ZoneInfo) -> str:
    if notice.told_at is not None:
        return f"{notice.name}, {minute(notice.told_at, zone)}"
    return f"{notice.name}, {NO_SERVER if notice.failed == NO_SERVER else 'not told'}"


def _by(at: datetime | None, person: User | None, zone: ZoneInfo) -> str:
    if at is None:
        return ""
    return f"{minute(at, zone)}, {person}" if person is not None else minute(at, zone)
