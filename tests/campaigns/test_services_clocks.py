"""What people say of an instrument's clock, without a form."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.core.exceptions import ValidationError

from campaigns.models import ClockCheck, ClockReset, Deployment, Instrument, Site
from campaigns.services import clock_checks, clock_resets
from campaigns.services.integrity import DELETED
from methods.clock import Reset
from methods.quantities.moments import stamp_ms
from tests import factories as make
from tests.campaigns.changes import heard, told

pytestmark = pytest.mark.history

SHOWN, MINUTE_MS = stamp_ms(make.START), 60_000
BACK = Reset(kind="backward", index=4, before_ms=SHOWN + 600_000, after_ms=SHOWN, size_ms=600_000)
JUMP = Reset(
    kind="jump", index=4, before_ms=SHOWN, after_ms=SHOWN + 10, size_ms=60_000, shown=(SHOWN, SHOWN + 3_600_000)
)


@pytest.fixture
def stay(site: Site) -> Deployment:
    return make.DeploymentFactory(campaign__site=site)


@pytest.fixture
def meter(stay: Deployment) -> Instrument:
    return stay.instrument


def test_a_check_is_kept_and_told(meter: Instrument, stay: Deployment) -> None:
    with heard() as words:
        check = clock_checks.make(meter, at=make.START, shown_ms=SHOWN)
    assert (check.origin, words) == (ClockCheck.Origin.SEEN, [[stay.campaign_id]])
    assert {what for what, *_ in told(check)} == {"created"}
    with pytest.raises(ValidationError, match="There is already a clock check at this time"):
        clock_checks.make(meter, at=make.START, shown_ms=SHOWN + 1)


def test_what_a_person_changes_is_no_longer_what_bursts_gave(meter: Instrument) -> None:
    given = clock_checks.make(meter, at=make.START, shown_ms=SHOWN, origin=ClockCheck.Origin.BURSTS)
    assert clock_checks.change(given, note="by the door", at=make.START).origin == ClockCheck.Origin.BURSTS
    assert clock_checks.change(given, shown_ms=SHOWN + 1000).origin == ClockCheck.Origin.SEEN


def test_a_check_is_judged_as_a_whole(meter: Instrument) -> None:
    check = clock_checks.make(meter, at=make.START, shown_ms=SHOWN + 1000)
    with pytest.raises(ValidationError, match="leave the seconds out"):
        clock_checks.change(check, to_minute=True)
    assert clock_checks.change(check, to_minute=True, shown_ms=SHOWN).to_minute


def test_a_check_that_is_gone_stays_gone(meter: Instrument, stay: Deployment) -> None:
    check = clock_checks.make(meter, at=make.START, shown_ms=SHOWN)
    with heard() as words:
        clock_checks.remove(ClockCheck.objects.get())
    assert words == [[stay.campaign_id]]
    with pytest.raises(ValidationError, match=DELETED):
        clock_checks.change(check, at=make.START + timedelta(minutes=1))


@pytest.mark.parametrize(
    ("said", "answer", "by_ms"),
    [
        ({"answer": "right-after", "minutes": 10.0}, "right-after", 10 * MINUTE_MS),
        ({"answer": "right-before", "minutes": -0.5}, "right-before", -MINUTE_MS // 2),
        ({"answer": "not-set", "minutes": 10.0}, "not-set", None),
        ({}, "set", None),
    ],
)
def test_a_step_back_is_answered(meter: Instrument, said: dict[str, object], answer: str, by_ms: int | None) -> None:
    row = clock_resets.answer(meter, BACK, **said)  # type: ignore[arg-type]
    assert (row.kind, row.before_ms, row.after_ms) == ("backward", *BACK.place)
    assert (row.answer, row.by_ms, row.place_ms) == (answer, by_ms, None)


def test_a_step_back_needs_its_size(meter: Instrument) -> None:
    with pytest.raises(ValidationError, match="Say by how much the clock was put back"):
        clock_resets.answer(meter, BACK, answer="right-after")
    with pytest.raises(ValidationError):
        clock_resets.answer(meter, BACK, answer="perhaps", minutes=1.0)
    assert not ClockReset.objects.exists()


def test_a_jump_was_set_between_the_checks(meter: Instrument) -> None:
    for beyond in (JUMP.place[0] - 1, JUMP.place[1] + 1):
        with pytest.raises(ValidationError, match="lies between the two clock checks"):
            clock_resets.answer(meter, JUMP, last_shown_ms=beyond)
    row = clock_resets.answer(meter, JUMP, answer="not-set", minutes=3.0, last_shown_ms=JUMP.place[1])
    assert (row.answer, row.by_ms, row.place_ms) == ("set", None, JUMP.place[1])


def test_an_answer_is_given_once_and_can_be_withdrawn(meter: Instrument, stay: Deployment) -> None:
    row = clock_resets.answer(meter, BACK)
    with pytest.raises(ValidationError, match="This is answered already"):
        clock_resets.answer(meter, BACK)
    with heard() as words:
        clock_resets.withdraw(ClockReset.objects.get())
    assert words == [[stay.campaign_id]]
    assert told(row)[0][0] == "deleted"
