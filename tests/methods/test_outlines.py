"""Outlines against areas worked out by hand and against what geometry promises.

Checked against: rectangles and an L counted in squares by hand; the shoelace formula, written out here; conservation
of area under a cut (geometry); shapely for nothing, since the module under test stands on it.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st
from shapely import Point, Polygon

from methods import floorplans as o

#: 6 × 4 m with a bite of 2 × 1 m out of its lower right corner: 24 − 2 = 22 m².
ELL = [(0, 0), (6, 0), (6, 3), (4, 3), (4, 4), (0, 4)]
SQUARE = [(0, 0), (2, 0), (2, 2), (0, 2)]


def shoelace(outline: list[tuple[float, float]]) -> float:
    pairs = zip(outline, [*outline[1:], outline[0]], strict=True)
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)) / 2


class TestOutlineShape:
    @pytest.mark.parametrize(
        ("outline", "area"),
        [(SQUARE, 4), (ELL, 22), ([(0, 0), (3, 0), (0, 4)], 6), (ELL[::-1], 22), ([*ELL, ELL[0]], 22)],
    )
    def test_area_as_counted_by_hand(self, outline: list[tuple[float, float]], area: float) -> None:
        assert o.area_m2(outline) == pytest.approx(area)

    @pytest.mark.parametrize(
        ("outline", "said"),
        [
            ("0,0", "list of corners"),
            ([(0, 0), (1, 1)], "three different"),
            ([(0, 0), (2, 2), (2, 0), (0, 2)], "crosses"),
            ([(0, 0), (4, 0), (4, 4), (2, 0), (0, 4)], "touches itself"),
            ([(0, 0), (0.05, 0), (0.05, 0.05)], "less than"),
            ([(0, 0), (math.nan, 0), (1, 1)], "Corner 2"),
            ([(0, 0), (1, True), (1, 1)], "Corner 2 is not a pair"),
            ([(0, 0), (12_000, 0), (1, 1)], "Corner 2 is farther"),
            ([(0, 0), (1, 0, 5), (1, 1)], "Corner 2"),
            ([(i, i * i) for i in range(201)], "at most 200"),
        ],
    )
    def test_what_is_no_outline_is_said(self, outline: object, said: str) -> None:
        assert said in " ".join(o.faults(outline))
        with pytest.raises(o.OutlineError):
            o.area_m2(outline)  # type: ignore[arg-type]

    def test_a_label_stands_where_the_room_is_widest(self) -> None:
        """A dumb-bell has its centre of gravity in the corridor; the name belongs in the larger end."""
        dumb_bell = [
            (0, 0), (4, 0), (4, 1.8), (9, 1.8), (9, 0), (12, 0), (12, 4), (9, 4), (9, 2.2), (4, 2.2), (4, 4), (0, 4),
        ]  # fmt: skip
        x, y = o.label_of(o.polygon(dumb_bell))
        assert [x, y] == pytest.approx([2, 2], abs=0.2)

    def test_rooms_on_the_same_ground_are_found_and_common_walls_are_not(self) -> None:
        found = o.overlaps(
            {"a": SQUARE, "b": [(2, 0), (4, 0), (4, 2), (2, 2)], "c": [(1, 1), (3, 1), (3, 3), (1, 3)], "d": [(0, 0)]}
        )
        assert [pair[:2] for pair in found] == [("a", "c"), ("b", "c")]
        assert [area for _, _, area in found] == pytest.approx([1, 1])


class TestUnion:
    def test_rooms_with_a_common_wall_are_one_piece(self) -> None:
        (ring,) = o.union([SQUARE, [(2, 0), (4, 0), (4, 2), (2, 2)]])
        assert ring.area_m2 == pytest.approx(8)
        assert len(ring.outer) == 4

    def test_a_hair_between_walls_closes_and_a_corridor_does_not(self) -> None:
        assert len(o.union([SQUARE, [(2.015, 0), (4, 0), (4, 2), (2.015, 2)]])) == 1
        assert [ring.area_m2 for ring in o.union([SQUARE, [(3, 0), (6, 0), (6, 2), (3, 2)]])] == pytest.approx([6, 4])

    def test_a_courtyard_stays_open(self) -> None:
        around = [o.rectangle(0, 0, 6, 1), o.rectangle(0, 5, 6, 1), o.rectangle(0, 1, 1, 4), o.rectangle(5, 1, 1, 4)]
        (ring,) = o.union(around)
        assert ring.area_m2 == pytest.approx(36 - 16)
        assert len(ring.holes) == 1
        assert o.svg_path([ring]).count("M") == 2


class TestSplitOutline:
    def test_an_ell_is_cut_where_it_was_drawn(self) -> None:
        large, small = o.split(ELL, (3, -1), (3, 5))
        assert [o.area_m2(large), o.area_m2(small)] == pytest.approx([12, 10])

    def test_a_line_that_does_not_reach_the_walls_is_lengthened(self) -> None:
        assert sorted(map(o.area_m2, o.split(SQUARE, (0.5, 0.5), (0.5, 1.0)))) == pytest.approx([1, 3])

    def test_a_recess_is_cut_once(self) -> None:
        """A U: the line through both legs, drawn in one of them only, cuts that one."""
        u = [(0, 0), (1, 0), (1, 3), (4, 3), (4, 0), (5, 0), (5, 4), (0, 4)]
        large, small = o.split(u, (0.2, 1), (0.8, 1))
        assert o.area_m2(small) == pytest.approx(1)
        assert o.area_m2(large) == pytest.approx(1 * 4 + 1 * 4 + 3 * 1 - 1)

    @pytest.mark.parametrize(("first", "second"), [((5, 0), (5, 9)), ((1, 1), (1, 1)), ((0, 0), (2, 0))])
    def test_a_line_that_cuts_nothing_is_refused(self, first: tuple[float, float], second: tuple[float, float]) -> None:
        with pytest.raises(o.OutlineError):
            o.split(SQUARE, first, second)

    @example(angles=[0.0, 1.0, 2.0, 3.0], radius=1.0, ends=(2.2e-311, 0.0, 2.2e-311, 1.0))
    @given(
        angles=st.lists(st.floats(0, 2 * math.pi), min_size=4, max_size=12, unique=True),
        radius=st.floats(1, 50),
        ends=st.tuples(*[st.floats(-60, 60)] * 4),
    )
    def test_a_cut_conserves_area(
        self, angles: list[float], radius: float, ends: tuple[float, float, float, float]
    ) -> None:
        outline = [(round(radius * math.cos(a), 6), round(radius * math.sin(a), 6)) for a in sorted(angles)]
        assume(not o.faults(outline))
        try:
            parts = o.split(outline, ends[:2], ends[2:])
        except o.OutlineError:
            return
        assert sum(map(o.area_m2, parts)) == pytest.approx(shoelace(outline), rel=1e-9)


class TestLayoutAndScale:
    @given(st.lists(st.tuples(st.floats(0.5, 40), st.floats(0.5, 40)), min_size=1, max_size=30))
    def test_rooms_laid_out_keep_their_size_and_never_overlap(self, sizes: list[tuple[float, float]]) -> None:
        placed = o.lay_out(sizes)
        assert [o.area_m2(outline) for outline in placed] == pytest.approx([w * h for w, h in sizes])
        assert o.overlaps({str(n): outline for n, outline in enumerate(placed)}) == []

    def test_a_wall_of_5_m_over_a_3_4_triangle_of_pixels(self) -> None:
        assert o.metres_per_pixel((100, 100), (400, 500), 5) == pytest.approx(0.01)

    @pytest.mark.parametrize(("second", "length"), [((103, 102), 5), ((400, 500), 0), ((400, 500), math.nan)])
    def test_a_scale_nobody_could_mean_is_refused(self, second: tuple[float, float], length: float) -> None:
        with pytest.raises(o.OutlineError):
            o.metres_per_pixel((100, 100), second, length)


class TestDrawing:
    ZONES = (o.ZoneIn("z", "Offices"), o.ZoneIn("e", "Empty"))
    ROOMS = (o.RoomIn("1", "Office 1", "z", SQUARE), o.RoomIn("2", "Office 2", "z", None))

    def test_a_zone_is_the_ground_of_its_rooms(self) -> None:
        drawing = o.draw("First floor", self.ZONES, self.ROOMS)
        assert {zone.name: zone.area_m2 for zone in drawing.zones} == pytest.approx({"Offices": 4}, abs=0.01)
        assert drawing.undrawn == (("e", "Empty"),)
        assert [room.name for room in drawing.rooms] == ["Office 1"]
        assert drawing.width == pytest.approx(2 * 1.06)

    def test_its_own_outline_comes_first(self) -> None:
        drawing = o.draw("First floor", [o.ZoneIn("z", "Offices", ELL)], self.ROOMS)
        assert drawing.zones[0].area_m2 == pytest.approx(22, abs=0.02)

    def test_a_long_name_is_broken_at_its_words(self) -> None:
        rooms = [
            o.RoomIn("1", "First-aid room", "z", o.rectangle(0, 0, 3, 4)),
            o.RoomIn("2", "Hall", "z", o.rectangle(3, 0, 60, 9)),
        ]
        narrow, wide = o.draw("Ground floor", self.ZONES, rooms).rooms
        assert [(line.text, line.dy) for line in narrow.lines] == [("First-aid", -0.6), ("room", 0.6)]
        assert [line.text for line in wide.lines] == ["Hall"]

    def test_a_name_makes_room_for_a_point_without_leaving_its_room(self) -> None:
        """Above the middle in a rectangle; below it where above is the neighbour's recess."""
        rooms = [
            o.RoomIn("1", "Hall", "z", o.rectangle(0, 0, 8, 6)),
            o.RoomIn("2", "Meeting room", "z", [(8, 0), (10, 0), (10, 3), (14, 3), (14, 6), (8, 6)]),
        ]
        for room in o.draw("Ground floor", self.ZONES, rooms).rooms:
            outline = next(r.outline for r in rooms if r.key == room.key)
            assert outline is not None
            assert room.aside is not None
            assert Polygon(outline).contains(Point(room.aside.x, room.aside.y))
            assert abs(room.aside.y - room.label.y) > 0.3 * room.label.size

    def test_a_look_is_put_on_its_zone_and_no_other(self) -> None:
        dressed = o.dress(o.draw("First floor", self.ZONES, self.ROOMS), {"z": {"measured": False}, "x": {}})
        assert [zone.look for zone in dressed.zones] == [{"measured": False}]

    def test_a_floor_with_nothing_drawn_says_so(self) -> None:
        assert o.draw("Roof", [], []).is_empty
