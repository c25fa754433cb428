"""The pages of reading a file another way: from the upload, by a consultant, with a reason."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from campaigns.models import Campaign, Channel, Instrument, Job, Membership, Role, User
from campaigns.tasks import run_job
from methods.quantities.moments import stamp_ms
from readings.models import AsideReading, SavedLayout, SettingAside, Upload
from readings.services.stretches_aside import set_aside
from tests import factories as make
from tests.layouts.files import shown
from tests.readings.doing import TEN, WALL, Read, a_log, hand_in, read, stored
from tests.readings.pages import Browse, at, messages, text

Take = Callable[..., Read]
DAY = (stamp_ms(WALL), stamp_ms(WALL + timedelta(days=1)))
VALUES = [float(value) for value in TEN]
ROUTES = (
    "upload-again-instrument", "upload-again-as-it-is", "upload-withdraw", "upload-read-in", "upload-aside",
    "upload-again-layout",
)  # fmt: skip


@pytest.fixture
def browser(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


@pytest.fixture
def upload(take: Take) -> Upload:
    return take(a_log(TEN), "monday.csv")[0]


@pytest.fixture
def other(meter: Instrument) -> Instrument:
    made: Instrument = make.InstrumentFactory.create(organisation=meter.organisation, name="meter S", serial="FL-7002")
    return made


def newest() -> Upload:
    return Upload.objects.order_by("-pk")[0]


def work_on_moving() -> None:
    for job in Job.objects.filter(kind="set-aside", state=Job.State.QUEUED):
        run_job(job.pk)


# --- the way there ----------------------------------------------------------------------------------------------------


def test_the_upload_leads_there(upload: Upload, browser: Client) -> None:
    page = text(browser.get(at("upload", upload)))
    assert "Read it another way" in page
    for route in ("upload-again", "upload-again-layout", "upload-aside", "upload-history"):
        assert at(route, upload) in page
    assert "Read it another way" in text(browser.get(at("upload-layout", upload)))


def test_field_staff_see_no_way(upload: Upload, browse: Browse, field_staff: User) -> None:
    browser = browse(field_staff)
    assert "Read it another way" not in text(browser.get(at("upload", upload)))
    assert "Read it another way" not in text(browser.get(at("upload-layout", upload)))


@pytest.mark.parametrize("who", ["field_staff", "client_person", "stranger"])
def test_others_change_nothing(
    upload: Upload, other: Instrument, channel: Channel, browse: Browse, who: str, request: pytest.FixtureRequest
) -> None:
    browser = browse(request.getfixturevalue(who))
    sent = {
        "instrument-instrument": other.pk, "instrument-reason": "x", "withdraw-reason": "x", "reason": "x",
        "do": "read", "first": "2026-09-15 09:00:00", "last": "2026-09-15 09:01:00",
    }  # fmt: skip
    for route in ROUTES:
        assert browser.post(at(route, upload), sent).status_code == 404, route
    (made,) = set_aside([channel], *DAY, "x", make.UserFactory.create())
    assert browser.post(at("aside-take-back", made)).status_code == 404
    assert Upload.objects.count() == 1
    made.refresh_from_db()
    assert made.taken_back_at is None


def test_a_consultant_of_two_houses_changes_nothing_where_she_is_field_staff(
    upload: Upload, browse: Browse, stranger: User
) -> None:
    """A role in one organisation is none in another."""
    Membership.objects.create(user=stranger, organisation=upload.campaign.site.organisation, role=Role.FIELD)
    browser = browse(stranger)
    assert browser.get(at("upload", upload)).status_code == 200
    assert browser.get(at("upload-again", upload)).status_code == 404
    assert browser.post(at("upload-withdraw", upload), {"withdraw-reason": "x"}).status_code == 404
    assert browser.post(at("upload-aside", upload), {}).status_code == 404


# --- another instrument -----------------------------------------------------------------------------------------------


def test_another_instrument(upload: Upload, other: Instrument, channel: Channel, browser: Client) -> None:
    page = browser.get(at("upload-again", upload))
    assert "It is read as a log of meter N." in text(page)
    sent = {"instrument-instrument": other.pk, "instrument-reason": "the labels were swapped"}
    after = browser.post(at("upload-again-instrument", upload), sent, follow=True)
    new = newest()
    assert after.redirect_chain[-1][0] == at("upload", new)
    assert messages(after) == ["It is read another way now; what was stored before is set aside."]
    read(new)
    assert (stored(channel), stored(other.channels.get())) == ([], VALUES)
    told = text(browser.get(at("upload", new)))
    assert at("upload", upload) in told
    assert "withdrawn by" in told
    assert "the labels were swapped" in told
    old = text(browser.get(at("upload", upload)))
    assert "10 readings of it are set aside" in old
    assert at("upload", new) in old
    assert "Read it in again" not in old


@pytest.mark.parametrize(
    ("sent", "told"),
    [
        ({"reason": "x"}, "Choose the instrument that stored it."),
        ({"instrument": "other"}, "This field is required."),
        ({"instrument": "meter", "reason": "x"}, "Choose one of your own instruments."),
        ({"instrument": "theirs", "reason": "x"}, "Choose one of your own instruments."),
    ],
)
def test_what_is_missing_is_said(
    upload: Upload,
    other: Instrument,
    meter: Instrument,
    stranger: User,
    browser: Client,
    sent: dict[str, str],
    told: str,
) -> None:
    theirs = make.InstrumentFactory.create(organisation=stranger.memberships.get().organisation)
    by_name = {"other": other.pk, "meter": meter.pk, "theirs": theirs.pk}
    said = {f"instrument-{name}": by_name.get(value, value) for name, value in sent.items()}
    page = browser.post(at("upload-again-instrument", upload), said)
    assert (page.status_code, told in text(page)) == (422, True)
    assert Upload.objects.count() == 1


def test_while_it_is_being_read_it_is_refused(upload: Upload, other: Instrument, browser: Client) -> None:
    assert browser.post(at("upload-again-as-it-is", upload)).status_code == 302
    assert Job.take(Job.objects.get(kind="read-upload", state=Job.State.QUEUED).pk) is not None
    page = browser.post(
        at("upload-again-instrument", upload), {"instrument-instrument": other.pk, "instrument-reason": "x"}
    )
    assert page.status_code == 409
    assert "It is being read at this moment" in text(page)
    page = browser.post(at("upload-withdraw", upload), {"withdraw-reason": "x"})
    assert page.status_code == 409
    assert "being read" in text(browser.get(at("upload-again-layout", upload)))
    assert Upload.objects.get().state == Upload.State.READ


# --- another layout ---------------------------------------------------------------------------------------------------


def controls(browser: Client, upload: Upload) -> dict[str, Any]:
    return shown(browser, upload, "upload-again-layout")


def test_another_unit(upload: Upload, meter: Instrument, channel: Channel, browser: Client) -> None:
    make.ChannelSpecFactory.create(instrument_type=meter.type, parameter="formaldehyde", unit="mg/m³", range_high=6)
    page = browser.get(at("upload-again-layout", upload))
    assert "what is stored of it is set aside then" in text(page)
    assert f'hx-post="{at("upload-again-layout", upload)}"' in text(page)
    sent = {**controls(browser, upload), "unit-1": "mg/m³", "reason": "it was set to mg/m³", "do": "read"}
    after = browser.post(at("upload-again-layout", upload), sent, follow=True)
    new = newest()
    assert after.redirect_chain[-1][0] == at("upload", new)
    read(new)
    assert (stored(channel), stored(meter.channels.get(spec__unit="mg/m³"))) == ([], VALUES)
    assert SettingAside.objects.get().reason == "it was set to mg/m³"
    assert not SavedLayout.objects.exists()


def test_a_look_at_it_changes_nothing(upload: Upload, browser: Client) -> None:
    sent = {**controls(browser, upload), "unit-1": "mg/m³"}
    part = browser.post(at("upload-again-layout", upload), sent, headers={"HX-Request": "true"})
    assert part.status_code == 200
    assert "Its first lines" in text(part)
    assert Upload.objects.get().state == Upload.State.READ


def test_as_it_is_read_already_is_refused(upload: Upload, browser: Client) -> None:
    sent = {**controls(browser, upload), "reason": "x", "do": "read"}
    page = browser.post(at("upload-again-layout", upload), sent)
    assert page.status_code == 409
    assert "It is read like this already" in text(page)


def test_without_a_reason_it_is_not_read(upload: Upload, browser: Client) -> None:
    sent = {**controls(browser, upload), "unit-1": "mg/m³", "do": "read"}
    page = browser.post(at("upload-again-layout", upload), sent)
    assert page.status_code == 422
    assert "This field is required." in text(page)
    assert Upload.objects.get().state == Upload.State.READ


# --- withdrawn, and in again ------------------------------------------------------------------------------------------


def test_withdrawn_and_in_again(upload: Upload, take: Take, channel: Channel, browser: Client) -> None:
    second, _ = take(a_log([*TEN, "0.5"]), "tuesday.csv")
    page = browser.get(at("upload-again", upload))
    told = "“tuesday.csv” holds readings of the same instrument and is read again then"
    assert told in text(page)
    after = browser.post(at("upload-withdraw", upload), {"withdraw-reason": "another house"}, follow=True)
    assert told in messages(after)[0]
    assert "Its readings are being set aside." in text(after)
    work_on_moving()
    read(second)
    assert stored(channel) == [*VALUES, 0.5]
    page = browser.get(at("upload", upload))
    assert "another house" in text(page)
    assert dict(page.context["facts"])["State"] == "withdrawn"
    assert "withdrawn" in text(browser.get(at("upload-again", upload)))
    assert "Another instrument" not in text(browser.get(at("upload-again", upload)))
    after = browser.post(at("upload-read-in", upload), follow=True)
    assert after.redirect_chain[-1][0] == at("upload", newest())
    read(newest())
    assert newest().held == 10, "the second file's readings stay where they are"
    after = browser.post(at("upload-read-in", upload), follow=True)
    assert messages(after) == ["It was read in again already: look at that one."]


def test_a_withdrawn_file_is_listed_as_such(upload: Upload, browser: Client) -> None:
    browser.post(at("upload-withdraw", upload), {"withdraw-reason": "another house"})
    work_on_moving()
    assert 'class="job withdrawn"' in text(browser.get(at("uploads", upload.campaign)))


def test_it_needs_a_reason(upload: Upload, browser: Client) -> None:
    page = browser.post(at("upload-withdraw", upload), {"withdraw-reason": " "})
    assert page.status_code == 422
    assert not SettingAside.objects.exists()


@pytest.mark.history
def test_the_history_tells_it(upload: Upload, browser: Client, consultant: User) -> None:
    browser.post(at("upload-withdraw", upload), {"withdraw-reason": "another house"})
    page = text(browser.get(at("upload-history", upload)))
    assert "withdrawn" in page
    assert str(consultant) in page


# --- stretches --------------------------------------------------------------------------------------------------------


def test_a_stretch_is_set_aside_and_taken_back(upload: Upload, channel: Channel, browser: Client) -> None:
    sent = {"first": "2026-09-15 09:00:20", "last": "2026-09-15 09:00:40", "reason": "the inlet was covered"}
    after = browser.post(at("upload-aside", upload), sent, follow=True)
    assert messages(after) == ["Set aside: 3 readings."]
    page = text(after)
    assert "2026-09-15 09:00:20" in page
    assert "the inlet was covered" in page
    assert "Take back" in page
    assert stored(channel) == VALUES[:2] + VALUES[5:]
    assert "1 stretch of it is" in text(browser.get(at("upload", upload)))
    made = SettingAside.objects.get()
    after = browser.post(at("aside-take-back", made), {"upload": str(upload.key)}, follow=True)
    assert after.redirect_chain[-1][0] == at("upload-aside", upload)
    assert messages(after) == ["3 readings count again."]
    assert "Taken back by" in text(after)
    assert "Take back<" not in text(after)
    assert stored(channel) == VALUES
    after = browser.post(at("aside-take-back", made), {"upload": "no key"}, follow=True)
    assert messages(after) == ["It was taken back already."]


@pytest.mark.parametrize(
    ("sent", "status", "told"),
    [
        ({}, 422, "This field is required."),
        ({"first": "nine", "last": "2026-09-15 09:00:40", "reason": "x"}, 422, "Write it as YYYY-MM-DD hh:mm:ss"),
        ({"first": "2026-09-15 09:00:40", "last": "2026-09-15 09:00:20", "reason": "x"}, 409, "ends at or after"),
        ({"first": "2027-09-15 09:00:40", "last": "2027-09-15 09:00:40", "reason": "x"}, 409, "No reading that counts"),
        ({"first": "2026-09-15 09:00:40", "last": "2026-09-15 09:00:40", "reason": ""}, 422, "required"),
    ],
)
def test_what_makes_no_stretch(upload: Upload, browser: Client, sent: dict[str, str], status: int, told: str) -> None:
    page = browser.post(at("upload-aside", upload), sent)
    assert (page.status_code, told in text(page)) == (status, True)
    assert not AsideReading.objects.exists()


def test_field_staff_read_what_is_set_aside(
    upload: Upload, channel: Channel, browse: Browse, field_staff: User, consultant: User
) -> None:
    set_aside([channel], *DAY, "the inlet was covered", consultant)
    page = text(browse(field_staff).get(at("upload-aside", upload)))
    assert "the inlet was covered" in page
    assert "Take back" not in page
    assert "Set a stretch aside" not in page


def test_a_file_without_an_instrument(browse: Browse, consultant: User, campaign: Campaign) -> None:
    unknown = hand_in(campaign, a_log(TEN), "whose.csv")
    browser = browse(consultant)
    assert browser.get(at("upload-aside", unknown)).status_code == 200
    assert browser.get(at("upload-again", unknown)).status_code == 200
    assert "Nobody knows yet whose log it is." in text(browser.get(at("upload-again", unknown)))
    assert browser.get(at("upload-again-layout", unknown)).status_code == 200
    assert browser.post(at("upload-aside", unknown), {
        "first": "2026-09-15 09:00:40", "last": "2026-09-15 09:00:40", "reason": "x"
    }).status_code == 409  # fmt: skip
