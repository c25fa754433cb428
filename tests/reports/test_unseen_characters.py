"""Characters that cannot be seen are refused where people write, shown where logs hold them, and break no report."""

from __future__ import annotations

import io
import json
from typing import Any

import openpyxl
import pytest
from django.test import Client
from django.urls import reverse

from campaigns import models as m
from readings.models import Problem
from reports.models import Report
from reports.pdf import inputs_of, render
from reports.services.release import sign_and_release
from tests.readings.doing import cells, hand_in, read
from tests.reports.measured import House, house
from tests.reports.pages import Browse
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")
HIDDEN = ["\x0b", "\x01", "\u202e", "\x85"]


def build(world: World) -> House:
    return house(world.site)


@pytest.fixture
def measured(own_world: World) -> House:
    built: House = own_world.built
    return built


@pytest.fixture
def owner(browse: Browse, consultant: m.User) -> Client:
    return browse(consultant)


# --- refused ---


@pytest.mark.parametrize("char", HIDDEN)
def test_a_form_says_so_at_its_field(owner: Client, measured: House, char: str) -> None:
    zone = measured.high
    answer: Any = owner.post(reverse("zone-edit", args=[zone.key]), {"name": f"Attic{char}studio"})
    assert answer.status_code == 422
    assert f"U+{ord(char):04X}" in str(answer.context["form"].errors["name"])
    zone.refresh_from_db()
    assert char not in zone.name


@pytest.mark.parametrize(("route", "field"), [("readers", "name"), ("report-clock", "reason"), ("rooms-add", "lines")])
def test_so_do_forms_without_a_row(owner: Client, measured: House, route: str, field: str) -> None:
    held = measured.high if route == "rooms-add" else measured.campaign
    data = {"email": "guest@mullion.example", "instrument": str(measured.channel.instrument.key)}
    answer: Any = owner.post(reverse(route, args=[held.key]), data | {field: "Attic\x0bstudio"}, follow=True)
    assert "U+000B" in answer.content.decode()
    assert not m.Room.objects.filter(name__contains="\x0b").exists()


@pytest.mark.parametrize("text", ["\\u0000", "\\ud800", "\\u000b", "\\u202e"])
@pytest.mark.parametrize("what", ["name", "id", "key"])
def test_the_floor_plan_says_so(owner: Client, measured: House, text: str, what: str) -> None:
    floor = measured.high.floor
    version = owner.get(reverse("floor-plan-data", args=[floor.key])).json()["version"]
    room = {"id": str(measured.high.rooms.get().key), "name": "Ash"}
    sent = json.dumps({"version": version, "rooms": [room]})
    sent = {
        "name": sent.replace("Ash", f"A{text}h"),
        "id": sent.replace(room["id"], f"new{text}"),
        "key": sent.replace('"name"', f'"na{text}me"'),
    }[what]
    answer = owner.post(reverse("floor-plan-save", args=[floor.key]), sent, content_type="application/json")
    assert answer.status_code == 422, answer.content[:200]
    assert "cannot be seen" in str(answer.json())


def test_a_list_of_rooms_says_so(owner: Client, measured: House) -> None:
    address = reverse("rooms-import", args=[measured.high.floor.key])
    for text in ("name;zone\nAsh\x0b1;Attic", "name;zone\nAsh\u202e1;Attic"):
        answer = owner.post(address, {"text": text, "zone": measured.high.pk})
        assert "cannot be seen" in answer.content.decode()
    assert not m.Room.objects.filter(name__startswith="Ash").exists()


def test_an_address_with_a_nul_is_a_bad_request(owner: Client) -> None:
    for path in ("/limits/?q=%00", "/limits/?parameter=a%00", "/work/?page=%00", "/api/v1/sites/?key=%00"):
        assert owner.get(path).status_code == 400


# --- made visible ---


def test_what_a_log_holds_is_shown_where_it_is_told(measured: House) -> None:
    upload = hand_in(
        measured.campaign, cells(["0.012", "0.0\x0b13", "0.0\u202e14"]), instrument=measured.channel.instrument
    )
    read(upload)
    told = Problem.objects.filter(upload=upload, code="text_in_number")
    assert [p.value for p in told] == ["0.0␋13", "0.0�14"]
    assert "0.0␋13" in told[0].message


# --- what is there already ---


def stored_as(zone: m.Zone, name: str) -> None:
    """As rows of before are."""
    m.Zone.objects.filter(pk=zone.pk).update(name=name)


def test_workbook_and_pdf_of_what_is_there_already_come_out(owner: Client, measured: House, consultant: m.User) -> None:
    stored_as(measured.high, "Attic\x0bstudio \u202e1")
    book = owner.get(reverse("results-workbook", args=[measured.campaign.key]))
    assert book.status_code == 200
    sheet = openpyxl.load_workbook(io.BytesIO(book.content))["Findings"]
    assert "Attic␋studio �1" in [row[1] for row in sheet.iter_rows(values_only=True)]
    report = sign_and_release(measured.campaign, consultant)
    assert render(report.record)[:5] == b"%PDF-"
    assert Report.objects.get().record.zones
    assert "Attic␋studio" in json.loads(inputs_of(report.record)["content"])["buildings"].__repr__()
