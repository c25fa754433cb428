"""Rooms that lie on each other by the hundred, and rooms larger than any: a page stays one that a phone can show."""

from __future__ import annotations

import math
import re
import time

import pytest
from django.test import Client
from django.urls import reverse

from campaigns.models import Floor, Room
from campaigns.services.drawings import drawings_of
from campaigns.services.floor_plans.state import MOST_TOLD, doubts
from methods.floorplans import Outline, overlaps
from methods.floorplans.union import MOST_DRAWN, union
from tests import factories as make
from tests.floor_plans.conftest import Send, problems, state

pytestmark = pytest.mark.django_db

ROOMS, CORNERS = 900, 60
PAGE = 3_500_000


def star(number: int) -> Outline:
    """Sixty corners, in and out, each star turned a little and beside the others by centimetres."""
    turned, at = number * 0.0137, (number % 30 * 0.05, number // 30 * 0.05)
    return [
        [
            round(at[0] + (5 + 2 * (k % 2)) * math.cos(turned + 2 * math.pi * k / CORNERS), 4),
            round(at[1] + (5 + 2 * (k % 2)) * math.sin(turned + 2 * math.pi * k / CORNERS), 4),
        ]
        for k in range(CORNERS)
    ]


@pytest.fixture
def crowded(room: Room) -> Floor:
    zone = room.zone
    Room.objects.bulk_create(Room(zone=zone, name=f"Room {n}", outline=star(n)) for n in range(ROOMS))
    floor: Floor = zone.floor
    return floor


def test_of_the_pairs_that_overlap_the_largest_are_named(crowded: Floor) -> None:
    told = doubts(crowded)
    assert len(told) == MOST_TOLD + 1
    assert re.fullmatch(r"At least [12],\d{3} more pairs of rooms overlap: were they drawn twice\?", told[-1])
    assert len("".join(told)) < 2_000


def test_the_drawing_is_no_larger_than_a_page_may_be(crowded: Floor) -> None:
    began = time.process_time()
    drawing = drawings_of([crowded])[crowded.pk]
    assert time.process_time() - began < 60
    assert len(drawing.rooms) == ROOMS + 1
    corners = sum(len(room.points.split()) for room in drawing.rooms)
    assert corners <= 25_000
    assert sum(len(zone.path) for zone in drawing.zones) < 100_000


def test_the_page_of_the_floor(crowded: Floor, owner: Client) -> None:
    answer = owner.get(reverse("floor-plan", args=[crowded.key]))
    assert answer.status_code == 200
    assert len(answer.content) < PAGE
    print(f"{ROOMS} rooms on each other: a page of {len(answer.content) / 1e6:.1f} MB")


def test_what_is_drawn_coarsely_stays_where_it_is() -> None:
    ground = union([star(n) for n in range(120)])
    assert sum(len(ring.outer) + sum(map(len, ring.holes)) for ring in ground) <= MOST_DRAWN + 1
    assert sum(ring.area_m2 for ring in ground) == pytest.approx(174, rel=0.1)  # a circle of 7 m, drawn along 1.5 m


def test_ground_of_few_corners_is_drawn_to_the_millimetre() -> None:
    (ring,) = union([[[0, 0], [4, 0], [4, 3], [0, 3]], [[4, 0], [6, 0], [6, 3], [4, 3]]])
    assert len(ring.outer) == 4
    assert ring.area_m2 == pytest.approx(18)


def test_every_pair_of_a_usual_floor_is_looked_at() -> None:
    """Thirty by thirty rooms, wall to wall, with two that lie on each other."""
    rooms: dict[str, Outline] = {
        f"{x},{y}": [[x, y], [x + 1, y], [x + 1, y + 1], [x, y + 1]] for x in range(30) for y in range(30)
    }  # fmt: skip
    rooms["last"] = [[28.5, 28.5], [29, 28.5], [29, 29], [28.5, 29]]
    ((first, second, area),) = overlaps(rooms)
    assert (first, second) == ("28,28", "last")
    assert area == pytest.approx(0.25)


def test_an_area_beyond_any_room_is_refused(room: Room, send: Send, owner: Client, floor: Floor) -> None:
    sent = {**state(owner, floor)["rooms"][0], "area_m2": 1e308}
    assert "At most 1,000,000" in str(problems(send(rooms=[sent])))
    room.refresh_from_db()
    assert room.area_m2 == 20


def test_a_campaign_of_such_a_floor_can_be_looked_at(crowded: Floor, owner: Client) -> None:
    campaign = make.CampaignFactory.create(site=crowded.building.site)
    answer = owner.get(reverse("campaign", args=[campaign.key]))
    assert answer.status_code == 200
    assert len(answer.content) < PAGE
