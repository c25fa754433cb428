"""What an instrument's checks say about it today: overdue warnings, and how far its clock was off."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo

from campaigns.models import Calibration, Channel, ClockCheck, Deployment, Instrument
from methods.quantities.durations import SECOND_MS
from methods.quantities.moments import stamp_ms


def zone_of(instrument: Instrument) -> str:
    """Time zone of the site where the instrument stood last; else of any site of its organisation; else UTC."""
    last = (
        Deployment.objects.filter(instrument=instrument).order_by("-starts_at").select_related("campaign__site").first()
    )
    if last is not None:
        return last.campaign.site.time_zone
    site = instrument.organisation.sites.order_by("-created_at").first()
    return site.time_zone if site else "UTC"


def warnings(channels: Iterable[Channel], calibrations: Iterable[Calibration], today: date) -> list[str]:
    """What is overdue or missing, one sentence per channel."""
    latest: dict[int, Calibration] = {}
    for calibration in calibrations:
        held = latest.get(calibration.channel_id)
        if held is None or calibration.date > held.date:
            latest[calibration.channel_id] = calibration
    said = []
    for channel in channels:
        last = latest.get(channel.pk)
        if last is None:
            said.append(f"{channel.spec}: no calibration is entered.")
        elif last.due < today:
            said.append(f"{channel.spec}: calibration overdue since {last.due:%Y-%m-%d}.")
    return said


def clock_zone(instrument: Instrument) -> tzinfo:
    """On which clock the instrument means to run."""
    if instrument.clock_basis == Instrument.ClockBasis.UTC:
        return UTC
    if instrument.clock_basis == Instrument.ClockBasis.FIXED:
        return timezone(timedelta(minutes=instrument.clock_offset_min))
    return ZoneInfo(zone_of(instrument))


def clock_error_ms(check: ClockCheck, zone: tzinfo) -> int:
    """Milliseconds by which the clock was ahead of true time on its own basis; negative when it was behind."""
    return check.taken_ms - stamp_ms(check.at.astimezone(zone))


def error_words(check: ClockCheck, zone: tzinfo) -> str:
    """How far the clock was off, and how well that is known where its display shows no seconds."""
    error = in_words(clock_error_ms(check, zone))
    return f"{error}, give or take 30 s" if check.to_minute else error


def in_words(error_ms: int) -> str:
    """``61 min 3 s behind``: how far a clock was off, to the second."""
    seconds = round(abs(error_ms) / SECOND_MS)
    if seconds == 0:
        return "right to the second"
    minutes, rest = divmod(seconds, 60)
    parts = [f"{minutes} min"] if minutes else []
    parts += [f"{rest} s"] if rest else []
    return f"{' '.join(parts)} {'ahead' if error_ms > 0 else 'behind'}"
