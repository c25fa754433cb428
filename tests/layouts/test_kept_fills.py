"""What was said of numbers like 9999 holds for the next file of the shape, wherever they come."""

from __future__ import annotations

import pytest
from django.test import Client

from campaigns.models import Campaign, Instrument, Job
from readings.models import Upload
from tests.layouts.files import a_log, at, say, stored
from tests.readings.doing import hand_in, read, told

FINE = ("0.031", "0.032", "0.033", "0.034", "0.035")


def log(day: int, *values: str, head: str = "time,HCHO") -> str:
    rows = (f"2026-09-{day} {k // 60:02}:{k % 60:02},{value}" for k, value in enumerate(values))
    return a_log(*rows, head=head)


def next_of(campaign: Campaign, meter: Instrument, browser: Client, second: str, **said: str) -> Upload:
    """The second file, after one with a 9999 was settled and its layout kept."""
    upload = hand_in(campaign, log(15, *FINE, "9999"), "first.csv", meter)
    read(upload)
    assert "fill" in {code for *_, code in told(upload)}
    assert say(browser, upload, {"unit-1": "ppm"} | said, keep="on", name="kept").status_code == 302
    assert read(upload).state == Job.State.DONE
    other = hand_in(campaign, second, "second.csv", meter)
    read(other)
    return other


@pytest.mark.parametrize(("said", "kept"), [("none 1:9999.0", 0), ("value 1:9999.0", 1)])
@pytest.mark.parametrize("before", [0, 100])
def test_the_same_number(
    campaign: Campaign, meter: Instrument, browser: Client, said: str, kept: int, before: int
) -> None:
    values = (*FINE * before, *FINE, "9999")
    other = next_of(campaign, meter, browser, log(16, *values), fill=said)
    assert told(other) == []
    assert [value for *_, value in stored(other)].count(9999) == kept


def test_another_number(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    other = next_of(campaign, meter, browser, log(16, *FINE, "65535"), fill="none 1:9999.0")
    assert [code for *_, code in told(other)] == ["fill"]


def test_another_number_further_down(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    other = next_of(campaign, meter, browser, log(16, *FINE * 100, "65535"), fill="none 1:9999.0")
    assert [code for *_, code in told(other)] == ["fill_value"]
    assert len(stored(other)) == 500


@pytest.mark.parametrize(("said", "kept"), [("none all", 0), ("value all", 1), ("", 0)])
def test_the_page_says_it_of_those_further_down(
    campaign: Campaign, meter: Instrument, browser: Client, said: str, kept: int
) -> None:
    upload = hand_in(campaign, log(15, *FINE * 100, "9999"), "first.csv", meter)
    read(upload)
    assert b'name="fill"' in browser.get(at("upload-layout", upload)).content
    assert say(browser, upload, {"unit-1": "ppm", "fill": said}).status_code == 302
    read(upload)
    assert [value for *_, value in stored(upload)].count(9999) == kept
    assert [code for *_, code in told(upload)] == ["fill_value"] * (not said)
