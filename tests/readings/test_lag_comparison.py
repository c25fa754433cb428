"""Continuous logs of several meters: a lag is asked about day by day, on the clock page, and nothing is moved."""

from __future__ import annotations

from datetime import timedelta
from functools import partial

import numpy as np
import pytest

from campaigns.enqueue import enqueue
from campaigns.models import Campaign, ClockCheck, Instrument, Job, SamplingPoint, Site, User
from campaigns.tasks import run_job
from methods.clock import CommonLog
from methods.quantities.durations import MINUTE_MS
from methods.quantities.moments import utc_ms
from readings.job_kinds import COMPARE_CLOCKS, REVIEW_CLOCK
from readings.models import ClockLag, Upload
from readings.services.lag_comparison import compare_again
from readings.store import Batch, write
from tests import factories as make
from tests.methods.lag_rooms import off, rooms
from tests.readings.pages import Browse, at, text

DAYS = 10
BEGIN = make.START.replace(hour=0)


@pytest.fixture
def campaign(site: Site) -> Campaign:
    campaign: Campaign = make.CampaignFactory.create(site=site)
    return campaign


def meters(campaign: Campaign, logs: list[CommonLog], parameter: str = "co2", **point: object) -> list[Instrument]:
    """One in each room for all the days, its clock on UTC; ``logs`` from the first day on."""
    kind = make.InstrumentTypeFactory.create(organisation=campaign.site.organisation)
    make.ChannelSpecFactory.create(instrument_type=kind, parameter=parameter, unit="ppm", range_high=5000)
    made = []
    for name, log in zip("ABCDE", logs, strict=False):
        meter = make.InstrumentFactory.create(
            organisation=campaign.site.organisation,
            name=f"meter {name}",
            type=kind,
            clock_basis="utc",
            channel=False,
        )
        make.DeploymentFactory.create(
            campaign=campaign, instrument=meter, starts_at=BEGIN, ends_at=BEGIN + timedelta(days=DAYS), **point
        )
        upload = Upload.objects.create(
            campaign=campaign, instrument=meter, filename=f"{name}.csv", size=1, sha256=name * 64, state="read"
        )
        stamp, first = np.unique(np.asarray(log.utc_ms) + utc_ms(BEGIN), return_index=True)
        values = np.asarray(log.values)[first]
        nothing = np.zeros(len(stamp), dtype=np.int64)
        channel = meter.channels.get(spec__parameter=parameter)
        write([Batch(channel.pk, upload.pk, stamp, nothing, values, nothing, np.arange(2, len(stamp) + 2))])
        made.append(meter)
    return made


def compared(campaign: Campaign) -> Job:
    Job.objects.filter(kind=COMPARE_CLOCKS).delete()
    compare_again([campaign.pk])
    job = Job.objects.get(kind=COMPARE_CLOCKS, subject_id=campaign.pk)
    run_job(job.pk)
    job.refresh_from_db()
    assert job.state == Job.State.DONE, job.message
    return job


def an_hour_off(day: int | None = 6) -> list[CommonLog]:
    logs = rooms(1, 3, DAYS, interval=5)
    return [logs[0], off(logs[1], 60, day), logs[2]]


def test_one_day_that_is_an_hour_off_is_asked_about(campaign: Campaign, browse: Browse, consultant: User) -> None:
    _, second, _ = meters(campaign, an_hour_off())
    assert compared(campaign).code == "logs-lag"
    (lag,) = ClockLag.objects.all()
    assert (lag.instrument, lag.day, lag.against) == (second, BEGIN.date() + timedelta(days=6), "meter A and meter C")
    assert abs(lag.lag_min - 60) <= 10
    page = browse(consultant).get(at("instrument-clock", second))
    assert lag.words in text(page)
    assert not ClockCheck.objects.exists()


def test_what_agrees_is_not_asked_about(campaign: Campaign) -> None:
    meters(campaign, rooms(2, 3, DAYS, interval=5))
    assert compared(campaign).code == "logs-agree"
    assert not ClockLag.objects.exists()


def test_of_two_meters_both_are_asked_about(campaign: Campaign) -> None:
    first, second, _ = an_hour_off(day=None)
    meters(campaign, [first, second])
    compared(campaign)
    lags = list(ClockLag.objects.order_by("instrument__name"))
    assert [(str(lag.instrument), lag.day, lag.either) for lag in lags] == [
        ("meter A", None, True), ("meter B", None, True),
    ]  # fmt: skip
    assert lags[0].lag_min == -lags[1].lag_min


def test_an_answer_stands_until_the_lag_is_another(campaign: Campaign, browse: Browse, consultant: User) -> None:
    meters(campaign, an_hour_off())
    compared(campaign)
    lag = ClockLag.objects.get()
    page = browse(consultant)
    page.post(at("clock-lag-settle", lag), {"reason": ""})
    assert ClockLag.objects.get().settled_at is None
    page.post(at("clock-lag-settle", lag), {"reason": "The lesson was moved."})
    compared(campaign)
    lag.refresh_from_db()
    assert (lag.reason, lag.settled_by) == ("The lesson was moved.", consultant)
    ClockLag.objects.update(lag_min=-60)
    compared(campaign)
    lag.refresh_from_db()
    assert (lag.reason, lag.settled_at) == ("", None)


def test_checks_that_explain_it_make_it_go(campaign: Campaign) -> None:
    """The whole log an hour ahead, and a check that says so."""
    _, second, _ = meters(campaign, an_hour_off(day=None))
    compared(campaign)
    assert ClockLag.objects.count() == 1
    ClockCheck.objects.create(instrument=second, at=BEGIN, shown_ms=utc_ms(BEGIN) + 60 * MINUTE_MS)
    assert compared(campaign).code == "logs-agree"
    assert not ClockLag.objects.exists()


def test_where_nothing_can_be_compared_any_more_nothing_is_asked(campaign: Campaign) -> None:
    meters(campaign, an_hour_off())
    compared(campaign)
    campaign.deployments.update(ends_at=BEGIN + timedelta(hours=1))
    assert compared(campaign).code == "logs-agree"
    assert not ClockLag.objects.exists()


def test_a_review_does_not_call_it_nothing(campaign: Campaign) -> None:
    _, second, _ = meters(campaign, an_hour_off())
    Job.objects.all().delete()
    ask = partial(enqueue, REVIEW_CLOCK, second.pk, organisation_id=second.organisation_id, owner=None)
    messages = []
    for _ in range(2):
        run_job(ask().pk)
        messages.append(Job.objects.filter(kind=REVIEW_CLOCK).latest("pk").message)
        compared(campaign)
    assert messages == [
        "Its log asks nothing about the clock; no clock check was entered.",
        "Other logs rise at another time: see its clock.",
    ]


@pytest.mark.parametrize("what", ["temperature", "outdoors", "one meter", "short visits"])
def test_what_need_not_rise_together_is_not_compared(campaign: Campaign, what: str) -> None:
    logs = an_hour_off()
    if what == "temperature":
        meters(campaign, logs, "temperature")
        assert compared(campaign).code == "logs-agree"
        return
    if what == "outdoors":
        meters(
            campaign,
            logs,
            point=make.PointFactory.create(site=campaign.site, room=None, kind=SamplingPoint.Kind.OUTDOOR),
        )
    else:
        meters(campaign, logs[:1] if what == "one meter" else logs)
    if what == "short visits":
        campaign.deployments.update(ends_at=BEGIN + timedelta(hours=1))
    Job.objects.all().delete()
    compare_again([campaign.pk])
    assert not Job.objects.filter(kind=COMPARE_CLOCKS).exists()
