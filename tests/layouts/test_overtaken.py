"""Answers to what is not asked any more: nothing is read with them, and the page says how it stands now."""

from __future__ import annotations

from django.test import Client

from campaigns.models import Campaign, Instrument
from readings.models import Upload
from readings.services.upload_decisions import choose_instrument
from tests import factories as make
from tests.layouts.files import AMBIGUOUS, NO_UNIT, at, say, shown
from tests.readings.doing import hand_in, read
from tests.readings.pages import messages


def waiting(campaign: Campaign, meter: Instrument, log: str) -> Upload:
    upload = hand_in(campaign, log, instrument=meter)
    read(upload)
    return upload


def test_the_second_of_two_is_told(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = waiting(campaign, meter, AMBIGUOUS)
    seen = shown(browser, upload)
    say(browser, upload, order="day_first")
    late = browser.post(at("upload-layout", upload), {**seen, "order": "month_first", "do": "read"}, follow=True)
    assert "settled otherwise" in " ".join(messages(late))
    upload.refresh_from_db()
    assert upload.settled["day_first"] is True


def test_what_was_understood_anew_is_answered_anew(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = waiting(campaign, meter, NO_UNIT)
    seen = shown(browser, upload)
    Upload.objects.filter(pk=upload.pk).update(understood={**upload.understood, "look": "of another sheet"})
    browser.post(at("upload-layout", upload), {**seen, "unit-1": "ppm", "do": "read"})
    upload.refresh_from_db()
    assert upload.settled is None


def test_without_a_word_of_what_it_answers_nothing_is_read(
    campaign: Campaign, meter: Instrument, browser: Client
) -> None:
    upload = waiting(campaign, meter, NO_UNIT)
    browser.post(at("upload-layout", upload), {"column-1": "formaldehyde", "unit-1": "ppm", "do": "read"})
    upload.refresh_from_db()
    assert upload.settled is None


def test_another_instrument_asks_nothing_else(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = waiting(campaign, meter, NO_UNIT)
    choose_instrument(upload, meter, make.UserFactory.create())
    read(upload)
    assert say(browser, upload, unit_1="ppm").status_code == 302
