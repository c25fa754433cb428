"""What is asked about where a log lies in time, when, and when no more. Nothing is moved without a word.

A day's round in Lisbon (UTC+1): the meter logs ten minutes a room, a value a minute; deployments as field staff kept
them, up to two minutes off. Its clock is 61 min slow unless said otherwise.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.core.exceptions import ValidationError

from campaigns.models import Campaign, ClockCheck, ClockReset, Deployment, Instrument, Job
from campaigns.tasks import run_job
from methods.quantities.moments import stamp_ms
from readings.job_kinds import REVIEW_CLOCK
from readings.models import Upload
from readings.queries import placed_in, placement_of
from readings.queries.bursts import laid
from readings.services import clock_review, upload_decisions
from tests import factories as make
from tests.readings.doing import HEAD, STAMP, WALL, hand_in, read

MINUTE = timedelta(minutes=1)
#: Minutes after 08:00 UTC at which each visit began, and how late the person tapped "start".
ROUND = [(0, 0), (17, 1), (39, 0), (58, 2), (85, 1), (101, 0)]


def visits(campaign: Campaign, meter: Instrument, rounds: list[tuple[int, int]] = ROUND) -> list[Deployment]:
    return [
        make.DeploymentFactory.create(
            campaign=campaign, instrument=meter,
            starts_at=make.START + (begin - late) * MINUTE, ends_at=make.START + (begin + 12) * MINUTE,
        )
        for begin, late in rounds
    ]  # fmt: skip


def lines(begin: float, count: int, slow: float = 61) -> list[str]:
    """What the meter stored from ``begin`` minutes after 08:00 UTC on."""
    first: datetime = WALL + (begin - slow) * MINUTE
    return [f"{first + k * MINUTE:{STAMP}},{0.02 + ((7 * k + int(begin)) % 11) / 1000:.3f}" for k in range(count)]


def a_round(slow: float = 61, rounds: list[tuple[int, int]] = ROUND) -> str:
    return "\n".join([HEAD, *(line for begin, _ in rounds for line in lines(begin, 10, slow))]) + "\n"


def reviewed(meter: Instrument) -> Job:
    """Do the second look that waits."""
    job = Job.objects.get(kind=REVIEW_CLOCK, subject_id=meter.pk, state=Job.State.QUEUED)
    run_job(job.pk)
    job.refresh_from_db()
    return job


def asked(upload: Upload) -> list[str]:
    return list(upload.problems.filter(code__in=clock_review.CODES).values_list("code", flat=True))


class TestASlowClock:
    def test_it_is_asked_about_and_nothing_is_moved(self, campaign: Campaign, meter: Instrument) -> None:
        visits(campaign, meter)
        upload = hand_in(campaign, a_round(), instrument=meter)
        job = read(upload)
        assert (job.state, job.code, upload.state) == ("attention", clock_review.CLOCK, Upload.State.ATTENTION)
        assert job.message.startswith("The meter's clock looks 61 min slow; 6 of 6 bursts then fall on their")
        assert "Nothing was moved" in job.message
        assert upload.stored == 60
        assert placement_of(upload).unplaced > 30
        assert not ClockCheck.objects.exists()

    def test_a_clock_check_settles_it(self, campaign: Campaign, meter: Instrument) -> None:
        visits(campaign, meter)
        upload = hand_in(campaign, a_round(), instrument=meter)
        first = read(upload)
        ClockCheck.objects.create(instrument=meter, at=make.START, shown_ms=stamp_ms(WALL - 61 * MINUTE))
        assert reviewed(meter).code == "review-clear"
        upload.refresh_from_db()
        first.refresh_from_db()
        assert (upload.state, upload.problem_count, asked(upload)) == (Upload.State.READ, 0, [])
        assert first.state == Job.State.DONE
        assert sum(len(placed) for placed in placed_in(campaign)) == 60

    def test_visits_entered_later_are_laid_beside_it(self, campaign: Campaign, meter: Instrument) -> None:
        upload = hand_in(campaign, a_round(), instrument=meter)
        assert read(upload).state == Job.State.DONE, "nothing to lay it beside yet"
        visits(campaign, meter)
        assert reviewed(meter).code == "review-asks"
        upload.refresh_from_db()
        assert (upload.state, upload.problem_count, asked(upload)) == ("attention", 1, [clock_review.CLOCK])

    @pytest.mark.parametrize("slow", [0, 1.5, -1.5])
    def test_a_clock_right_within_the_scatter_is_not_asked_about(
        self, campaign: Campaign, meter: Instrument, slow: float
    ) -> None:
        visits(campaign, meter)
        assert read(hand_in(campaign, a_round(slow), instrument=meter)).state == Job.State.DONE

    def test_an_instrument_that_was_checked_is_not_asked_about(self, campaign: Campaign, meter: Instrument) -> None:
        """Even if its bursts would say otherwise: a person looked at the clock."""
        visits(campaign, meter)
        ClockCheck.objects.create(instrument=meter, at=make.START, shown_ms=stamp_ms(WALL - 40 * MINUTE))
        assert read(hand_in(campaign, a_round(), instrument=meter)).state == Job.State.DONE


class TestOutside:
    def test_a_log_on_no_deployment_asks_and_can_be_left(self, campaign: Campaign, meter: Instrument) -> None:
        visits(campaign, meter)
        upload = hand_in(campaign, a_round(rounds=[(60 * 24 * 9, 0)]), instrument=meter)
        assert read(upload).code == clock_review.OUTSIDE
        upload.outside = Upload.Outside.LEFT
        upload.save()
        clock_review.ask_again(meter)
        reviewed(meter)
        upload.refresh_from_db()
        assert (upload.state, asked(upload)) == (Upload.State.READ, [])

    def test_a_log_partly_outside_does_not(self, campaign: Campaign, meter: Instrument) -> None:
        """An office test before the round is nobody's business."""
        visits(campaign, meter)
        assert read(hand_in(campaign, a_round(0, [(-300, 0), *ROUND]), instrument=meter)).state == Job.State.DONE


class TestReset:
    def put_back(self) -> str:
        """Right until 10:18 shown; put back by 47 min at noon, and 40 min more of logging."""
        after = lines(120, 40, 47)
        return "\n".join([HEAD, *(line for begin, _ in ROUND for line in lines(begin, 10, 0)), *after]) + "\n"

    def test_a_step_back_is_asked_about_until_it_is_answered(self, campaign: Campaign, meter: Instrument) -> None:
        visits(campaign, meter, [*ROUND, (120, 0)])
        upload = hand_in(campaign, self.put_back(), instrument=meter)
        assert read(upload).code == clock_review.RESET
        assert set(asked(upload)) == {clock_review.RESET}, "two stretches, each too short to say more"
        before, after = stamp_ms(WALL + 110 * MINUTE), stamp_ms(WALL + 73 * MINUTE)
        ClockReset.objects.create(
            instrument=meter,
            kind="backward",
            before_ms=before,
            after_ms=after,
            answer="right-before",
            by_ms=47 * 60_000,
        )
        assert reviewed(meter).code == "review-clear"
        upload.refresh_from_db()
        assert upload.state == Upload.State.READ
        last = Deployment.objects.order_by("-starts_at")[0]
        (placed,) = placed_in(campaign, deployments=[last])
        assert len(placed) == 12, "its twelve minutes, as many as the visit had"
        assert placement_of(upload).doubtful == 0

    def test_files_that_wait_for_something_else_are_left_alone(self, campaign: Campaign, meter: Instrument) -> None:
        visits(campaign, meter)
        upload = hand_in(campaign, a_round(), instrument=meter)
        read(upload)
        upload.problems.all().delete()
        Upload.objects.filter(pk=upload.pk).update(state=Upload.State.ATTENTION)
        clock_review.ask_again(meter)
        assert reviewed(meter).code == "review-clear"
        upload.refresh_from_db()
        assert upload.state == Upload.State.ATTENTION


class TestRepeatedHour:
    """Stamps with offsets through the hour that comes twice: 02:40 in summer time to 02:38 in winter time is 58 min."""

    @pytest.fixture
    def upload(self, campaign: Campaign, meter: Instrument) -> Upload:
        campaign.site.time_zone = "Europe/Berlin"
        campaign.site.save()
        return hand_in(campaign, "\n".join([HEAD, *through_the_hour()]) + "\n", instrument=meter)

    def test_it_falls_into_the_deployment_as_it_lies(self, upload: Upload, meter: Instrument) -> None:
        begin, end = datetime(2026, 10, 20, tzinfo=UTC), datetime(2026, 11, 29, tzinfo=UTC)
        make.DeploymentFactory.create(campaign=upload.campaign, instrument=meter, starts_at=begin, ends_at=end)
        assert (read(upload).state, asked(upload)) == (Job.State.DONE, [])
        (stretch,) = laid(upload).stretches  # type: ignore[union-attr]
        assert stretch.fits_now == (1, 1.0)
        placement = placement_of(upload)
        assert ([s.lines for s in placement.shares], placement.unplaced, placement.doubtful) == ([30], 0, 0)

    def test_a_visit_of_the_second_pass_alone_has_its_readings(self, upload: Upload, meter: Instrument) -> None:
        begin = datetime(2026, 10, 25, 1, tzinfo=UTC)
        make.DeploymentFactory.create(
            campaign=upload.campaign, instrument=meter, starts_at=begin, ends_at=begin + 20 * MINUTE
        )
        read(upload)
        assert [s.lines for s in placement_of(upload).shares] == [10]


def through_the_hour() -> list[str]:
    first = datetime(2026, 10, 25, 2, 40, tzinfo=ZoneInfo("Europe/Berlin")).astimezone(UTC)
    moments = [(first + 2 * k * MINUTE).astimezone(ZoneInfo("Europe/Berlin")) for k in range(30)]
    assert (moments[0].isoformat(), moments[-1].isoformat()) == (
        "2026-10-25T02:40:00+02:00",
        "2026-10-25T02:38:00+01:00",
    )
    return [f"{moment.isoformat()},0.02{k % 3}" for k, moment in enumerate(moments)]


def test_readings_that_fall_into_a_deployment_are_not_left_outside(campaign: Campaign, meter: Instrument) -> None:
    visits(campaign, meter)
    upload = hand_in(campaign, a_round(0, [(60 * 24 * 9, 0)]), instrument=meter)
    assert read(upload).code == clock_review.OUTSIDE
    begin = make.START + 9 * 24 * 60 * MINUTE
    make.DeploymentFactory.create(campaign=campaign, instrument=meter, starts_at=begin, ends_at=begin + 9 * MINUTE)
    with pytest.raises(ValidationError, match="fall into a deployment now"):
        upload_decisions.leave_outside(upload)
    upload.refresh_from_db()
    assert upload.outside == ""


def test_a_mean_of_which_only_the_stamp_lies_outside_is_not_called_outside(
    campaign: Campaign, meter: Instrument
) -> None:
    """What was logged in the minute before its stamp belongs to the visit that ended with the stamp."""
    meter.type.represents = "end"
    meter.type.save()
    make.DeploymentFactory.create(
        campaign=campaign, instrument=meter, starts_at=make.START - 5 * MINUTE, ends_at=make.START
    )
    upload = hand_in(campaign, "\n".join([HEAD, *lines(0, 10, 0)]) + "\n", instrument=meter)
    read(upload)
    assert ([s.lines for s in placement_of(upload).shares], asked(upload)) == ([1], [])
