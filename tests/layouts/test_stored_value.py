"""A kept layout says what a stored value of its files is, and that goes before what the instrument type says.

Visit from 08:02:20 to 08:05:20 UTC, a value a minute from 08:00:00 UTC, worked out by hand (docs/methods/placing.md: a
logged mean belongs where more than half of its interval lies).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from campaigns.models import Campaign, Deployment, Instrument, InstrumentType, Site, User
from campaigns.signals import inputs_changed
from methods.quantities.flags import Flag
from readings.models import Reading, SavedLayout, Upload
from readings.queries import logged_series as logs
from readings.queries import placed_in, placement_of
from reports.services.digests import of_readings
from tests import factories as make
from tests.database import unguarded
from tests.layouts.files import AMBIGUOUS, AMBIGUOUS_TOO, Browse, at, say
from tests.readings.doing import WALL, a_log, hand_in, read
from tests.readings.pages import text

SECOND, MINUTE = timedelta(seconds=1), timedelta(minutes=1)
OTHER_SHAPE = "time;formaldehyde [ppm];note"


@pytest.fixture
def meter(site: Site) -> Instrument:
    """Its type says that values are momentary."""
    return make.InstrumentFactory.create(organisation=site.organisation, name="meter N", serial="FL-7001")


@pytest.fixture
def visit(campaign: Campaign, meter: Instrument) -> Deployment:
    return make.DeploymentFactory.create(
        campaign=campaign, instrument=meter, starts_at=make.START + 140 * SECOND, ends_at=make.START + 320 * SECOND
    )


@pytest.fixture
def upload(campaign: Campaign, meter: Instrument, visit: Deployment) -> Upload:
    upload = hand_in(campaign, a_log(range(10), every_s=60), instrument=meter)
    assert read(upload).code == "read"
    upload.refresh_from_db()
    return upload


@pytest.fixture
def told() -> Iterator[list[list[int]]]:
    heard: list[list[int]] = []

    def hear(sender: Any, campaign_ids: list[int], **_: Any) -> None:
        heard.append(campaign_ids)

    inputs_changed.connect(hear)
    yield heard
    inputs_changed.disconnect(hear)


def keep(browser: Client, upload: Upload, represents: str = "", name: str = "hall meter") -> SavedLayout:
    """On the page of a file that is read."""
    sent = {"do": "keep", "keep": "on", "name": name, "represents": represents}
    assert browser.post(at("upload-layout", upload), sent).status_code == 302
    return SavedLayout.objects.get(name=name)


def other_shape(values: range, start_s: int = 0) -> str:
    """The same in columns of another shape."""
    lines = a_log(values, start=WALL + start_s * SECOND, every_s=60).splitlines()[1:]
    return "\n".join([OTHER_SHAPE, *(line.replace(",", ";") + ";" for line in lines)]) + "\n"


def raw(campaign: Campaign) -> list[float]:
    return sorted(value for placed in placed_in(campaign) for value in placed.raw.tolist())


@pytest.mark.parametrize("usual", ["spot", "end", "start"])
@pytest.mark.parametrize(
    ("says", "placed"),
    [
        ("end", [3, 4, 5]),  # 3 stands for 08:02–08:03, of which 40 s lie inside; 6 for 20 s only
        ("start", [2, 3, 4]),  # 2 stands for 08:02–08:03; 5 for 08:05–08:06, of which 20 s lie inside
        ("middle", [3, 4, 5]),  # 3 stands for 08:02:30–08:03:30; of 2 only 10 s lie inside
        ("spot", [3, 4, 5]),
    ],
)
def test_the_layout_goes_before_the_type(
    campaign: Campaign, upload: Upload, meter: Instrument, browser: Client, usual: str, says: str, placed: list[int]
) -> None:
    InstrumentType.objects.update(represents=usual)
    keep(browser, upload, says)
    (found,) = placed_in(campaign)
    assert (found.raw.tolist(), found.represents) == (placed, says)
    upload = Upload.objects.get()
    assert placement_of(upload).shares[0].lines == 3
    channel = meter.channels.select_related("instrument__type", "spec").get()
    within = logs.logged(channel, campaign, campaign.deployments.all()).within(campaign.deployments.all())
    assert [k for k, where in enumerate(within) if where == 0] == placed


def test_without_a_word_the_type_has_it(campaign: Campaign, upload: Upload, browser: Client) -> None:
    InstrumentType.objects.update(represents="start")
    keep(browser, upload)
    (found,) = placed_in(campaign)
    assert (found.raw.tolist(), found.represents) == ([2, 3, 4], "start")


def test_settling_is_counted_from_where_the_interval_began(campaign: Campaign, upload: Upload, browser: Client) -> None:
    """3 × T90 is 90 s. Momentary, 4 is 100 s after the start; as a mean stamped at its end it began 40 s after it."""

    def settling() -> list[int]:
        (placed,) = placed_in(campaign)
        return [int(raw) for raw, flag in zip(placed.raw, placed.flags, strict=True) if flag & Flag.SETTLING]

    assert settling() == [3]
    keep(browser, upload, "end")
    assert settling() == [3, 4]


class TestTwoLayoutsInOneChannel:
    """Nine minutes of one file, whose layout says "start", and later ones of another, whose layout says "end"."""

    @pytest.fixture
    def two(self, campaign: Campaign, upload: Upload, meter: Instrument, browser: Client) -> Upload:
        keep(browser, upload, "start")
        second = hand_in(campaign, other_shape(range(10, 20), start_s=630), "second.csv", meter)
        read(second)
        keep(browser, second, "end", name="stairs meter")
        return second

    def test_each_by_its_own(self, campaign: Campaign, two: Upload, meter: Instrument) -> None:
        """A second visit from 08:14:00: stamped at its end at 08:14:30, 14 lies half outside; 15 to 19 lie inside."""
        make.DeploymentFactory.create(
            campaign=campaign, instrument=meter, starts_at=make.START + 14 * MINUTE, ends_at=make.START + 20 * MINUTE
        )
        first, second = placed_in(campaign)
        assert (first.raw.tolist(), first.represents) == ([2, 3, 4], "start")
        assert (second.raw.tolist(), second.represents) == ([15, 16, 17, 18, 19], "end")

    def test_in_one_visit_they_count_as_most_of_it(self, campaign: Campaign, two: Upload, visit: Deployment) -> None:
        """Eight stamped at their start, ten at their end: the eight are moved by their minute and follow gaplessly."""
        visit.ends_at = make.START + 30 * MINUTE
        visit.save()
        (found,) = placed_in(campaign)
        assert (found.raw.tolist(), found.represents) == ([float(k) for k in range(2, 20)], "end")
        since = (found.utc_ms - found.utc_ms[0]) // 1000
        assert since.tolist() == [*range(0, 480, 60), *range(450, 1050, 60)]

    def test_the_timeline_keeps_both_and_follows_the_word(
        self, campaign: Campaign, two: Upload, meter: Instrument, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr(logs, "WORTH_KEEPING", 5)
        channel = meter.channels.select_related("instrument__type", "spec").get()
        stays = list(campaign.deployments.all())

        def inside() -> list[int]:
            return [k for k, where in enumerate(logs.logged(channel, campaign, stays).within(stays)) if where == 0]

        assert inside() == inside() == [2, 3, 4]
        SavedLayout.objects.filter(represents="start").update(represents="end")
        assert inside() == [3, 4, 5]


class TestJudging:
    def test_it_is_asked_for_when_the_word_changes(
        self, campaign: Campaign, upload: Upload, browser: Client, told: list[list[int]]
    ) -> None:
        layout = keep(browser, upload, "start")
        assert told == [[campaign.pk]]
        browser.post(at("layout-edit", layout), {"name": "hall meter", "represents": "end"})
        assert told == [[campaign.pk]] * 2
        browser.post(at("layout-edit", layout), {"name": "stairs meter", "represents": "end"})
        assert told == [[campaign.pk]] * 2, "another name is no matter of judging"
        browser.post(at("layout-delete", layout))
        assert told == [[campaign.pk]] * 3

    def test_also_where_the_instrument_stood_for_others(
        self, site: Site, campaign: Campaign, upload: Upload, meter: Instrument, browser: Client,
        told: list[list[int]],
    ) -> None:  # fmt: skip
        other = make.CampaignFactory.create(site=site, name="Spring round")
        make.DeploymentFactory.create(
            campaign=other, instrument=meter, starts_at=make.START + timedelta(days=1),
            ends_at=make.START + timedelta(days=2),
        )  # fmt: skip
        told.clear()
        keep(browser, upload, "start")
        assert told == [sorted([campaign.pk, other.pk])]

    def test_the_digest_follows(self, campaign: Campaign, upload: Upload, browser: Client) -> None:
        digests = [of_readings(next(iter(placed_in(campaign))))]
        layout = keep(browser, upload, "middle")  # which holds the same readings
        digests.append(of_readings(next(iter(placed_in(campaign)))))
        SavedLayout.objects.filter(pk=layout.pk).update(represents="")
        digests.append(of_readings(next(iter(placed_in(campaign)))))
        assert digests[0] == digests[2] != digests[1]


class TestStoredValuePages:
    def test_the_upload_says_what_and_who_says_so(self, upload: Upload, browser: Client) -> None:
        assert "A stored value is a momentary value, as the instrument type says." in text(
            browser.get(at("upload", upload))
        )
        layout = keep(browser, upload, "start")
        page = text(browser.get(at("upload", upload)))
        assert "stamped at its start, as the layout “hall meter” says." in page
        assert at("layout-edit", layout) in page

    def test_the_next_file_of_the_shape_has_it(
        self, campaign: Campaign, upload: Upload, meter: Instrument, browser: Client
    ) -> None:
        layout = keep(browser, upload, "start")
        second = hand_in(campaign, a_log(range(10, 20), start=WALL + 10 * MINUTE, every_s=60), "b.csv", meter)
        read(second)
        second.refresh_from_db()
        assert second.kept_layout == layout

    def test_said_before_a_file_is_read_and_not_of_one_read_otherwise(
        self, campaign: Campaign, meter: Instrument, browser: Client
    ) -> None:
        first, second = (hand_in(campaign, log, instrument=meter) for log in (AMBIGUOUS, AMBIGUOUS_TOO))
        kept: dict[str, Any] = {"order": "day_first", "keep": "on", "name": "hall meter", "represents": "end"}
        for upload, choices in ((first, kept), (second, {"order": "month_first"})):
            read(upload)
            if upload == second:  # read as the layout says by now, so it is asked about no more
                Upload.objects.filter(pk=upload.pk).update(stored=0, settled=None)
                with unguarded("readings_reading"):
                    Reading.objects.filter(upload=upload).delete()
            say(browser, upload, **choices)
            read(upload)
            upload.refresh_from_db()
        layout = SavedLayout.objects.get(represents="end")
        assert (first.kept_layout, second.kept_layout) == (layout, None)

    def test_it_is_said_in_a_layout_that_is_kept_only(self, upload: Upload, browser: Client) -> None:
        answer = browser.post(at("upload-layout", upload), {"do": "keep", "name": "x", "represents": "end"})
        assert answer.status_code == 422
        assert "Only a layout that is kept says this" in text(answer)
        assert not SavedLayout.objects.exists()

    def test_nor_of_a_file_that_is_about_to_be_read(
        self, campaign: Campaign, meter: Instrument, browser: Client
    ) -> None:
        upload = hand_in(campaign, AMBIGUOUS, instrument=meter)
        read(upload)
        answer = say(browser, upload, order="day_first", represents="end")
        assert answer.status_code == 422
        assert "Only a layout that is kept says this" in text(answer)
        upload.refresh_from_db()
        assert upload.settled is None

    def test_keeping_reads_nothing_again(self, campaign: Campaign, upload: Upload, browser: Client) -> None:
        before = raw(campaign)
        keep(browser, upload)
        assert raw(campaign) == before
        assert Upload.objects.get().settled["name"] == "hall meter"

    def test_nothing_is_kept_of_a_file_that_was_not_read(
        self, campaign: Campaign, meter: Instrument, browser: Client
    ) -> None:
        upload = hand_in(campaign, a_log(range(9), head="time,Kanal 2"), instrument=meter)
        read(upload)
        sent = {"do": "keep", "keep": "on", "name": "x", "represents": "end"}
        answer = browser.post(at("upload-layout", upload), sent)
        assert answer.status_code == 409
        assert not SavedLayout.objects.exists()

    def test_others_may_not(self, upload: Upload, browse: Browse, stranger: User, client_person: User) -> None:
        sent = {"do": "keep", "keep": "on", "name": "x", "represents": "end"}
        for person in (stranger, client_person):
            assert browse(person).post(at("upload-layout", upload), sent).status_code == 404
        assert not SavedLayout.objects.exists()

    @pytest.mark.history
    def test_list_edit_delete_and_history(self, upload: Upload, browser: Client) -> None:
        layout = keep(browser, upload, "start")
        assert "a stored value is a mean of the logging interval, stamped at its start" in text(
            browser.get(reverse("layouts"))
        )
        offered = re.findall('<option value="([^"]*)"( selected)?>', text(browser.get(at("layout-edit", layout))))
        assert offered == [("", ""), ("spot", ""), ("end", ""), ("start", " selected"), ("middle", "")]
        browser.post(at("layout-edit", layout), {"name": "hall meter", "represents": "end"})
        history = text(browser.get(at("layout-history", layout)))
        assert "stamped at its start" in history
        assert "stamped at its end" in history
        assert "the type of their instrument says again" in text(browser.get(at("layout-delete", layout)))
        browser.post(at("layout-delete", layout))
        upload.refresh_from_db()
        assert upload.kept_layout is None

    def test_a_layout_that_is_gone_is_still_named(self, upload: Upload, browser: Client) -> None:
        browser.post(at("layout-delete", keep(browser, upload, "start")))
        page = text(browser.get(at("upload", upload)))
        assert "read as the layout “hall meter” said, which is no longer kept" in page
        assert "as the instrument type says" in page

    def test_another_word_is_refused_also_by_the_database(self, upload: Upload, browser: Client) -> None:
        layout = keep(browser, upload)
        assert browser.post(at("layout-edit", layout), {"name": "x", "represents": "later"}).status_code == 422
        layout.represents = "later"
        with pytest.raises(ValidationError, match="A stored value is momentary"):
            layout.validate_constraints()
