"""What the drawing page reads and saves: all or nothing, and never over somebody else's work."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client

from campaigns import history
from campaigns.forms.places import RoomForm
from campaigns.models import Floor, FloorPlan, Room, SamplingPoint, Site, Zone
from campaigns.services.floor_plans.rows import Desk
from methods.floorplans import area_m2
from tests import factories as make
from tests.floor_plans.conftest import Send, corners, problems, state

UNSEEN = "There is a character that cannot be seen in this text (U+{}, character {}). Take it out."

pytestmark = pytest.mark.django_db


def before(monkeypatch: pytest.MonkeyPatch, owner: type, name: str, doing: Callable[[], object]) -> None:
    """``doing`` is done by somebody else just before this method goes on."""
    method = getattr(owner, name)

    def met(*args: Any) -> Any:
        doing()
        return method(*args)

    monkeypatch.setattr(owner, name, met)


def outdoor(floor: Floor) -> SamplingPoint:
    return SamplingPoint.objects.create(site=floor.building.site, name="Lawn", kind="outdoor")


def test_the_floor_as_data(owner: Client, floor: Floor, room: Room, point: SamplingPoint) -> None:
    outside = outdoor(floor)
    found = state(owner, floor)
    assert found["version"] == 0
    assert (found["image"], found["scale"]) == (None, None)
    assert found["rooms"] == [
        {
            "id": str(room.key),
            "name": "Office 1",
            "zone": str(room.zone.key),
            "outline": corners(0, 0, 4, 5),
            "area_m2": 20,
            "height_m": room.height_m,
        }
    ]
    assert {p["id"]: p["room"] for p in found["points"]} == {str(point.key): str(room.key), str(outside.key): None}


@pytest.mark.history
def test_a_room_and_its_point_are_drawn_in_one_go(send: Send, floor: Floor) -> None:
    answer = send(
        zones=[{"id": "z", "new": True, "name": "Corridor"}],
        rooms=[{"id": "r", "new": True, "name": "Hall", "zone": "z", "outline": corners(4, 0, 6, 3), "height_m": 2.7}],
        points=[
            {"id": "p", "new": True, "name": "P1", "kind": "room_air", "room": "r", "x_m": 5, "y_m": 1, "height_m": 1.1}
        ],
    )
    assert answer.status_code == 200, answer.content
    hall = Room.objects.get(name="Hall")
    assert (hall.zone.name, hall.zone.floor, hall.area_m2, hall.height_m) == ("Corridor", floor, 18, 2.7)
    assert answer.json()["given"] == {"z": str(hall.zone.key), "r": str(hall.key), "p": str(hall.points.get().key)}
    assert (hall.points.get().x_m, hall.points.get().height_m) == (5, 1.1)
    assert answer.json()["state"]["version"] == 1
    assert {change.who for change in history.of(hall)} == {"C. Lintel"}


def test_what_is_not_sent_stays(send: Send, room: Room) -> None:
    send(rooms=[{"id": str(room.key), "name": "Office 1a"}])
    room.refresh_from_db()
    assert (room.name, room.outline, room.area_m2) == ("Office 1a", corners(0, 0, 4, 5), 20)


class TestAreas:
    def test_an_area_that_came_from_the_drawing_follows_it(self, send: Send, room: Room) -> None:
        send(rooms=[{"id": str(room.key), "outline": corners(0, 0, 4, 6)}])
        room.refresh_from_db()
        assert room.area_m2 == 24

    def test_an_area_somebody_typed_stays_and_both_are_known(self, send: Send, room: Room) -> None:
        Room.objects.filter(pk=room.pk).update(area_m2=21.5)
        send(rooms=[{"id": str(room.key), "outline": corners(0, 0, 4, 6)}])
        room.refresh_from_db()
        assert (room.area_m2, area_m2(room.outline)) == (21.5, 24)

    def test_an_area_that_was_emptied_follows_what_is_drawn(self, send: Send, room: Room) -> None:
        """As when a room is divided."""
        send(rooms=[{"id": str(room.key), "outline": corners(0, 0, 3, 5), "area_m2": None}])
        room.refresh_from_db()
        assert room.area_m2 == 15

    def test_the_drawn_area_can_be_taken(self, send: Send, room: Room) -> None:
        send(rooms=[{"id": str(room.key), "outline": corners(0, 0, 4, 6), "area_m2": 24}])
        room.refresh_from_db()
        assert room.area_m2 == 24


class TestTwoPeople:
    def test_the_second_to_save_is_told_and_overwrites_nothing(
        self, send: Send, owner: Client, floor: Floor, room: Room
    ) -> None:
        read = state(owner, floor)["version"]
        assert send(version=read, rooms=[{"id": str(room.key), "name": "Mine"}]).status_code == 200
        answer = send(version=read, rooms=[{"id": str(room.key), "name": "Theirs"}])
        assert answer.status_code == 409
        assert "Somebody else has saved" in answer.json()["message"]
        assert answer.json()["state"]["rooms"][0]["name"] == "Mine"
        room.refresh_from_db()
        assert room.name == "Mine"

    def test_the_rest_can_be_saved_on_top(self, send: Send, owner: Client, floor: Floor, room: Room) -> None:
        read = state(owner, floor)["version"]
        send(version=read, rooms=[{"id": str(room.key), "name": "Mine"}])
        newer = send(version=read, rooms=[{"id": str(room.key), "height_m": 3}]).json()["state"]["version"]
        assert send(version=newer, rooms=[{"id": str(room.key), "height_m": 3}]).status_code == 200
        room.refresh_from_db()
        assert (room.name, room.height_m) == ("Mine", 3)

    def test_the_form_and_the_drawing_do_not_undo_each_other(
        self, monkeypatch: pytest.MonkeyPatch, send: Send, owner: Client, room: Room
    ) -> None:
        """Each is saved between the moment the other read the room and the one it keeps it."""
        before(monkeypatch, Desk, "room", lambda: Room.objects.filter(pk=room.pk).update(name="Ash", notes="carpet"))
        assert send(rooms=[{"id": str(room.key), "outline": corners(0, 0, 4, 6)}]).status_code == 200
        before(
            monkeypatch, RoomForm, "keep", lambda: Room.objects.filter(pk=room.pk).update(outline=corners(0, 0, 5, 5))
        )
        form = {"name": "Birch", "area_m2": 24, "height_m": "", "notes": "carpet"}
        assert owner.post(f"/rooms/{room.key}/edit/", form).status_code == 302
        room.refresh_from_db()
        assert (room.name, room.notes, room.outline) == ("Birch", "carpet", corners(0, 0, 5, 5))

    def test_a_room_deleted_meanwhile_does_not_come_back(
        self, monkeypatch: pytest.MonkeyPatch, send: Send, room: Room
    ) -> None:
        before(monkeypatch, Desk, "room", Room.objects.filter(pk=room.pk).delete)
        answer = send(rooms=[{"id": str(room.key), "name": "Ash"}])
        assert problems(answer) == [": This has been deleted meanwhile."]

    @pytest.mark.parametrize("version", [None, "1", 7, -1])
    def test_a_version_nobody_read_is_refused(self, send: Send, version: object) -> None:
        assert send(version=version).status_code == 409


class TestRefused:
    def test_everything_that_is_wrong_is_said_and_nothing_is_saved(self, send: Send, room: Room) -> None:
        answer = send(
            rooms=[
                {"id": str(room.key), "name": "Renamed"},
                {
                    "id": "a",
                    "new": True,
                    "name": "A",
                    "zone": str(room.zone.key),
                    "outline": [[0, 0], [2, 2], [2, 0], [0, 2]],
                },
                {"id": "b", "new": True, "name": "", "zone": str(room.zone.key)},
                {"id": "c", "new": True, "name": "C"},
            ],
            points=[
                {"id": "p", "new": True, "name": "P", "kind": "room_air", "room": str(room.key), "x_m": "1", "y_m": 2}
            ],
        )
        assert problems(answer) == [
            "outline: The outline crosses or touches itself.",
            "name: This field cannot be blank.",
            "zone: Choose a zone of this floor.",
            "x_m: This is not a number.",
        ]
        room.refresh_from_db()
        assert room.name == "Office 1"
        assert Room.objects.count() == 1

    @pytest.mark.parametrize(
        ("row", "said"),
        [
            ({"height_m": 10**400}, "height_m: This is not a number."),
            ({"height_m": float("inf")}, "height_m: This is not a number."),
            (
                {"outline": [[0, 0], [4, 0], [4, 10**400]]},
                "outline: Corner 3 is farther than 10,000 m from the origin.",
            ),
            ({"name": "\ud800"}, f"name: {UNSEEN.format('D800', 1)}"),
            ({"name": "Ash\0"}, f"name: {UNSEEN.format('0000', 4)}"),
        ],
    )
    def test_what_json_can_write_and_nobody_can_keep(
        self, send: Send, room: Room, row: dict[str, object], said: str
    ) -> None:
        assert problems(send(rooms=[{"id": str(room.key), **row}])) == [said]

    def test_a_name_that_is_taken(self, send: Send, room: Room) -> None:
        answer = send(rooms=[{"id": "n", "new": True, "name": "Office 1", "zone": str(room.zone.key)}])
        assert problems(answer) == [": This zone already has a room of this name."]

    def test_a_room_with_points_stays(self, send: Send, room: Room, point: SamplingPoint) -> None:
        answer = send(removed={"rooms": [str(room.key)]})
        assert "stays. 1 sampling point hangs on it" in problems(answer)[0]
        assert Room.objects.filter(pk=room.pk).exists()

    def test_a_room_goes_with_its_points_and_its_name_is_free(
        self, send: Send, room: Room, point: SamplingPoint
    ) -> None:
        answer = send(
            removed={"rooms": [str(room.key)], "points": [str(point.key)]},
            rooms=[{"id": "n", "new": True, "name": "Office 1", "zone": str(room.zone.key)}],
        )
        assert answer.status_code == 200
        assert not Room.objects.filter(pk=room.pk).exists()

    def test_a_point_that_was_measured_stays(self, send: Send, point: SamplingPoint) -> None:
        make.DeploymentFactory(campaign__site=point.site, point=point)
        answer = send(removed={"points": [str(point.key)]})
        assert "deployment hangs on it" in problems(answer)[0]

    def test_rows_of_other_floors_are_not_reached(self, send: Send, room: Room, site: Site) -> None:
        """Not even of the same house."""
        elsewhere = make.RoomFactory(zone__floor__building__site=site)
        answer = send(
            rooms=[{"id": str(elsewhere.key), "name": "x"}, {"id": str(room.key), "zone": str(elsewhere.zone.key)}],
            removed={"rooms": [str(elsewhere.key)]},
        )
        assert len(problems(answer)) == 2
        assert Room.objects.filter(pk=elsewhere.pk, name=elsewhere.name).exists()

    @pytest.mark.parametrize("content", ["[]", "nonsense", "", '{"version": ', "[" * 100_000])
    def test_what_is_no_object_is_refused(self, owner: Client, floor: Floor, content: str) -> None:
        answer = owner.post(f"/floors/{floor.key}/plan/save/", content, content_type="application/json")
        assert answer.status_code == 400

    @pytest.mark.parametrize(
        "content", [{"rooms": "x"}, {"rooms": [{"name": "x"}]}, {"points": [7]}, {"zones": {}}, {"scale": []}]
    )
    def test_rows_that_are_no_rows_are_refused(self, send: Send, content: dict[str, object]) -> None:
        assert problems(send(**content))


class TestPointsOnAFloor:
    def test_a_point_is_put_on_the_plan_and_taken_off(self, send: Send, point: SamplingPoint) -> None:
        send(points=[{"id": str(point.key), "x_m": 1.23456, "y_m": 2}])
        point.refresh_from_db()
        assert (point.x_m, point.y_m, point.beside) == (1.2346, 2, None)
        send(points=[{"id": str(point.key), "x_m": None, "y_m": None}])
        point.refresh_from_db()
        assert point.x_m is None

    def test_an_outdoor_point_names_the_floor_it_is_drawn_beside(self, send: Send, floor: Floor) -> None:
        point = outdoor(floor)
        assert send(points=[{"id": str(point.key), "x_m": -3, "y_m": 2}]).status_code == 200
        point.refresh_from_db()
        assert (point.beside, point.x_m) == (floor, -3)

    def test_a_point_does_not_change_its_room_by_being_moved(
        self, send: Send, point: SamplingPoint, room: Room
    ) -> None:
        """Readings found their room by it: another room is another point."""
        other = make.RoomFactory(zone=room.zone)
        send(points=[{"id": str(point.key), "room": str(other.key), "x_m": 9, "y_m": 9}])
        point.refresh_from_db()
        assert point.room == room

    def test_a_point_in_a_room_does_not_become_an_outdoor_one(self, send: Send, point: SamplingPoint) -> None:
        assert problems(send(points=[{"id": str(point.key), "kind": "outdoor"}]))


class TestZone:
    def test_a_room_goes_to_another_zone(self, send: Send, room: Room) -> None:
        other = Zone.objects.create(floor=room.zone.floor, name="Stores")
        send(rooms=[{"id": str(room.key), "zone": str(other.key)}])
        room.refresh_from_db()
        assert room.zone == other

    def test_a_zone_may_have_an_outline_of_its_own(self, send: Send, room: Room) -> None:
        send(zones=[{"id": str(room.zone.key), "outline": corners(0, 0, 9, 9)}])
        room.zone.refresh_from_db()
        assert room.zone.outline == corners(0, 0, 9, 9)


class TestSplitRooms:
    def test_a_room_in_two(self, send: Send) -> None:
        answer = send(route="floor-plan-split", outline=corners(0, 0, 4, 5), first=[1, -1], second=[1, 9])
        assert [area_m2(part) for part in answer.json()["parts"]] == pytest.approx([15, 5])

    @pytest.mark.parametrize(
        "content",
        [
            {},
            {"outline": 3, "first": [0, 0], "second": [1, 1]},
            {"outline": corners(0, 0, 4, 5), "first": [9, 0], "second": [9, 9]},
            {"outline": corners(0, 0, 4, 5), "first": [10**400, 0], "second": [9, 9]},
        ],
    )
    def test_what_cannot_be_split_is_said(self, send: Send, content: dict[str, object]) -> None:
        answer = send(route="floor-plan-split", **content)
        assert answer.status_code == 422
        assert answer.json()["message"]


def test_the_scale_needs_an_image(send: Send) -> None:
    scale = {"x1": 0, "y1": 0, "x2": 100, "y2": 0, "length_m": 5}
    assert problems(send(scale=scale)) == ["scale: There is no plan image to scale."]


def test_a_plan_is_made_with_the_first_save(send: Send, floor: Floor) -> None:
    send()
    assert FloorPlan.objects.get().floor == floor
