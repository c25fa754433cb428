"""An open alert that rises, people who left, names that look like lines, and runs that are no rooms."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core import mail

from campaigns.models import Campaign, Job
from campaigns.services import alert_levels, quality_runs
from campaigns.tasks import run_job
from readings.models import AlertNotice
from readings.services.alerts.telling import NO_LONGER
from tests import factories as make
from tests.alerts.conftest import Round, work
from tests.readings.doing import WALL, a_log, hand_in, read

pytestmark = pytest.mark.django_db
QUIET: list[object] = [2] * 30


def test_much_higher_is_told_once_more(on_round: Round) -> None:
    on_round.take([*QUIET, 305, 305, 305, *[2] * 10])
    on_round.take([*[900] * 5, *QUIET, 2, 2, 2, 2, 2], name="b.csv", start=WALL + timedelta(minutes=43))
    (alert,) = on_round.alerts()
    assert alert.value == 900
    assert len(mail.outbox) == 2
    assert "900 ppm" in mail.outbox[1].subject
    assert "higher than was told before" in mail.outbox[1].body
    on_round.take([2, 950, 2], name="c.csv", start=WALL + timedelta(minutes=83))
    assert [row.value for row in on_round.alerts()] == [950]
    assert len(mail.outbox) == 2
    assert sorted(AlertNotice.objects.values_list("turn", flat=True)) == [0, 1]


def test_a_level_in_other_terms_goes_on_telling(on_round: Round) -> None:
    on_round.take([*QUIET, 412, *QUIET])
    alert_levels.change(on_round.level, unit="mg/m³")
    work()
    (first,) = on_round.alerts()
    assert (first.value, first.unit, first.parameter) == (412, "ppm", "co")
    on_round.take([*[900] * 5, *QUIET, 2, 2, 2, 2, 2], name="b.csv", start=WALL + timedelta(minutes=61))
    kept, new = on_round.alerts()
    assert (kept.value, kept.unit) == (412, "ppm")
    assert new.unit == "mg/m³ (at 25 °C)"
    assert new.value == pytest.approx(900 * 28.01 / 24.465, rel=1e-3)
    assert len(mail.outbox) == 2


def test_who_left_before_the_mail_is_not_told(on_round: Round) -> None:
    log = a_log([*QUIET, 412, *QUIET], head="time,CO [ppm]", every_s=60)
    read(hand_in(on_round.campaign, log, "x.csv", on_round.meter, on_round.consultant))
    run_job(Job.objects.get(kind="look-for-alerts", state=Job.State.QUEUED).pk)
    on_round.consultant.memberships.all().delete()
    work()
    assert mail.outbox == []
    notice = AlertNotice.objects.get()
    assert (notice.told_at, notice.failed) == (None, NO_LONGER)


def test_a_name_forges_no_line(on_round: Round) -> None:
    # forms refuse such a name; a row of before may hold one
    Campaign.objects.filter(pk=on_round.campaign.pk).update(name="Round\nLevel: harmless\r\nWhat: 0 ppm")
    on_round.campaign.refresh_from_db()
    on_round.take([*QUIET, 412, *QUIET])
    (sent,) = mail.outbox
    assert "Campaign: Round Level: harmless What: 0 ppm\n" in sent.body
    assert [line for line in sent.body.splitlines() if line.startswith(("Level: harmless", "What: 0"))] == []


def test_zero_air_is_called_so(on_round: Round) -> None:
    make.InstrumentFactory.create(
        organisation=on_round.campaign.site.organisation, type=on_round.meter.type, name="m2", serial="z", channel=False
    )
    quality_runs.make(
        on_round.campaign, [on_round.meter], kind="zero", place="bench", starts_at=make.START,
        ends_at=make.START + timedelta(hours=1),
    )  # fmt: skip
    on_round.take([400] * 30)
    (alert,) = on_round.alerts()
    assert alert.where == "a quality run, zero air: bench"
