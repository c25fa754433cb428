from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

from campaigns.models import Building, Floor, PlaceKind, Room, SamplingPoint, Site, User, Zone
from tests import factories as make
from tests.campaigns.pages import Browse, errors, get, post, text

SITE = {"name": "Weir Mill", "time_zone": "Europe/Lisbon", "altitude_m": "12"}


@pytest.fixture
def owner(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


@pytest.fixture
def zone(site: Site) -> Zone:
    return make.ZoneFactory(floor__building__site=site, name="North wing")


def test_a_site_is_added_to_the_persons_organisation(owner: Client, site: Site) -> None:
    answer = post(owner, "site-add", client=site.client_id, **SITE)
    added = Site.objects.get(name="Weir Mill")
    assert added.organisation == site.organisation
    assert answer.url == f"/sites/{added.key}/"


def test_a_person_of_two_organisations_says_for_which(owner: Client, consultant: User, site: Site) -> None:
    second = make.OrganisationFactory()
    consultant.memberships.create(organisation=second, role="consultant")
    assert errors(post(owner, "site-add", **SITE)) == {"organisation": ["This field is required."]}
    post(owner, "site-add", organisation=second.pk, **SITE)
    assert Site.objects.get(name="Weir Mill").organisation == second


def test_a_client_of_another_organisation_is_neither_offered_nor_taken(owner: Client, site: Site) -> None:
    theirs = make.ClientFactory(name="Their client")
    assert "Their client" not in text(get(owner, "site-add"))
    told = errors(post(owner, "site-add", client=theirs.pk, **SITE))
    assert list(told) == ["client"]
    assert not Site.objects.filter(name="Weir Mill").exists()


def test_an_organisation_of_others_is_not_taken(owner: Client, consultant: User, site: Site) -> None:
    consultant.memberships.create(organisation=make.OrganisationFactory(), role="consultant")
    theirs = make.OrganisationFactory()
    assert list(errors(post(owner, "site-add", organisation=theirs.pk, **SITE))) == ["organisation"]


@pytest.mark.parametrize(
    ("change", "field", "message"),
    [
        ({"time_zone": "Mars/Base"}, "time_zone", "“Mars/Base” is not an IANA time zone. An example: Europe/Lisbon."),
        ({"altitude_m": "9000"}, "altitude_m", "Ensure this value is less than or equal to 6000."),
        ({"name": "Harbour House"}, "name", "There is already a site of this name."),
    ],
)
def test_what_is_wrong_with_a_site_is_said_at_the_field(
    owner: Client, site: Site, change: dict[str, str], field: str, message: str
) -> None:
    assert errors(post(owner, "site-add", **(SITE | change))) == {field: [message]}


def test_a_new_site_starts_with_the_zone_of_the_last(owner: Client, site: Site) -> None:
    assert get(owner, "site-add").context["form"].initial["time_zone"] == "Europe/Lisbon"


def test_the_whole_tree_is_entered(owner: Client, site: Site) -> None:
    post(owner, "building-add", site, name="Main")
    post(owner, "floor-add", Building.objects.get(), name="Ground floor", level="0")
    post(owner, "zone-add", Floor.objects.get(), name="Nursery", use="children")
    post(owner, "room-add", Zone.objects.get(), name="Blue room", area_m2="30", height_m="2.7")
    post(owner, "point-add", Room.objects.get(), name="P1", kind="room_air", height_m="1.0")
    page = text(get(owner, "site", site))
    for name in ("Main", "Ground floor", "Nursery", "Blue room", "P1"):
        assert f">{name}<" in page
    assert SamplingPoint.objects.get().site == site


def test_an_outdoor_point_belongs_to_the_site(owner: Client, site: Site) -> None:
    post(owner, "outdoor-point-add", site, name="North side", height_m="1.5")
    point = SamplingPoint.objects.get()
    assert (point.site, point.room, point.kind) == (site, None, "outdoor")
    told = errors(post(owner, "outdoor-point-add", site, name="North side", height_m="1.5"))
    assert told == {"name": ["This site already has an outdoor point of this name."]}


def test_a_point_in_a_room_is_not_outdoors(owner: Client, zone: Zone) -> None:
    room = make.RoomFactory(zone=zone)
    assert list(errors(post(owner, "point-add", room, name="P1", kind="outdoor", height_m="1"))) == ["kind"]


@pytest.mark.parametrize(
    ("data", "told"),
    [
        ({"name": "A", "area_m2": "1e308"}, {"area_m2": ["At most 1,000,000."]}),
        ({"name": "A", "area_m2": "nan"}, {"area_m2": ["Enter a number."]}),
        ({"name": "A", "area_m2": "-3"}, {"area_m2": ["Area and height are above zero, or left empty."]}),
        ({"name": "A", "area_m2": "inf"}, {"area_m2": ["Enter a number."]}),
        ({"name": "Taken"}, {"name": ["This zone already has a room of this name."]}),
    ],
)
def test_what_is_wrong_with_a_room(owner: Client, zone: Zone, data: dict[str, str], told: dict[str, Any]) -> None:
    make.RoomFactory(zone=zone, name="Taken")
    assert errors(post(owner, "room-add", zone, **data)) == told


def test_several_rooms_at_once(owner: Client, zone: Zone) -> None:
    post(owner, "rooms-add", zone, lines="Ash; 18,5; 2.6\n\nBirch; ; 3\nStore", with_points="on")
    rooms = Room.objects.filter(zone=zone).values_list("name", "area_m2", "height_m")
    assert list(rooms) == [("Ash", 18.5, 2.6), ("Birch", None, 3.0), ("Store", None, None)]
    assert SamplingPoint.objects.filter(name="P1", height_m=1.2, site=zone.floor.building.site).count() == 3


def test_several_rooms_say_which_line_is_wrong_and_save_none(owner: Client, zone: Zone) -> None:
    make.RoomFactory(zone=zone, name="Taken")
    lines = "Ash; big\nBirch\nBirch\nTaken\nOak; -1\nElm; 1; 2; 3\n; 4"
    assert errors(post(owner, "rooms-add", zone, lines=lines))["lines"] == [
        "Line 1: the area “big” is not a number.",
        "Line 3: “Birch” is already on line 2.",
        "Line 4: This zone already has a room of this name.",
        "Line 5: Area and height are above zero, or left empty.",
        "Line 6: there are more than three parts; write name; area; height.",
        "Line 7: This field cannot be blank.",
    ]
    assert Room.objects.count() == 1


@pytest.mark.parametrize("number", ["nan", "inf"])
def test_a_size_is_a_number(owner: Client, zone: Zone, number: str) -> None:
    assert errors(post(owner, "rooms-add", zone, lines=f"Ash; {number}"))["lines"] == [
        f"Line 1: the area “{number}” is not a number."
    ]


def test_a_changed_site_is_where_it_was(owner: Client, site: Site) -> None:
    answer = post(owner, "site-edit", site, **(SITE | {"name": "Harbour House East"}))
    site.refresh_from_db()
    assert site.name == "Harbour House East"
    assert answer.url == f"/sites/{site.key}/"


def test_what_is_not_theirs_cannot_be_changed_or_filled(browse: Browse, stranger: User, zone: Zone) -> None:
    theirs = browse(stranger)
    for route, row in (("zone-edit", zone), ("room-add", zone), ("rooms-add", zone), ("zone-delete", zone)):
        assert post(theirs, route, row, name="Mine now", lines="Mine").status_code == 404
    assert not Room.objects.exists()


def test_field_staff_see_the_site_without_what_they_may_not_do(browse: Browse, field_staff: User, zone: Zone) -> None:
    page = text(get(browse(field_staff), "site", zone.floor.building.site))
    assert "North wing" in page
    assert "Add a" not in page
    assert "/edit/" not in page


def test_the_site_page_asks_as_much_for_many_rooms_as_for_one(
    owner: Client, zone: Zone, django_assert_max_num_queries: Any
) -> None:
    for _ in range(2):
        make.PointFactory(room__zone=zone)
    site = zone.floor.building.site
    with django_assert_max_num_queries(40) as few:
        get(owner, "site", site)
    for _ in range(8):
        make.PointFactory(room__zone__floor=zone.floor)
    with django_assert_max_num_queries(len(few.captured_queries)):
        get(owner, "site", site)


def test_an_empty_list_says_what_to_do_next(browse: Browse, stranger: User) -> None:
    assert "No sites yet" in text(get(browse(stranger), "sites"))


def test_a_zone_is_the_kind_of_place_its_building_is_unless_it_says_otherwise(site: Site) -> None:
    building = make.BuildingFactory(site=site)
    zone = make.ZoneFactory(floor__building=building)
    assert zone.place is None
    building.place_kind = PlaceKind.DWELLING
    building.save()
    assert Zone.objects.get(pk=zone.pk).place is PlaceKind.DWELLING
    zone.place_kind = PlaceKind.WORKPLACE
    zone.save()
    assert Zone.objects.get(pk=zone.pk).place is PlaceKind.WORKPLACE


def test_the_kind_of_place_is_chosen_and_shown(owner: Client, zone: Zone) -> None:
    building = zone.floor.building
    post(owner, "building-edit", building, name=building.name, place_kind="school")
    post(owner, "zone-edit", zone, name=zone.name, place_kind="")
    page = text(get(owner, "site", building.site))
    assert "School or nursery" in page
    assert errors(post(owner, "zone-edit", zone, name=zone.name, place_kind="castle"))["place_kind"]
