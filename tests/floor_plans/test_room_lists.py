"""Rooms of a floor from a list: looked at first, then all of it or nothing."""

from __future__ import annotations

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from campaigns.models import Floor, FloorPlan, Room, Zone
from methods.floorplans import overlaps
from methods.floorplans.room_lists import decoded, read
from tests.campaigns.pages import text

LIST = "Room;Zone;Area (m²);Height\n1.01;North;12,5;2,7\n1.02;North;;\n2.01;South;30 m²;3"


class TestReading:
    """Common practice, no source: how spreadsheets write lists."""

    def test_a_list_with_decimal_commas(self) -> None:
        found = read(LIST)
        assert [(r.line, r.name, r.zone, r.area_m2, r.height_m) for r in found.rooms] == [
            (2, "1.01", "North", 12.5, 2.7),
            (3, "1.02", "North", None, None),
            (4, "2.01", "South", 30, 3),
        ]
        assert (found.delimiter, found.problems) == (";", [])

    @pytest.mark.parametrize("sign", [",", "\t", "|", ";"])
    def test_whatever_the_delimiter(self, sign: str) -> None:
        text = sign.join(("room", "width", "length")) + "\n" + sign.join(("A", "2.5", '"4"'))
        assert [(r.name, r.width_m, r.length_m) for r in read(text).rooms] == [("A", 2.5, 4)]

    def test_quoted_decimal_commas_between_commas(self) -> None:
        assert read('room,area\n"Hall, east","12,5"').rooms[0].area_m2 == 12.5

    @pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
    def test_whatever_the_encoding(self, encoding: str) -> None:
        assert read(decoded("room;zone\nKüche;Süd".encode(encoding))).rooms[0].name == "Küche"

    def test_a_file_that_is_no_text(self) -> None:
        with pytest.raises(ValueError, match="not a text file"):
            decoded(b"PK\x03\x04\x00\x00")

    def test_outlines_as_corners_and_as_simple_features(self) -> None:
        """OGC simple features write the first corner again at the end."""
        found = read('room;outline\nA;0 0, 4 0, 4 3, 0 3\nB;"POLYGON ((0 0, 4 0, 4 3, 0 3, 0 0))"')
        assert [room.outline for room in found.rooms] == [[(0, 0), (4, 0), (4, 3), (0, 3)]] * 2

    def test_x_and_y_put_a_rectangle(self) -> None:
        assert read("room;x;y;width;length\nA;-1;2;3;4").rooms[0].outline == [(-1, 2), (2, 2), (2, 6), (-1, 6)]

    @pytest.mark.parametrize(
        ("line", "column", "said"),
        [
            ("A;;x;;;;;", "area", "“x” is not a number."),
            ("A;;1.234,5;;;;;", "area", "not a number"),
            ("A;;-3;;;;;", "area", "not a length or an area"),
            ("A;;;;3;;;", "length", "come together"),
            (";;5;;;;;", "name", "no name"),
            ("A;;;;;;1;", "y", "come together"),
            ("A;;;;;;1;2", "x", "width and length"),
            ("=1+2;;5;;;;;", "name", "begins like a formula"),
            ("@SUM(A1);;5;;;;;", "name", "begins like a formula"),
            ("A;+1;5;;;;;", "zone", "begins like a formula"),
        ],
    )
    def test_what_is_wrong_is_said_at_its_line(self, line: str, column: str, said: str) -> None:
        found = read(f"room;zone;area;height;width;length;x;y\nok;;1;;;;;\n{line}")
        assert [(p.line, p.column) for p in found.problems] == [(3, column)]
        assert said in found.problems[0].message
        assert [room.name for room in found.rooms] == ["ok"]

    @pytest.mark.parametrize("cell", ["0 0, 2 2, 2 0, 0 2", "0 0, 1 1", "0;0", "0 0, a b, 1 1"])
    def test_outlines_that_are_none(self, cell: str) -> None:
        assert read(f"room|outline\nA|{cell}").problems[0].column == "outline"

    def test_the_same_room_twice(self) -> None:
        assert read("room;zone\nA;N\nA;S\na;n").problems[0].message == "“a” is already on line 2."

    @pytest.mark.parametrize("text", ["", "   \n", "name of nothing;x\n1;2", "room;room\nA;B", "room;area"])
    def test_no_list_at_all(self, text: str) -> None:
        assert read(text).problems

    def test_too_many_rooms(self) -> None:
        found = read("room\n" + "\n".join(f"r{n}" for n in range(1200)))
        assert (len(found.rooms), found.problems[-1].message) == (1000, "At most 1000 rooms can be added at once.")


@pytest.mark.django_db
class TestPage:
    def send(self, browser: Client, floor: Floor, lines: str, button: str, **more: Any) -> Any:
        return browser.post(reverse("rooms-import", args=[floor.key]), {"text": lines, button: "1", **more})

    def test_looking_adds_nothing(self, owner: Client, floor: Floor) -> None:
        answer = self.send(owner, floor, LIST, "look")
        assert answer.status_code == 200
        assert "This is what would be added" in text(answer)
        assert "New zones: North, South." in text(answer)
        assert (Room.objects.count(), Zone.objects.count()) == (1, 1)

    def test_adding_adds_zones_and_rooms(self, owner: Client, floor: Floor) -> None:
        assert self.send(owner, floor, LIST, "add").status_code == 302
        added = Room.objects.filter(zone__floor=floor).exclude(name="Office 1")
        assert sorted(added.values_list("zone__name", "name", "area_m2", "height_m")) == [
            ("North", "1.01", 12.5, 2.7), ("North", "1.02", None, None), ("South", "2.01", 30, 3)
        ]  # fmt: skip
        assert FloorPlan.objects.get().version == 1

    def test_a_file_comes_back_as_lines_to_mend(self, owner: Client, floor: Floor) -> None:
        file = SimpleUploadedFile("rooms.csv", "room;area\nKüche;x".encode("cp1252"))
        answer = owner.post(reverse("rooms-import", args=[floor.key]), {"file": file, "look": "1"})
        assert answer.status_code == 422
        assert "Line 2, area: “x” is not a number." in text(answer)
        assert answer.context["form"]["text"].value() == "room;area\nKüche;x"

    def test_one_wrong_line_and_nothing_is_added(self, owner: Client, floor: Floor) -> None:
        assert self.send(owner, floor, LIST + "\nX;North;none", "add").status_code == 422
        assert Room.objects.count() == 1

    def test_rooms_without_zone_go_where_it_is_said(self, owner: Client, floor: Floor, room: Room) -> None:
        lines = "room\nNew"
        assert "choose one for such rooms" in text(self.send(owner, floor, lines, "add"))
        self.send(owner, floor, lines, "add", zone=room.zone.pk)
        assert Room.objects.get(name="New").zone == room.zone

    def test_zones_of_others_are_not_taken(self, owner: Client, floor: Floor) -> None:
        from tests import factories as make

        elsewhere = make.ZoneFactory()
        assert self.send(owner, floor, "room\nNew", "add", zone=elsewhere.pk).status_code == 422
        assert not Room.objects.filter(name="New").exists()

    def test_a_room_that_is_there_keeps_what_it_has(self, owner: Client, floor: Floor, room: Room) -> None:
        Room.objects.filter(pk=room.pk).update(height_m=None)
        lines = "room;zone;area;height;outline\nOffice 1;Offices;99;2.5;0 0, 9 0, 9 9"
        assert "there already; empty fields filled" in text(self.send(owner, floor, lines, "look"))
        self.send(owner, floor, lines, "add")
        before = room.outline
        room.refresh_from_db()
        assert (room.area_m2, room.height_m, room.outline) == (20, 2.5, before)

    def test_sizes_become_rectangles_below_what_is_drawn(self, owner: Client, floor: Floor) -> None:
        self.send(owner, floor, "room;zone;width;length\nA;Offices;3;4\nB;Offices;28;2\nC;Offices;5;5", "add")
        rooms = Room.objects.filter(zone__floor=floor)
        assert {room.name: room.area_m2 for room in rooms} == {"Office 1": 20, "A": 12, "B": 56, "C": 25}
        assert overlaps({room.name: room.outline for room in rooms}, least_m2=0) == []
        assert min(y for room in rooms.exclude(name="Office 1") for _, y in room.outline) == 6  # 5 m deep, 1 m free

    def test_overlapping_rooms_are_said(self, owner: Client, floor: Floor) -> None:
        answer = self.send(owner, floor, "room;zone;x;y;width;length\nA;Offices;3;0;3;4", "look")
        assert "Office 1 and A overlap by 4.0 m²." in text(answer)
