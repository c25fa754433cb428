"""Whether an instrument is fit for what is asked of it: its checks over time, its papers, what it can decide."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.urls import reverse

from campaigns.models import Calibration, Campaign, Channel, Deployment, FieldCheck, Instrument
from campaigns.pages.chosen_criteria import chosen_of
from campaigns.pages.fitness import told as decides
from campaigns.services.correction_chains import chain_of
from campaigns.services.tolerances import Tolerances, tolerances
from methods.correction.drift import CheckSeries, Period, periods
from methods.correction.facts import Kind
from methods.figures.checks import CheckMark, check_course
from methods.quantities.digits import in_digits, percent
from methods.quantities.durations import MINUTE_MS
from methods.quantities.moments import utc_moment
from reports.services.contradictions import contradiction_words

Told = dict[str, Any]

#: A calibration that ends within so many days is said before it is overdue.
SOON = timedelta(days=30)
#: A zero check counts for a day when it lies within so long of its first or last visit.
NEAR = timedelta(hours=24)

STORAGE = (
    "After high exposure let it run in clean air before switching it off, until it shows zero again "
    "(common practice, no source).",
    "Keep it capped, dry and away from solvents, cleaners and fresh paint (common practice, no source).",
    "Let it come to the temperature of the room, and check its zero there (common practice, no source).",
)


@dataclass(frozen=True)
class Checked:
    """The checks of one kind of one channel: a chart, the same as a table, and the band with where it comes from."""

    kind: Kind
    chart: Told
    chart_id: str
    caption: str
    summary: str
    rows: list[Told]
    failed: int


# --- checks over time -------------------------------------------------------------------------------------------------


def checked(channel: Channel, zone: ZoneInfo) -> list[Checked]:
    """Zero and span, each where there is a check of it."""
    drift_periods = periods(chain_of(channel, MINUTE_MS))
    limits = tolerances(channel.spec)
    return [
        checked
        for kind in ("zero", "span")
        if (checked := _checked(channel, kind, drift_periods, limits, zone)) is not None
    ]  # fmt: skip


def _checked(
    channel: Channel, kind: Kind, drift_periods: Sequence[Period], limits: Tolerances, zone: ZoneInfo
) -> Checked | None:
    marks = [_marks(period.of(kind), kind, channel, zone) for period in drift_periods]
    flat = [mark for group in marks for mark in group]
    if not flat:
        return None
    unit = channel.spec.unit
    is_zero = kind == "zero"
    tolerance, source = (limits.zero, limits.zero_from) if is_zero else (limits.span, limits.span_from)
    band = f"±{_number(tolerance)} {unit}" if is_zero else f"±{percent(tolerance, 3)}"
    failed = sum(mark.failed for mark in flat)
    return Checked(
        kind=kind,
        chart=check_course(
            [group for group in marks if group],
            [f"{utc_moment(period.line.valid_from_utc_ms):%Y-%m-%d}" for period in drift_periods if period.calibrated],
            name=f"zero, {unit}" if is_zero else "span factor",
            right=0.0 if is_zero else 1.0,
            tolerance=tolerance,
        ),
        chart_id=f"{kind}-{channel.pk}",
        caption=f"{'Zero' if is_zero else 'Span'} at each check. The band is {band} ({source}); a dotted line is a "
        "calibration.",
        summary=f"{len(flat)} check{'s' if len(flat) > 1 else ''}, {failed or 'none'} failed; the last gave "
        f"{_number(flat[-1].value)}{f' {unit}' if is_zero else ''} on {flat[-1].at[:10]}.",
        rows=_rows(channel, kind, flat),
        failed=failed,
    )  # fmt: skip


def _marks(series: CheckSeries, kind: Kind, channel: Channel, zone: ZoneInfo) -> list[CheckMark]:
    unit = f" {channel.spec.unit}" if kind == "zero" else ""
    out = []
    for at, value, failed in zip(series.at.tolist(), series.values.tolist(), series.failed.tolist(), strict=True):
        when = f"{utc_moment(at).astimezone(zone):%Y-%m-%d %H:%M}"
        word = "failed" if failed else "passed"
        out.append(CheckMark(when, round(value, 12), failed, f"{when}: {_number(value)}{unit}, {word}"))
    return out


def _rows(channel: Channel, kind: Kind, marks: Sequence[CheckMark]) -> list[Told]:
    """Newest first, beside what was given and shown."""
    given = sorted((c for c in channel.field_checks.all() if c.kind == kind), key=lambda c: c.at)
    pairs = list(zip(given, marks, strict=False)) if len(given) == len(marks) else [(None, mark) for mark in marks]
    return [
        {
            "at": mark.at,
            "reference": "–" if check is None else _number(check.reference),
            "observed": "–" if check is None else _number(check.observed),
            "gave": _number(mark.value),
            "word": _word(check, mark),
            "accept": reverse("field-check-accept", args=[check.key]) if check and mark.failed else "",
        }
        for check, mark in reversed(pairs)
    ]


def _word(check: FieldCheck | None, mark: CheckMark) -> str:
    if not mark.failed:
        return "passed"
    return f"failed; {check.acceptance}" if check and check.is_accepted else "failed"


def contradicting(channels: Iterable[Channel], zone: ZoneInfo) -> list[str]:
    """Checks that the certificate does not allow, a sentence each."""
    said = []
    for channel in channels:
        chain = chain_of(channel, MINUTE_MS)
        told = contradiction_words(channel, periods(chain), chain.facts, zone)
        said += [f"{channel.spec}: {words[0].lower()}{words[1:]}" for _, words in told]
    return said


# --- papers -----------------------------------------------------------------------------------------------------------


def papers(channels: Iterable[Channel], today: date) -> list[Told]:
    """The calibration in force of each channel: since when, until when, and what to do about it."""
    out = []
    for channel in channels:
        last = max(channel.calibrations.all(), key=lambda c: c.date, default=None)
        out.append({"channel": channel.spec, "calibration": last, "words": _paper(last, today)})
    return out


def _paper(last: Calibration | None, today: date) -> str:
    if last is None:
        return "no calibration is entered: every reading is flagged as overdue"
    days = (last.due - today).days
    if days < 0:
        return f"overdue since {last.due:%Y-%m-%d}: readings from then on are flagged"
    if last.due - today <= SOON:
        return f"due in {days} day{'' if days == 1 else 's'}, on {last.due:%Y-%m-%d}"
    return f"valid until {last.due:%Y-%m-%d}"


# --- zero checks around the days on site ------------------------------------------------------------------------------


def days(instrument: Instrument, channels: Sequence[Channel], deployments: Iterable[Deployment]) -> list[Told]:
    """For each day on site: was the zero checked before the first visit and after the last? Newest first."""
    wanted = [c for c in channels if c.spec.substance.zero_check]
    if not wanted:
        return []
    by_day: dict[tuple[int, date], list[Deployment]] = {}
    for deployment in deployments:
        zone = deployment.campaign.site.zone_info
        day = deployment.starts_at.astimezone(zone).date()
        by_day.setdefault((deployment.campaign_id, day), []).append(deployment)
    return [_day(day, group, wanted) for (_, day), group in sorted(by_day.items(), key=lambda i: i[0][1], reverse=True)]


def _day(day: date, group: list[Deployment], channels: Sequence[Channel]) -> Told:
    first = min(d.starts_at for d in group)
    last = max(d.ends_at or d.starts_at for d in group)
    before, after = [], []
    for channel in channels:
        zeros = [c.at for c in channel.field_checks.all() if c.kind == FieldCheck.Kind.ZERO]
        if not any(first - NEAR <= at <= first for at in zeros):
            before.append(channel.spec.parameter_name.lower())
        if not any(last <= at <= last + NEAR for at in zeros):
            after.append(channel.spec.parameter_name.lower())
    return {
        "day": day,
        "campaign": group[0].campaign,
        "visits": len(group),
        "before": f"missing for {', '.join(before)}" if before else "yes",
        "after": f"missing for {', '.join(after)}" if after else "yes",
        "lacks": bool(before or after),
    }


# --- what it can decide -----------------------------------------------------------------------------------------------


def decisions(
    instrument: Instrument, campaigns: Iterable[Campaign], channels: Sequence[Channel]
) -> list[tuple[Campaign, list[Told]]]:
    """For each campaign the criteria that a channel measures: what it could decide, in words."""
    specs = [channel.spec for channel in channels]
    for spec in specs:
        spec.instrument_type = instrument.type
    asked = [
        (
            campaign,
            [
                {"limit": chosen.label, **row}
                for chosen in chosen_of(campaign)
                for row in decides(campaign, chosen, specs)
            ],
        )
        for campaign in campaigns
    ]
    return [(campaign, rows) for campaign, rows in asked if rows]


def warnings(
    papers_: Iterable[Told], days_: Sequence[Told], checks: Iterable[Checked], contradicting_: Sequence[str] = ()
) -> list[str]:
    """What is wrong with it now, one sentence each."""
    said = [
        f"{row['channel']}: {row['words']}."
        for row in papers_
        if row["calibration"] is None or row["words"].startswith(("overdue", "due in"))
    ]
    lacking = [f"{row['day']:%Y-%m-%d}" for row in days_ if row["lacks"]]
    if lacking:
        more = f" and {len(lacking) - 3} more" if len(lacking) > 3 else ""
        said.append(f"No zero check before or after every day on site: {', '.join(lacking[:3])}{more}.")
    failed = sum(kind_checked.failed for kind_checked in checks)
    if failed:
        said.append(
            f"{failed} field check{'s' if failed > 1 else ''} failed: what rests on them is an indication until a "
            "person accepts them, in the tables below."
        )
    return [*said, *contradicting_]


def _number(value: float) -> str:
    """As an instrument shows it: no digits beyond those there are."""
    return in_digits(value, 4)
