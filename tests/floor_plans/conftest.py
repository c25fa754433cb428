"""One floor with two rooms drawn side by side, one zone, one point."""

from __future__ import annotations

import json
from collections.abc import Callable
from copy import deepcopy
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from campaigns.models import Floor, Room, SamplingPoint, User
from methods.floorplans import rectangle
from tests import factories as make
from tests.worlds import Build, World

Send = Callable[..., Any]
PLAN = b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 24 12"><path d="M0 0L24 12" stroke="black"/></svg>'


def corners(x: float, y: float, width: float, length: float) -> list[list[float]]:
    return [list(corner) for corner in rectangle(x, y, width, length)]


def build(world: World) -> Room:
    return make.RoomFactory(
        zone__floor__building__site=world.site, zone__name="Offices", name="Office 1", outline=corners(0, 0, 4, 5),
        area_m2=20,
    )  # fmt: skip


@pytest.fixture(scope="module")
def building() -> Build:
    return build


@pytest.fixture
def own_world(world_of_file: World, db: None) -> World:
    return deepcopy(world_of_file)


@pytest.fixture
def room(own_world: World) -> Room:
    found: Room = own_world.built
    return found


@pytest.fixture
def floor(room: Room) -> Floor:
    return room.zone.floor


@pytest.fixture
def point(room: Room) -> SamplingPoint:
    return make.PointFactory(room=room, name="P1")


@pytest.fixture
def owner(consultant: User) -> Client:
    client = Client()
    client.force_login(consultant)
    return client


@pytest.fixture
def send(owner: Client, floor: Floor) -> Send:
    """``send(rooms=[…])``: what the drawing page saves, with the version it would have read."""

    def sent(browser: Client = owner, route: str = "floor-plan-save", **content: Any) -> Any:
        if route == "floor-plan-save":
            content.setdefault("version", state(browser, floor)["version"])
        return browser.post(reverse(route, args=[floor.key]), json.dumps(content), content_type="application/json")

    return sent


def state(browser: Client, floor: Floor) -> dict[str, Any]:
    found: dict[str, Any] = browser.get(reverse("floor-plan-data", args=[floor.key])).json()
    return found


def problems(answer: Any) -> list[str]:
    assert answer.status_code == 422, answer.content
    return [f"{problem['field']}: {problem['message']}" for problem in answer.json()["problems"]]
