"""The page that shows how a file would be read."""

from __future__ import annotations

import re

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from campaigns.models import Campaign, Instrument, Job, User
from readings.models import Reading, SavedLayout, Upload
from tests.layouts.files import AMBIGUOUS, CLEAR, LONG, Browse, a_log, at, say, stored
from tests.readings.doing import hand_in, read
from tests.readings.pages import text

MESSY = a_log(
    "01/02/2026 09:00;0,031;3,1",
    "01/02/2026 09:01;oops;3,2",
    "not a time;0,033;3,3",
    head="# hall\ntime;HCHO (ppm);x battery",
)


@pytest.fixture
def upload(campaign: Campaign, meter: Instrument) -> Upload:
    """Waits for an answer."""
    upload = hand_in(campaign, AMBIGUOUS, "monday.csv", meter)
    read(upload)
    return upload


class TestWhoAnswers:
    def test_staff_may_decide(self, upload: Upload, browse: Browse, field_staff: User) -> None:
        assert say(browse(field_staff), upload, order="day_first", keep="on", name="hall meter").status_code == 302
        assert SavedLayout.objects.get().made_by == field_staff

    def test_strangers_and_clients_find_nothing(
        self, upload: Upload, browse: Browse, stranger: User, client_person: User
    ) -> None:
        for person in (stranger, client_person):
            client = browse(person)
            assert client.get(at("upload-layout", upload)).status_code == 404
            sent = {"order": "day_first", "do": "read"}
            assert client.post(at("upload-layout", upload), sent).status_code == 404
            script = client.post(at("upload-layout", upload), sent, headers={"HX-Request": "true"})
            assert script.status_code == 404
        upload.refresh_from_db()
        assert upload.settled is None

    def test_nothing_comes_without_the_token_of_the_form(self, upload: Upload, consultant: User) -> None:
        careful = Client(enforce_csrf_checks=True)
        careful.force_login(consultant)
        assert careful.post(at("upload-layout", upload), {"do": "read"}).status_code == 403


class TestWhatIsShown:
    def test_the_first_lines_as_cells(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        upload = hand_in(campaign, MESSY, instrument=meter)
        read(upload)
        look = browser.get(at("upload-layout", upload)).context["look"]
        assert [(head["name"], head["words"]) for head in look.heads] == [
            ("time", "date and time"),
            ("HCHO (ppm)", "Formaldehyde in ppm"),
            ("x battery", "left out"),
        ]
        assert [(line["number"], line["what"]) for line in look.lines] == [
            (1, "above the readings"), (2, "names"), (3, ""), (4, ""), (5, ""),
        ]  # fmt: skip
        assert look.lines[2]["cells"] == [("01/02/2026 09:00", True), ("0,031", True), ("3,1", False)]

    def test_the_time_and_the_problems_as_they_would_be(
        self, campaign: Campaign, meter: Instrument, browser: Client
    ) -> None:
        upload = hand_in(campaign, MESSY, instrument=meter)
        read(upload)
        look = say(browser, upload, do="look", order="month_first").context["look"]
        assert [line["stamp"] for line in look.lines] == ["", "", "2026-01-02 09:00:00", "2026-01-02 09:01:00", ""]
        assert [len(line["wrong"]) for line in look.lines] == [0, 0, 0, 1, 1]
        assert {(problem.line, problem.code) for problem in look.problems} == {
            (4, "text_in_number"), (5, "bad_stamp"), (0, "most_bad"),
        }  # fmt: skip
        facts = dict(look.facts)
        assert facts["Earliest stamp"] == "2026-01-02 09:00:00"
        assert facts["Latest stamp"] == "2026-01-02 09:01:00"
        assert facts["Lines"] == "names of the columns in line 2, readings from line 3 on"
        assert facts["Time"].startswith("MM/DD/YYYY hh:mm")
        assert look.form["decimal"].value() == ","

    def test_one_order_and_then_the_other(self, upload: Upload, browser: Client) -> None:
        spans = {
            order: dict(say(browser, upload, script=True, order=order).context["look"].facts)["Earliest stamp"]
            for order in ("day_first", "month_first")
        }
        assert spans == {"day_first": "2026-02-01 09:00:00", "month_first": "2026-01-02 09:00:00"}

    def test_a_question_says_where_each_answer_leads(self, upload: Upload, browser: Client) -> None:
        (question,) = browser.get(at("upload-layout", upload)).context["look"].form.questions()
        assert [value for value, _ in question.field.choices] == ["day_first", "month_first"]
        assert "2026-02-01" in dict(question.field.choices)["day_first"]
        assert question.value() is None, "nothing is chosen for the person"

    def test_lines_lead_to_the_original(self, upload: Upload, browser: Client) -> None:
        assert f'href="/uploads/{upload.key}/lines/2/"' in text(browser.get(at("upload-layout", upload)))

    def test_a_long_file_shows_its_kinds(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        upload = hand_in(campaign, LONG, instrument=meter)
        read(upload)
        look = browser.get(at("upload-layout", upload)).context["look"]
        assert {kind["words"] for kind in look.kinds} == {
            "Formaldehyde in mg/m³", "Temperature in °C", "Carbon dioxide in ppm",
        }  # fmt: skip
        assert look.heads[2] == {"name": "value", "words": "readings of the kinds below"}

    def test_a_preamble_that_is_longer_than_a_page(
        self, campaign: Campaign, meter: Instrument, browser: Client
    ) -> None:
        upload = hand_in(campaign, "# note\n" * 60 + AMBIGUOUS, instrument=meter)
        read(upload)
        lines = browser.get(at("upload-layout", upload)).context["look"].lines
        assert [line["number"] for line in lines] == [58, 59, 60, 61, 62, 63, 64]

    def test_queries_do_not_grow_with_the_file(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        def queries(rows: int, day: int) -> int:
            lines = [f"{day:02}/02/2026 {k // 60:02}:{k % 60:02},0.0{k % 9}" for k in range(rows)]
            upload = hand_in(campaign, a_log(*lines), f"{rows}.csv", meter)
            read(upload)
            with CaptureQueriesContext(connection) as seen:
                assert browser.get(at("upload-layout", upload)).status_code == 200
            return len(seen)

        assert queries(5, 3) == queries(1200, 4)


class TestWhenItIsTooLate:
    def test_readings_are_stored(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        upload = hand_in(campaign, CLEAR, instrument=meter)
        read(upload)
        page = browser.get(at("upload-layout", upload))
        assert "A reading is never altered" in text(page)
        assert re.findall('<select name="([^"]+)"', text(page)) == ["represents"], "which alters no reading"
        before = stored(upload)
        answer = say(browser, upload, unit_1="mg/m³")
        assert answer.status_code == 409
        assert "A reading is never altered" in text(answer)
        upload.refresh_from_db()
        assert upload.settled["columns"][1]["unit"] == "ppm"
        assert not Job.objects.filter(state=Job.State.QUEUED).exists()
        assert stored(upload) == before

    def test_a_worker_was_stopped_before_it_could_count(
        self, campaign: Campaign, meter: Instrument, browser: Client
    ) -> None:
        upload = hand_in(campaign, CLEAR, instrument=meter)
        read(upload)
        Upload.objects.filter(pk=upload.pk).update(stored=0, state=Upload.State.RECEIVED)
        assert say(browser, upload, unit_1="mg/m³").status_code == 409

    def test_it_is_being_read_just_now(self, upload: Upload, browser: Client) -> None:
        Job.objects.filter(subject_id=upload.pk).update(state=Job.State.RUNNING)
        answer = say(browser, upload, order="day_first")
        assert answer.status_code == 409
        assert "being read just now" in text(answer)
        upload.refresh_from_db()
        assert upload.settled is None

    def test_reading_again_means_the_same_by_each_line(
        self, campaign: Campaign, meter: Instrument, browser: Client
    ) -> None:
        """A layout that is kept later does not reach back to a file whose readings are stored."""
        upload = hand_in(campaign, a_log("13/02/2026 09:00,0.1"), "first.csv", meter)
        read(upload)
        other = hand_in(campaign, AMBIGUOUS, "other.csv", meter)
        read(other)
        say(browser, other, order="month_first", unit_1="mg/m³", keep="on", name="hall meter")
        before = stored(upload)
        browser.post(at("upload-decide", upload))
        read(upload)
        assert stored(upload) == before
        assert Reading.objects.filter(upload=upload).count() == 1


class TestBefore:
    def test_it_was_looked_at(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        upload = hand_in(campaign, AMBIGUOUS, instrument=meter)
        page = browser.get(at("upload-layout", upload))
        assert "has not been looked at yet" in text(page)
        assert browser.post(at("upload-layout", upload), {"do": "read"}).status_code == 409

    def test_the_page_of_the_upload_leads_here(self, upload: Upload, browser: Client) -> None:
        page = text(browser.get(at("upload", upload)))
        assert "To decide" in page
        assert f'class="button primary" href="{at("upload-layout", upload)}"' in page

    def test_but_not_as_the_thing_to_do_when_something_else_is_asked(self, campaign: Campaign, browser: Client) -> None:
        upload = hand_in(campaign, CLEAR)
        assert read(upload).code == "which-instrument"
        page = text(browser.get(at("upload", upload)))
        assert f'class="button primary" href="{at("upload-layout", upload)}"' not in page
        assert f'href="{at("upload-layout", upload)}"' in page

    def test_the_instrument_can_be_asked_after_the_layout(
        self, campaign: Campaign, meter: Instrument, browser: Client
    ) -> None:
        upload = hand_in(campaign, AMBIGUOUS)
        assert read(upload).code == "day_or_month"
        say(browser, upload, order="month_first")
        assert read(upload).code == "which-instrument"
        browser.post(at("upload-decide", upload), {"instrument": meter.pk})
        assert read(upload).state == Job.State.DONE
        assert stored(upload)[0][0] == "2026-01-02 09:00:00"
