"""Values that people type, held against the alert levels of their campaign at once."""

from __future__ import annotations

from datetime import datetime

import numpy as np
from django.db import transaction

from campaigns.models import AlertLevel, Campaign, SamplingPoint, User
from campaigns.services.alert_terms import LevelInTerms, in_unit
from campaigns.services.locks import hold_campaign
from methods.alerts import reached
from methods.averages import Series
from methods.quantities.durations import MINUTE_MS
from methods.quantities.flags import Flag
from methods.quantities.moments import utc_ms
from methods.quantities.units import NotConvertible
from readings.models import Alert
from readings.services.alerts.raising import raise_alert


def look_at_typed(
    campaign: Campaign,
    parameter: str,
    value: float,
    unit: str,
    *,
    at: datetime,
    by: User,
    point: SamplingPoint | None = None,
    minutes: float | None = None,
    over_range: bool = False,
) -> list[Alert]:
    """The alerts that a value raises which ``by`` saw or measured ``at`` this time; called where it is kept.

    ``minutes``: how long it stands for; None: what a display showed. That counts against every level, whatever its
    averaging: nobody knows for how long it has been so. The same value at the same time and place raises one alert.
    """
    with transaction.atomic():
        hold_campaign(campaign)
        levels = campaign.alert_levels.filter(is_on=True, parameter=parameter)
        raised = [_looked_at(level, value, unit, at, by, point, minutes, over_range) for level in levels]
    return [alert for alert in raised if alert is not None]


def _looked_at(
    level: AlertLevel, value: float, unit: str, at: datetime, by: User, point: SamplingPoint | None,
    minutes: float | None, over_range: bool,
) -> Alert | None:  # fmt: skip
    try:
        terms = in_unit(level, unit)
    except NotConvertible:
        return None
    event = next(iter(reached(_series(value, at, minutes, over_range, terms), terms.rule)), None)
    if event is None:
        return None
    told = {"reached_at": at, "value": terms.told(value), "point": point, "basis": Alert.Basis.TYPED}
    if Alert.objects.filter(level=level, **told).exists():
        return None
    return raise_alert(
        level.campaign, level, until_at=at, is_at_least=event.is_at_least, minutes=minutes or 0.0, typed_by=by,
        place=str(point) if point else "", is_partial=event.is_partial, **told,
    )  # fmt: skip


def _series(value: float, at: datetime, minutes: float | None, over_range: bool, terms: LevelInTerms) -> Series:
    stands_for = round((minutes or terms.rule.minutes or 1) * MINUTE_MS)
    moment = np.array([utc_ms(at)], dtype=np.int64)
    flags = np.array([int(Flag.OVER_RANGE) if over_range else 0], dtype=np.int16)
    start, end = int(moment[0]) - stands_for, int(moment[0]) + stands_for
    return Series(moment, np.array([float(value)]), flags, stands_for, start, end)
