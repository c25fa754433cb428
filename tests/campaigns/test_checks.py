"""Calibrations, field checks and clock checks."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest
from django.test import Client

from campaigns.models import Calibration, ClockCheck, FieldCheck, Instrument, Site, User
from campaigns.services import field_checks
from tests import factories as make
from tests.campaigns.pages import Browse, errors, get, post, text

CLOCK = {"zone": "Europe/Lisbon", "at": "2026-09-15T09:00:00", "shown": "2026-09-15 07:58:57"}


@pytest.fixture
def owner(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


@pytest.fixture
def instrument(site: Site) -> Instrument:
    return make.InstrumentFactory(organisation=site.organisation, name="meter A")


def calibration(instrument: Instrument, **change: Any) -> dict[str, Any]:
    channel = instrument.channels.get().pk
    return {"channel": channel, "date": "2026-01-05", "due": "2027-01-05", "slope": "1", "intercept": "0"} | change


def zero(instrument: Instrument, **change: Any) -> dict[str, Any]:
    base = {"zone": "Europe/Lisbon", "at": "2026-09-15T09:00", "kind": "zero", "reference": "0", "observed": "0.002"}
    return base | {"channel": instrument.channels.get().pk} | change


def test_a_calibration_is_entered(owner: Client, instrument: Instrument) -> None:
    post(owner, "calibration-add", instrument, **calibration(instrument, slope="1.02", certificate="K-1"))
    found = Calibration.objects.get()
    assert (found.slope, found.certificate, found.channel.instrument) == (1.02, "K-1", instrument)
    assert "K-1" in text(get(owner, "instrument", instrument))


@pytest.mark.parametrize(
    ("change", "field", "message"),
    [
        ({"due": "2026-01-05"}, "due", "The due date follows the calibration date."),
        ({"slope": "0"}, "slope", "The slope is above zero."),
    ],
)
def test_what_is_wrong_with_a_calibration(
    owner: Client, instrument: Instrument, change: dict[str, str], field: str, message: str
) -> None:
    data = calibration(instrument, **change)
    assert errors(post(owner, "calibration-add", instrument, **data)) == {field: [message]}


def test_one_calibration_a_day(owner: Client, instrument: Instrument) -> None:
    post(owner, "calibration-add", instrument, **calibration(instrument))
    told = errors(post(owner, "calibration-add", instrument, **calibration(instrument)))
    assert told == {"date": ["This channel already has a calibration of this date."]}


def test_a_channel_of_another_instrument_is_not_taken(owner: Client, instrument: Instrument) -> None:
    other = make.InstrumentFactory(organisation=instrument.organisation)
    theirs = make.InstrumentFactory()
    for foreign in (other, theirs):
        data = calibration(instrument, channel=foreign.channels.get().pk)
        assert list(errors(post(owner, "calibration-add", instrument, **data))) == ["channel"]
    assert not Calibration.objects.exists()


def test_field_staff_enter_checks_only(browse: Browse, field_staff: User, instrument: Instrument) -> None:
    field = browse(field_staff)
    assert post(field, "field-check-add", instrument, **zero(instrument)).status_code == 302
    assert post(field, "clock-check-add", instrument, **CLOCK).status_code == 302
    assert post(field, "calibration-add", instrument, **calibration(instrument)).status_code == 404
    assert (FieldCheck.objects.count(), ClockCheck.objects.count(), Calibration.objects.count()) == (1, 1, 0)


def test_the_true_time_is_on_the_chosen_clock(owner: Client, instrument: Instrument) -> None:
    # Lisbon is an hour ahead of UTC in summer (IANA time zone database).
    post(owner, "field-check-add", instrument, **zero(instrument))
    assert FieldCheck.objects.get().at == datetime(2026, 9, 15, 8, 0, tzinfo=UTC)
    post(owner, "field-check-add", instrument, **zero(instrument, zone="UTC", kind="span", reference="1"))
    assert FieldCheck.objects.get(kind="span").at == datetime(2026, 9, 15, 9, 0, tzinfo=UTC)


def test_a_clock_of_no_site_of_theirs_is_not_offered(owner: Client, instrument: Instrument) -> None:
    make.SiteFactory(time_zone="Asia/Tokyo")
    assert list(errors(post(owner, "field-check-add", instrument, **zero(instrument, zone="Asia/Tokyo")))) == ["zone"]


def test_a_span_check_needs_a_reference(owner: Client, instrument: Instrument) -> None:
    told = errors(post(owner, "field-check-add", instrument, **zero(instrument, kind="span")))
    assert list(told.values()) == [["A span check has a reference above zero."]]


def test_the_same_field_check_twice(owner: Client, instrument: Instrument) -> None:
    post(owner, "field-check-add", instrument, **zero(instrument))
    told = errors(post(owner, "field-check-add", instrument, **zero(instrument)))
    assert told == {"at": ["This check is already entered."]}


def test_a_clock_check_keeps_what_was_shown_unconverted(owner: Client, instrument: Instrument) -> None:
    post(owner, "clock-check-add", instrument, **CLOCK)
    check = ClockCheck.objects.get()
    shown = datetime(2026, 9, 15, 7, 58, 57, tzinfo=UTC)  # POSIX seconds of the wall clock read as UTC
    assert check.shown_ms == shown.timestamp() * 1000
    assert check.at == datetime(2026, 9, 15, 8, 0, tzinfo=UTC)
    # 09:00:00 − 07:58:57 = 1 h 1 min 3 s
    assert "61 min 3 s behind" in text(get(owner, "instrument", instrument))


UNREADABLE = ["15.09.2026 08:00", "2026-09-15", "soon", "2026-13-01 00:00:00", "1969-12-31 23:59:59"]


@pytest.mark.parametrize("shown", UNREADABLE)
def test_a_shown_time_that_cannot_be_read(owner: Client, instrument: Instrument, shown: str) -> None:
    told = errors(post(owner, "clock-check-add", instrument, **(CLOCK | {"shown": shown})))
    assert told == {"shown": ["Write it as YYYY-MM-DD hh:mm:ss, for example 2026-09-15 08:00:00."]}


def test_a_clock_check_once_a_moment(owner: Client, instrument: Instrument) -> None:
    post(owner, "clock-check-add", instrument, **CLOCK)
    told = errors(post(owner, "clock-check-add", instrument, **CLOCK))
    assert told == {"at": ["There is already a clock check at this time."]}


def test_a_clock_check_is_changed(owner: Client, instrument: Instrument) -> None:
    check = ClockCheck.objects.create(instrument=instrument, at=make.START, shown_ms=1_500)
    form = get(owner, "clock-check-edit", check).context["form"]
    assert (form["shown"].value(), form["at"].value().isoformat()) == ("1970-01-01 00:00:01.500", "2026-09-15T09:00:00")
    post(owner, "clock-check-edit", check, **(CLOCK | {"shown": "1970-01-01 00:00:02"}))
    check.refresh_from_db()
    assert check.shown_ms == 2_000


def test_the_zone_starts_where_the_instrument_stood_last(owner: Client, instrument: Instrument) -> None:
    abroad = make.SiteFactory(organisation=instrument.organisation, time_zone="Europe/Athens")
    make.DeploymentFactory(instrument=instrument, campaign__site=abroad)
    assert get(owner, "clock-check-add", instrument).context["form"]["zone"].value() == "Europe/Athens"


def a_zero(instrument: Instrument) -> FieldCheck:
    return FieldCheck.objects.create(
        channel=instrument.channels.get(), kind="zero", at=datetime(2026, 9, 15, 8, 0, tzinfo=UTC), observed=0.03
    )


def test_a_failed_check_is_accepted_with_a_reason(browse: Browse, field_staff: User, instrument: Instrument) -> None:
    check, field = a_zero(instrument), browse(field_staff)
    assert post(field, "field-check-accept", check, accepted_reason="Zero air bag was empty").status_code == 302
    check.refresh_from_db()
    assert (check.accepted_by, check.accepted_reason, check.is_accepted) == (
        field_staff,
        "Zero air bag was empty",
        True,
    )
    assert "Zero air bag was empty" in text(get(field, "instrument", instrument))
    assert post(field, "field-check-accept", check, accepted_reason="  ").status_code == 302
    check.refresh_from_db()
    assert (check.accepted_by, check.accepted_reason, check.is_accepted) == (None, "", False)


@pytest.mark.parametrize(("changes", "stays"), [({"notes": "after lunch"}, True), ({"observed": "0.04"}, False)])
def test_what_was_accepted_is_what_the_check_showed(
    owner: Client, instrument: Instrument, consultant: User, changes: dict[str, str], stays: bool
) -> None:
    check = field_checks.accept(a_zero(instrument), "seen", consultant)
    data = zero(instrument, at="2026-09-15T09:00", observed="0.03") | changes
    assert post(owner, "field-check-edit", check, **data).status_code == 302
    check.refresh_from_db()
    assert check.is_accepted is stays
