"""What a person says of the time of a file: where it begins, which columns it is in, how it is written."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from campaigns.models import Campaign, Instrument, Job
from methods.logs.types import Layout
from readings.models import Upload
from tests.layouts.files import AMBIGUOUS, a_log, at, say, shown, stored
from tests.readings.doing import hand_in, read
from tests.readings.pages import text

VALUES = ("0.031", "0.032", "0.033")
NIGHT = a_log("23:59:00,0.031", "00:00:00,0.032", "00:01:00,0.033")
ELAPSED = a_log(*(f"{n},{v}" for n, v in enumerate(VALUES)), head="Elapsed,HCHO (ppm)")
ODD = a_log(*(f"D15M09Y2026T0{n},{v}" for n, v in enumerate(VALUES)))
NUMBERS = a_log(*(f"2026-09-15,{905 + n},{v}" for n, v in enumerate(VALUES)), head="date,time,HCHO (ppm)")
NAMELESS = "".join(f"2026,9,15,9,{n},{v}\n" for n, v in enumerate(VALUES))


def handed_in(campaign: Campaign, meter: Instrument, log: str, name: str = "monday.csv") -> Upload:
    upload = hand_in(campaign, log, name, instrument=meter)
    assert read(upload).state == Job.State.ATTENTION
    return upload


def stamps(browser: Client, upload: Upload, **choices: Any) -> list[str]:
    """The stamps that are stored when the page is sent so."""
    assert say(browser, upload, **choices).status_code == 302
    assert read(upload).state == Job.State.DONE
    return [stamp for stamp, *_ in stored(upload)]


def test_a_date_is_typed(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = handed_in(campaign, meter, NIGHT)
    page = browser.get(at("upload-layout", upload))
    assert 'type="date"' in text(page)
    assert stamps(browser, upload, start_typed="2026-09-15") == [
        "2026-09-15 23:59:00", "2026-09-16 00:00:00", "2026-09-16 00:01:00",
    ]  # fmt: skip
    told = upload.problems.get(code="next_days")
    assert (told.line, "goes back once" in told.message) == (3, True)


def test_the_name_of_the_file_suggests_it(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = handed_in(campaign, meter, NIGHT, "2026-09-15.csv")
    assert "the name of the file says “2026-09-15”" in text(browser.get(at("upload-layout", upload)))
    assert stamps(browser, upload, start="2026-09-15")[0] == "2026-09-15 23:59:00"


def test_what_was_typed_shows_again_and_counts_before_what_was_chosen(
    campaign: Campaign, meter: Instrument, browser: Client
) -> None:
    upload = handed_in(campaign, meter, NIGHT, "2026-09-15.csv")
    say(browser, upload, start="2026-09-15", start_typed="2026-09-20")
    assert shown(browser, upload)["start_typed"] == "2026-09-20"
    read(upload)
    assert stored(upload)[0][0] == "2026-09-20 23:59:00"


def test_the_next_file_is_asked_for_its_own_start(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = handed_in(campaign, meter, ELAPSED)
    first = stamps(browser, upload, elapsed_unit="%<min>", start_typed="2026-09-15T08:00", keep="on", name="Minutes")
    assert first == ["2026-09-15 08:00:00", "2026-09-15 08:01:00", "2026-09-15 08:02:00"]
    again = handed_in(campaign, meter, ELAPSED.replace("0.03", "0.04"), "tuesday.csv")
    assert [question["code"] for question in again.understood["questions"]] == ["start"]
    assert stamps(browser, again, start_typed="2026-09-16T08:00")[-1] == "2026-09-16 08:02:00"


@pytest.mark.parametrize("said", ["soon", "2026-02-30", "20260915T", "0000-01-01"])
def test_what_is_no_date_is_said_beside_it(campaign: Campaign, meter: Instrument, browser: Client, said: str) -> None:
    upload = handed_in(campaign, meter, NIGHT)
    answer = say(browser, upload, start_typed=said)
    assert answer.status_code == 422
    assert "is not a date" in text(answer) or "no year that a log can be of" in text(answer)


def test_a_start_that_is_not_said_is_missed(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = handed_in(campaign, meter, NIGHT)
    answer = say(browser, upload)
    assert answer.status_code == 422
    assert 'href="#id_start_typed"' in text(answer)


def test_numbers_that_are_hours_and_minutes(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = handed_in(campaign, meter, NUMBERS)
    assert stamps(browser, upload, clock_column="%<hhmm>")[-1] == "2026-09-15 09:07:00"
    assert shown(browser, upload)["clock_column"] == "%<hhmm>"


def test_nameless_parts(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = handed_in(campaign, meter, NAMELESS)
    said = {"time_parts": "year month day hour minute", "column_5": "formaldehyde", "unit_5": "ppm"}
    assert stamps(browser, upload, **said)[-1] == "2026-09-15 09:02:00"


def test_parts_put_right_by_hand(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = handed_in(campaign, meter, NAMELESS)
    parts = {f"column_{at}": part for at, part in enumerate(("year", "month", "day", "hour", "minute"))}
    assert stamps(browser, upload, **parts, column_5="formaldehyde", unit_5="ppm")[0] == "2026-09-15 09:00:00"


class TestHoursInColumns:
    LOG = a_log(
        *(",".join([f"2026-09-{15 + n}", *(f"{600 + h}" for h in range(24))]) for n in range(2)),
        head=",".join(["Date", *map(str, range(1, 25))]),
    )

    @pytest.mark.parametrize(("said", "first", "last"), [
        ("as_headed", "2026-09-15 01:00:00", "2026-09-17 00:00:00"),
        ("shifted", "2026-09-15 00:00:00", "2026-09-16 23:00:00"),
    ])  # fmt: skip
    def test_every_hour_is_a_reading(
        self, campaign: Campaign, meter: Instrument, browser: Client, said: str, first: str, last: str
    ) -> None:
        upload = handed_in(campaign, meter, self.LOG)
        kept = stamps(browser, upload, hours=said, column_1="co2", unit_1="ppm")
        assert (len(kept), kept[0], kept[-1]) == (48, first, last)
        assert upload.lines == 2
        assert shown(browser, upload)["hours"] == said

    def test_an_hour_that_is_left_out(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        upload = handed_in(campaign, meter, self.LOG)
        kept = stamps(browser, upload, hours="as_headed", column_1="co2", unit_1="ppm", column_24="ignore")
        assert (len(kept), kept[-1]) == (46, "2026-09-16 23:00:00")

    def test_a_second_parameter_beside_them_is_none(
        self, campaign: Campaign, meter: Instrument, browser: Client
    ) -> None:
        upload = handed_in(campaign, meter, self.LOG)
        sent: dict[str, Any] = {
            "hours": "as_headed",
            "column_1": "co2",
            "unit_1": "ppm",
            "column_9": "temperature",
            "unit_9": "°C",
        }
        answer = say(browser, upload, **sent)
        assert answer.status_code == 422
        assert "read alone" in text(answer)


class TestIntervals:
    LOG = a_log(*(f"2026-09-15 {9 + n:02d}:00-{10 + n:02d}:00,{v}" for n, v in enumerate(VALUES)))
    BESIDE = a_log(
        *(f"2026-09-15 0{n}:00,{9 + n:02d}:00 - {10 + n}:00,{v}" for n, v in enumerate(VALUES)), head="time,x,HCHO"
    )

    @pytest.mark.parametrize(("said", "first"), [("start", "09:00:00"), ("end", "10:00:00")])
    def test_its_stamp_is_one_of_its_ends(
        self, campaign: Campaign, meter: Instrument, browser: Client, said: str, first: str
    ) -> None:
        upload = handed_in(campaign, meter, self.LOG)
        assert say(browser, upload).status_code == 422
        assert stamps(browser, upload, interval=said)[0] == f"2026-09-15 {first}"
        kept = shown(browser, upload)
        assert (kept["interval"], kept.get("stamp_format", "")) == (said, "")

    def test_a_column_of_intervals_that_is_chosen(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        upload = handed_in(campaign, meter, self.BESIDE)
        chosen: dict[str, Any] = {
            "column_0": "ignore",
            "column_1": "stamp",
            "unit_2": "ppm",
            "start_typed": "2026-09-15",
        }
        assert "at which end of it is its value stamped?" in text(say(browser, upload, **chosen))
        assert stamps(browser, upload, **chosen, interval="end")[0] == "2026-09-15 10:00:00"


class TestHowItIsWritten:
    @pytest.mark.parametrize("said", [{"stamp_example": "2026-09-15T00:00"}, {"stamp_format": "D%dM%mY%YT%H"}])
    def test_by_example_or_written_out(
        self, campaign: Campaign, meter: Instrument, browser: Client, said: dict[str, str]
    ) -> None:
        upload = handed_in(campaign, meter, ODD)
        expected = [f"2026-09-15 0{n}:00:00" for n in range(3)]
        assert stamps(browser, upload, column_0="stamp", column_1="formaldehyde", unit_1="ppm", **said) == expected
        assert Layout.from_json(upload.settled).stamp_format == "D%dM%mY%YT%H"
        assert shown(browser, upload)["stamp_format"] == "D%dM%mY%YT%H"

    def test_an_example_says_the_date_of_times_of_day(
        self, campaign: Campaign, meter: Instrument, browser: Client
    ) -> None:
        upload = handed_in(campaign, meter, NIGHT)
        assert stamps(browser, upload, stamp_example="2026-09-15T23:59")[-1] == "2026-09-16 00:01:00"

    @pytest.mark.parametrize("form", ["%Q", "%Y %Y", "%Y", "nothing", "%", "%<x>", "(%H"])
    def test_what_is_no_format(self, campaign: Campaign, meter: Instrument, browser: Client, form: str) -> None:
        upload = handed_in(campaign, meter, NIGHT)
        assert say(browser, upload, start_typed="2026-09-15", stamp_format=form).status_code == 422

    def test_what_the_first_stamp_cannot_mean(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        upload = handed_in(campaign, meter, NIGHT)
        answer = say(browser, upload, stamp_example="2026-09-15T22:00")
        assert answer.status_code == 422
        assert "cannot mean that" in text(answer)


def test_read_another_way_the_start_shows_and_can_be_changed(
    campaign: Campaign, meter: Instrument, browser: Client
) -> None:
    upload = handed_in(campaign, meter, NIGHT)
    stamps(browser, upload, start_typed="2026-09-15")
    page = at("upload-again-layout", upload)
    sent = shown(browser, upload, "upload-again-layout")
    assert sent["start_typed"] == "2026-09-15"
    answer = browser.post(page, {**sent, "start_typed": "2026-09-25", "reason": "the wrong day", "do": "read"})
    assert answer.status_code == 302
    again = Upload.objects.order_by("-pk")[0]
    assert read(again).state == Job.State.DONE
    assert stored(again)[0][0] == "2026-09-25 23:59:00"


def test_a_zone_that_the_file_names_may_be_that_of_something_else(
    campaign: Campaign, meter: Instrument, browser: Client
) -> None:
    upload = handed_in(campaign, meter, "Time zone of the server: UTC\n" + AMBIGUOUS)
    assert say(browser, upload, do="look", order="day_first").context["look"].layout.basis == "utc"
    say(browser, upload, order="day_first", clock="instrument")
    assert shown(browser, upload)["clock"] == "instrument"
    read(upload)
    assert (upload.layout["basis"], upload.layout["utc_offset"]) == ("local", None)


def test_a_column_of_local_time_is_on_no_clock_that_the_file_names(
    campaign: Campaign, meter: Instrument, browser: Client
) -> None:
    rows = (f"2026-09-15 07:0{k},2026-09-15 09:0{k},0.03{k}" for k in range(9))
    upload = handed_in(campaign, meter, a_log(*rows, head="UTC time,Local time,HCHO (ppm)"))
    first, second = (f"{at} %Y-%m-%d %H:%M" for at in (0, 1))
    assert "clock" in say(browser, upload, do="look", stamp_column=first).context["look"].form.fields
    assert "clock" not in say(browser, upload, do="look", stamp_column=second).context["look"].form.fields
    assert stamps(browser, upload, stamp_column=second)[0] == "2026-09-15 09:00:00"
    assert upload.layout["basis"] == "local"
