"""The clock page: what it says, what a person decides on it, and who may."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from campaigns import history
from campaigns.models import Campaign, ClockCheck, ClockReset, Instrument, Job, User
from methods.quantities.moments import stamp_ms
from readings.models import Upload
from readings.queries import placed_in
from tests import factories as make
from tests.readings.doing import WALL, hand_in, read
from tests.readings.pages import Browse, at, messages, text
from tests.readings.test_clock_review import MINUTE, ROUND, a_round, lines, reviewed, visits
from tests.readings.test_same_memory import in_utc, local


@pytest.fixture
def owner(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


@pytest.fixture
def field(browse: Browse, field_staff: User) -> Client:
    return browse(field_staff)


@pytest.fixture
def slow(campaign: Campaign, meter: Instrument) -> Upload:
    """A round by a clock 61 min slow, read."""
    visits(campaign, meter)
    upload = hand_in(campaign, a_round(), "round.csv", meter)
    read(upload)
    return upload


def offered(page: Any) -> dict[str, Any]:
    """What the first button of the first stretch sends."""
    (stretch, *_) = page.context["stretches"]
    return {"log": page.context["log"].key, "stretch": stretch["index"], "offset": stretch["offers"][0]["offset"]}


def test_it_says_what_the_bursts_say(owner: Client, meter: Instrument, slow: Upload) -> None:
    page = owner.get(at("instrument-clock", meter))
    said = text(page)
    assert "local time in Europe/Lisbon" in said
    assert "61 min slow; 6 of 6 bursts then fall on their deployments." in said
    assert "Nothing is moved before a person confirms it." in said
    assert len(page.context["stretches"][0]["picture"].lanes) == 3
    assert page.context["logs"][0]["fit"] == "2 of 6", "as the clock stands: 08:58 and 09:41 fall into other rooms"


def test_a_clock_that_nobody_looked_at_is_not_called_right(owner: Client, meter: Instrument, slow: Upload) -> None:
    page = owner.get(at("instrument-clock", meter))
    assert "right to the second" not in text(page)
    assert "No clock check was entered: its stamps are taken as they stand." in text(page)
    assert page.context["logs"][0]["offset"] == "no clock check was entered: its stamps are taken as they stand"


@pytest.mark.history
def test_field_staff_confirm_it_and_it_can_be_withdrawn(
    field: Client,
    field_staff: User,
    campaign: Campaign,
    meter: Instrument,
    slow: Upload,
    browse: Browse,
    consultant: User,
) -> None:
    send = offered(field.get(at("instrument-clock", meter)))
    answer = field.post(at("clock-confirm", meter), send, follow=True)
    check = ClockCheck.objects.get()
    assert messages(answer)[0].startswith("Kept as a clock check. 61 min slow: 6 of 6 bursts of “round.csv”")
    assert check.origin == ClockCheck.Origin.BURSTS
    assert f"Confirmed by {field_staff}." in check.note
    assert "confidence 0." in check.note
    assert history.of(check)[0].who == str(field_staff)
    reviewed(meter)
    slow.refresh_from_db()
    assert slow.state == Upload.State.READ
    assert sum(len(placed) for placed in placed_in(campaign)) == 60
    page = text(field.get(at("instrument-clock", meter)))
    assert "from bursts laid on deployments" in page
    assert "Withdraw" not in page
    assert field.post(at("clock-check-delete", check)).status_code == 404
    planner = browse(consultant)
    assert "Withdraw" in text(planner.get(at("instrument-clock", meter)))
    assert planner.post(at("clock-check-delete", check)).status_code == 302
    reviewed(meter)
    slow.refresh_from_db()
    assert slow.state == Upload.State.ATTENTION


def test_only_what_is_offered_can_be_confirmed(owner: Client, meter: Instrument, slow: Upload) -> None:
    send = offered(owner.get(at("instrument-clock", meter)))
    answer = owner.post(at("clock-confirm", meter), send | {"offset": send["offset"] + 1}, follow=True)
    assert messages(answer) == ["Clock or deployments have changed meanwhile: look again."]
    assert owner.post(at("clock-confirm", meter), send | {"stretch": 7}).status_code == 404
    other = make.InstrumentFactory.create(organisation=meter.organisation)
    assert owner.post(at("clock-confirm", other), send).status_code == 404, "a log of another instrument"
    assert not ClockCheck.objects.exists()


def test_a_stranger_and_a_client_find_nothing(
    browse: Browse, stranger: User, client_person: User, owner: Client, meter: Instrument, slow: Upload
) -> None:
    send = offered(owner.get(at("instrument-clock", meter)))
    for person in (stranger, client_person):
        browser = browse(person)
        assert browser.get(at("instrument-clock", meter)).status_code == 404
        assert browser.post(at("clock-confirm", meter), send).status_code == 404
        assert browser.post(at("upload-twin", slow), {"twin": "same"}).status_code == 404
    assert not ClockCheck.objects.exists()


def test_evenly_spaced_visits_offer_the_runners_up(owner: Client, campaign: Campaign, meter: Instrument) -> None:
    """Every 15 min a room: a room on fits as well, and nothing is put forward."""
    rounds = [(15 * k, 0) for k in range(8)]
    visits(campaign, meter, rounds)
    upload = hand_in(campaign, a_round(rounds=rounds[:7]), instrument=meter)
    assert read(upload).state == Job.State.DONE, "no suggestion is confident enough to ask"
    page = owner.get(at("instrument-clock", meter))
    (stretch,) = page.context["stretches"]
    assert not stretch["speaks"]
    assert {offer["words"] for offer in stretch["offers"]} >= {"61 min slow", "76 min slow"}
    assert "Please enter a clock check." in text(page)


def test_where_the_clock_was_set(owner: Client, field: Client, campaign: Campaign, meter: Instrument) -> None:
    visits(campaign, meter, [*ROUND, (120, 0)])
    log = "\n".join(["time,formaldehyde [ppm]", *(x for b, _ in ROUND for x in lines(b, 10, 0)), *lines(120, 40, 47)])
    upload = hand_in(campaign, log + "\n", instrument=meter)
    read(upload)
    page = owner.get(at("instrument-clock", meter))
    (reset,) = page.context["resets"]
    assert reset["words"] == "The stamps step back from 2026-09-15 10:50:00 to 2026-09-15 10:13:00."
    assert reset["minutes"] == "38", "what the stamps show; there was a pause, and a person knows better"
    send = {"log": upload.key, "before": reset["before"], "after": reset["after"]}
    refused = field.post(at("clock-answer", meter), send | {"answer": "right-before"}, follow=True)
    assert messages(refused) == ["Say by how much the clock was put back."]
    field.post(at("clock-answer", meter), send | {"answer": "right-before", "minutes": "47", "note": "set at noon"})
    answer = ClockReset.objects.get()
    assert (answer.by_ms, answer.note) == (47 * 60_000, "set at noon")
    again = owner.post(at("clock-answer", meter), send | {"answer": "set"}, follow=True)
    assert messages(again) == ["This is answered already. Withdraw the answer first."]
    reviewed(meter)
    upload.refresh_from_db()
    assert upload.state == Upload.State.READ
    assert "It was right up to here, and put back. Put back by 47 min." in text(
        owner.get(at("instrument-clock", meter))
    )
    field.post(at("clock-reset-withdraw", answer))
    assert not ClockReset.objects.exists()
    reviewed(meter)
    upload.refresh_from_db()
    assert upload.state == Upload.State.ATTENTION


def test_the_autumn_hour_on_a_clock_that_should_not_know_it(
    owner: Client, campaign: Campaign, meter: Instrument
) -> None:
    """A clock said to show a fixed offset that went back an hour on 25 October 2026, as clocks in Lisbon did (IANA)."""
    meter.clock_basis, meter.clock_offset_min = Instrument.ClockBasis.FIXED, 60
    meter.save()
    day = [f"2026-10-25 01:{m:02d}:00,0.02" for m in range(60)]
    upload = hand_in(campaign, "\n".join(["time,formaldehyde [ppm]", *day, *day]) + "\n", instrument=meter)
    read(upload)
    (reset,) = owner.get(at("instrument-clock", meter)).context["resets"]
    assert "Clocks in Europe/Lisbon went back by 60 min on 2026-10-25." in reset["hour"]
    meter.clock_basis = Instrument.ClockBasis.SITE
    meter.clock_offset_min = 0
    meter.save()
    assert owner.get(at("instrument-clock", meter)).context["resets"] == [], "the basis explains it"


def test_a_jump_between_two_checks_asks_where(owner: Client, campaign: Campaign, meter: Instrument) -> None:
    visits(campaign, meter)
    for minutes, slow in ((0, 0), (110, 60)):
        ClockCheck.objects.create(
            instrument=meter, at=make.START + minutes * MINUTE, shown_ms=stamp_ms(WALL + (minutes - slow) * MINUTE)
        )
    upload = hand_in(campaign, a_round(0), instrument=meter)
    read(upload)
    (reset,) = owner.get(at("instrument-clock", meter)).context["resets"]
    assert "Two clock checks differ by 60 min, which is no drift." in reset["words"]
    send = {"log": upload.key, "before": reset["before"], "after": reset["after"]}
    refused = owner.post(at("clock-answer", meter), send | {"last_shown": "2026-09-15 23:00"}, follow=True)
    assert messages(refused) == ["The last time it showed lies between the two clock checks."]
    owner.post(at("clock-answer", meter), send | {"last_shown": "2026-09-15 09:20"})
    assert ClockReset.objects.get().place_ms == stamp_ms(WALL + 20 * MINUTE)


def test_residuals_of_three_checks(owner: Client, meter: Instrument) -> None:
    """0, 40 and 20 s slow at even times: a line leaves −10, +20, −10 s."""
    for hours, slow in ((0, 0), (1, 40), (2, 20)):
        at_ms = stamp_ms(WALL) + hours * 3_600_000 - slow * 1000
        ClockCheck.objects.create(instrument=meter, at=make.START + hours * 60 * MINUTE, shown_ms=at_ms)
    rows = owner.get(at("instrument-clock", meter)).context["checks"]
    assert [row["residual"] for row in rows] == ["-10 s", "+20 s", "-10 s"]
    assert [row["offset"] for row in rows] == ["right to the second", "40 s slow", "20 s slow"]


def test_an_instrument_without_logs(owner: Client, meter: Instrument) -> None:
    said = text(owner.get(at("instrument-clock", meter)))
    assert "No log of this instrument has been read yet." in said
    assert "Enter a clock check" in said


def test_a_check_from_bursts_that_is_changed_is_one_that_was_seen(
    owner: Client, meter: Instrument, slow: Upload
) -> None:
    owner.post(at("clock-confirm", meter), offered(owner.get(at("instrument-clock", meter))))
    check = ClockCheck.objects.get()
    data = {"zone": "UTC", "at": "2026-09-15T08:00:00", "shown": "2026-09-15 07:58:30"}
    assert owner.post(at("clock-check-edit", check), data).status_code == 302
    check.refresh_from_db()
    assert check.origin == ClockCheck.Origin.SEEN


def test_the_upload_page_leads_to_what_is_to_decide(owner: Client, meter: Instrument, slow: Upload) -> None:
    said = text(owner.get(at("upload", slow)))
    assert f"{reverse('instrument-clock', args=[meter.key])}?log={slow.key}" in said
    assert "Read it again" not in said


def test_left_outside_and_the_same_memory_are_decided_there(
    owner: Client, field: Client, campaign: Campaign, meter: Instrument
) -> None:
    visits(campaign, meter)
    away = hand_in(campaign, a_round(rounds=[(60 * 24 * 9, 0)]), "office.csv", meter)
    read(away)
    assert "Leave its readings outside" in text(field.get(at("upload", away)))
    field.post(at("upload-outside", away))
    reviewed(meter)
    away.refresh_from_db()
    assert (away.state, away.outside) == (Upload.State.READ, Upload.Outside.LEFT)
    read(hand_in(campaign, local(), "local.csv", meter))
    again = hand_in(campaign, in_utc(), "utc.csv", meter)
    read(again)
    assert "It is the same memory: leave it out" in text(owner.get(at("upload", again)))
    assert owner.post(at("upload-twin", again), {"twin": "neither"}).status_code == 302
    owner.post(at("upload-twin", again), {"twin": "same"})
    assert read(again).state == Job.State.DONE
