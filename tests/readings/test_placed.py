"""Readings in their room, against truth worked out by hand: when each line was really stored, and where.

The site is in Lisbon: UTC+1 until 25 October 2026, 01:00 UTC, then UTC (IANA tz database).
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from itertools import pairwise

import numpy as np
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from campaigns.models import Calibration, Campaign, Channel, ClockCheck, Deployment, FieldCheck, Instrument, Job
from methods.correction import explain_reading
from methods.quantities.flags import Flag
from methods.quantities.moments import stamp_ms, utc_moment
from readings.models import Upload
from readings.queries import Placed, placed_in, placement_of
from tests import factories as make
from tests.readings.doing import STAMP, WALL, a_log, hand_in, read

START = make.START  # 08:00 UTC, when a right clock in Lisbon shows 09:00
MINUTE = timedelta(minutes=1)


def deploy(campaign: Campaign, meter: Instrument, start: float, end: float | None, **more: object) -> Deployment:
    """From ``start`` to ``end`` minutes after 08:00 UTC."""
    return make.DeploymentFactory.create(
        campaign=campaign,
        instrument=meter,
        starts_at=START + start * MINUTE,
        ends_at=None if end is None else START + end * MINUTE,
        **more,
    )


def take(campaign: Campaign, meter: Instrument, content: str, name: str = "log.csv") -> Upload:
    upload = hand_in(campaign, content, name, meter)
    assert read(upload).state in (Job.State.DONE, Job.State.ATTENTION)  # attention: where it lies is asked about
    return upload


def minutes(placed: Placed) -> list[float]:
    """Minutes after 08:00 UTC of each reading."""
    return [(utc_moment(ms) - START) / MINUTE for ms in placed.utc_ms.tolist()]


def by_deployment(found: Iterable[Placed]) -> dict[int, Placed]:
    return {placed.deployment.pk: placed for placed in found}


class TestClock:
    def test_a_right_clock(self, campaign: Campaign, meter: Instrument) -> None:
        room = deploy(campaign, meter, 2, 5)
        take(campaign, meter, a_log(range(10), every_s=60))
        (placed,) = placed_in(campaign)
        assert placed.deployment == room
        assert minutes(placed) == [2, 3, 4], "from the start on, and before the end"
        assert placed.raw.tolist() == [2, 3, 4]
        assert placed.line.tolist() == [4, 5, 6]
        assert (placed.unit, placed.interval_ms) == ("ppm", 60_000)

    def test_61_minutes_slow_with_one_check(self, campaign: Campaign, meter: Instrument) -> None:
        """At 08:00 UTC it shows 07:59 instead of 09:00. Value k was really stored k minutes after 08:00."""
        ClockCheck.objects.create(instrument=meter, at=START, shown_ms=stamp_ms(WALL - 61 * MINUTE))
        first, second = deploy(campaign, meter, 5, 15), deploy(campaign, meter, 20, 30)
        take(campaign, meter, a_log(range(40), start=WALL - 61 * MINUTE, every_s=60))
        found = by_deployment(placed_in(campaign))
        assert minutes(found[first.pk]) == found[first.pk].raw.tolist() == list(range(5, 15))
        assert minutes(found[second.pk]) == found[second.pk].raw.tolist() == list(range(20, 30))

    def test_without_the_check_all_would_be_elsewhere(self, campaign: Campaign, meter: Instrument) -> None:
        deploy(campaign, meter, 5, 30)
        upload = take(campaign, meter, a_log(range(40), start=WALL - 61 * MINUTE, every_s=60))
        assert list(placed_in(campaign)) == []
        assert placement_of(upload).unplaced == 40

    def test_a_drift_between_two_checks(self, campaign: Campaign, meter: Instrument) -> None:
        """It gains a minute in the hour: at k minutes past, it shows k · 61/60 minutes past 09:00."""
        for minute, shown in ((0, 0), (60, 61)):
            ClockCheck.objects.create(
                instrument=meter, at=START + minute * MINUTE, shown_ms=stamp_ms(WALL + shown * MINUTE)
            )
        room = deploy(campaign, meter, 30, 60)
        take(campaign, meter, a_log(range(60), every_s=61))
        placed = by_deployment(placed_in(campaign))[room.pk]
        assert placed.raw.tolist() == list(range(30, 60))
        assert minutes(placed) == pytest.approx(list(range(30, 60)), abs=1e-4)

    def test_a_file_in_utc_beside_files_on_the_sites_time(self, campaign: Campaign, meter: Instrument) -> None:
        room = deploy(campaign, meter, 0, 60)
        local = take(campaign, meter, a_log([1, 2, 3], every_s=60), "local.csv")
        utc = START.replace(tzinfo=None) + 30 * MINUTE
        zoned = take(campaign, meter, a_log([31, 32, 33], start=utc, every_s=60, form=f"{STAMP}Z"), "utc.csv")
        assert [u.layout["basis"] for u in (local, zoned)] == ["local", "utc"]
        placed = by_deployment(placed_in(campaign))[room.pk]
        assert minutes(placed) == [0, 1, 2, 30, 31, 32]
        assert placed.raw.tolist() == [1, 2, 3, 31, 32, 33]
        assert placement_of(zoned).shares[0].lines == 3

    def test_its_checks_count_for_a_file_in_utc_too(self, campaign: Campaign, meter: Instrument) -> None:
        """The software that wrote UTC took the logger's clock for right; it was 10 minutes fast."""
        ClockCheck.objects.create(instrument=meter, at=START, shown_ms=stamp_ms(WALL + 10 * MINUTE))
        room = deploy(campaign, meter, 0, 60)
        utc = START.replace(tzinfo=None) + 40 * MINUTE
        take(campaign, meter, a_log([30, 31], start=utc, every_s=60, form=f"{STAMP}Z"))
        assert minutes(by_deployment(placed_in(campaign))[room.pk]) == [30, 31]

    def test_a_clock_on_a_fixed_offset(self, campaign: Campaign, meter: Instrument) -> None:
        meter.clock_basis, meter.clock_offset_min = Instrument.ClockBasis.FIXED, 345
        meter.save()
        room = deploy(campaign, meter, 0, 5)
        take(campaign, meter, a_log(range(9), start=datetime(2026, 9, 15, 13, 45), every_s=60))  # noqa: DTZ001
        assert by_deployment(placed_in(campaign))[room.pk].raw.tolist() == [0, 1, 2, 3, 4]

    def test_the_repeated_hour(self, campaign: Campaign, meter: Instrument) -> None:
        """00:30 to 01:50 summer time, then 01:00 to 02:20: told apart by the order in the file."""
        hour = timedelta(hours=1)
        midnight = datetime(2026, 10, 25, tzinfo=UTC)
        nights = [
            make.DeploymentFactory.create(
                campaign=campaign, instrument=meter, starts_at=midnight + k * hour, ends_at=midnight + (k + 1) * hour
            )
            for k in range(-1, 3)
        ]
        first = a_log(range(9), start=datetime(2026, 10, 25, 0, 30), every_s=600)  # noqa: DTZ001
        again = a_log(range(9, 18), start=datetime(2026, 10, 25, 1, 0), every_s=600)  # noqa: DTZ001
        upload = take(campaign, meter, first + again.split("\n", 1)[1])
        found = by_deployment(placed_in(campaign))
        assert [found[night.pk].raw.tolist() for night in nights] == [
            [0, 1, 2], list(range(3, 9)), list(range(9, 15)), [15, 16, 17],
        ]  # fmt: skip
        assert not any(np.any(placed.flags & Flag.CLOCK_DOUBTFUL) for placed in found.values())
        placement = placement_of(upload)
        assert (placement.unplaced, placement.doubtful) == (0, 0)
        assert sorted(share.lines for share in placement.shares) == [3, 3, 6, 6]

    def test_a_clock_set_back_makes_its_neighbours_doubtful(self, campaign: Campaign, meter: Instrument) -> None:
        deploy(campaign, meter, -120, 120)
        back = a_log(range(5, 10), start=WALL - 30 * MINUTE, every_s=60)
        upload = take(campaign, meter, a_log(range(5), every_s=60) + back.split("\n", 1)[1])
        assert placement_of(upload).doubtful == 2
        (placed,) = placed_in(campaign)
        assert placed.raw[(placed.flags & Flag.CLOCK_DOUBTFUL) > 0].tolist() == [5, 4]


class TestPlace:
    def test_an_open_deployment_goes_on(self, campaign: Campaign, meter: Instrument) -> None:
        closed, still = deploy(campaign, meter, 0, 3), deploy(campaign, meter, 5, None)
        take(campaign, meter, a_log(range(10), every_s=60), "first.csv")
        year = WALL.replace(year=2027)
        take(campaign, meter, a_log([77], start=year), "a year later.csv")
        found = by_deployment(placed_in(campaign))
        assert found[closed.pk].raw.tolist() == [0, 1, 2]
        assert found[still.pk].raw.tolist() == [5, 6, 7, 8, 9, 77]

    def test_outside_every_deployment(self, campaign: Campaign, meter: Instrument) -> None:
        room, other = deploy(campaign, meter, 2, 4), deploy(campaign, meter, 6, 7)
        upload = take(campaign, meter, a_log(range(10), every_s=60))
        placement = placement_of(upload)
        assert {share.deployment: share.lines for share in placement.shares} == {room: 2, other: 1}
        assert (placement.unplaced, placement.lines) == (7, 10)
        assert utc_moment(placement.unplaced_first_ms or 0) == START
        assert utc_moment(placement.unplaced_last_ms or 0) == START + 9 * MINUTE

    def test_a_line_counts_once_whatever_it_holds(self, campaign: Campaign, meter: Instrument) -> None:
        make.ChannelSpecFactory.create(instrument_type=meter.type, parameter="temperature", unit="°C", range_low=-20)
        deploy(campaign, meter, 0, 60)
        rows = "2026-09-15 09:00:00,0.01,21.5\n2026-09-15 09:01:00,0.02,\n2026-09-15 09:02:00,,21.6\n"
        upload = take(campaign, meter, "time,formaldehyde [ppm],temperature [°C]\n" + rows)
        assert placement_of(upload).lines == 3
        assert {p.channel.spec.parameter: len(p) for p in placed_in(campaign)} == {"formaldehyde": 2, "temperature": 2}

    def test_before_anything_is_read(self, campaign: Campaign, meter: Instrument) -> None:
        deploy(campaign, meter, 0, 60)
        assert placement_of(hand_in(campaign, a_log([1]), instrument=meter)).lines == 0
        assert placement_of(hand_in(campaign, a_log([2]))).lines == 0

    def test_deployments_of_another_campaign_are_its_own(self, campaign: Campaign, meter: Instrument) -> None:
        other = make.CampaignFactory.create(site=campaign.site)
        deploy(campaign, meter, 0, 3)
        deploy(other, meter, 3, 6)
        take(campaign, meter, a_log(range(10), every_s=60))
        assert [placed.raw.tolist() for placed in placed_in(campaign)] == [[0, 1, 2]]
        assert [placed.raw.tolist() for placed in placed_in(other)] == [[3, 4, 5]]


class TestNarrowing:
    @pytest.fixture
    def rooms(self, campaign: Campaign, meter: Instrument) -> list[Deployment]:
        make.ChannelSpecFactory.create(instrument_type=meter.type, parameter="temperature", unit="°C", range_low=-20)
        lines = "".join(f"{WALL + k * MINUTE:{STAMP}},{k},{20 + k}\n" for k in range(30))
        take(campaign, meter, "time,formaldehyde [ppm],temperature [°C]\n" + lines)
        return [deploy(campaign, meter, 0, 10), deploy(campaign, meter, 10, 20)]

    def test_by_parameter(self, campaign: Campaign, rooms: list[Deployment]) -> None:
        found = list(placed_in(campaign, parameter="temperature"))
        assert [p.raw.tolist() for p in found] == [list(range(20, 30)), list(range(30, 40))]
        assert list(placed_in(campaign, parameter="radon")) == []

    def test_by_deployment(self, campaign: Campaign, rooms: list[Deployment]) -> None:
        found = list(placed_in(campaign, parameter="formaldehyde", deployments=[rooms[1]]))
        assert [(p.deployment, p.raw.tolist()) for p in found] == [(rooms[1], list(range(10, 20)))]

    def test_by_time_start_included_end_not(self, campaign: Campaign, rooms: list[Deployment]) -> None:
        start, end = START + 8 * MINUTE, START + 12 * MINUTE
        found = list(placed_in(campaign, parameter="formaldehyde", start=start, end=end))
        assert [p.raw.tolist() for p in found] == [[8, 9], [10, 11]]
        after = list(placed_in(campaign, parameter="formaldehyde", start=START + 15 * MINUTE))
        assert [(p.deployment, minutes(p)) for p in after] == [(rooms[1], [15, 16, 17, 18, 19])]

    def test_each_reading_is_the_same_narrowed_or_not(self, campaign: Campaign, rooms: list[Deployment]) -> None:
        whole = next(iter(placed_in(campaign, parameter="formaldehyde")))
        part = next(iter(placed_in(campaign, parameter="formaldehyde", start=START + 5 * MINUTE)))
        assert part.flags.tolist() == whole.flags.tolist()[5:]
        assert part.value.tolist() == whole.value.tolist()[5:]
        assert [str(step) for step in explain_reading(part.corrected, int(part.index[0]))] == [
            str(step) for step in explain_reading(whole.corrected, int(whole.index[5]))
        ]


class TestCorrection:
    def checked(self, channel: Channel) -> None:
        """Zero 0.002 at 08:00 and 0.004 an hour later; span gas 0.5 shown as 0.530 at 08:00."""
        for minute, kind, reference, observed in (
            (0, "zero", 0.0, 0.002), (60, "zero", 0.0, 0.004), (0, "span", 0.5, 0.530),
        ):  # fmt: skip
            FieldCheck.objects.create(
                channel=channel, kind=kind, at=START + minute * MINUTE, reference=reference, observed=observed
            )

    def test_by_zero_and_span(self, campaign: Campaign, meter: Instrument, channel: Channel) -> None:
        """By hand: the zero runs in a straight line, the span is (0.530 − 0.002) / 0.5 = 1.056.

        Method: docs/methods/correction.md.
        """
        self.checked(channel)
        deploy(campaign, meter, 0, 60)
        take(campaign, meter, a_log([0.050, 0.051, 0.052], start=WALL + 30 * MINUTE, every_s=60))
        (placed,) = placed_in(campaign)
        zeros = [0.003, 0.003 + 0.002 / 60, 0.003 + 0.004 / 60]
        expected = [(x - z) / 1.056 for x, z in zip((0.050, 0.051, 0.052), zeros, strict=True)]
        assert placed.value.tolist() == pytest.approx(expected, rel=1e-12)
        assert placed.raw.tolist() == [0.050, 0.051, 0.052], "side by side"
        assert not np.any(placed.flags & Flag.FIELD_CHECK_MISSING)
        inputs = {
            i.name: i.value for step in explain_reading(placed.corrected, int(placed.index[0])) for i in step.inputs
        }
        assert inputs["zero"] == pytest.approx(0.003)
        assert inputs["span factor"] == pytest.approx(1.056)

    def test_by_the_certificate(self, campaign: Campaign, meter: Instrument, channel: Channel) -> None:
        """Slope times shown plus intercept, as a certificate states it; counted from its day on."""
        day = date(2026, 9, 15)
        Calibration.objects.create(channel=channel, date=day, due=date(2027, 9, 15), slope=0.94, intercept=0.001)
        deploy(campaign, meter, -24 * 60, 60)
        take(campaign, meter, a_log([0.050, 0.050], start=WALL - timedelta(hours=10), every_s=10 * 3600))
        (placed,) = placed_in(campaign)
        assert placed.value.tolist() == pytest.approx([0.050, 0.94 * 0.050 + 0.001], rel=1e-12)
        assert ((placed.flags & Flag.CALIBRATION_OVERDUE) > 0).tolist() == [True, False]

    def test_with_both_the_checks_come_out_right(self, campaign: Campaign, meter: Instrument, channel: Channel) -> None:
        """A meter that shows what it showed at a check is corrected to the reference, whatever its certificate says."""
        self.checked(channel)
        day = date(2026, 9, 1)
        Calibration.objects.create(channel=channel, date=day, due=date(2027, 9, 1), slope=1.02, intercept=0.001)
        deploy(campaign, meter, 0, 61)
        take(campaign, meter, a_log([0.530, 0.004], every_s=3600), "checks.csv")
        (placed,) = placed_in(campaign)
        assert placed.value.tolist() == pytest.approx([0.5, 0.0], abs=1e-12)

    def test_negative_values_stay(self, campaign: Campaign, meter: Instrument, channel: Channel) -> None:
        FieldCheck.objects.create(channel=channel, kind="zero", at=START, reference=0.0, observed=0.010)
        deploy(campaign, meter, 0, 60)
        take(campaign, meter, a_log([0.004, 0.004], every_s=60))
        (placed,) = placed_in(campaign)
        assert placed.value.tolist() == pytest.approx([-0.006, -0.006])

    def test_a_stored_error_has_no_value(self, campaign: Campaign, meter: Instrument) -> None:
        deploy(campaign, meter, 0, 60)
        take(campaign, meter, a_log([0.1, "ERR", "<0.01", ">5", 0.2], every_s=60))
        (placed,) = placed_in(campaign)
        assert np.isnan(placed.value).tolist() == [False, True, False, False, False]
        stored = Flag.SENSOR_ERROR | Flag.BELOW_DETECTION | Flag.OVER_RANGE
        assert (placed.flags & stored).tolist() == [
            0, Flag.SENSOR_ERROR, Flag.BELOW_DETECTION, Flag.OVER_RANGE, 0,
        ]  # fmt: skip

    def test_warming_up_counts_from_when_it_was_switched_on(self, campaign: Campaign, meter: Instrument) -> None:
        """Stored since 07:50 without a gap; switched on at 08:03 by what field staff noted. The type needs 60 s."""
        meter.type.warm_up_s = 120
        meter.type.save()
        deploy(campaign, meter, 0, 60, switched_on_at=START + 3 * MINUTE)
        take(campaign, meter, a_log(range(-10, 20), start=WALL - 10 * MINUTE, every_s=60))
        (placed,) = placed_in(campaign)
        assert placed.raw[(placed.flags & Flag.WARMING_UP) > 0].tolist() == [3, 4]

    def test_a_gap_in_the_log_is_a_switching_on_too(self, campaign: Campaign, meter: Instrument) -> None:
        deploy(campaign, meter, 0, 60)
        text = a_log(range(5), start=WALL - 5 * MINUTE, every_s=60)
        later = a_log(range(10, 15), start=WALL + 10 * MINUTE, every_s=60)
        take(campaign, meter, text + later.split("\n", 1)[1])
        (placed,) = placed_in(campaign)
        assert placed.raw[(placed.flags & Flag.WARMING_UP) > 0].tolist() == [10]

    def test_settling_counts_from_the_start_of_the_deployment(self, campaign: Campaign, meter: Instrument) -> None:
        """T90 is 30 s: 3 · T90 = 90 s (docs/methods/flags.md)."""
        deploy(campaign, meter, 0, 3)
        deploy(campaign, meter, 3, 60)
        take(campaign, meter, a_log(range(-60, 60), start=WALL - 10 * MINUTE, every_s=10))
        first, second = placed_in(campaign)
        assert [int(np.count_nonzero(p.flags & Flag.SETTLING)) for p in (first, second)] == [9, 9]
        assert first.raw[(first.flags & Flag.SETTLING) > 0].tolist() == list(range(9))

    def test_stays_that_a_diary_cut_settle_once(self, campaign: Campaign, meter: Instrument) -> None:
        """T90 is 30 s: nine readings. Each stay says the same asked for alone as among the others."""
        point = make.PointFactory.create(room__zone__floor__building__site=campaign.site)
        stays = [deploy(campaign, meter, 10 * k, 10 * k + 10, point=point) for k in range(5)]
        stays += [deploy(campaign, meter, 51, 60, point=point), deploy(campaign, meter, 60, 70)]  # a minute, a move
        stays[2].switched_on_at = START + 25 * MINUTE
        stays[2].save()
        take(campaign, meter, a_log([0.03, 0.04] * 300, start=WALL - 10 * MINUTE, every_s=10))
        settled = {p.deployment.pk: int(np.count_nonzero(p.flags & Flag.SETTLING)) for p in placed_in(campaign)}
        assert [settled[stay.pk] for stay in stays] == [9, 0, 9, 0, 0, 9, 9]
        for stay in stays:
            (alone,) = placed_in(campaign, deployments=[stay])
            assert np.count_nonzero(alone.flags & Flag.SETTLING) == settled[stay.pk]


class TestQueries:
    def count(self, campaign: Campaign) -> tuple[int, int]:
        """How many queries, and how many deployments with readings came of them."""
        with CaptureQueriesContext(connection) as seen:
            found = list(placed_in(Campaign.objects.get(pk=campaign.pk)))
        return len(seen), len(found)

    def test_they_do_not_grow_with_deployments(self, campaign: Campaign, meter: Instrument) -> None:
        take(campaign, meter, a_log(range(60), every_s=60))
        deploy(campaign, meter, 0, 2)
        few, _ = self.count(campaign)
        for start, end in pairwise(range(2, 40, 2)):
            deploy(campaign, meter, start, end)
        many, found = self.count(campaign)
        assert found == 19
        assert many == few

    def test_nor_with_readings_of_others(self, campaign: Campaign, meter: Instrument) -> None:
        take(campaign, meter, a_log(range(5), every_s=60))
        deploy(campaign, meter, 0, 5)
        few, _ = self.count(campaign)
        for k in range(4):
            other = make.InstrumentFactory.create(organisation=meter.organisation)
            take(campaign, other, a_log([k], every_s=60), f"{k}.csv")
        assert self.count(campaign) == (few, 1)
