"""Where no mail server is set nobody counts as told, on pages, in the list of work, and in what is signed."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

import openpyxl
import pytest
from django.test import Client
from django.urls import reverse

from campaigns.models import Job, User
from campaigns.services import alert_levels
from campaigns.services.mail_server import NO_SERVER
from campaigns.tasks import run_job
from readings.models import Alert, AlertNotice
from readings.services.alerts.typed import look_at_typed
from reports.pages.workbook import workbook
from reports.services.freezing.agreements import agreed_of
from reports.services.freezing.alerts import alerts_of
from tests import factories as make
from tests.alerts.conftest import Round
from tests.reports.pages import text_of

Browse = Callable[[User | None], Client]


@pytest.fixture
def no_server(settings: Any) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"


@pytest.fixture
def unsent(on_round: Round, no_server: None) -> Alert:
    (alert,) = look_at_typed(on_round.campaign, "co", 412.0, "ppm", at=make.START, by=on_round.consultant)
    run_job(Job.objects.get(kind="tell-alert").pk)
    return alert


def test_the_job_says_that_nothing_was_sent(unsent: Alert) -> None:
    job, notice = Job.objects.get(kind="tell-alert"), AlertNotice.objects.get()
    assert (job.state, job.code) == (Job.State.FAILED, "no-mail-server")
    assert NO_SERVER in job.message
    assert (notice.told_at, notice.failed) == (None, NO_SERVER)


def test_page_and_list_say_so(unsent: Alert, on_round: Round, browse: Browse) -> None:
    browser = browse(on_round.consultant)
    page = text_of(browser.get(reverse("alert", args=[unsent.key])))
    assert f"{on_round.consultant}: {NO_SERVER}" in page
    assert "by mail 20" not in page
    assert NO_SERVER in text_of(browser.get(reverse("alerts", args=[on_round.campaign.key])))


def test_what_is_signed_says_so(unsent: Alert, on_round: Round) -> None:
    (told,) = alerts_of(on_round.campaign)
    assert told.told == (f"{on_round.consultant}, {NO_SERVER}",)
    campaign = on_round.campaign
    book = openpyxl.load_workbook(io.BytesIO(workbook(campaign, [], [], agreed_of(campaign), [told])))
    head, row = book["Alerts"].iter_rows(values_only=True)
    assert dict(zip(head, row, strict=True))["mail to"] == f"{on_round.consultant}, {NO_SERVER}"


def test_once_a_server_is_set_the_mail_goes(unsent: Alert, settings: Any, mailoutbox: list[Any]) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    job = Job.objects.get(kind="tell-alert")
    Job.objects.filter(pk=job.pk).update(state=Job.State.QUEUED)
    run_job(job.pk)
    assert len(mailoutbox) == 1
    assert AlertNotice.objects.get().told_at is not None


def test_the_levels_warn_while_they_name_people(on_round: Round, browse: Browse, settings: Any) -> None:
    browser, url = browse(on_round.consultant), reverse("alert-levels", args=[on_round.campaign.key])
    assert "FANLIGHT_MAIL_HOST" not in text_of(browser.get(url))
    settings.EMAIL_BACKEND = "django.core.mail.backends.console.EmailBackend"
    assert "FANLIGHT_MAIL_HOST" in text_of(browser.get(url))
    alert_levels.change(on_round.level, people=[], addresses="")
    assert "FANLIGHT_MAIL_HOST" not in text_of(browser.get(url))
