"""The instruments a campaign used: what they are, when they were calibrated and checked."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Prefetch

from campaigns.models import Calibration, Campaign, Channel, ClockCheck, Deployment, FieldCheck, Instrument
from campaigns.services.correction_chains import chain_of
from methods.correction.drift import Period, periods
from methods.correction.drift_uncertainty import KINDS
from methods.quantities.durations import MINUTE_MS
from methods.quantities.moments import utc_ms
from methods.quantities.substances import SUBSTANCES
from methods.wording import kinds
from methods.wording.numbers import clock_face, minute
from methods.wording.results import measuring_range
from reports.content.canonical import number
from reports.content.instruments import (
    ReportedCalibration,
    ReportedChannel,
    ReportedCheck,
    ReportedClockCheck,
    ReportedInstrument,
)
from reports.services.contradictions import contradiction_words


def instruments_of(
    campaign: Campaign, deployments: list[Deployment], parameters: set[str]
) -> tuple[ReportedInstrument, ...]:
    """One entry per instrument that stood anywhere in the campaign, by name, with its channels for ``parameters``."""
    used: dict[int, list[Deployment]] = {}
    for deployment in deployments:
        used.setdefault(deployment.instrument_id, []).append(deployment)
    wanted = Channel.objects.filter(spec__parameter__in=parameters)
    wanted = wanted.select_related("spec").order_by("spec__parameter", "pk")
    found = Instrument.objects.filter(pk__in=used).select_related("type").prefetch_related(
        Prefetch("channels", wanted),
        Prefetch("channels__calibrations", Calibration.objects.order_by("date")),
        Prefetch("channels__field_checks", FieldCheck.objects.order_by("at", "kind").select_related("accepted_by")),
        Prefetch("clock_checks", ClockCheck.objects.order_by("at")),
    )  # fmt: skip
    rows = found.order_by("name", "serial")
    return tuple(_instrument(instrument, campaign, used[instrument.pk]) for instrument in rows)


def _instrument(instrument: Instrument, campaign: Campaign, deployments: list[Deployment]) -> ReportedInstrument:
    zone = campaign.site.zone_info
    first = min(d.starts_at for d in deployments)
    last = max(d.ends_at or d.starts_at for d in deployments)
    checks = around(instrument.clock_checks.all(), first, last)
    return ReportedInstrument(
        name=instrument.name,
        serial=instrument.serial,
        type=instrument.type.name,
        interference=instrument.type.interference,
        clock=kinds.CLOCKS[instrument.clock_basis],
        visits=len(deployments),
        channels=tuple(_channel(channel, first, last, zone) for channel in instrument.channels.all()),
        clock_checks=tuple(
            ReportedClockCheck(minute(c.at, zone), clock_face(c.shown_ms, to_minute=c.to_minute)) for c in checks
        ),
    )


def _channel(channel: Channel, first: datetime, last: datetime, zone: ZoneInfo) -> ReportedChannel:
    spec, chain = channel.spec, chain_of(channel, MINUTE_MS)
    checks = around(channel.field_checks.all(), first, last)
    told, failed = {utc_ms(check.at) for check in checks}, _failed(periods(chain))
    contradicting = contradiction_words(channel, periods(chain), chain.facts, zone)
    return ReportedChannel(
        parameter=spec.parameter,
        name=spec.with_probe(SUBSTANCES[spec.parameter].name),
        unit=spec.unit,
        resolution=number(spec.resolution),
        range=measuring_range(spec.range_low, spec.range_high),
        detection_limit=number(spec.detection_limit),
        calibration=_calibration(list(channel.calibrations.all()), last.astimezone(zone).date()),
        checks=tuple(_check(check, zone, failed=(check.kind, utc_ms(check.at)) in failed) for check in checks),
        contradictions=tuple(words for at, words in contradicting if at in told),
    )


def _failed(of_chain: Iterable[Period]) -> set[tuple[str, int]]:
    """Kind and time of the checks outside their tolerance."""
    return {
        (kind, int(at)) for period in of_chain for kind in KINDS for at in period.of(kind).at[period.of(kind).failed]
    }


def _check(check: FieldCheck, zone: ZoneInfo, *, failed: bool) -> ReportedCheck:
    return ReportedCheck(
        kind=kinds.CHECKS[check.kind],
        at=minute(check.at, zone),
        reference=number(check.reference),
        shown=number(check.observed),
        failed=failed,
        accepted=check.acceptance if failed else "",
    )


def _calibration(lines: list[Calibration], last_day: date) -> ReportedCalibration | None:
    """The calibration in force on the last day, None where there was none."""
    earlier = [line for line in lines if line.date <= last_day]
    if not earlier:
        return None
    line = earlier[-1]
    return ReportedCalibration(
        date=line.date.isoformat(),
        due=line.due.isoformat(),
        overdue=line.due < last_day,
        certificate=line.certificate,
        slope=number(line.slope),
        intercept=number(line.intercept),
    )


def around(checks: Iterable[Any], first: datetime, last: datetime) -> list[Any]:
    """The checks that bear on [first, last]: the last one before, all within, the first one after. ``checks`` by time,
    taken kind by kind where they have one."""
    kinds: dict[str, list[Any]] = {}
    for check in checks:
        kinds.setdefault(getattr(check, "kind", ""), []).append(check)
    kept = []
    for same in kinds.values():
        kept += [c for c in same if c.at < first][-1:]
        kept += [c for c in same if first <= c.at <= last]
        kept += [c for c in same if c.at > last][:1]
    return sorted(kept, key=lambda c: c.at)
