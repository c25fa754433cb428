"""Whether the order of day and month that somebody said of one file may hold for the next of its shape.

A wrong order puts every reading into another month, and nothing shows it. So it is carried where a file has proved it,
or where this file could not have been written in any other; elsewhere it is asked again.
"""

from __future__ import annotations

from datetime import timedelta
from functools import partial
from pathlib import Path

from methods.logs.bounded import within
from methods.logs.stamps.date_order import DAY_FIRST, MONTH_FIRST, is_undecided
from methods.logs.stamps.order_spans import order_spans
from methods.logs.types import Layout
from methods.quantities.durations import DAY_MS
from methods.quantities.moments import stamp_ms
from readings.models import Upload

#: What a clock may be ahead, and the time zones are, when a file is handed in.
AHEAD = timedelta(days=1, hours=12)


def order_may_hold(upload: Upload, path: Path, fresh: Layout, said: Layout) -> bool:
    """``fresh`` is the layout as it was sniffed from ``upload``, ``said`` the one that is kept for its shape."""
    if said.day_first is None or not is_undecided(fresh):
        return True
    proved = _proved_orders(upload, fresh.shape_key())
    if proved:
        return proved == {said.day_first}
    spans = within(path, partial(order_spans, path, fresh))
    own, other = spans.get(_name(said.day_first)), spans.get(_name(not said.day_first))
    if other is None or own == other:
        return own is not None
    end = stamp_ms(upload.created_at + AHEAD)
    return own is not None and own[1] <= end and not _is_possible(other, end)


def _name(day_first: bool) -> str:
    return DAY_FIRST if day_first else MONTH_FIRST


def _is_possible(span: tuple[int, int], end: int) -> bool:
    """Whether a file may run from one to the other: forward, and not beyond the day on which it was handed in."""
    return span[0] - DAY_MS <= span[1] <= end


def _proved_orders(upload: Upload, shape: str) -> set[bool]:
    """``day_first`` as other files of the shape show it by themselves."""
    files = Upload.objects.filter(campaign__site__organisation=upload.campaign.site.organisation_id)
    files = files.filter(understood__shape=shape).exclude(pk=upload.pk)
    return {way for way in (True, False) if files.filter(understood__seen__day_first=way).exists()}
