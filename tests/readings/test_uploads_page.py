"""The uploads of a campaign: the list, and handing in."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest
from django.conf import LazySettings
from django.contrib.messages import get_messages
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from campaigns.models import Campaign, Instrument, Job, Site, User
from campaigns.services.workers import NO_WORKER, beat
from readings.models import Upload
from tests import factories as make
from tests.readings.doing import a_log, hand_in, read, sha256
from tests.readings.pages import JSON, Browse, at, send, text

LOG = a_log([0.031, 0.032])


@pytest.fixture
def browser(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


def said(answer: object) -> list[str]:
    return [str(message) for message in get_messages(answer.wsgi_request)]  # type: ignore[attr-defined]


class TestWhoUploads:
    def test_staff_see_the_list(self, campaign: Campaign, browse: Browse, consultant: User, field_staff: User) -> None:
        hand_in(campaign, LOG, "monday.csv")
        for person in (consultant, field_staff):
            answer = browse(person).get(at("uploads", campaign))
            assert answer.status_code == 200
            assert "monday.csv" in text(answer)

    def test_a_stranger_and_a_client_find_nothing(
        self, campaign: Campaign, browse: Browse, stranger: User, client_person: User
    ) -> None:
        for person in (stranger, client_person):
            assert browse(person).get(at("uploads", campaign)).status_code == 404
            assert send(browse(person), campaign, ("monday.csv", LOG)).status_code == 404
            assert send(browse(person), campaign, ("monday.csv", LOG), script=True).status_code == 404
        assert not Upload.objects.exists()
        assert not Job.objects.exists()

    def test_the_anonymous_are_asked_to_log_in(self, campaign: Campaign, browse: Browse) -> None:
        for answer in (browse(None).get(at("uploads", campaign)), send(browse(None), campaign, ("monday.csv", LOG))):
            assert answer.status_code == 302
            assert answer["Location"].startswith(reverse("login"))
        assert not Upload.objects.exists()

    def test_a_script_whose_login_has_ended_is_not_sent_to_a_page(self, campaign: Campaign, browse: Browse) -> None:
        """It would follow the redirect, get the login page with 200, and say that the file was accepted."""
        answer = send(browse(None), campaign, ("monday.csv", LOG), script=True)
        assert answer.status_code == 401
        assert "log in" in answer.json()["message"]
        assert not Upload.objects.exists()

    def test_field_staff_hand_in(self, campaign: Campaign, browse: Browse, field_staff: User) -> None:
        assert send(browse(field_staff), campaign, ("monday.csv", LOG), script=True).status_code == 201
        upload = Upload.objects.get()
        assert upload.uploaded_by == field_staff
        assert Job.objects.get().owner == field_staff

    def test_nothing_comes_without_the_token_of_the_form(self, campaign: Campaign, consultant: User) -> None:
        careful = Client(enforce_csrf_checks=True)
        careful.force_login(consultant)
        assert send(careful, campaign, ("monday.csv", LOG)).status_code == 403
        assert not Upload.objects.exists()


class TestToAScript:
    def test_a_file_is_stored(self, campaign: Campaign, browser: Client) -> None:
        answer = send(browser, campaign, ("monday.csv", LOG), script=True)
        upload = Upload.objects.get()
        assert answer.status_code == 201
        row = at("upload-row", upload)
        assert answer.json() == {"message": f"Stored. {NO_WORKER}", "url": at("upload", upload), "row": row}
        assert (upload.filename, upload.size, upload.sha256) == ("monday.csv", len(LOG), sha256(LOG))
        assert upload.original.read() == LOG.encode()
        job = Job.objects.get()
        assert (job.kind, job.subject_id, job.state) == ("read-upload", upload.pk, Job.State.QUEUED)
        assert job.organisation_id == campaign.site.organisation_id

    def test_it_is_read_now_where_a_worker_is_there(self, campaign: Campaign, browser: Client) -> None:
        beat("worker@here 7")
        answer = send(browser, campaign, ("monday.csv", LOG), script=True)
        assert answer.json()["message"] == "Stored. It is being read now."

    def test_the_same_bytes_are_already_held(self, campaign: Campaign, browser: Client) -> None:
        send(browser, campaign, ("monday.csv", LOG), script=True)
        upload = Upload.objects.get()
        answer = send(browser, campaign, ("another name.csv", LOG), script=True)
        assert answer.status_code == 409
        assert answer.json()["url"] == at("upload", upload)
        assert "as “monday.csv”" in answer.json()["message"]
        assert Upload.objects.count() == Job.objects.count() == 1

    def test_another_campaign_may_hold_them_too(self, campaign: Campaign, browser: Client) -> None:
        """The checksum is unique within a campaign: what one campaign holds is not told to another."""
        send(browser, campaign, ("monday.csv", LOG), script=True)
        other = make.CampaignFactory.create(site=campaign.site)
        assert send(browser, other, ("monday.csv", LOG), script=True).status_code == 201

    def test_an_empty_file_is_refused(self, campaign: Campaign, browser: Client) -> None:
        answer = send(browser, campaign, ("empty.csv", b""), script=True)
        assert answer.status_code == 422
        assert answer.json()["message"].startswith("“empty.csv” is empty (0 bytes).")
        assert not Upload.objects.exists()

    def test_a_file_beyond_the_limit_is_refused(
        self, campaign: Campaign, browser: Client, settings: LazySettings
    ) -> None:
        settings.UPLOAD_MAX_BYTES = 1000
        answer = send(browser, campaign, ("long.csv", b"x" * 1001), script=True)
        assert answer.status_code == 422
        assert "FANLIGHT_UPLOAD_MAX_MB" in answer.json()["message"]
        assert not Upload.objects.exists()
        assert send(browser, campaign, ("fits.csv", b"x" * 1000), script=True).status_code == 201

    def test_no_file(self, campaign: Campaign, browser: Client) -> None:
        answer = send(browser, campaign, script=True)
        assert answer.status_code == 400
        assert answer.json() == {"message": "No file came with this."}

    def test_several_files_are_answered_one_by_one(self, campaign: Campaign, browser: Client) -> None:
        """The page's script sends one at a time; a script that does not still learns what became of each."""
        answer = send(browser, campaign, ("a.csv", LOG), ("b.csv", LOG), ("c.csv", ""), script=True)
        assert answer.status_code == 207
        assert [one["status"] for one in answer.json()["files"]] == [201, 409, 422]
        assert [one["name"] for one in answer.json()["files"]] == ["a.csv", "b.csv", "c.csv"]


class TestToAForm:
    def test_the_page_says_what_became_of_each_file(self, campaign: Campaign, browser: Client) -> None:
        hand_in(campaign, LOG, "held.csv")
        answer = send(browser, campaign, ("one.csv", LOG + "\n"), ("again.csv", LOG), ("none.csv", b""))
        assert answer.status_code == 302
        assert answer["Location"] == at("uploads", campaign)
        page = browser.get(answer["Location"])
        levels = [(m.level_tag, str(m)) for m in page.context["messages"]]
        assert [level for level, _ in levels] == ["success", "warning", "warning"]
        assert levels[0][1] == f"one.csv: Stored. {NO_WORKER}"
        assert levels[1][1].startswith("again.csv: Already held since ")
        assert levels[2][1].startswith("“none.csv” is empty")
        assert sorted(Upload.objects.values_list("filename", flat=True)) == ["held.csv", "one.csv"]

    def test_a_whole_week_of_loggers_at_once(self, campaign: Campaign, browser: Client) -> None:
        files = [(f"{n}.csv", a_log([n])) for n in range(120)]
        assert send(browser, campaign, *files).status_code == 302
        assert Upload.objects.count() == 120

    def test_no_file(self, campaign: Campaign, browser: Client) -> None:
        answer = send(browser, campaign)
        assert said(answer) == ["No file came with this."]


class TestInstrumentOfAnUpload:
    def test_it_can_be_named(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        assert send(browser, campaign, ("log.csv", LOG), script=True, instrument=meter.pk).status_code == 201
        assert Upload.objects.get().instrument == meter

    def test_only_own_ones_are_offered(
        self, campaign: Campaign, meter: Instrument, stranger: User, browser: Client
    ) -> None:
        theirs = make.InstrumentFactory.create(organisation=stranger.memberships.get().organisation, name="their meter")
        page = browser.get(at("uploads", campaign))
        assert [i.name for i in page.context["form"].fields["instrument"].queryset] == ["meter N"]
        for script, status in ((True, 400), (False, 422)):
            answer = send(browser, campaign, ("log.csv", LOG), script=script, instrument=theirs.pk)
            assert answer.status_code == status
        assert not Upload.objects.exists()

    def test_not_even_those_of_a_second_house_of_the_same_person(
        self, campaign: Campaign, stranger: User, consultant: User, browser: Client
    ) -> None:
        house = stranger.memberships.get().organisation
        consultant.memberships.create(organisation=house, role="consultant")
        theirs = make.InstrumentFactory.create(organisation=house)
        answer = send(browser, campaign, ("log.csv", LOG), script=True, instrument=theirs.pk)
        assert answer.status_code == 400
        assert answer.json() == {"message": "Choose one of your own instruments."}


class TestUploadTooLarge:
    """By the header alone, before anything is parsed: what does not fit is not read to its end."""

    @pytest.fixture(autouse=True)
    def _small(self, settings: LazySettings) -> None:
        settings.UPLOAD_MAX_BYTES = 10_000_000

    def ask(self, browser: Client, campaign: Campaign, length: int, **headers: str) -> object:
        return browser.generic(
            "POST", at("uploads", campaign), b"x", content_type="multipart/form-data; boundary=b",
            CONTENT_LENGTH=str(length), headers=headers,
        )  # fmt: skip

    def test_as_json(self, campaign: Campaign, browser: Client) -> None:
        answer = self.ask(browser, campaign, 300_000_000, **JSON)
        assert answer.status_code == 413  # type: ignore[attr-defined]
        assert answer.json()["message"].startswith("This is 300 MB; files up to 10 MB are taken.")  # type: ignore[attr-defined]

    def test_as_a_page(self, campaign: Campaign, browser: Client) -> None:
        answer = self.ask(browser, campaign, 300_000_000)
        assert answer.status_code == 413  # type: ignore[attr-defined]
        page = text(answer)
        assert "files up to 10 MB are taken" in page
        assert "Nothing was stored." in page
        assert "<h1" in page

    def test_what_a_form_weighs_beside_its_file_is_allowed_for(self, campaign: Campaign, browser: Client) -> None:
        assert self.ask(browser, campaign, 10_000_000 + 4 * 1024 * 1024 + 1).status_code == 413  # type: ignore[attr-defined]
        assert send(browser, campaign, ("full.csv", b"x" * 10_000_000), script=True).status_code == 201

    def test_a_length_that_is_no_number_is_left_to_the_server(self, campaign: Campaign, browser: Client) -> None:
        assert browser.get(at("uploads", campaign), CONTENT_LENGTH="many").status_code == 200


class TestList:
    def test_it_says_how_far_each_one_is(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        done = hand_in(campaign, LOG, "done.csv", meter)
        read(done)
        unknown = hand_in(campaign, a_log([0.1], serial="FL-9999"), "unknown.csv")
        read(unknown)
        hand_in(campaign, a_log([0.2]), "waiting.csv", meter)
        page = browser.get(at("uploads", campaign))
        states = {str(u): page.context["jobs"][u.pk].state for u in page.context["uploads"]}
        assert states == {"done.csv": "done", "unknown.csv": "attention", "waiting.csv": "queued"}
        told = text(page)
        assert "2 readings stored." in told
        assert "FL-9999" in told
        assert f'hx-get="{at("upload-row", Upload.objects.get(filename="waiting.csv"))}"' in told
        assert told.count("hx-get=") == 1, "only what is under way asks again"

    def test_other_campaigns_are_not_in_it(self, campaign: Campaign, site: Site, browser: Client) -> None:
        hand_in(make.CampaignFactory.create(site=site), LOG, "elsewhere.csv")
        assert "elsewhere.csv" not in text(browser.get(at("uploads", campaign)))

    def test_an_empty_list_says_what_to_do(self, campaign: Campaign, browser: Client) -> None:
        assert "No log yet." in text(browser.get(at("uploads", campaign)))

    def test_pages_of_fifty(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        Upload.objects.bulk_create(
            Upload(campaign=campaign, instrument=meter, filename=f"log {n}.csv", size=1, sha256=f"{n:064d}")
            for n in range(51)
        )
        assert len(browser.get(at("uploads", campaign)).context["uploads"]) == 50
        assert len(browser.get(at("uploads", campaign) + "?page=2").context["uploads"]) == 1
        assert len(browser.get(at("uploads", campaign) + "?page=nowhere").context["uploads"]) == 50

    def test_queries_do_not_grow_with_the_list(self, campaign: Campaign, site: Site, browser: Client) -> None:
        def queries() -> int:
            with CaptureQueriesContext(connection) as seen:
                assert browser.get(at("uploads", campaign)).status_code == 200
            return len(seen)

        def one(n: int) -> None:
            hand_in(campaign, a_log([n]), f"{n}.csv", make.InstrumentFactory.create(organisation=site.organisation))

        one(0)
        few = queries()
        for n in range(1, 6):
            one(n)
        assert queries() == few


@pytest.mark.parametrize(("page", "is_read"), [("upload", True), ("upload", False), ("uploads", True)])
def test_the_page_of_a_file_is_shown_anew_when_the_worker_has_ended(
    campaign: Campaign, meter: Instrument, browse: Browse, consultant: User, page: str, is_read: bool
) -> None:
    """All of it tells of the file; of a list only the row is another one."""
    upload = hand_in(campaign, a_log([0.031]), instrument=meter)
    if is_read:
        read(upload)
    asked_by = at(page, upload if page == "upload" else campaign)
    headers = {"HX-Request": "true", "HX-Current-URL": f"http://testserver{asked_by}"}
    answer = browse(consultant).get(at("upload-row", upload), headers=headers)
    assert answer.headers.get("HX-Refresh") == ("true" if page == "upload" and is_read else None)


def test_a_row_asked_for_after_the_login_ended_loads_the_page_anew(
    campaign: Campaign, meter: Instrument, browse: Browse
) -> None:
    """Common practice, no source: a row that polls must not become a login form."""
    upload = hand_in(campaign, a_log([0.031]), instrument=meter)
    answer = browse(None).get(at("upload-row", upload), headers={"HX-Request": "true"})
    assert (answer.status_code, answer.headers.get("HX-Refresh"), answer.content) == (200, "true", b"")


class TestWhichAreListed:
    def names(self, browser: Client, campaign: Campaign, query: str) -> list[str]:
        return [upload.filename for upload in browser.get(at("uploads", campaign) + query).context["uploads"]]

    def test_those_that_wait_or_cannot_be_read(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        read(hand_in(campaign, LOG, "done.csv", meter))
        read(hand_in(campaign, a_log([0.1], serial="FL-9999"), "unknown.csv"))
        read(hand_in(campaign, b"%PDF-1.7\n", "paper.pdf"))
        assert self.names(browser, campaign, "?show=waiting") == ["unknown.csv"]
        assert self.names(browser, campaign, "?show=unreadable") == ["paper.pdf"]
        assert len(self.names(browser, campaign, "?show=nonsense")) == 3

    def test_a_list_without_any_says_so(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        read(hand_in(campaign, LOG, "done.csv", meter))
        page = text(browser.get(at("uploads", campaign) + "?show=waiting"))
        assert "No log of this kind." in page
        assert "No log yet." not in page


def test_since_when_it_is_held_is_said_on_the_clock_of_the_site(campaign: Campaign, browser: Client) -> None:
    campaign.site.time_zone = "Asia/Tokyo"
    campaign.site.save()
    upload = hand_in(campaign, LOG, "held.csv")
    Upload.objects.filter(pk=upload.pk).update(created_at=datetime(2026, 9, 15, 20, 30, tzinfo=UTC))
    said = send(browser, campaign, ("again.csv", LOG), script=True).json()["message"]
    assert said == "Already held since 2026-09-16 05:30, as “held.csv”."
