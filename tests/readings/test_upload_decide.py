"""A person says which instrument it was, and the file is read again."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from campaigns.models import Campaign, Instrument, Job, User
from readings.models import Upload
from readings.queries import rows
from tests import factories as make
from tests.readings.doing import a_log, hand_in, read
from tests.readings.pages import Browse, at, text

EVER = (-(2**62), 2**62)


@pytest.fixture
def browser(browse: Browse, field_staff: User) -> Client:
    return browse(field_staff)


@pytest.fixture
def upload(campaign: Campaign, meter: Instrument) -> Upload:
    """A log that names a serial number nobody has."""
    upload = hand_in(campaign, a_log([0.1, 0.2], serial="FL-9999"), "whose.csv")
    assert read(upload).state == Job.State.ATTENTION
    return upload


def decide(browser: Client, upload: Upload, **more: Any) -> Any:
    answer = browser.post(at("upload-decide", upload), more, follow=True)
    upload.refresh_from_db()
    return answer


def queued() -> int:
    return Job.objects.filter(state=Job.State.QUEUED).count()


def test_the_page_asks(upload: Upload, browser: Client) -> None:
    page = browser.get(at("upload", upload))
    assert "To decide" in text(page)
    assert "Its serial number (FL-9999) is not among your instruments." in text(page)
    assert f'action="{at("upload-decide", upload)}"' in text(page)
    assert [i.name for i in page.context["instrument_form"].fields["instrument"].queryset] == ["meter N"]


def test_the_file_is_read_under_the_instrument_that_was_named(
    upload: Upload, meter: Instrument, browser: Client, field_staff: User
) -> None:
    page = decide(browser, upload, instrument=meter.pk)
    assert page.redirect_chain[-1][0] == at("upload", upload)
    assert "The file is read again." in text(page)
    assert Job.objects.get(state=Job.State.QUEUED).owner == field_staff
    assert read(upload).state == Job.State.DONE
    assert (upload.state, upload.instrument, upload.stored) == (Upload.State.READ, meter, 2)
    assert rows(meter.channels.get().pk, *EVER)["raw"].tolist() == [0.1, 0.2]
    assert upload.problem_count == 0, "the question is gone with its answer"
    assert "To decide" not in text(browser.get(at("upload", upload)))


def test_again_without_a_name_after_the_instrument_was_entered(upload: Upload, browser: Client) -> None:
    """The other way out: enter the instrument, and the serial number in the file finds it."""
    new = make.InstrumentFactory.create(organisation=upload.campaign.site.organisation, serial="FL-9999")
    decide(browser, upload)
    read(upload)
    assert (upload.state, upload.instrument) == (Upload.State.READ, new)


@pytest.mark.parametrize("who", ["stranger", "client_person"])
def test_others_find_nothing(
    upload: Upload, meter: Instrument, browse: Browse, who: str, request: pytest.FixtureRequest
) -> None:
    answer = browse(request.getfixturevalue(who)).post(at("upload-decide", upload), {"instrument": meter.pk})
    assert answer.status_code == 404
    assert browse(None).post(at("upload-decide", upload)).status_code == 302
    upload.refresh_from_db()
    assert upload.instrument is None
    assert queued() == 0


def test_only_by_post(upload: Upload, browser: Client) -> None:
    assert browser.get(at("upload-decide", upload)).status_code == 405


def test_an_instrument_of_another_house_is_not_taken(upload: Upload, stranger: User, browser: Client) -> None:
    theirs = make.InstrumentFactory.create(organisation=stranger.memberships.get().organisation)
    page = decide(browser, upload, instrument=theirs.pk)
    assert "Choose one of your own instruments." in text(page)
    assert upload.instrument is None
    assert queued() == 0


def test_stored_readings_stay_where_they_are(upload: Upload, meter: Instrument, browser: Client) -> None:
    decide(browser, upload, instrument=meter.pk)
    read(upload)
    other = make.InstrumentFactory.create(organisation=meter.organisation)
    page = decide(browser, upload, instrument=other.pk)
    assert "they cannot be moved" in text(page)
    assert upload.instrument == meter
    assert queued() == 0


def test_nor_those_of_a_run_that_was_cut_short(
    upload: Upload, meter: Instrument, browser: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its state is written last; the readings, and their count, are there before."""

    def killed(*_: Any) -> None:
        raise MemoryError

    decide(browser, upload, instrument=meter.pk)
    with monkeypatch.context() as patch:
        patch.setattr("readings.services.reading._finish", killed)
        read(upload)
    assert upload.stored == 2
    assert len(rows(meter.channels.get().pk, *EVER)) == 2
    other = make.InstrumentFactory.create(organisation=meter.organisation)
    assert "they cannot be moved" in text(decide(browser, upload, instrument=other.pk))
    assert upload.instrument == meter


def test_not_while_it_is_being_read(upload: Upload, meter: Instrument, browser: Client) -> None:
    decide(browser, upload)
    assert Job.take(Job.objects.get(state=Job.State.QUEUED).pk) is not None
    page = decide(browser, upload, instrument=meter.pk)
    assert "It is being read at this moment" in text(page)
    assert upload.instrument is None


def test_asking_twice_is_one_job(upload: Upload, meter: Instrument, browser: Client) -> None:
    decide(browser, upload, instrument=meter.pk)
    decide(browser, upload, instrument=meter.pk)
    assert queued() == 1


def test_while_its_answer_is_read_the_page_asks_nothing(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = hand_in(campaign, a_log([0.1], serial="FL-9999"), "whose.csv")
    read(upload)
    assert "Read it again" in text(browser.get(at("upload", upload)))
    browser.post(at("upload-decide", upload), {"instrument": ""})
    for state in (Job.State.QUEUED, Job.State.RUNNING):
        Job.objects.exclude(state__in=Job.ENDED).update(state=state)
        page = text(browser.get(at("upload", upload)))
        assert "To decide" not in page
        assert "Read it again" not in page
    Job.objects.filter(state=Job.State.RUNNING).update(state=Job.State.QUEUED)
    read(upload)
    assert "To decide" in text(browser.get(at("upload", upload)))


def test_the_instrument_it_has_is_chosen_already(campaign: Campaign, meter: Instrument, browser: Client) -> None:
    upload = hand_in(campaign, "time,carbon monoxide [ppm]\n2026-09-15 09:00:00,1\n", "other.csv", meter)
    assert read(upload).state == Job.State.ATTENTION
    assert f'<option value="{meter.pk}" selected>' in text(browser.get(at("upload", upload)))
