"""Choosing how a file is read: looks that store nothing, answers, corrections, and what is refused."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from campaigns.models import Campaign, Instrument, Job
from readings.models import SavedLayout, Upload
from tests.layouts.files import AMBIGUOUS, NO_UNIT, UNKNOWN, a_log, at, say, shown, stored
from tests.methods.logs.corpus.tables import beside
from tests.readings.doing import hand_in, read
from tests.readings.pages import text


@pytest.fixture
def upload(campaign: Campaign, meter: Instrument) -> Upload:
    """Waits for an answer."""
    upload = hand_in(campaign, AMBIGUOUS, "monday.csv", meter)
    read(upload)
    return upload


class TestChanging:
    def test_a_look_stores_nothing(self, upload: Upload, browser: Client) -> None:
        for script in (True, False):
            answer = say(browser, upload, do="look", script=script, order="day_first", keep="on", name="hall meter")
            assert answer.status_code == 200
        upload.refresh_from_db()
        assert upload.settled is None
        assert not SavedLayout.objects.exists()
        assert not Job.objects.filter(state=Job.State.QUEUED).exists()

    def test_a_script_gets_the_part_alone_and_something_to_say(self, upload: Upload, browser: Client) -> None:
        answer = say(browser, upload, script=True, order="day_first").content.decode().strip()
        assert "<html" not in answer
        assert answer.startswith('<div id="layout-look"')
        assert 'hx-swap-oob="innerHTML"' in answer
        assert "The 3 lines with readings run from 2026-02-01 09:00:00 to 2026-02-01 09:02:00; no problem." in answer

    def test_another_parameter_brings_its_own_units(self, upload: Upload, browser: Client) -> None:
        form = say(browser, upload, script=True, column_1="temperature").context["look"].form
        assert [value for value, _ in form.fields["unit-1"].choices] == ["", "°C", "°F"]
        assert form["unit-1"].value() in ("", None), "ppm is no unit of a temperature"
        assert form.layout.columns[1].unit is None

    def test_a_parameter_with_one_unit_asks_for_none(self, upload: Upload, browser: Client) -> None:
        form = say(browser, upload, script=True, column_1="humidity").context["look"].form
        assert "unit-1" not in form.fields
        assert form.layout.columns[1].unit == "%RH"

    def test_a_correction_of_what_was_understood(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        """Understood without a doubt, and wrong: the column says ppm and is mg/m³."""
        upload = hand_in(campaign, AMBIGUOUS, instrument=meter)
        read(upload)
        say(browser, upload, order="day_first", unit_1="mg/m³")
        read(upload)
        assert {unit for _, _, unit, _ in stored(upload)} == {"mg/m³"}

    def test_the_time_from_other_columns(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        rows = [f"2026-09-15 09:0{k},16.09.2026,10:0{k},0.031" for k in range(4)]
        upload = hand_in(campaign, a_log(*rows, head="start,day,clock,HCHO"), instrument=meter)
        read(upload)
        look = say(browser, upload, script=True, column_0="ignore", column_1="date", column_2="time").context["look"]
        assert look.layout.stamp_format == "%d.%m.%Y\t%H:%M"
        assert "2026-09-16 10:00:00" in [line["stamp"] for line in look.lines]

    def test_two_times_are_one_too_many(self, upload: Upload, browser: Client) -> None:
        answer = say(browser, upload, column_1="stamp")
        assert answer.status_code == 422
        assert "choose one or the other" in text(answer)

    def test_a_time_that_is_none(self, upload: Upload, browser: Client) -> None:
        answer = say(browser, upload, column_0="ignore", column_1="stamp")
        assert answer.status_code == 422
        assert "is not a date and time that can be read" in text(answer)

    def test_one_of_two_times(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        rows = [f"2026-09-15 09:0{k},2026-09-15 10:0{k},0.031" for k in range(4)]
        upload = hand_in(campaign, a_log(*rows, head="start time,end time,HCHO (ppm)"), instrument=meter)
        assert read(upload).code == "stamp_column"
        assert say(browser, upload).status_code == 422
        (question,) = browser.get(at("upload-layout", upload)).context["look"].form.questions()
        (end,) = [value for value, words in question.field.choices if "end time" in words]
        say(browser, upload, stamp_column=end)
        assert shown(browser, upload)["stamp_column"] == end
        read(upload)
        assert stored(upload)[0][0] == "2026-09-15 10:00:00"

    def test_one_of_two_tables_beside_each_other(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        """Whatever is said of the other one's columns: they have another time."""
        upload = hand_in(campaign, beside("whole stamps"), instrument=meter)
        assert read(upload).code == "stamp_column"
        question = browser.get(at("upload-layout", upload)).context["look"].form.questions()[0]
        (first,) = [value for value, words in question.field.choices if words.startswith("Time in column 1")]
        say(browser, upload, stamp_column=first, column_4="temperature", unit_4="°C")
        assert read(upload).state == Job.State.DONE
        assert {parameter for _, parameter, _, _ in stored(upload)} == {"co2"}

    def test_what_a_comma_means(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        upload = hand_in(campaign, a_log("2026-09-15 09:00;1,612", "2026-09-15 09:01;1,613", head="time;CO2 (ppm)"))
        assert read(upload).code == "decimal"
        assert say(browser, upload).status_code == 422
        for mark in (",", "."):
            say(browser, upload, decimal=mark)
            assert shown(browser, upload)["decimal"] == mark
        browser.post(at("upload-decide", upload), {"instrument": meter.pk})
        read(upload)
        assert stored(upload)[0][3] == 1612.0

    def test_which_of_two_decimal_marks(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        rows = ("2026-09-15 09:00;0,031", "2026-09-15 09:01;0.032")
        upload = hand_in(campaign, a_log(*rows, head="time;HCHO (ppm)"), instrument=meter)
        assert read(upload).code == "mixed_decimals"
        assert say(browser, upload).status_code == 422
        say(browser, upload, mixed_decimals=",")
        assert shown(browser, upload)["mixed_decimals"] == ","
        read(upload)
        assert [row[3] for row in stored(upload)] == [0.031]

    def test_days_since_1900_or_1904(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        """Z-14 of the check values: day 42460 counts to 2016-03-31 from 1900, 1 462 days later from 1904: both past."""
        log = a_log("42460.5;0.031", "42460.6;0.032", head="time;HCHO (ppm)")
        upload = hand_in(campaign, log, instrument=meter)
        assert read(upload).code == "serial_epoch"
        assert say(browser, upload).status_code == 422
        say(browser, upload, serial_epoch="serial_1900")
        read(upload)
        assert stored(upload)[0][0] == "2016-03-31 12:00:00"

    def test_a_table_of_other_quantities(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        """None of its columns is called what an instrument of ours measures: a person may know better."""
        log = a_log(
            "2026-02-01 09:00;3.1;0.032",
            "2026-02-01 09:01;3.1;0.033",
            "2026-02-01 09:02;3.1;0.034",
            head="time;battery (V);flow",
        )
        upload = hand_in(campaign, log, instrument=meter)
        assert read(upload).code == "no_quantity"
        assert "none of them was recognised as a quantity" in text(browser.get(at("upload-layout", upload)))
        answer = say(browser, upload)
        assert answer.status_code == 422
        say(browser, upload, column_2="formaldehyde", unit_2="ppm")
        read(upload)
        assert [value for *_, value in stored(upload)] == [0.032, 0.033, 0.034]

    def test_no_time_left(self, upload: Upload, browser: Client) -> None:
        answer = say(browser, upload, column_0="ignore")
        assert answer.status_code == 422
        assert "which column holds the date and time" in text(answer)

    def test_the_first_line_with_readings(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        upload = hand_in(campaign, AMBIGUOUS, instrument=meter)
        read(upload)
        say(browser, upload, order="day_first", first_data_line="3")
        read(upload)
        assert [value for *_, value in stored(upload)] == [0.032, 0.033]

    @pytest.mark.parametrize(
        "choices",
        [
            {"column_1": "stamp"},
            {"column_1": "parameter"},
            {"column_1": "unit"},
            {"column_1": "happiness"},
            {"unit_1": "furlong"},
            {"order": "sideways"},
            {"decimal": "x"},
            {"first_data_line": "-1"},
            {"first_data_line": "many"},
            {"first_data_line": "999999999999999999999"},
            {"column_0": "co2", "unit_0": "ppm"},
            {"column_1": "\0"},
            {"unit_1": "<script>alert(1)</script>"},
        ],
    )
    def test_nothing_that_is_sent_breaks_it(self, upload: Upload, browser: Client, choices: dict[str, Any]) -> None:
        for do in ("look", "read"):
            answer = say(browser, upload, do=do, **choices)
            assert answer.status_code in (200, 422)
            assert b"<script>alert" not in answer.content
        upload.refresh_from_db()
        assert upload.settled is None, "what is not offered is not taken"

    def test_what_comes_by_itself_is_not_taken(self, upload: Upload, browser: Client) -> None:
        """Only the controls choose: the delimiter and the encoding are the file's."""
        say(browser, upload, order="day_first", delimiter=";", reader="xlsx", column_99="co2")
        upload.refresh_from_db()
        settled = upload.settled
        assert (settled["reader"], settled["delimiter"], settled["stamp_format"]) == (
            "delimited",
            ",",
            "%d/%m/%Y %H:%M",
        )


class TestReadItLikeThis:
    def test_an_open_question_is_named(self, upload: Upload, browser: Client) -> None:
        answer = say(browser, upload)
        assert answer.status_code == 422
        assert 'href="#id_order"' in text(answer)
        assert 'id="id_order"' in text(answer)
        upload.refresh_from_db()
        assert upload.settled is None

    def test_nothing_that_reads_no_line(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        upload = hand_in(campaign, NO_UNIT, instrument=meter)
        read(upload)
        answer = say(browser, upload, unit_1="ppm", first_data_line="300")
        assert answer.status_code == 422
        assert "None of the first lines can be read like this" in text(answer)

    def test_a_layout_that_is_kept_has_a_name(self, upload: Upload, browser: Client) -> None:
        answer = say(browser, upload, order="day_first", keep="on", name="")
        assert answer.status_code == 422
        assert "Give the layout a name" in text(answer)
        assert not SavedLayout.objects.exists()

    def test_exactly_that_layout_is_read_with(self, upload: Upload, browser: Client) -> None:
        say(browser, upload, order="month_first", unit_1="mg/m³")
        upload.refresh_from_db()
        settled = upload.settled
        read(upload)
        assert upload.layout == upload.settled == settled

    def test_keeping_again_replaces_what_was_kept(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        first = hand_in(campaign, UNKNOWN, instrument=meter)
        second = hand_in(campaign, UNKNOWN.replace("09:", "10:"), "second.csv", meter)
        for upload in (first, second):
            read(upload)
        say(browser, first, column_1="ignore", unit_2="°C", keep="on", name="one")
        say(browser, second, column_1="co2", unit_1="ppm", unit_2="°C", keep="on", name="two")
        layout = SavedLayout.objects.get()
        assert layout.name == "two"
        assert "Carbon dioxide in ppm" in layout.reads

    def test_until_it_is_read_it_can_be_chosen_otherwise(self, upload: Upload, browser: Client) -> None:
        say(browser, upload, order="day_first")
        page = browser.get(at("upload-layout", upload))
        assert page.context["look"].form["order"].value() == "day_first", "the page shows what was chosen"
        say(browser, upload, order="month_first")
        read(upload)
        assert stored(upload)[0][0] == "2026-01-02 09:00:00"

    def test_what_was_chosen_shows_again(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        upload = hand_in(campaign, UNKNOWN, instrument=meter)
        read(upload)
        say(browser, upload, column_1="co2", unit_1="ppm", unit_2="°F")
        held = shown(browser, upload)
        assert (held["column-1"], held["unit-1"], held["unit-2"]) == ("co2", "ppm", "°F")


class TestTwins:
    """Two columns of one parameter, and an instrument that has one channel for it in each unit."""

    HEAD = "time,Temp,Temp probe"
    LOG = a_log("2026-09-15 09:00,21.5,70.7", "2026-09-15 09:01,21.6,70.9", head=HEAD)

    @pytest.fixture
    def upload(self, campaign: Campaign, meter: Instrument) -> Upload:
        upload = hand_in(campaign, self.LOG, instrument=meter)
        read(upload)
        return upload

    def test_the_one_to_be_used_still_needs_its_unit(self, upload: Upload, browser: Client) -> None:
        assert say(browser, upload, same_1="2").status_code == 422
        assert say(browser, upload, same_1="2", unit_2="°C").status_code == 302
        upload.refresh_from_db()
        assert [c["role"] for c in upload.settled["columns"]] == ["stamp", "ignore", "value"]

    def test_in_two_units_they_are_no_twins(self, upload: Upload, browser: Client) -> None:
        assert say(browser, upload, unit_1="°C", unit_2="°F").status_code == 302
        upload.refresh_from_db()
        assert [c["unit"] for c in upload.settled["columns"]] == [None, "°C", "°F"]

    def test_in_one_unit_they_are(self, upload: Upload, browser: Client) -> None:
        assert say(browser, upload, unit_1="°C", unit_2="°C").status_code == 422

    def test_a_mind_can_be_changed(self, upload: Upload, browser: Client) -> None:
        say(browser, upload, same_1="2", unit_2="°C")
        say(browser, upload, same_1="1", unit_1="°C")
        read(upload)
        assert [value for *_, value in stored(upload)] == [21.5, 21.6]


class TestADateBesideATime:
    def test_one_of_two_pairs(self, campaign: Campaign, meter: Instrument, browser: Client) -> None:
        rows = [f"1{k}/02/2026,1{k}:30,0{k}:15,0.031" for k in range(3, 6)]
        upload = hand_in(campaign, a_log(*rows, head="Date,End,Start,HCHO (ppm)"), instrument=meter)
        assert read(upload).code == "stamp_column"
        pair = "0 2 %d/%m/%Y %H:%M"
        say(browser, upload, stamp_column=pair, order="day_first")
        assert shown(browser, upload)["stamp_column"] == pair
        read(upload)
        assert stored(upload)[0][0] == "2026-02-13 03:15:00"

    def test_a_date_that_stands_still_past_midnight(
        self, campaign: Campaign, meter: Instrument, browser: Client
    ) -> None:
        rows = [f"2026-02-01,{k % 24:02d}:30,0.031" for k in range(20, 30)]
        upload = hand_in(campaign, a_log(*rows, head="Date,Time,HCHO (ppm)"), instrument=meter)
        assert read(upload).code == "stamp_column"
        say(browser, upload, stamp_column="1 %H:%M", start_typed="2026-02-01")
        assert shown(browser, upload)["stamp_column"] == "1 %H:%M"
        read(upload)
        assert stored(upload)[-1][0] == "2026-02-02 05:30:00"

    @pytest.mark.parametrize(("said", "first"), [("zone", "2026-02-01 14:00:00"), ("none", "2026-02-01 09:00:00")])
    def test_a_zone_that_may_be_a_part_of_the_building(
        self, campaign: Campaign, meter: Instrument, browser: Client, said: str, first: str
    ) -> None:
        rows = [f"2026-02-01 09:0{k},EST,0.031" for k in range(5)]
        upload = hand_in(campaign, a_log(*rows, head="Time,Zone,HCHO (ppm)"), instrument=meter)
        assert read(upload).code == "zone_column"
        say(browser, upload, zone_column=said)
        assert shown(browser, upload)["zone_column"] == said
        read(upload)
        assert stored(upload)[0][0] == first
