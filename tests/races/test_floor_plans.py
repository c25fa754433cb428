"""Two people save the drawing of one floor at the same moment: one of them is told. A list does not undo a form."""

from __future__ import annotations

from threading import Event
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from campaigns.models import Floor, FloorPlan, Organisation, Role, Room
from campaigns.services import room_lists
from campaigns.services.floor_plans import saving
from campaigns.services.floor_plans.images import locked
from campaigns.services.records import save_changed
from methods.floorplans.room_lists import read
from tests import factories as make
from tests.races.meeting import Meeting, at_once
from tests.worlds import member

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize("version", [0, 3])
def test_one_is_saved_and_the_other_is_told(monkeypatch: pytest.MonkeyPatch, version: int) -> None:
    """Also when neither of them finds a plan yet."""
    organisation: Organisation = make.OrganisationFactory.create()
    room: Room = make.RoomFactory.create(zone__floor__building__site__organisation=organisation)
    floor: Floor = room.zone.floor
    if version:
        FloorPlan.objects.create(floor=floor, version=version)
    people = [member(organisation, Role.CONSULTANT, f"{name}@fanlight.example") for name in ("ana", "bo")]
    clients = [Client() for _ in people]
    for client, person in zip(clients, people, strict=True):
        client.force_login(person)
    meeting = Meeting()
    monkeypatch.setattr(saving, "locked", meeting.before(locked))

    def save(client: Client, name: str) -> int:
        row = {"id": str(room.key), "name": name}
        url, content = reverse("floor-plan-save", args=[floor.key]), {"version": version, "rooms": [row]}
        return client.post(url, content, content_type="application/json").status_code

    answers = at_once(lambda: save(clients[0], "Ana’s"), lambda: save(clients[1], "Bo’s"))
    assert sorted(answers) == [200, 409]
    room.refresh_from_db()
    assert room.name == ("Ana’s", "Bo’s")[answers.index(200)]
    assert FloorPlan.objects.get().version == version + 1


def test_a_list_fills_a_room_whose_notes_are_changed_meanwhile(monkeypatch: pytest.MonkeyPatch) -> None:
    """The form is sent while the list has read the room and not kept it: it waits, and neither undoes the other."""
    room: Room = make.RoomFactory.create(zone__name="Offices", name="Ash", area_m2=None)
    looked, changed = Event(), Event()
    lay_out = room_lists._lay_out

    def slowly(*args: Any) -> None:
        lay_out(*args)
        looked.set()
        changed.wait(1)

    def form() -> None:
        looked.wait(10)
        save_changed(room, notes="carpet")
        changed.set()

    monkeypatch.setattr(room_lists, "_lay_out", slowly)
    at_once(lambda: room_lists.apply(room.zone.floor, read("room;zone;area\nAsh;Offices;20"), None), form)
    room.refresh_from_db()
    assert (room.area_m2, room.notes) == (20, "carpet")
