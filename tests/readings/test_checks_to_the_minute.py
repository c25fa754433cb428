"""Clock checks read off a display that shows no seconds: its minute is taken at its middle."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.test import Client

from campaigns.models import Campaign, ClockCheck, Instrument, User
from methods.quantities.moments import stamp_ms, utc_ms
from readings.queries import placed_in
from readings.queries.clock_facts import clock_of
from reports.services.freeze import freeze
from tests import factories as make
from tests.readings.doing import WALL, a_log, hand_in, read
from tests.readings.pages import Browse, at, text

SECOND, MINUTE = timedelta(seconds=1), timedelta(minutes=1)
SHOWN = stamp_ms(WALL + 5 * MINUTE)  # 09:05 in Lisbon, which is 08:05 UTC


@pytest.fixture
def owner(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


def check(meter: Instrument, true_s: int, *, to_minute: bool = True, shown: int = SHOWN) -> ClockCheck:
    """Read off so many seconds after 08:05:00 UTC."""
    at_ = make.START + 5 * MINUTE + true_s * SECOND
    found: ClockCheck = ClockCheck.objects.create(instrument=meter, at=at_, shown_ms=shown, to_minute=to_minute)
    return found


def sent(**more: Any) -> dict[str, Any]:
    return {"zone": "UTC", "at": "2026-09-15T08:05:50", "shown": "2026-09-15 09:05", "to_minute": "on", **more}


@pytest.mark.parametrize(
    ("to_minute", "form", "first_s"),
    [
        (True, "%Y-%m-%d %H:%M:%S", 20),  # 09:05:30 at 08:05:50 UTC: 20 s slow
        (False, "%Y-%m-%d %H:%M:%S", 50),  # 09:05:00 as entered: 50 s slow
        (True, "%Y-%m-%d %H:%M", 50),  # 20 s slow, and a stamp without seconds lies 30 s behind what it prints
    ],
)
def test_where_a_log_lies_by_it(
    campaign: Campaign, meter: Instrument, to_minute: bool, form: str, first_s: int
) -> None:
    make.DeploymentFactory.create(campaign=campaign, instrument=meter)
    check(meter, 50, to_minute=to_minute)
    read(hand_in(campaign, a_log(range(3), every_s=60, form=form), instrument=meter))
    (placed,) = placed_in(campaign)
    assert [(at_ - utc_ms(make.START)) / 1000 for at_ in placed.utc_ms] == [first_s, first_s + 60, first_s + 120]


def test_a_right_clock_is_found_right_to_30_s_whenever_it_is_read(campaign: Campaign, meter: Instrument) -> None:
    """Each second of the minute in turn: off by half a second in the mean, where cutting off alone is 29.5 s."""
    offsets = []
    for second in range(60):
        found = check(meter, second)
        offsets += [offset.offset_ms / 1000 for offset in clock_of(meter, campaign.site).offsets()]
        found.delete()
    assert max(map(abs, offsets)) == 30
    assert sum(offsets) / len(offsets) == -0.5


def test_two_such_checks_give_the_drift_of_any_two(campaign: Campaign, meter: Instrument) -> None:
    check(meter, 50)
    check(meter, 3600 + 60, shown=SHOWN + 3_600_000)
    assert [offset.offset_ms for offset in clock_of(meter, campaign.site).offsets()] == [20_000, 30_000]


@pytest.mark.history
def test_entered_shown_and_kept_in_the_history(owner: Client, meter: Instrument) -> None:
    assert owner.post(at("clock-check-add", meter), sent()).status_code == 302
    found = ClockCheck.objects.get()
    assert (found.shown_ms, found.taken_ms, found.to_minute) == (SHOWN, SHOWN + 30_000, True)
    for route in ("instrument", "instrument-clock"):
        page = text(owner.get(at(route, meter)))
        assert "2026-09-15 09:05, no seconds" in page
        assert "give or take 30 s" in page
    assert 'value="2026-09-15 09:05"' in text(owner.get(at("clock-check-edit", found)))
    owner.post(at("clock-check-edit", found), sent(to_minute=""))
    assert "The display shows no seconds" in text(owner.get(at("clock-check-history", found)))


def test_without_the_mark_nothing_is_added(owner: Client, meter: Instrument) -> None:
    owner.post(at("clock-check-add", meter), sent(to_minute=""))
    found = ClockCheck.objects.get()
    assert found.taken_ms == found.shown_ms == SHOWN
    assert "give or take" not in text(owner.get(at("instrument", meter)))


def test_seconds_off_such_a_display_are_refused(owner: Client, meter: Instrument) -> None:
    answer = owner.post(at("clock-check-add", meter), sent(shown="2026-09-15 09:05:10"))
    assert answer.status_code == 422
    assert "A display without seconds shows whole minutes" in text(answer)
    with pytest.raises(ValidationError, match="whole minutes"):
        ClockCheck(instrument=meter, at=make.START, shown_ms=SHOWN + 1, to_minute=True).validate_constraints()
    with pytest.raises(IntegrityError), transaction.atomic():
        check(meter, 50, shown=SHOWN + 1000)


def test_the_report_says_how_it_was_read(campaign: Campaign, meter: Instrument) -> None:
    make.DeploymentFactory.create(campaign=campaign, instrument=meter)
    check(meter, 50)
    (kit,) = freeze(campaign).instruments
    assert [one.shown for one in kit.clock_checks] == ["2026-09-15 09:05, no seconds"]
