"""One organisation with one of everything, for asking of every address who gets what."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode

from campaigns import models as m
from tests import factories as make

World = dict[str, Any]


@pytest.fixture
def world(
    organisation: m.Organisation,
    site: m.Site,
    consultant: m.User,
    field_staff: m.User,
    client_person: m.User,
    stranger: m.User,
    token: m.ApiToken,
) -> World:
    """Names → rows. The cast is in it under the names of the columns of the table."""
    room = make.RoomFactory(zone__floor__building__site=site)
    point = make.PointFactory(room=room)
    campaign = make.CampaignFactory(site=site)
    deployment = make.DeploymentFactory(campaign=campaign, point=point)
    return {
        "anonymous": None,
        "stranger": stranger,
        "client": site.client,
        "client_person": client_person,
        "field_staff": field_staff,
        "consultant": consultant,
        "uid": urlsafe_base64_encode(force_bytes(consultant.pk)),
        "wrong_token": "not-a-token",
        **_places(site, room, point),
        "campaign": campaign,
        "deployment": deployment,
        **_instruments(deployment.instrument),
        "membership": field_staff.memberships.get(),
        "token": token,
        "job": m.Job.objects.create(kind="read-upload", subject_id=1, organisation=organisation, owner=consultant),
    }


def _places(site: m.Site, room: m.Room, point: m.SamplingPoint) -> World:
    zone = room.zone
    floor = zone.floor
    return {"site": site, "building": floor.building, "floor": floor, "zone": zone, "room": room, "point": point}


def _instruments(instrument: m.Instrument) -> World:
    channel = instrument.channels.get()
    return {
        "instrument": instrument,
        "instrument_type": instrument.type,
        "channel_spec": channel.spec,
        "calibration": m.Calibration.objects.create(channel=channel, date=date(2026, 1, 5), due=date(2027, 1, 5)),
        "field_check": m.FieldCheck.objects.create(channel=channel, kind="zero", at=make.START, observed=0.001),
        "clock_check": m.ClockCheck.objects.create(instrument=instrument, at=make.START, shown_ms=1_789_459_200_000),
    }
