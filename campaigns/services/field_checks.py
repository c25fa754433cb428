"""Zero and span checks, and accepting one that lies outside its tolerance. Each raises ValidationError.

Whether a check has failed follows from its channel and its calibration, and may change with them: accepting one that
has not is no harm, and means nothing.
"""

from __future__ import annotations

from typing import Any

from django.utils import timezone

from campaigns.models import FieldCheck, User
from campaigns.services.records import all_or_nothing, check, current

#: What was accepted is what the check showed: with another of these it is another check.
SHOWN = ("channel_id", "kind", "at", "reference", "observed")


def change(field_check: FieldCheck, **changes: Any) -> FieldCheck:
    """Set what is given. A check that shows something else by now is no longer accepted."""
    with all_or_nothing(FieldCheck):
        row = current(field_check)
        before = [getattr(row, name) for name in SHOWN]
        for name, value in changes.items():
            setattr(row, name, value)
        if before != [getattr(row, name) for name in SHOWN]:
            row.accepted_reason, row.accepted_by, row.accepted_at = "", None, None
        check(row)
        row.save(force_update=True)
    return row


def accept(field_check: FieldCheck, reason: str, by: User) -> FieldCheck:
    """Results that rest on it count in full again, and print who said so, when and why. Without a reason: no longer."""
    reason = reason.strip()
    with all_or_nothing(FieldCheck):
        row = current(field_check)
        row.accepted_reason = reason
        row.accepted_by, row.accepted_at = (by, timezone.now()) if reason else (None, None)
        check(row)
        row.save(force_update=True)
    return row
