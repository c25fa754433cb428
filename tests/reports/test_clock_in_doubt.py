"""What rests on a clock that nobody looked at, or about which a question is open, is an indication; what does not, not.

A meter logs a value a minute; its clock is on Lisbon time, and deployments are what field staff noted.
"""

from __future__ import annotations

from datetime import timedelta

import pytest

from campaigns.models import Campaign, ClockCheck, Criterion, Instrument, Limit, SamplingPoint, Site
from methods.quantities.moments import stamp_ms
from readings.models import ClockLag
from reports.models import Result
from tests import factories as make
from tests.readings.doing import WALL, a_log, hand_in, read
from tests.reports.measured import judge

MINUTE = timedelta(minutes=1)
OPEN, UNCHECKED = "clock_open", "clock_unchecked"


@pytest.fixture
def campaign(site: Site) -> Campaign:
    campaign: Campaign = make.CampaignFactory.create(site=site)
    Criterion.objects.create(campaign=campaign, limit=Limit.objects.get(code="HCHO-WHO10-30M"))
    return campaign


@pytest.fixture
def meter(site: Site) -> Instrument:
    meter: Instrument = make.InstrumentFactory.create(organisation=site.organisation)
    return meter


def logged(campaign: Campaign, meter: Instrument, *spans: tuple[int, int]) -> None:
    """Minutes after 09:00 on the meter's clock, from and to, in one file."""
    head, *_ = a_log([]).splitlines()
    lines = [line for low, high in spans for line in a_log(
        [f"{0.02 + k % 7 / 1000:.3f}" for k in range(high - low)], start=WALL + low * MINUTE, every_s=60
    ).splitlines()[1:]]  # fmt: skip
    read(hand_in(campaign, "\n".join([head, *lines]) + "\n", instrument=meter))


def stood(campaign: Campaign, meter: Instrument, low: int, high: int, point: SamplingPoint | None = None) -> None:
    """Minutes after 08:00 UTC, when the meter's clock should show 09:00."""
    make.DeploymentFactory.create(
        campaign=campaign, instrument=meter, starts_at=make.START + low * MINUTE, ends_at=make.START + high * MINUTE,
        **({"point": point} if point else {}),
    )  # fmt: skip


def checked(meter: Instrument) -> None:
    ClockCheck.objects.create(instrument=meter, at=make.START, shown_ms=stamp_ms(WALL))


def doubts(campaign: Campaign) -> list[list[str]]:
    """Of each result, in order of time, its reasons about the clock, of which it is an indication at most."""
    judge(campaign)
    rows = list(Result.objects.filter(criterion__campaign=campaign).order_by("window_start"))
    said = [[r.code for r in row.stated_reasons if r.code in (OPEN, UNCHECKED)] for row in rows]
    assert all(row.comparability != "yes" for row, codes in zip(rows, said, strict=True) if codes)
    return said


def test_a_continuous_log_through_two_rooms_that_nobody_checked(campaign: Campaign, meter: Instrument) -> None:
    stood(campaign, meter, 0, 240)
    stood(campaign, meter, 245, 480)
    logged(campaign, meter, (-60, 600))
    assert doubts(campaign) == [[UNCHECKED], [UNCHECKED]]
    (reason,) = [r for r in Result.objects.all()[0].stated_reasons if r.code == UNCHECKED]
    assert reason.words.startswith(f"Nobody checked the clock of {meter}")


def test_a_clock_check_takes_the_doubt_away(campaign: Campaign, meter: Instrument) -> None:
    stood(campaign, meter, 0, 240)
    stood(campaign, meter, 245, 480)
    logged(campaign, meter, (-60, 600))
    before = doubts(campaign)
    checked(meter)
    assert (before, doubts(campaign)) == ([[UNCHECKED], [UNCHECKED]], [[], []])


@pytest.mark.parametrize(
    ("span", "expected"),
    [((30, 200), []), ((-3, 243), []), ((-60, 240), [UNCHECKED]), ((0, 300), [UNCHECKED])],
    ids=["inside", "from edge to edge", "begun in the office", "taken home"],
)
def test_one_deployment(campaign: Campaign, meter: Instrument, span: tuple[int, int], expected: list[str]) -> None:
    """Where all of a log lies in one room, no clock would put it into another."""
    stood(campaign, meter, 0, 240)
    logged(campaign, meter, span)
    assert doubts(campaign) == [expected]


def test_a_round_of_short_visits_says_itself_where_it_belongs(campaign: Campaign, meter: Instrument) -> None:
    visits = [(0, 35), (47, 83), (109, 150), (171, 205)]
    for low, high in visits:
        stood(campaign, meter, low, high)
    logged(campaign, meter, *((low + 1, high + 1) for low, high in visits))
    assert doubts(campaign) == [[]] * 4


def test_a_question_that_is_open(campaign: Campaign, meter: Instrument) -> None:
    """A round logged by a clock 37 min slow: what lies on a visit now may be another's."""
    visits = [(0, 75), (90, 140), (171, 250), (300, 345)]
    for low, high in visits:
        stood(campaign, meter, low, high)
    logged(campaign, meter, *((low - 37, high - 37) for low, high in visits))
    said = doubts(campaign)
    assert said
    assert all(codes == [OPEN] for codes in said)


def test_a_lag_of_the_day_is_an_open_question_until_a_person_says_why_not(
    campaign: Campaign, meter: Instrument
) -> None:
    stood(campaign, meter, 0, 240)
    logged(campaign, meter, (-60, 300))
    checked(meter)
    lag = ClockLag.objects.create(
        campaign=campaign, instrument=meter, parameter="co2", day="2026-09-15", lag_min=60, against="B", confidence=0.6
    )
    before = doubts(campaign)
    lag.settled_at, lag.reason = make.START, "another lesson"
    lag.save()
    assert (before, doubts(campaign)) == ([[OPEN]], [[]])


def test_of_another_day_it_says_nothing(campaign: Campaign, meter: Instrument) -> None:
    stood(campaign, meter, 0, 240)
    logged(campaign, meter, (-60, 300))
    checked(meter)
    ClockLag.objects.create(
        campaign=campaign, instrument=meter, parameter="co2", day="2026-09-14", lag_min=60, against="B", confidence=0.6
    )
    assert doubts(campaign) == [[]]


@pytest.mark.parametrize(
    ("code", "expected"), [("HCHO-WHO10-30M", []), ("HCHO-CN-50325-I", ["clock_unchecked_beside"])]
)
def test_a_limit_that_needs_the_outdoor_air_rests_on_the_clock_outdoors(
    campaign: Campaign, meter: Instrument, code: str, expected: list[str]
) -> None:
    Criterion.objects.filter(campaign=campaign).update(limit=Limit.objects.get(code=code))
    stood(campaign, meter, 0, 240)
    logged(campaign, meter, (-3, 243))
    checked(meter)
    outside = make.InstrumentFactory.create(organisation=campaign.site.organisation)
    lawn = make.PointFactory.create(room=None, site=campaign.site, kind=SamplingPoint.Kind.OUTDOOR)
    stood(campaign, outside, 0, 240, lawn)
    logged(campaign, outside, (-60, 300))
    judge(campaign)
    result = Result.objects.get(point__room__isnull=False)
    assert [reason.code for reason in result.stated_reasons if reason.code.startswith("clock")] == expected
