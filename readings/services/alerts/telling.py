"""The job that tells people of an alert by mail: each once. What cannot be sent is tried again, and shown."""

from __future__ import annotations

import logging
from smtplib import SMTPException

from django.conf import settings
from django.core.mail import EmailMessage
from django.db.models import Q
from django.urls import reverse
from django.utils import timezone

from campaigns.enqueue import Outcome
from campaigns.models import Job
from campaigns.services.mail_server import NO_SERVER, is_set
from methods.quantities.substances import name_of
from methods.wording import alerts as words
from methods.wording.numbers import minute
from readings.models import Alert, AlertNotice
from readings.services.alerts.raising import notices_of

NO_LONGER = "no longer among those whom the level tells"
log = logging.getLogger(__name__)


def tell(job: Job) -> Outcome:
    """The job "tell-alert". Safe to run twice: who was told is not told again.

    Without a mail server the mails are written to the log and nobody counts as told; trying again would not help.
    """
    alert = Alert.objects.select_related("campaign__site", "channel__instrument", "level").get(pk=job.subject_id)
    waiting = _still_to_tell(alert)
    failed = []
    for notice in waiting:
        job.beat()  # no longer ours: another worker tells the rest
        if not _sent(alert, notice):
            failed.append(notice.name)
    if not failed:
        told = len(waiting)
        return Job.State.DONE, "told", f"{told:,} {'person' if told == 1 else 'people'} told."
    if not is_set():
        return Job.State.FAILED, "no-mail-server", f"{', '.join(failed)}: {NO_SERVER}. Tell them another way."
    message = f"The mail could not be sent to {', '.join(failed)}. Tell them another way."
    if job.attempts < settings.JOB_MAX_ATTEMPTS:
        return Job.State.QUEUED, "mail-later", f"{message} It is tried again."
    return Job.State.FAILED, "mail-failed", message


def _still_to_tell(alert: Alert) -> list[AlertNotice]:
    """Those not told yet whom the level would name now as well. Of the others it is said why they are not told."""
    waiting = list(alert.notices.filter(told_at__isnull=True))
    now = {notice.address.lower() for notice in notices_of(alert, alert.level)} if waiting else set()
    gone = [notice.pk for notice in waiting if notice.address.lower() not in now]
    AlertNotice.objects.filter(pk__in=gone).update(failed=NO_LONGER)
    return [notice for notice in waiting if notice.address.lower() in now]


def _sent(alert: Alert, notice: AlertNotice) -> bool:
    try:
        _mail(alert, notice).send()
    except (OSError, SMTPException, ValueError) as error:  # ValueError: a header that cannot be one
        log.warning("Alert %s could not be told to a person: %s", alert.key, error)
        AlertNotice.objects.filter(pk=notice.pk).update(failed=str(error)[:300] or type(error).__name__)
        return False
    if not is_set():
        AlertNotice.objects.filter(pk=notice.pk).update(failed=NO_SERVER)
        return False
    AlertNotice.objects.filter(Q(told_at__isnull=True), pk=notice.pk).update(told_at=timezone.now(), failed="")
    return True


def _mail(alert: Alert, notice: AlertNotice) -> EmailMessage:
    site = alert.campaign.site
    parameter = name_of(alert.parameter)
    value = words.value_words(alert.value, alert.unit, at_least=alert.is_at_least)
    facts = {
        "Where": f"{site.name}, {alert.where}",
        "What": f"{parameter} {value} ({alert.get_basis_display()})",
        "Since the last mail": "it turned out higher than was told before" if notice.turn else "",
        "When": f"{minute(alert.reached_at, site.zone_info)} ({site.time_zone})",
        "How long": words.lasting_words(alert.minutes, partial=alert.is_partial),
        "Level": alert.level_words,
        "By now": "" if alert.standing == Alert.Standing.STANDS else alert.get_standing_display(),
        "Campaign": alert.campaign.name,
        "Instrument": str(alert.channel.instrument) if alert.channel else "",
    }
    text = words.mail_text(facts, alert.advice, _link(alert) if notice.is_staff else "")
    return EmailMessage(words.mail_subject(parameter, value, site.name), text, to=[notice.address])


def _link(alert: Alert) -> str:
    """For people who may see the page. "" where nobody said by which address this installation is reached."""
    base = settings.PUBLIC_URL.rstrip("/")
    return f"{base}{reverse('alert', args=[alert.key])}" if base else ""
