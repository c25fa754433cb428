"""No answer fits: nothing is forced into a channel, and many columns are left out by one button."""

from __future__ import annotations

from typing import Any

from django.test import Client

from campaigns.models import Campaign, Instrument, Job
from readings.models import Upload
from tests.layouts.files import a_log, shown, stored
from tests.layouts.files import say as say_to
from tests.readings.doing import hand_in, read
from tests.readings.pages import text

REGISTERS = "register A", "register B", "register C", "register D"
WIDE = a_log(
    *(f"2026-09-15 09:0{k},0.03{k},{k + 1},{k + 2},7{k},5{k}" for k in range(5)),
    head=",".join(("time", "HCHO (ppm)", *REGISTERS)),
)


def waiting(campaign: Campaign, log: str, meter: Instrument | None = None) -> Upload:
    upload = hand_in(campaign, log, instrument=meter)
    assert read(upload).state == Job.State.ATTENTION
    return upload


def roles(upload: Upload) -> list[str]:
    upload.refresh_from_db()
    return [column["role"] for column in upload.settled["columns"]]


class TestAllOthers:
    def test_what_is_not_answered_is_left_out(self, campaign: Campaign, browser: Client) -> None:
        upload = waiting(campaign, WIDE)
        answer = say_to(browser, upload, do="leave-out", column_3="co2", unit_3="ppm")
        assert answer.status_code == 200
        assert not answer.context["look"].missing
        say_to(browser, upload, held(answer))
        assert roles(upload) == ["stamp", "value", "ignore", "value", "ignore", "ignore"]

    def test_nothing_is_stored_by_it(self, campaign: Campaign, browser: Client) -> None:
        upload = waiting(campaign, WIDE)
        say_to(browser, upload, do="leave-out")
        upload.refresh_from_db()
        assert upload.settled is None

    def test_one_column_needs_no_button(self, campaign: Campaign, browser: Client) -> None:
        upload = waiting(campaign, a_log(*(f"2026-09-15 09:0{k},0.03{k},{k}" for k in range(5)), head="time,HCHO,x"))
        assert "Leave out what is not answered" in text(say_to(browser, upload, do="look"))
        assert "Leave out what is not answered" not in text(say_to(browser, upload, do="look", column_2="ignore"))


def held(answer: Any) -> dict[str, str]:
    form = answer.context["look"].form
    return {name: form[name].value() for name in form.fields if form[name].value()}


class TestNoneOfThese:
    def test_of_two_columns_of_a_parameter(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        twins = (f"2026-09-15 09:0{k},21.{k},22.{k},0.03{k}" for k in range(5))
        upload = waiting(campaign, a_log(*twins, head="time,Temp (°C),Temp probe (°C),HCHO (ppm)"), meter)
        say_to(browser, upload, same_1="none")
        assert roles(upload) == ["stamp", "ignore", "ignore", "value"]
        assert shown(browser, upload)["same-1"] == "none"

    def test_a_unit_that_is_none_of_them(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        upload = waiting(
            campaign, a_log(*(f"2026-09-15 09:0{k},0.03{k},61{k}" for k in range(5)), head="time,HCHO,CO2 (ppm)")
        )
        say_to(browser, upload, unit_1="ignore")
        assert roles(upload) == ["stamp", "ignore", "value"]

    def test_the_time_is_in_other_columns(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        rows = [f"2026-09-15 09:0{k},2026-09-15 10:0{k},16.09.2026,11:0{k},0.031" for k in range(4)]
        upload = waiting(campaign, a_log(*rows, head="start time,end time,day,clock,HCHO (ppm)"), meter)
        assert say_to(browser, upload, stamp_column="none").status_code == 422
        say_to(browser, upload, stamp_column="none", column_2="date", column_3="time")
        read(upload)
        assert stored(upload)[0][0] == "2026-09-16 11:00:00"


def test_questions_about_the_file_stand_before_those_about_columns(campaign: Campaign, browser: Client) -> None:
    rows = [f"0{k}/02/2026 09:00,{k},2{k}" for k in range(1, 6)]
    upload = waiting(campaign, a_log(*rows, head="time,register A,Temp"))
    form = say_to(browser, upload, do="look").context["look"].form
    assert [field.name for field in form.questions()] == ["order", "unit-2", "column-1"]
