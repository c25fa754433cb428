"""What was said of qualifiers holds for the next file of the shape, and not for texts that nobody has seen."""

from __future__ import annotations

import pytest
from django.test import Client

from campaigns.models import Campaign, Instrument, Job
from readings.models import Upload
from tests.layouts.files import a_log, say, stored
from tests.readings.doing import hand_in, read, told


def log(day: int, *states: str) -> str:
    return a_log(
        *(f"2026-09-{day} 09:{k:02},0.03{k},{text}" for k, text in enumerate(states)), head="time,HCHO (ppm),Q"
    )


def next_of(campaign: Campaign, meter: Instrument, browser: Client, first: str, second: str, said: str) -> Upload:
    upload = hand_in(campaign, first, "first.csv", meter)
    read(upload)
    assert say(browser, upload, {"status-2": said}, keep="on", name="kept").status_code == 302
    assert read(upload).state == Job.State.DONE
    other = hand_in(campaign, second, "second.csv", meter)
    read(other)
    return other


WITH_ND = ("", "ND", "", "", "", "")


@pytest.mark.parametrize("said", ["all", "0", "signs"])
def test_the_same_texts(campaign: Campaign, meter: Instrument, browser: Client, said: str) -> None:
    other = next_of(campaign, meter, browser, log(15, *WITH_ND), log(16, *WITH_ND), said)
    assert len(stored(other)) == 6


@pytest.mark.parametrize("said", ["all", "0", "signs"])
def test_other_texts_are_asked_about(campaign: Campaign, meter: Instrument, browser: Client, said: str) -> None:
    other = next_of(campaign, meter, browser, log(15, *WITH_ND), log(16, *WITH_ND[:-1], "fault"), said)
    assert [code for *_, code in told(other)] == ["status"]
    assert not stored(other)


@pytest.mark.parametrize("said", ["all", "0", "signs"])
def test_none_need_no_question(campaign: Campaign, meter: Instrument, browser: Client, said: str) -> None:
    assert len(stored(next_of(campaign, meter, browser, log(15, *WITH_ND), log(16, *[""] * 6), said))) == 6
