"""What pages say of a file that was withdrawn or is read anew, and of stretches that were set aside."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q

from methods.quantities.moments import stamp_text
from readings.models import SettingAside, Upload
from readings.services.withdrawing import read_after

NAMED = 5


def of_upload(upload: Upload, zone: ZoneInfo) -> dict[str, Any]:
    """aside: who withdrew it, when and why; newer: the upload it is read in as now; older: the one that it reads anew;
    older_aside: who withdrew that one, when and why. None where there is nothing."""
    older = upload.reads_anew
    return {
        "aside": _told(SettingAside.objects.filter(upload=upload).select_related("by").first(), zone),
        "newer": upload.read_anew_as.order_by("-pk").first(),
        "older": older,
        "older_aside": _told(older.set_aside, zone) if older is not None else None,
    }


def stretches(upload: Upload, zone: ZoneInfo) -> list[dict[str, Any]]:
    """What is or was set aside of its instrument while the file was logged, the latest first."""
    if upload.instrument_id is None:
        return []
    rows = SettingAside.objects.filter(channel__instrument=upload.instrument_id)
    if upload.first_stamp_ms is not None:
        meets = Q(first_stamp_ms__lte=upload.last_stamp_ms, last_stamp_ms__gte=upload.first_stamp_ms)
        rows = rows.filter(meets)
    told = (_told(row, zone) for row in rows.select_related("channel__spec", "by", "taken_back_by"))
    return [row for row in told if row is not None]


def follows(upload: Upload) -> str:
    """Which other files are read again when it is withdrawn, in a sentence; "" for none."""
    names = list(read_after(upload).order_by("filename").values_list("filename", flat=True))
    if not names:
        return ""
    shown = ", ".join(f"“{name}”" for name in names[:NAMED])
    more = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
    one = len(names) == 1
    return (
        f"{shown}{more} {'holds' if one else 'hold'} readings of the same instrument and "
        f"{'is' if one else 'are'} read again then, so that what {'it' if one else 'they'} held counts."
    )


def _told(row: SettingAside | None, zone: ZoneInfo) -> dict[str, Any] | None:
    if row is None:
        return None
    return {
        "row": row,
        "who": str(row.by or "somebody who has left"),
        "when": _local(row.created_at, zone),
        "first": stamp_text(row.first_stamp_ms) if row.first_stamp_ms is not None else "",
        "last": stamp_text(row.last_stamp_ms) if row.last_stamp_ms is not None else "",
        "back": _local(row.taken_back_at, zone) if row.taken_back_at else "",
        "back_by": str(row.taken_back_by or "somebody who has left"),
    }


def _local(moment: datetime, zone: ZoneInfo) -> str:
    return f"{moment.astimezone(zone):%Y-%m-%d %H:%M}"
