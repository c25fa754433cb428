"""Layouts that are kept: the list, renaming, deleting, the history; and when somebody looks first."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from campaigns.models import Campaign, Instrument, Job, Organisation, Role, User
from readings.models import LookFirst, SavedLayout, Upload
from readings.services.understanding import CONFIDENT
from tests.layouts.files import AMBIGUOUS, AMBIGUOUS_TOO, CLEAR, Browse, a_log, at, say, stored
from tests.readings.doing import hand_in, read
from tests.readings.pages import text

#: One line of readings for each line of something else.
DOUBTFUL = a_log(*(f"2026-09-15 09:{k:02},0.03{k % 9}\nevent,pump restarted" for k in range(10)))


@pytest.fixture
def upload(campaign: Campaign, meter: Instrument) -> Upload:
    upload = hand_in(campaign, AMBIGUOUS, "monday.csv", meter)
    read(upload)
    return upload


@pytest.fixture
def layout(upload: Upload, browser: Client) -> SavedLayout:
    say(browser, upload, order="month_first", keep="on", name="hall meter")
    return SavedLayout.objects.get()


def rule(organisation: Organisation, when: str) -> None:
    LookFirst.objects.update_or_create(organisation=organisation, defaults={"when": when})


class TestKept:
    def test_the_list_says_what_each_makes_of_a_file(self, layout: SavedLayout, browser: Client) -> None:
        page = text(browser.get(reverse("layouts")))
        assert "hall meter" in page
        assert "Formaldehyde in ppm" in page
        assert "MM/DD/YYYY hh:mm" in page
        assert "the month first" in page

    def test_an_empty_list_says_how_one_comes_about(self, browser: Client) -> None:
        assert "No layouts yet" in text(browser.get(reverse("layouts")))

    def test_others_see_theirs(self, layout: SavedLayout, browse: Browse, stranger: User) -> None:
        assert "hall meter" not in text(browse(stranger).get(reverse("layouts")))
        for route in ("layout-edit", "layout-delete", "layout-history"):
            assert browse(stranger).get(at(route, layout)).status_code == 404
        assert browse(stranger).post(at("layout-delete", layout)).status_code == 404
        assert SavedLayout.objects.filter(pk=layout.pk).exists()

    def test_renaming_leaves_what_it_says(self, layout: SavedLayout, browse: Browse, field_staff: User) -> None:
        content, shape = layout.content, layout.shape_key
        answer = browse(field_staff).post(at("layout-edit", layout), {"name": "stairs meter", "shape_key": "x"})
        assert answer.status_code == 302
        layout.refresh_from_db()
        assert (layout.name, layout.content, layout.shape_key) == ("stairs meter", content, shape)

    def test_a_name_is_needed(self, layout: SavedLayout, browser: Client) -> None:
        assert browser.post(at("layout-edit", layout), {"name": " "}).status_code == 422

    def test_deleted_the_next_file_is_asked_about_again(
        self, layout: SavedLayout, upload: Upload, campaign: Campaign, meter: Instrument, browser: Client
    ) -> None:
        read(upload)
        before = stored(upload)
        assert "is asked about again" in text(browser.get(at("layout-delete", layout)))
        assert browser.post(at("layout-delete", layout)).status_code == 302
        assert not SavedLayout.objects.exists()
        assert read(hand_in(campaign, AMBIGUOUS_TOO, "second.csv", meter)).code == "day_or_month"
        browser.post(at("upload-decide", upload))
        read(upload)
        assert stored(upload) == before

    @pytest.mark.history
    def test_the_history_tells_who_changed_what_in_words(
        self, layout: SavedLayout, upload: Upload, browser: Client, consultant: User
    ) -> None:
        browser.post(at("layout-edit", layout), {"name": "stairs meter"})
        say(browser, upload, order="day_first", keep="on", name="stairs meter")
        page = text(browser.get(at("layout-history", layout)))
        assert str(consultant) in page
        assert "hall meter" in page
        assert "the day first" in page
        assert "&quot;" not in page, "no raw JSON"

    def test_one_for_each_shape(self, layout: SavedLayout) -> None:
        twin = SavedLayout(
            organisation=layout.organisation, name="twin", shape_key=layout.shape_key, content={}, seen={}
        )
        with pytest.raises(Exception, match="already a layout for files of this shape"):
            twin.validate_constraints()

    def test_other_houses_may_keep_the_same_shape(self, layout: SavedLayout, stranger: User) -> None:
        theirs = stranger.memberships.get().organisation
        SavedLayout(
            organisation=theirs, name="x", shape_key=layout.shape_key, content={}, seen={}
        ).validate_constraints()


class TestLookFirst:
    def test_what_is_mostly_something_else_waits(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        upload = hand_in(campaign, DOUBTFUL, instrument=meter)
        job = read(upload)
        assert (job.state, job.code) == (Job.State.ATTENTION, "look-first")
        assert upload.layout_is_open
        assert not stored(upload)
        assert upload.understood["questions"] == []
        assert say(browser, upload).status_code == 302
        assert read(upload).state == Job.State.DONE
        assert len(stored(upload)) == 10

    def test_what_is_clear_does_not(self, campaign: Campaign, meter: Instrument) -> None:
        assert read(hand_in(campaign, CLEAR, instrument=meter)).state == Job.State.DONE

    @pytest.mark.parametrize(("others", "code"), [(0, "read"), (6, "read"), (7, "look-first"), (20, "look-first")])
    def test_where_the_line_is(self, campaign: Campaign, meter: Instrument, others: int, code: str) -> None:
        """Ten lines of readings and so many of something else below the header: 10 / 16 is above 0.6, 10 / 17 not."""
        lines = [*(f"2026-09-15 09:{k:02},0.03{k % 9}" for k in range(10)), *["event,pump restarted"] * others]
        assert 10 / 16 > CONFIDENT > 10 / 17
        assert read(hand_in(campaign, a_log(*lines), instrument=meter)).code == code

    def test_never(self, campaign: Campaign, meter: Instrument, organisation: Organisation) -> None:
        rule(organisation, LookFirst.When.NEVER)
        assert read(hand_in(campaign, DOUBTFUL, instrument=meter)).state == Job.State.DONE
        assert read(hand_in(campaign, AMBIGUOUS, instrument=meter)).code == "day_or_month", (
            "a question stays a question"
        )

    def test_at_every_new_shape(
        self, campaign: Campaign, meter: Instrument, organisation: Organisation, browser: Client
    ) -> None:
        rule(organisation, LookFirst.When.NEW)
        first = hand_in(campaign, CLEAR, instrument=meter)
        assert read(first).code == "look-first"
        say(browser, first, keep="on", name="hall meter")
        assert read(first).state == Job.State.DONE
        assert read(hand_in(campaign, CLEAR.replace("09:", "10:"), "2.csv", meter)).state == Job.State.DONE

    def test_a_shape_that_is_known_is_not_doubted(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        first = hand_in(campaign, DOUBTFUL, instrument=meter)
        read(first)
        say(browser, first, keep="on", name="hall meter")
        assert read(hand_in(campaign, DOUBTFUL.replace("09:", "10:"), "2.csv", meter)).state == Job.State.DONE

    def test_the_rule_of_one_house_is_not_the_other_s(
        self, campaign: Campaign, meter: Instrument, stranger: User
    ) -> None:
        rule(stranger.memberships.get().organisation, LookFirst.When.NEW)
        assert read(hand_in(campaign, CLEAR, instrument=meter)).state == Job.State.DONE


class TestTheRule:
    def test_a_consultant_sets_it(self, organisation: Organisation, browser: Client) -> None:
        assert "when much of the file was not understood" in text(browser.get(reverse("layouts")))
        assert browser.post(at("look-first", organisation), {"when": "new"}).status_code == 302
        assert LookFirst.rule_of(organisation.pk) == LookFirst.When.NEW
        assert browser.post(at("look-first", organisation), {"when": "never"}).status_code == 302
        assert LookFirst.objects.get().when == LookFirst.When.NEVER
        assert "never, unless something has to be asked" in text(browser.get(reverse("layouts")))

    def test_anything_else_is_refused(self, organisation: Organisation, browser: Client) -> None:
        assert browser.post(at("look-first", organisation), {"when": "sometimes"}).status_code == 422
        assert not LookFirst.objects.exists()

    def test_others_may_not(
        self, organisation: Organisation, browse: Browse, stranger: User, field_staff: User, client_person: User
    ) -> None:
        for person in (stranger, field_staff, client_person):
            assert browse(person).post(at("look-first", organisation), {"when": "new"}).status_code == 404
        assert not LookFirst.objects.exists()
        assert at("look-first", organisation) not in text(browse(field_staff).get(reverse("layouts")))

    def test_each_house_of_a_person_has_its_own(
        self, organisation: Organisation, browser: Client, consultant: User, stranger: User
    ) -> None:
        other = stranger.memberships.get().organisation
        consultant.memberships.create(organisation=other, role=Role.FIELD)
        page = browser.get(reverse("layouts"))
        assert [(r["organisation"], r["may_change"]) for r in page.context["rules"]] == [
            (organisation, True),
            (other, False),
        ]
