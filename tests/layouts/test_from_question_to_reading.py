"""End to end, as a person and a worker would: a file that asks, its answer, its readings, and the next file."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import datetime
from typing import Any

import pytest
from django.test import Client

from campaigns.models import Campaign, Instrument, Job, Organisation, User
from methods.logs.types import Layout
from readings.models import Reading, SavedLayout, Upload
from readings.services.reading_anew import read_with
from tests import factories as make
from tests.layouts.files import (
    AMBIGUOUS,
    AMBIGUOUS_TOO,
    CLEAR,
    JSON_LINES,
    LONG,
    NO_UNIT,
    TWINS,
    UNKNOWN,
    Browse,
    a_log,
    a_workbook,
    at,
    say,
    stored,
)
from tests.methods.logs.biff import old_workbook
from tests.methods.logs.markup import web_page, xml_workbook
from tests.methods.logs.ods import open_workbook
from tests.readings.doing import hand_in, read, told


def codes(upload: Upload) -> list[str]:
    return [code for _, _, _, code in told(upload)]


class TestDayOrMonth:
    def test_it_waits_and_nothing_is_stored(self, campaign: Campaign, meter: Instrument) -> None:
        upload = hand_in(campaign, AMBIGUOUS, instrument=meter)
        job = read(upload)
        assert (job.state, job.code) == (Job.State.ATTENTION, "day_or_month")
        assert (upload.state, upload.layout_is_open) == (Upload.State.ATTENTION, True)
        assert codes(upload) == ["day_or_month"]
        assert not Reading.objects.exists()

    @pytest.mark.parametrize(("order", "day"), [("day_first", "2026-02-01"), ("month_first", "2026-01-02")])
    def test_it_is_read_as_answered(
        self, campaign: Campaign, meter: Instrument, browser: Client, order: str, day: str
    ) -> None:
        upload = hand_in(campaign, AMBIGUOUS, instrument=meter)
        read(upload)
        answer = say(browser, upload, order=order)
        assert (answer.status_code, answer["Location"]) == (302, at("upload", upload))
        assert not Reading.objects.exists(), "the page stores a decision, the worker reads"
        assert read(upload).state == Job.State.DONE
        assert upload.state == Upload.State.READ
        assert stored(upload) == [
            (f"{day} 09:00:00", "formaldehyde", "ppm", 0.031),
            (f"{day} 09:01:00", "formaldehyde", "ppm", 0.032),
            (f"{day} 09:02:00", "formaldehyde", "ppm", 0.033),
        ]

    def test_the_next_file_of_the_shape_needs_no_question_where_both_orders_say_the_same(
        self, campaign: Campaign, meter: Instrument, browser: Client
    ) -> None:
        first = hand_in(campaign, AMBIGUOUS, instrument=meter)
        read(first)
        say(browser, first, order="month_first", keep="on", name="hall meter")
        read(first)
        second = hand_in(campaign, AMBIGUOUS_TOO, "second.csv", meter)
        assert read(second).state == Job.State.DONE
        assert stored(second)[0] == ("2026-02-02 09:00:00", "formaldehyde", "ppm", 0.041)
        assert second.layout["name"] == "hall meter"

    def test_without_keeping_the_next_file_is_asked_about(
        self, campaign: Campaign, meter: Instrument, browser: Client
    ) -> None:
        first = hand_in(campaign, AMBIGUOUS, instrument=meter)
        read(first)
        say(browser, first, order="month_first", name="not to be kept")
        read(first)
        assert not SavedLayout.objects.exists()
        assert read(hand_in(campaign, AMBIGUOUS_TOO, "second.csv", meter)).code == "day_or_month"

    def test_a_file_that_proves_the_other_order_is_read_in_its_own(
        self, campaign: Campaign, meter: Instrument, browser: Client
    ) -> None:
        first = hand_in(campaign, AMBIGUOUS, instrument=meter)
        read(first)
        say(browser, first, order="month_first", keep="on", name="hall meter")
        proof = hand_in(campaign, a_log("12/02/2026 09:00,0.1", "13/02/2026 09:00,0.2"), "proof.csv", meter)
        read(first)
        assert read(proof).state == Job.State.DONE
        assert [stamp for stamp, *_ in stored(proof)] == ["2026-02-12 09:00:00", "2026-02-13 09:00:00"]

    def test_files_that_wait_already_are_read_with_what_is_kept(
        self, campaign: Campaign, meter: Instrument, browser: Client
    ) -> None:
        first = hand_in(campaign, AMBIGUOUS, instrument=meter)
        second = hand_in(campaign, AMBIGUOUS_TOO, "second.csv", meter)
        other = hand_in(campaign, NO_UNIT, "other.csv", meter)
        for upload in (first, second, other):
            read(upload)
        answer = say(browser, first, order="day_first", keep="on", name="hall meter")
        page = browser.get(answer["Location"])
        assert "1 that waited is read with it." in str(next(iter(page.context["messages"])))
        assert read(second).state == Job.State.DONE
        assert not Job.objects.filter(subject_id=other.pk, state=Job.State.QUEUED).exists()
        assert stored(second)[0][0] == "2026-02-02 09:00:00"


class TestUnit:
    @pytest.mark.parametrize("unit", ["ppm", "mg/m³"])
    def test_the_readings_go_to_the_channel_of_that_unit(
        self, campaign: Campaign, meter: Instrument, browser: Client, unit: str
    ) -> None:
        upload = hand_in(campaign, NO_UNIT, instrument=meter)
        assert read(upload).code == "unit"
        assert not Reading.objects.exists()
        say(browser, upload, unit_1=unit)
        assert read(upload).state == Job.State.DONE
        assert [(parameter, in_unit, value) for _, parameter, in_unit, value in stored(upload)] == [
            ("formaldehyde", unit, 0.031),
            ("formaldehyde", unit, 0.032),
            ("formaldehyde", unit, 0.033),
        ]

    def test_a_unit_that_the_instrument_has_no_channel_for(
        self, campaign: Campaign, meter: Instrument, browser: Client
    ) -> None:
        upload = hand_in(campaign, NO_UNIT, instrument=meter)
        read(upload)
        look = say(browser, upload, do="look", unit_1="ppb").context["look"]
        assert [problem.code for problem in look.problems] == ["unit-differs"]
        say(browser, upload, unit_1="ppb")
        read(upload)
        assert codes(upload) == ["unit-differs"]
        assert not Reading.objects.exists()
        say(browser, upload, unit_1="ppm")
        assert read(upload).state == Job.State.DONE, "nothing was stored, so it can still be chosen otherwise"
        assert len(stored(upload)) == 3


def test_a_parameter_and_then_its_unit(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = hand_in(campaign, UNKNOWN, instrument=meter)
    read(upload)
    assert set(codes(upload)) == {"parameter", "unit"}
    answer = say(browser, upload, column_1="co2", unit_2="°C")
    assert answer.status_code == 422, "CO2 has several units, and none is said"
    say(browser, upload, column_1="co2", unit_1="ppm", unit_2="°C")
    read(upload)
    assert set(stored(upload)[:2]) == {
        ("2026-09-15 09:00:00", "co2", "ppm", 7.0),
        ("2026-09-15 09:00:00", "temperature", "°C", 21.5),
    }


def test_a_column_that_is_left_out_is_left_out_of_the_next_file(
    campaign: Campaign, meter: Instrument, browser: Client
) -> None:
    first = hand_in(campaign, UNKNOWN, instrument=meter)
    read(first)
    say(browser, first, column_1="ignore", unit_2="°C", keep="on", name="hall meter")
    second = hand_in(campaign, UNKNOWN.replace("09:", "10:"), "second.csv", meter)
    for upload in (first, second):
        assert read(upload).state == Job.State.DONE
        assert {parameter for _, parameter, *_ in stored(upload)} == {"temperature"}


def test_two_columns_of_one_parameter(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = hand_in(campaign, TWINS, instrument=meter)
    assert read(upload).code == "same_parameter"
    assert say(browser, upload).status_code == 422
    say(browser, upload, same_1="2")
    read(upload)
    assert [value for *_, value in stored(upload)] == [22.5, 22.7]


def test_a_long_file_with_a_kind_that_is_new(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    """The kinds are data: a file of the same shape may bring one that nobody was asked about."""
    plain = LONG.replace(";mg/m³", ";").replace(";°C", ";").replace(";ppm", ";")
    first = hand_in(campaign, plain, instrument=meter)
    read(first)
    units = {"HCHO": "mg/m³", "Temperature": "°C", "CO2": "ppm"}
    kinds = enumerate(column["name"] for column in first.layout["columns"])
    said: dict[str, Any] = {f"unit_{place}": units[name] for place, name in kinds if name in units}
    say(browser, first, keep="on", name="long", **said)
    job = read(first)
    assert job.state == Job.State.DONE, job.message
    assert set(stored(first)[:3]) == {
        ("2026-09-15 09:00:00", "formaldehyde", "mg/m³", 0.03),
        ("2026-09-15 09:00:00", "co2", "ppm", 612.0),
        ("2026-09-15 09:00:00", "temperature", "°C", 21.5),
    }
    second = hand_in(campaign, plain.replace("09:", "10:") + "2026-09-15 10:09;Zeta;5;\n", "second.csv", meter)
    read(second)
    assert codes(second) == ["parameter"]
    (asked,) = second.understood["questions"]
    left_out: dict[str, Any] = {f"column_{asked['column']}": "ignore"}
    say(browser, second, **left_out)
    assert read(second).state == Job.State.DONE
    assert len(stored(second)) == 12


ROWS: Any = [["time", "HCHO"], *([datetime(2026, 9, 15, 9, n), 0.031] for n in range(4))]  # noqa: DTZ001
RECORDS = [{"time": f"2026-09-15T09:0{k}:00", "hcho": 0.03} for k in range(4)]
FILES = {
    "a.xlsx": a_workbook(), "a.jsonl": JSON_LINES, "a.json": json.dumps({"rows": RECORDS}, indent=1),
    "a.ods": open_workbook(("Log", ROWS, False)), "a.xls": old_workbook(("Log", ROWS, False)),
    "a.html": web_page(("Log", ROWS, False)), "a.xml": xml_workbook(("Log", ROWS, False)),
}  # fmt: skip


@pytest.mark.parametrize(("name", "content"), FILES.items(), ids=FILES)
def test_other_kinds_of_files(
    campaign: Campaign, meter: Instrument, browser: Client, name: str, content: bytes | str
) -> None:
    upload = hand_in(campaign, content, name, meter)
    assert read(upload).code == "unit"
    page = browser.get(at("upload-layout", upload))
    look = page.context["look"]
    assert [head["name"] for head in look.heads] == ["time", "hcho" if "json" in name else "HCHO"]
    assert "2026-09-15" in look.lines[-1]["cells"][0][0]
    say(browser, upload, unit_1="mg/m³")
    read(upload)
    assert stored(upload)[0] == ("2026-09-15 09:00:00", "formaldehyde", "mg/m³", 0.03 if "json" in name else 0.031)
    assert browser.get(at("upload-again-layout", upload)).context["look"].trial.rows == 4
    layout = replace(Layout.from_json(upload.settled), first_data_line=3 if "json" not in name else 2)
    anew, _ = read_with(upload, layout, "the first was a test", make.UserFactory.create())
    read(anew)
    assert stored(anew)[0][0] == "2026-09-15 09:01:00"


def test_a_clear_file_is_read_straight_away(campaign: Campaign, meter: Instrument) -> None:
    upload = hand_in(campaign, CLEAR, instrument=meter)
    assert read(upload).state == Job.State.DONE
    assert len(stored(upload)) == 3


class TestOtherHouses:
    def test_their_layouts_are_never_applied(
        self, campaign: Campaign, meter: Instrument, browser: Client, stranger: User, browse: Browse
    ) -> None:
        theirs: Organisation = stranger.memberships.get().organisation
        their_campaign = make.CampaignFactory.create(site__organisation=theirs)
        their_meter = make.InstrumentFactory.create(organisation=theirs)
        upload = hand_in(their_campaign, AMBIGUOUS, instrument=their_meter)
        read(upload)
        say(browse(stranger), upload, order="month_first", keep="on", name="their meter")
        read(upload)
        assert SavedLayout.objects.get().organisation == theirs
        ours = hand_in(campaign, AMBIGUOUS_TOO, instrument=meter)
        assert read(ours).code == "day_or_month"
        assert browser.get(at("upload-layout", ours)).context["saved"] is None
        assert b"their meter" not in browser.get(at("upload-layout", ours)).content

    def test_nor_are_their_waiting_files_read_with_ours(
        self, campaign: Campaign, meter: Instrument, browser: Client, stranger: User
    ) -> None:
        their_campaign = make.CampaignFactory.create(site__organisation=stranger.memberships.get().organisation)
        theirs = hand_in(their_campaign, AMBIGUOUS_TOO)
        read(theirs)
        ours = hand_in(campaign, AMBIGUOUS, instrument=meter)
        read(ours)
        say(browser, ours, order="month_first", keep="on", name="our meter")
        assert not Job.objects.filter(subject_id=theirs.pk, state=Job.State.QUEUED).exists()


class TestAFractionOfOne:
    FRACTIONS, DAY_AFTER, PERCENT = (
        a_log(*(f"2026-09-{day} 09:0{minute},{text}" for minute, text in enumerate(cells)), head="time,RH (%)")
        for day, cells in ((15, ("0.445", "0.57")), (16, ("0.43",)), (17, ("44.5", "57")))
    )

    def test_it_is_stored_in_percent_and_so_is_the_next_file(
        self, campaign: Campaign, meter: Instrument, browser: Client
    ) -> None:
        """A file of the same shape that is in percent is not multiplied."""
        make.ChannelSpecFactory.create(instrument_type=meter.type, parameter="humidity", unit="%RH")
        first = hand_in(campaign, self.FRACTIONS, "first.csv", meter)
        read(first)
        say(browser, first, {"doubtful-1": "fraction"}, keep="on", name="climate")
        others = [hand_in(campaign, self.DAY_AFTER, "2.csv", meter), hand_in(campaign, self.PERCENT, "3.csv", meter)]
        assert [read(upload).state for upload in (first, *others)] == [Job.State.DONE] * 3
        values = [value for upload in (first, *others) for _, _, _, value in stored(upload)]
        assert values == [44.5, 57.0, 43.0, 44.5, 57.0]
