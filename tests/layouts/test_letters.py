"""End to end: the letters of a file, and the names of its months, that a person has to tell."""

from __future__ import annotations

from django.test import Client

from campaigns.models import Campaign, Instrument, Job
from tests.layouts.files import a_log, say, stored
from tests.readings.doing import hand_in, read


def named(day: int) -> bytes:
    rows = (f"2026-09-{day} 09:0{k},0.03{k},备注" for k in range(6))
    return a_log(*rows, head="time,HCHO (ppm),备注").encode("gb18030")


NOVEMBER = a_log(*(f"15 lis 2026 09:0{k},0.03{k}" for k in range(6)))


def test_the_encoding_is_asked_and_kept_for_the_next_file(
    campaign: Campaign, meter: Instrument, browser: Client
) -> None:
    first = hand_in(campaign, named(15), instrument=meter)
    job = read(first)
    assert (job.state, job.code) == (Job.State.ATTENTION, "encoding")
    assert say(browser, first, encoding="gb18030", keep="on", name="hall meter").status_code == 302
    assert read(first).state == Job.State.DONE
    assert (first.layout["encoding"], first.layout["columns"][2]["name"]) == ("gb18030", "备注")
    assert stored(first)[0] == ("2026-09-15 09:00:00", "formaldehyde", "ppm", 0.03)
    second = hand_in(campaign, named(16), "second.csv", meter)
    assert read(second).state == Job.State.DONE
    assert (second.layout["encoding"], second.layout["columns"][2]["name"]) == ("gb18030", "备注")


def test_the_language_of_the_months_is_asked(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = hand_in(campaign, NOVEMBER, instrument=meter)
    assert read(upload).code == "month_language"
    assert say(browser, upload, month_language="pl", keep="on", name="meter").status_code == 302
    assert read(upload).state == Job.State.DONE
    assert stored(upload)[0] == ("2026-11-15 09:00:00", "formaldehyde", "ppm", 0.03)
    second = hand_in(campaign, NOVEMBER.replace("15 lis", "16 lis"), "second.csv", meter)
    assert read(second).state == Job.State.DONE
    assert stored(second)[0][0] == "2026-11-16 09:00:00"


def test_a_kept_layout_without_a_language_does_not_answer_for_one(
    campaign: Campaign, meter: Instrument, browser: Client
) -> None:
    first = hand_in(campaign, NOVEMBER.replace("lis", "gru"), instrument=meter)
    read(first)
    say(browser, first, do="keep", name="meter")
    second = hand_in(campaign, NOVEMBER, "second.csv", meter)
    assert read(second).code == "month_language"
