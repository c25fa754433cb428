"""Results of instruments whose calibration was overdue when they measured, for the page of a zone."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date, tzinfo

from campaigns.models import Calibration
from methods.quantities.substances import SUBSTANCES
from methods.wording.meters import overdue, overdue_words
from methods.wording.numbers import mid_sentence
from reports.models import Result

Lines = list[tuple[date, date]]  # of a channel: when it was calibrated, and until when that holds


def overdue_of(results: Sequence[Result], parameter: str, zone: tzinfo) -> dict[int, date]:
    """By the id of a result, since when the calibration in force at its end was overdue. One query."""
    instruments = {result.deployment.instrument_id for result in results if result.deployment}
    rows = Calibration.objects.filter(channel__instrument__in=instruments, channel__spec__parameter=parameter)
    lines: dict[int, Lines] = defaultdict(list)
    for instrument, day, due in rows.order_by("date").values_list("channel__instrument", "date", "due"):
        lines[instrument].append((day, due))
    late = {}
    for result in results:
        if result.deployment is None or result.window_end is None:
            continue
        end = result.window_end.astimezone(zone).date()
        in_force = [due for day, due in lines[result.deployment.instrument_id] if day <= end]
        if in_force and in_force[-1] <= end:
            late[result.pk] = in_force[-1]
    return late


def beside(late: Mapping[int, date], result: Result) -> str:
    """ "; calibration overdue since 2026-08-01", "" for nothing."""
    return f"; {overdue(late[result.pk].isoformat())}" if result.pk in late else ""


def sentences_of(late: Mapping[int, date], results: Sequence[Result], parameter: str) -> Iterator[str]:
    """One for each instrument that results rest on."""
    counts = Counter((r.deployment.instrument.name, late[r.pk]) for r in results if r.deployment and r.pk in late)
    for (name, due), count in sorted(counts.items()):
        channel = mid_sentence(SUBSTANCES[parameter].name)
        yield overdue_words(name, channel, due.isoformat(), count, len(results))
