"""What people do about an alert: acknowledge it, note what was done, close it. All raise ValidationError; then nothing
has changed."""

from __future__ import annotations

from django.core.exceptions import ValidationError
from django.utils import timezone

from campaigns.enqueue import enqueue
from campaigns.models import Job, User
from campaigns.services.records import all_or_nothing, current, save_changed
from readings.job_kinds import TELL_ALERT
from readings.models import Alert

CLOSED = "This alert is closed already."
SAY_WHAT = "Say what was done."
SAY_WHY = "Say why it is closed."
ALL_TOLD = "Everybody has been told."


def acknowledge(alert: Alert, by: User) -> Alert:
    """Somebody has seen it and looks after it; the first one counts."""
    with all_or_nothing(Alert):
        row = _open(alert)
        if row.acknowledged_at is not None:
            return row
        return save_changed(row, acknowledged_at=timezone.now(), acknowledged_by=by)


def note(alert: Alert, done: str, by: User) -> Alert:
    """What was done; instead of what stood there, which the history keeps. Whoever notes it has seen it."""
    if not done.strip():
        raise ValidationError({"done": SAY_WHAT})
    with all_or_nothing(Alert):
        return save_changed(acknowledge(alert, by), done=done.strip())


def close(alert: Alert, reason: str, by: User) -> Alert:
    """Nothing more is to be done about it. What was done has to be noted before."""
    if not reason.strip():
        raise ValidationError({"reason": SAY_WHY})
    with all_or_nothing(Alert):
        row = acknowledge(alert, by)
        if not row.done:
            raise ValidationError({"reason": SAY_WHAT})
        return save_changed(row, closed_at=timezone.now(), closed_by=by, reason=reason.strip())


def tell_again(alert: Alert, by: User) -> Job:
    """Have the mails sent that could not be."""
    if not alert.notices.filter(told_at__isnull=True).exists():
        raise ValidationError(ALL_TOLD)
    return enqueue(TELL_ALERT, alert.pk, organisation_id=alert.campaign.site.organisation_id, owner=by)


def _open(alert: Alert) -> Alert:
    row = current(alert)
    if not row.is_open:
        raise ValidationError(CLOSED)
    return row
