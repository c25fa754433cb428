from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.test import Client

from campaigns.models import Calibration, Channel, ChannelSpec, Instrument, InstrumentType, Organisation, User
from methods.quantities.stamp_convention import StampConvention
from tests import factories as make
from tests.campaigns.pages import Browse, errors, get, post, text

CHANNEL = {
    "parameter": "formaldehyde",
    "unit": "ppm",
    "resolution": "0.001",
    "range_low": "0",
    "range_high": "5",
    "t90_s": "30",
}


@pytest.fixture
def owner(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


@pytest.fixture
def kind(organisation: Organisation) -> InstrumentType:
    return make.InstrumentTypeFactory(organisation=organisation, name="pumped meter")


@pytest.fixture
def instrument(kind: InstrumentType) -> Instrument:
    return make.InstrumentFactory(organisation=kind.organisation, type=kind, name="meter A", serial="FL-1")


def test_a_type_with_a_channel_makes_instruments_with_that_channel(owner: Client, organisation: Organisation) -> None:
    post(owner, "instrument-type-add", name="pumped meter", warm_up_s="60", represents="end")
    kind = InstrumentType.objects.get()
    post(owner, "channel-add", kind, **CHANNEL)
    post(owner, "instrument-add", type=kind.pk, name="meter A", serial="FL-1", clock_basis="site", clock_offset_min="0")
    channel = Channel.objects.get()
    assert (channel.instrument.name, channel.spec.resolution) == ("meter A", 0.001)
    assert channel.instrument.organisation == organisation
    assert InstrumentType.objects.get().represents == StampConvention.END


def test_a_channel_added_later_reaches_the_instruments_there_are(owner: Client, instrument: Instrument) -> None:
    post(owner, "channel-add", instrument.type, **(CHANNEL | {"parameter": "temperature", "unit": "°C"}))
    assert {c.spec.parameter for c in instrument.channels.all()} == {"formaldehyde", "temperature"}


@pytest.mark.parametrize(
    ("change", "field", "message"),
    [
        ({"unit": "%RH"}, "unit", "Formaldehyde is measured in ppm or ppb or mg/m³ or µg/m³."),
        ({"range_high": "0"}, "range_high", "The range ends above where it starts."),
        ({"resolution": "0"}, "resolution", "The resolution is above zero."),
    ],
)
def test_what_is_wrong_with_a_channel(
    owner: Client, kind: InstrumentType, change: dict[str, str], field: str, message: str
) -> None:
    assert errors(post(owner, "channel-add", kind, **(CHANNEL | change))) == {field: [message]}


def test_the_same_channel_twice(owner: Client, instrument: Instrument) -> None:
    told = errors(post(owner, "channel-add", instrument.type, **CHANNEL))
    assert set(told) == {"probe"}
    assert "Where it has several probes, name them." in told["probe"][0]
    assert post(owner, "channel-add", instrument.type, **CHANNEL, probe="left").status_code == 302


def test_a_long_form_shows_every_field(owner: Client, kind: InstrumentType) -> None:
    form = get(owner, "channel-add", kind).context["form"]
    assert {field.name for group in form.groups for field in group["fields"]} == set(form.fields)


def test_the_range_of_temperature_is_ordered(owner: Client, organisation: Organisation) -> None:
    data = {"name": "x", "warm_up_s": "60", "represents": "spot", "temperature_low_c": "40", "temperature_high_c": "5"}
    told = errors(post(owner, "instrument-type-add", **data))
    assert told == {"temperature_high_c": ["The highest temperature is above the lowest."]}


def test_a_type_of_another_organisation_is_neither_offered_nor_taken(owner: Client, kind: InstrumentType) -> None:
    theirs = make.InstrumentTypeFactory(name="their type")
    assert "their type" not in text(get(owner, "instrument-add"))
    data = {"type": theirs.pk, "name": "a", "serial": "b", "clock_basis": "site", "clock_offset_min": "0"}
    assert list(errors(post(owner, "instrument-add", **data))) == ["type"]


@pytest.mark.parametrize(
    ("change", "field", "message"),
    [
        ({"serial": "FL-1"}, "serial", "There is already an instrument with this serial number."),
        ({"clock_offset_min": "2000", "clock_basis": "fixed"}, "clock_offset_min", "The clock offset is within a day."),
        ({"clock_offset_min": "60"}, "clock_offset_min", "Only a clock with a fixed offset has one. Leave it at 0."),
    ],
)
def test_what_is_wrong_with_an_instrument(
    owner: Client, instrument: Instrument, change: dict[str, Any], field: str, message: str
) -> None:
    data = {"type": instrument.type.pk, "name": "b", "serial": "b", "clock_basis": "site", "clock_offset_min": "0"}
    assert errors(post(owner, "instrument-add", **(data | change))) == {field: [message]}


def test_an_instrument_keeps_its_type(owner: Client, instrument: Instrument) -> None:
    other = make.InstrumentTypeFactory(organisation=instrument.organisation)
    data = {"type": other.pk, "name": "meter B", "serial": "FL-1", "clock_basis": "utc", "clock_offset_min": "0"}
    post(owner, "instrument-edit", instrument, **data)
    instrument.refresh_from_db()
    assert (instrument.name, instrument.type) == ("meter B", ChannelSpec.objects.get().instrument_type)


def test_the_page_warns_of_what_is_overdue(owner: Client, instrument: Instrument) -> None:
    assert "Formaldehyde in ppm: no calibration is entered." in text(get(owner, "instrument", instrument))
    channel = instrument.channels.get()
    Calibration.objects.create(channel=channel, date=date(2020, 1, 5), due=date(2021, 1, 5))
    assert "calibration overdue since 2021-01-05" in text(get(owner, "instrument", instrument))
    Calibration.objects.create(channel=channel, date=date(2021, 1, 5), due=date(2121, 1, 5))
    assert "overdue" not in text(get(owner, "instrument", instrument))


def test_the_list_warns_too(owner: Client, instrument: Instrument) -> None:
    assert "Formaldehyde in ppm: no calibration is entered." in text(get(owner, "instruments"))


def test_a_channel_that_holds_nothing_can_be_deleted(owner: Client, instrument: Instrument) -> None:
    spec = instrument.type.channel_specs.get()
    page = text(get(owner, "channel-delete", spec))
    assert "Delete Channel “Formaldehyde in ppm”?" in page
    assert post(owner, "channel-delete", spec).status_code == 302
    assert not Channel.objects.exists()


def test_a_calibrated_channel_stays(owner: Client, instrument: Instrument) -> None:
    channel = instrument.channels.get()
    Calibration.objects.create(channel=channel, date=date(2026, 1, 5), due=date(2027, 1, 5))
    answer = post(owner, "channel-delete", channel.spec)
    assert answer.status_code == 409
    assert "1 calibration hangs on it: meter A: Formaldehyde in ppm, calibrated 2026-01-05." in text(answer)
    assert Channel.objects.exists()


def test_the_first_instrument_needs_a_type_first(owner: Client, organisation: Organisation) -> None:
    assert [a["label"] for a in get(owner, "instruments").context["empty_actions"]] == ["Add instrument type"]
    make.InstrumentTypeFactory(organisation=organisation)
    assert [a["label"] for a in get(owner, "instruments").context["empty_actions"]] == ["Add instrument"]


def test_the_type_is_chosen_by_its_key(owner: Client, kind: InstrumentType) -> None:
    form = get(owner, "instrument-add", None, f"?type={kind.key}").context["form"]
    assert form["type"].value() == kind.pk
    theirs = make.InstrumentTypeFactory()
    assert get(owner, "instrument-add", None, f"?type={theirs.key}").context["form"]["type"].value() is None
