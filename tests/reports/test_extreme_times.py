"""Times that nobody can mean are refused in words, wherever they are asked for."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from campaigns import models as m
from tests.reports.measured import House, house
from tests.reports.pages import Browse
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")
EXTREMES = ["0001-01-01T00:00:00", "9999-12-31T23:59:59.999999"]


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def owner(browse: Browse, consultant: m.User) -> Client:
    return browse(consultant)


def figure(owner: Client, measured: House, start: str, end: str) -> int:
    args = [measured.campaign.key, measured.high.key, "course", "formaldehyde"]
    return owner.get(reverse("zone-range", args=args), {"from": start, "to": end, "width": "600"}).status_code


def test_a_part_of_a_figure(owner: Client, measured: House) -> None:
    first, last = EXTREMES
    usual = "2026-09-15T08:00:00"
    assert figure(owner, measured, first, last) == 400
    assert figure(owner, measured, first, usual) == 400
    assert figure(owner, measured, usual, last) == 400
    assert figure(owner, measured, "0001-01-01T00:00:00+14:00", usual) == 400


@pytest.mark.parametrize("zone", ["Z", "+14:00", "-14:00"])
@pytest.mark.parametrize("time", EXTREMES)
def test_the_programming_interface(measured: House, token: m.ApiToken, time: str, zone: str, client: Client) -> None:
    for name in ("from", "to"):
        answer = client.get(
            "/api/v1/readings/",
            {"campaign": str(measured.campaign.key), name: f"{time}{zone}"},
            headers={"Authorization": f"Bearer {token.secret}"},  # type: ignore[attr-defined]
        )
        assert answer.status_code == 400, answer.content
        assert "outside the years 1900 to 2200" in answer.content.decode()


@pytest.mark.parametrize("time", [*EXTREMES, "0001-01-01T00:00+14:00", "9999-12-31T23:59-14:00"])
def test_forms(owner: Client, measured: House, time: str) -> None:
    deployment = measured.campaign.deployments.first()
    assert deployment is not None
    data: dict[str, Any] = {
        "instrument": deployment.instrument_id, "point": deployment.point_id, "starts_at": time, "ends_at": "",
    }  # fmt: skip
    answer: Any = owner.post(reverse("deployment-edit", args=[deployment.key]), data)
    assert answer.status_code == 422
    assert "outside the years 1900 to 2200" in str(answer.context["form"].errors["starts_at"])


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_days(owner: Client, measured: House, day: str) -> None:
    campaign = measured.campaign
    data = {"name": campaign.name, "objective": "", "protocol": "", "starts_on": day, "ends_on": day}
    answer: Any = owner.post(reverse("campaign-edit", args=[campaign.key]), data)
    assert answer.status_code == 422
    assert "outside the years 1900 to 2200" in str(answer.context["form"].errors["starts_on"])
