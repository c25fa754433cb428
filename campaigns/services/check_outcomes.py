"""Which field checks of an instrument lie outside their tolerance, as everything that is corrected by them takes it."""

from __future__ import annotations

from campaigns.models import Channel, Instrument
from campaigns.services.correction_chains import chain_of
from methods.correction.drift import periods
from methods.correction.drift_uncertainty import KINDS
from methods.quantities.durations import MINUTE_MS
from methods.quantities.moments import utc_ms


def failed_checks_of(instrument: Instrument) -> set[int]:
    """Ids of the checks that failed, accepted or not. Three queries."""
    rows = Channel.objects.filter(instrument=instrument).select_related("spec", "instrument__type")
    failed: set[int] = set()
    for channel in rows.prefetch_related("field_checks", "calibrations"):
        found = periods(chain_of(channel, MINUTE_MS))
        at = {(kind, int(ms)) for each in found for kind in KINDS for ms in each.of(kind).at[each.of(kind).failed]}
        failed.update(row.pk for row in channel.field_checks.all() if (_kind(row.kind), utc_ms(row.at)) in at)
    return failed


def _kind(kind: str) -> str:
    return "zero" if kind == "zero" else "span"
