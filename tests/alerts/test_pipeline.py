"""From a log that is handed in to an alert: once, wherever it was, whatever is known later."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from django.core import mail

from campaigns.models import Calibration, Job
from campaigns.services import alert_levels
from campaigns.services.deployments import remove
from campaigns.tasks import run_job
from readings.models import Alert, AlertNotice
from readings.services.stretches_aside import set_aside, take_back
from readings.services.withdrawing import withdraw
from tests import factories as make
from tests.alerts.conftest import Round, work
from tests.readings.doing import WALL

pytestmark = pytest.mark.django_db
QUIET: list[object] = [2] * 30
PEAK: list[object] = [*QUIET, 340, 412, 305, *QUIET]


class TestALogIsRead:
    def test_before_anybody_knows_where_it_was(self, on_round: Round) -> None:
        upload = on_round.take(PEAK)
        (alert,) = on_round.alerts()
        assert (alert.value, alert.unit, alert.basis, alert.where) == (412, "ppm", "stored", "a place not known yet")
        assert (alert.upload, alert.line) == (upload, 32)
        # the logger's clock is that of the site, in summer an hour before UTC
        assert alert.reached_at == datetime(2026, 9, 15, 8, 30, tzinfo=UTC)
        assert alert.minutes == pytest.approx(3)
        assert alert.level_words == "Carbon monoxide above 300 ppm, one reading is enough"

    def test_nothing_reached_raises_nothing(self, on_round: Round) -> None:
        on_round.take(QUIET)
        assert on_round.alerts() == []
        assert mail.outbox == []

    def test_a_level_that_is_off_raises_nothing(self, on_round: Round) -> None:
        alert_levels.switch(on_round.level, on=False)
        on_round.take(PEAK)
        assert on_round.alerts() == []

    def test_over_range_counts_as_above(self, on_round: Round) -> None:
        on_round.take([2, ">200", 2])
        (alert,) = on_round.alerts()
        assert (alert.value, alert.is_at_least) == (200, True)

    def test_a_level_chosen_later_is_looked_for_in_what_is_there(self, on_round: Round) -> None:
        on_round.take([2, *[120] * 12, 2])
        assert on_round.alerts() == []
        alert_levels.choose(on_round.campaign, "CO-ALARM-100", on_round.consultant)
        work()
        assert [alert.level.code for alert in on_round.alerts()] == ["CO-ALARM-100"]

    def test_in_the_unit_of_the_level(self, on_round: Round) -> None:
        """100 mg/m³ of carbon monoxide at 25 °C are 87.3 ppm (28.01 g/mol, 24.465 L/mol)."""
        alert_levels.choose(on_round.campaign, "CO-WHO-15M", on_round.consultant)
        on_round.take([*QUIET, *[90] * 15, *QUIET])
        (alert,) = on_round.alerts()
        assert alert.value == pytest.approx(90 * 28.01 / 24.465, rel=1e-3)
        assert alert.unit == "mg/m³ (at 25 °C)"


class TestEachEventOnce:
    def test_the_same_file_twice(self, on_round: Round) -> None:
        on_round.take(PEAK)
        on_round.take([*PEAK, 2], name="again.csv")  # the same memory, downloaded a minute later
        assert len(on_round.alerts()) == 1
        assert len(mail.outbox) == 1

    def test_a_log_cut_in_two_within_the_event(self, on_round: Round) -> None:
        on_round.take([*QUIET, 340, 412], name="first.csv")
        on_round.take([430, 305, *QUIET], name="second.csv", start=WALL + timedelta(minutes=32))
        (alert,) = on_round.alerts()
        assert alert.value == 430
        assert alert.minutes == pytest.approx(4)
        assert len(mail.outbox) == 1

    def test_its_place_is_found_later(self, on_round: Round) -> None:
        on_round.take(PEAK)
        stay = make.DeploymentFactory.create(
            campaign=on_round.campaign, instrument=on_round.meter,
            point__room__zone__floor__building__site=on_round.campaign.site, point__room__name="Boiler room",
        )  # fmt: skip
        work()
        (alert,) = on_round.alerts()
        assert (alert.point, alert.basis) == (stay.point, "corrected")
        assert "Boiler room" in alert.where
        assert len(mail.outbox) == 1

    def test_its_deployment_is_taken_away_again(self, on_round: Round) -> None:
        stay = make.DeploymentFactory.create(campaign=on_round.campaign, instrument=on_round.meter)
        on_round.take(PEAK)
        remove(stay)
        work()
        (alert,) = on_round.alerts()
        assert (alert.point, alert.basis, alert.standing) == (None, "stored", "stands")

    def test_corrected_later(self, on_round: Round) -> None:
        make.DeploymentFactory.create(campaign=on_round.campaign, instrument=on_round.meter)
        on_round.take([*QUIET, 290, 295, 280, *QUIET])
        assert on_round.alerts() == []
        Calibration.objects.create(
            channel=on_round.channel, date=make.START.date(), due=make.START.date() + timedelta(days=365), slope=1.2
        )
        work()
        (alert,) = on_round.alerts()
        assert alert.value == pytest.approx(295 * 1.2)
        assert alert.basis == "corrected"

    def test_what_a_correction_takes_away_is_told_as_stored(self, on_round: Round) -> None:
        make.DeploymentFactory.create(campaign=on_round.campaign, instrument=on_round.meter)
        on_round.take(PEAK)
        Calibration.objects.create(
            channel=on_round.channel, date=make.START.date(), due=make.START.date() + timedelta(days=365), slope=0.5
        )
        work()
        (alert,) = on_round.alerts()
        assert (alert.value, alert.basis, alert.standing) == (412, "stored", "stands")

    def test_two_hours_apart_are_two(self, on_round: Round) -> None:
        on_round.take([400, *[2] * 120, 400])
        assert len(on_round.alerts()) == 2

    def test_a_stay_of_another_campaign_is_that_ones(self, on_round: Round) -> None:
        other = make.CampaignFactory.create(site=on_round.campaign.site)
        make.DeploymentFactory.create(campaign=other, instrument=on_round.meter)
        on_round.take(PEAK)
        assert on_round.alerts() == []


class TestSetAside:
    def test_a_withdrawn_log_leaves_its_alert(self, on_round: Round) -> None:
        upload = on_round.take(PEAK)
        withdraw(upload, "the meter was calibrated then", on_round.consultant)
        work()
        (alert,) = on_round.alerts()
        assert alert.standing == Alert.Standing.ASIDE
        assert alert.is_open

    def test_a_stretch_and_back(self, on_round: Round) -> None:
        on_round.take(PEAK)
        (alert,) = on_round.alerts()
        assert alert.first_stamp_ms is not None
        assert alert.last_stamp_ms is not None
        (decided,) = set_aside(
            [on_round.channel], alert.first_stamp_ms, alert.last_stamp_ms, "span gas", on_round.consultant
        )
        work()
        assert [a.standing for a in on_round.alerts()] == ["aside"]
        take_back(decided, on_round.consultant)
        work()
        assert [a.standing for a in on_round.alerts()] == ["stands"]
        assert len(mail.outbox) == 1

    def test_a_level_raised_above_it_says_that_it_is_not_reached(self, on_round: Round) -> None:
        on_round.take(PEAK)
        alert_levels.change(on_round.level, value=500.0)
        work()
        (alert,) = on_round.alerts()
        assert alert.standing == Alert.Standing.GONE
        assert "300 ppm" in alert.level_words


class TestTelling:
    def test_one_mail_although_the_job_runs_twice(self, on_round: Round) -> None:
        on_round.take(PEAK)
        job = Job.objects.get(kind="tell-alert")
        Job.objects.filter(pk=job.pk).update(state=Job.State.QUEUED)
        run_job(job.pk)
        assert len(mail.outbox) == 1
        assert AlertNotice.objects.get().told_at is not None

    def test_what_it_says(self, on_round: Round, settings: object) -> None:
        settings.PUBLIC_URL = "https://air.example/"  # type: ignore[attr-defined]
        on_round.take(PEAK)
        (sent,) = mail.outbox
        (alert,) = on_round.alerts()
        assert sent.to == [on_round.consultant.email]
        assert sent.subject == "Alert: Carbon monoxide 412 ppm, Harbour House"
        for said in (
            "Where: Harbour House, a place not known yet",
            "What: Carbon monoxide 412 ppm (as stored by the logger)",
            "When: 2026-09-15 09:30 (Europe/Lisbon)",
            "Level: Carbon monoxide above 300 ppm, one reading is enough",
            "Leave, ventilate, and follow the local rules for emergencies.",
            "licensed or qualified people",
            f"https://air.example/alerts/{alert.key}/",
        ):
            assert said in sent.body

    def test_an_outsider_gets_the_text_and_no_link(self, on_round: Round, settings: object) -> None:
        settings.PUBLIC_URL = "https://air.example"  # type: ignore[attr-defined]
        alert_levels.change(on_round.level, people=[], addresses="Porter@harbour.example\nporter@harbour.example")
        on_round.take(PEAK)
        (sent,) = mail.outbox
        assert sent.to == ["porter@harbour.example"]
        assert "https://" not in sent.body

    def test_who_lost_the_role_is_told_no_more(self, on_round: Round) -> None:
        on_round.consultant.memberships.all().delete()
        on_round.take(PEAK)
        assert len(on_round.alerts()) == 1
        assert mail.outbox == []

    def test_a_mail_that_fails_is_tried_again_and_shown(self, on_round: Round, monkeypatch: pytest.MonkeyPatch) -> None:
        sending = "django.core.mail.message.EmailMessage.send"

        def away(self: object, fail_silently: bool = False) -> int:
            raise ConnectionRefusedError("the mail server is away")

        with monkeypatch.context() as patched:
            patched.setattr(sending, away)
            on_round.level.people.clear()
            alert_levels.change(on_round.level, addresses="a@harbour.example\nb@harbour.example")
            work()
            from tests.readings.doing import a_log, hand_in, read

            read(hand_in(on_round.campaign, a_log(PEAK, head="time,CO [ppm]", every_s=60), "x.csv", on_round.meter))
            look = Job.objects.get(kind="look-for-alerts", state=Job.State.QUEUED)
            run_job(look.pk)
            job = Job.objects.get(kind="tell-alert")
            run_job(job.pk)
            job.refresh_from_db()
            assert (job.state, job.code, job.ended_at) == (Job.State.QUEUED, "mail-later", None)
            assert {n.failed for n in AlertNotice.objects.all()} == {"the mail server is away"}
            for _ in range(10):
                run_job(job.pk)
            job.refresh_from_db()
            assert (job.state, job.code, job.attempts) == (Job.State.FAILED, "mail-failed", 5)
        Job.objects.filter(pk=job.pk).update(state=Job.State.QUEUED)
        run_job(job.pk)
        assert sorted(m.to[0] for m in mail.outbox) == ["a@harbour.example", "b@harbour.example"]
        assert {n.failed for n in AlertNotice.objects.all()} == {""}


class TestWhereItWas:
    """A meter that goes on logging while it is carried away, and one that stands in two rooms."""

    def stay(self, on_round: Round, start_min: int, end_min: int, room: str) -> None:
        make.DeploymentFactory.create(
            campaign=on_round.campaign, instrument=on_round.meter, point__room__name=room,
            point__room__zone__floor__building__site=on_round.campaign.site,
            starts_at=make.START + timedelta(minutes=start_min), ends_at=make.START + timedelta(minutes=end_min),
        )  # fmt: skip

    def test_what_goes_on_while_it_is_carried_away_is_no_other_event(self, on_round: Round) -> None:
        self.stay(on_round, 0, 32, "Boiler room")
        on_round.take([*QUIET, 340, 412, 430, 305, *QUIET])
        (alert,) = on_round.alerts()
        assert alert.value == 430
        assert alert.minutes == pytest.approx(4)
        assert "Boiler room" in alert.where

    def test_two_rooms_are_two(self, on_round: Round) -> None:
        self.stay(on_round, 0, 32, "Boiler room")
        self.stay(on_round, 32, 64, "Coal cellar")
        on_round.take([*QUIET, 340, 412, 430, 305, *QUIET])
        assert sorted(alert.value for alert in on_round.alerts()) == [412, 430]

    def test_a_high_reading_while_it_settles_is_no_other_event(self, on_round: Round) -> None:
        """Left out of what is corrected: three response times of 30 s after it was moved there."""
        self.stay(on_round, 0, 60, "Boiler room")
        on_round.take([900, 2, 2, 2, 2, 350, *QUIET])
        (alert,) = on_round.alerts()
        assert (alert.value, alert.basis) == (350, "corrected")

    def test_and_alone_it_is_told_as_stored(self, on_round: Round) -> None:
        self.stay(on_round, 0, 60, "Boiler room")
        on_round.take([900, *QUIET])
        (alert,) = on_round.alerts()
        assert (alert.value, alert.basis) == (900, "stored")

    def test_two_rooms_found_later_stay_one_alert(self, on_round: Round) -> None:
        on_round.take([*QUIET, 340, 412, 430, 305, *QUIET])
        self.stay(on_round, 0, 32, "Boiler room")
        self.stay(on_round, 32, 64, "Coal cellar")
        work()
        (alert,) = on_round.alerts()
        assert "Boiler room" in alert.where
        assert "Coal cellar" in alert.where
        assert len(mail.outbox) == 1
