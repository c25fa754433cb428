"""Zero and span checks over campaigns: control charts, and the largest change inside a campaign."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from campaigns.models import Campaign, Channel, Deployment, FieldCheck
from methods.quality.control_chart import FEWEST_POINTS, control_chart, largest_change
from methods.wording.numbers import minute
from reports.content.canonical import number
from reports.services.quality.lowest_limits import lowest_limit
from reports.services.quality.runs import Limits
from reports.trace.quality import ChartMeasured, CheckPoint, DriftMeasured

DAY = timedelta(days=1)
KINDS = ("zero", "span")


def checks_measured(
    campaign: Campaign, deployments: Sequence[Deployment], limits: Limits
) -> tuple[tuple[ChartMeasured, ...], tuple[DriftMeasured, ...]]:
    """Of every channel that was ever checked, of the instruments used here. Three queries."""
    if not deployments:
        return (), ()
    began = min(deployment.starts_at for deployment in deployments) - DAY
    ended = max(deployment.ends_at or deployment.starts_at for deployment in deployments) + DAY
    channels = Channel.objects.filter(instrument__in={deployment.instrument_id for deployment in deployments})
    rows = channels.select_related("spec", "instrument").prefetch_related("field_checks", "calibrations")
    zone = campaign.site.zone_info
    charts: list[ChartMeasured] = []
    drifts: list[DriftMeasured] = []
    for channel in sorted(rows, key=lambda c: (c.spec.parameter, str(c.instrument), c.pk)):
        for kind in KINDS:
            checks = sorted((c for c in channel.field_checks.all() if c.kind == kind and c.at <= ended), key=_at)
            if checks:
                charts.append(_chart(channel, kind, checks, began, zone))
                drifts += _drift(channel, kind, [c for c in checks if c.at >= began], limits, zone)
    return tuple(charts), tuple(drifts)


def _at(check: FieldCheck) -> datetime:
    return check.at


def _value(check: FieldCheck, kind: str) -> float | None:
    """How far the zero was off, in the channel's unit; of a span what was shown of the reference, in per cent."""
    if kind == "zero":
        return float(check.observed - check.reference)
    return 100 * check.observed / check.reference if check.reference > 0 else None


def _chart(channel: Channel, kind: str, checks: Sequence[FieldCheck], began: datetime, zone: ZoneInfo) -> ChartMeasured:
    told = [(check, value) for check in checks if (value := _value(check, kind)) is not None]
    step = channel.spec.resolution
    if kind == "span" and told:
        step = 100 * step / min(check.reference for check, _ in told)
    chart = control_chart([value for _, value in told], step)
    outside = chart.outside if chart else ()
    return ChartMeasured(
        meter=str(channel.instrument),
        parameter=channel.spec.parameter,
        kind=kind,
        unit=channel.spec.unit if kind == "zero" else "%",
        centre=number(chart.centre) if chart else None,
        lower=number(chart.lower) if chart else None,
        upper=number(chart.upper) if chart else None,
        points=tuple(
            CheckPoint(minute(check.at, zone), number(value), k in outside, check.at >= began)
            for k, (check, value) in enumerate(told)
        ),
        why="" if chart else f"{len(told)} of at least {FEWEST_POINTS} checks are there",
    )


def _drift(
    channel: Channel, kind: str, checks: Sequence[FieldCheck], limits: Limits, zone: ZoneInfo
) -> Iterator[DriftMeasured]:
    """Between checks with no calibration between them, where a meter is adjusted."""
    found = [told for part in _between_calibrations(channel, checks) if (told := _largest(part, kind)) is not None]
    if not found:
        return
    check, change = max(found, key=lambda told: abs(told[1]))
    lowest = lowest_limit(channel.spec, limits.get(channel.spec.parameter, ()))
    share = change / 100 if kind == "span" else change / lowest.value if lowest else None
    yield DriftMeasured(
        meter=str(channel.instrument),
        parameter=channel.spec.parameter,
        kind=kind,
        unit=channel.spec.unit if kind == "zero" else "%",
        change=number(change),
        at=minute(check.at, zone),
        share=number(share),
        against="the reference" if kind == "span" else lowest.text if lowest else "",
    )


def _largest(checks: Sequence[FieldCheck], kind: str) -> tuple[FieldCheck, float] | None:
    told = [(check, value) for check in checks if (value := _value(check, kind)) is not None]
    change = largest_change([value for _, value in told])
    return None if change is None else (told[change[0]][0], change[1])


def _between_calibrations(channel: Channel, checks: Sequence[FieldCheck]) -> Iterator[list[FieldCheck]]:
    days = [calibration.date for calibration in channel.calibrations.all()]
    part: list[FieldCheck] = list(checks[:1])
    for earlier, later in pairwise(checks):
        if any(earlier.at.date() < day <= later.at.date() for day in days):
            yield part
            part = []
        part.append(later)
    yield part
