"""A workbook with several logs: a person chooses the sheet, and the answer holds for the next file of the shape."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import pytest
from django.test import Client

from campaigns.models import Campaign, Instrument, Job
from readings.models import SavedLayout, Upload
from readings.services.receive import ask_to_read
from tests.layouts.files import at, say, stored
from tests.methods.logs.biff import Sheet, old_workbook
from tests.methods.logs.ods import open_workbook
from tests.methods.logs.test_sheets import xlsx
from tests.readings.doing import hand_in, read
from tests.readings.pages import messages, text

Makers = [xlsx, open_workbook, old_workbook]


def a_sheet(title: str, day: int, *, name: str = "HCHO (mg/m³)", hidden: bool = False) -> Sheet:
    rows = [[datetime(2026, 9, day, 9, n), day / 1000] for n in range(3)]  # noqa: DTZ001 - the logger's own clock
    return title, [["time", name], *rows], hidden


NIGHT, DAY = a_sheet("Night", 15), a_sheet("Day", 16)


def choose(browser: Client, upload: Upload, sheet: str, route: str = "upload-sheet", **more: Any) -> Any:
    answer = browser.post(at(route, upload), {"sheet": sheet, **more}, follow=True)
    upload.refresh_from_db()
    return answer


@pytest.mark.parametrize("write", Makers)
def test_the_page_asks_and_the_answer_is_read(campaign: Campaign, meter: Instrument, browser: Client, write: Any) -> None:  # fmt: skip # noqa: E501
    upload = hand_in(campaign, write(NIGHT, DAY), "two", meter)
    assert (read(upload).code, upload.layout_is_open) == ("sheet", True)
    page = text(browser.get(at("upload-layout", upload)))
    assert "“Night”: 3 rows, the first of 2026-09-15 09:00:00" in page
    choose(browser, upload, "Day")
    assert read(upload).state == Job.State.DONE
    assert stored(upload)[0][::3] == ("2026-09-16 09:00:00", 0.016)
    assert upload.layout["sheet"] == "Day"
    assert [p.code for p in upload.problems.all()] == ["other_sheets"]


def test_nothing_else_is_settled_before(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = hand_in(campaign, xlsx(NIGHT, DAY), "two", meter)
    read(upload)
    assert browser.post(at("upload-layout", upload), {"do": "read"}).status_code == 409
    upload.refresh_from_db()
    assert upload.settled is None


@pytest.mark.parametrize("sheet", ["Elsewhere", ""])
def test_a_sheet_that_is_none(campaign: Campaign, browser: Client, sheet: str) -> None:
    upload = hand_in(campaign, xlsx(NIGHT, DAY), "two")
    read(upload)
    assert messages(choose(browser, upload, sheet)) == ["Choose one of the sheets that look like logs."]
    assert upload.sheet == ""


def test_the_answer_holds_for_the_next_file_that_has_such_a_sheet(
    campaign: Campaign, meter: Instrument, browser: Client
) -> None:
    night, day = a_sheet("Night", 15, name="HCHO"), a_sheet("Day", 16, name="HCHO")
    first = hand_in(campaign, xlsx(night, day), "first", meter)
    read(first)
    choose(browser, first, "Day")
    assert read(first).code == "unit"
    say(browser, first, unit_1="mg/m³", keep="on", name="Of two sheets")
    assert read(first).state == Job.State.DONE
    second = hand_in(campaign, xlsx(a_sheet("Night", 17, name="HCHO"), a_sheet("Day", 18, name="HCHO")), "next", meter)
    assert read(second).state == Job.State.DONE
    assert stored(second)[0][0] == "2026-09-18 09:00:00"
    third = hand_in(campaign, xlsx(a_sheet("Early", 19, name="HCHO"), a_sheet("Late", 20, name="HCHO")), "last", meter)
    assert read(third).code == "sheet"


def test_what_was_settled_stays_when_the_layout_is_gone(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    sheets = (a_sheet("Night", 15, name="HCHO"), a_sheet("Day", 16, name="HCHO"))
    first, second = (hand_in(campaign, xlsx(*sheets, a_sheet(extra, 9)), extra, meter) for extra in ("A", "B"))
    read(first)
    choose(browser, first, "Day")
    read(first)
    say(browser, first, unit_1="mg/m³", keep="on", name="Of two sheets")
    read(first)
    assert (read(second).state, second.sheet) == (Job.State.DONE, "")
    SavedLayout.objects.all().delete()
    ask_to_read(second, None)
    assert (read(second).state, second.layout["sheet"]) == (Job.State.DONE, "Day")


def test_another_sheet_after_readings_are_stored(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = hand_in(campaign, xlsx(NIGHT, DAY), "two", meter)
    read(upload)
    choose(browser, upload, "Night")
    read(upload)
    assert "Readings of another sheet are stored" in messages(choose(browser, upload, "Day"))[0]
    assert "Another sheet" in text(browser.get(at("upload-again-layout", upload)))
    again = choose(browser, upload, "Night", "upload-again-sheet", reason="wrong night")
    assert messages(again) == ["It is this sheet that is read already: choose another one."]
    choose(browser, upload, "Day", "upload-again-sheet", reason="wrong night")
    new = Upload.objects.get(reads_anew=upload)
    assert read(new).state == Job.State.DONE
    assert (upload.withdrawn, stored(new)[0][0]) == (True, "2026-09-16 09:00:00")
