"""Timetables of use: entered as a form or a list, assumed with one click, and what is judged again for them."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.test import Client

from campaigns import models as m
from campaigns.models import PlaceKind, User, UseTimetable
from campaigns.services import use_timetables
from campaigns.services.removal import remove, weigh
from campaigns.services.usual_use import USUAL
from methods.averages.timetable_text import in_words, read, written
from tests import factories as make
from tests.campaigns.changes import heard, told
from tests.campaigns.pages import Browse, errors, get, post, text

pytestmark = pytest.mark.django_db
TIMES = "Mon-Fri 08:00-16:00"


@pytest.fixture
def owner(browse: Browse, consultant: User) -> Client:
    return browse(consultant)


@pytest.fixture
def zone(site: m.Site) -> m.Zone:
    return make.ZoneFactory.create(floor__building__site=site, name="Class rooms", place_kind="")


@pytest.fixture
def campaign(site: m.Site, zone: m.Zone) -> m.Campaign:
    campaign = make.CampaignFactory.create(site=site)
    make.DeploymentFactory(campaign=campaign, point=make.PointFactory(room__zone=zone))
    return campaign


# --- the service ------------------------------------------------------------------------------------------------------


@pytest.mark.history
def test_a_timetable_is_kept_in_one_form_with_who_entered_it(zone: m.Zone, consultant: User) -> None:
    row = use_timetables.make(zone, consultant, hours="monday-friday 8-16; closed 2026-12-24", note="caretaker")
    assert (row.hours, row.site, row.by, row.lies_in) == (
        f"{TIMES}\nclosed 2026-12-24", zone.floor.building.site, consultant, zone,
    )  # fmt: skip
    use_timetables.change(row, consultant, hours=TIMES)
    assert told(row)[0] == ("changed", "time of use", f"{TIMES}\nclosed 2026-12-24", TIMES)


@pytest.mark.parametrize(
    ("hours", "words"), [("Funday 8-16", "no day"), ("closed 2026-12-24", "at least"), ("", "blank")]
)
def test_what_is_no_timetable_is_refused(zone: m.Zone, hours: str, words: str) -> None:
    with pytest.raises(ValidationError, match=words):
        use_timetables.make(zone, None, hours=hours)


def test_a_place_has_one(zone: m.Zone) -> None:
    use_timetables.make(zone, None, hours=TIMES)
    with pytest.raises(ValidationError, match="already has a timetable"):
        use_timetables.make(zone, None, hours="Mon 8-9")


def test_the_database_keeps_that_it_is_of_one_place(campaign: m.Campaign, zone: m.Zone) -> None:
    for places in ({}, {"zone": zone, "campaign": campaign}):
        with pytest.raises(IntegrityError), transaction.atomic():
            UseTimetable.objects.create(site=campaign.site, hours=TIMES, **places)


def test_the_narrowest_place_counts(campaign: m.Campaign, zone: m.Zone) -> None:
    other = make.ZoneFactory.create(floor=zone.floor)
    elsewhere = make.ZoneFactory.create(floor__building__site=campaign.site)
    rows = {place: use_timetables.make(place, None, hours=TIMES) for place in (campaign, zone.floor.building, zone)}
    in_force = use_timetables.use_in_force(campaign)
    assert in_force.of(zone) == rows[zone]
    assert in_force.of(other) == rows[zone.floor.building]
    assert in_force.of(elsewhere) == rows[campaign]
    sister = make.CampaignFactory.create(site=campaign.site)
    assert use_timetables.use_in_force(sister).of(elsewhere) is None


def test_other_hours_are_no_longer_assumed_and_another_note_is(zone: m.Zone) -> None:
    (row,) = use_timetables.assume([(zone, PlaceKind.SCHOOL)], None)
    assert row.is_assumed
    row = use_timetables.change(row, None, note="no holidays in it")
    assert row.is_assumed
    assert not use_timetables.change(row, None, hours="Mon-Fri 07:30-13:00").is_assumed


def test_what_is_assumed_is_assumed_for_all_or_none(zone: m.Zone) -> None:
    use_timetables.make(zone, None, hours=TIMES)
    with pytest.raises(ValidationError):
        use_timetables.assume([(zone.floor.building, PlaceKind.SCHOOL), (zone, PlaceKind.SCHOOL)], None)
    assert UseTimetable.objects.count() == 1


@pytest.mark.parametrize("kind", PlaceKind)
def test_every_kind_of_place_has_its_usual_hours(kind: PlaceKind) -> None:
    assert written(read(USUAL[kind])) == USUAL[kind]


def test_what_it_touches_is_judged_again(campaign: m.Campaign, zone: m.Zone) -> None:
    make.CampaignFactory(site=campaign.site)  # nothing stood there
    for place in (campaign, zone.floor.building, zone):
        with heard() as made:
            row = use_timetables.make(place, None, hours=TIMES)
        with heard() as noted:
            use_timetables.change(row, None, note="by telephone")
        with heard() as changed:
            use_timetables.change(row, None, hours="Mon 8-9")
        with heard() as removed:
            remove(UseTimetable.objects.get(pk=row.pk))
        assert (made, noted, changed, removed) == ([[campaign.pk]], [], [[campaign.pk]], [[campaign.pk]])


def test_it_goes_with_its_place(zone: m.Zone) -> None:
    use_timetables.make(zone, None, hours=TIMES)
    assert weigh(zone).goes_too == [(1, "timetable of use")]


# --- the pages --------------------------------------------------------------------------------------------------------


def test_the_page_says_what_counts_where(owner: Client, campaign: m.Campaign, zone: m.Zone) -> None:
    use_timetables.make(zone.floor.building, None, hours=TIMES)
    page = text(get(owner, "use", campaign))
    assert TIMES in page
    assert "As the building." in page
    assert "No criterion of this campaign is about occupied time" in page
    make.CriterionFactory(campaign=campaign, limit=m.Limit.objects.get(code="CO2-UK-BB101-MECH-DAY"))
    assert "mean of the occupied day" in text(get(owner, "use", campaign))
    assert f'<a href="/campaigns/{campaign.key}/use/">timetable of use</a>' in text(get(owner, "criteria", campaign))


def test_a_form_takes_hours_by_day_and_dates_that_differ(owner: Client, campaign: m.Campaign, zone: m.Zone) -> None:
    answer = post(
        owner, "zone-use-add", zone, monday="8-12, 13-16", friday="08:00-12:00", closed="2026-12-24 to 2027-01-06",
        special="2026-09-15 08:10-12:05", origin="counted", note="tally sheet",
    )  # fmt: skip
    row = UseTimetable.objects.get()
    assert answer.status_code == 302
    assert in_words(row.timetable) == (
        "Mon 08:00-12:00, 13:00-16:00; Fri 08:00-12:00; closed 2026-12-24 to 2027-01-06; 2026-09-15 08:10-12:05"
    )
    assert (row.origin, row.note, str(row.by)) == ("counted", "tally sheet", "C. Lintel")


def test_a_pasted_list_replaces_the_days(owner: Client, zone: m.Zone) -> None:
    post(owner, "zone-use-add", zone, monday="1-2", pasted=f"{TIMES}; closed 2026-12-24", origin="told")
    assert UseTimetable.objects.get().hours == f"{TIMES}\nclosed 2026-12-24"


def test_the_form_shows_again_what_was_kept(owner: Client, zone: m.Zone) -> None:
    row = use_timetables.make(zone, None, hours=f"{TIMES}; Sat 22:00-07:00; closed 2026-12-24; 2026-09-15 8-9")
    shown = get(owner, "use-timetable-edit", row).context["form"].initial
    assert (shown["monday"], shown["saturday"], shown["sunday"]) == ("08:00-16:00", "22:00-07:00", "")
    fields = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday", "closed", "special")
    post(owner, "use-timetable-edit", row, **{name: shown[name] for name in fields}, origin="told")
    assert UseTimetable.objects.get().hours == row.hours


@pytest.mark.parametrize(
    ("entered", "field", "words"),
    [
        ({"monday": "8"}, "monday", "from and until"),
        ({"closed": "Christmas"}, "closed", "a date such as"),
        ({"special": "2026-02-30 8-9"}, "special", "no date"),
        ({"pasted": "Mon 8-9; Funday 9-10"}, "pasted", "Entry 2"),
        ({}, "__all__", "at least one"),
    ],
)
def test_what_cannot_be_read_is_told_at_its_field(
    owner: Client, zone: m.Zone, entered: dict[str, str], field: str, words: str
) -> None:
    (message,) = errors(post(owner, "zone-use-add", zone, **entered, origin="told"))[field]
    assert words in message
    assert not UseTimetable.objects.exists()


def test_one_click_takes_the_usual_hours_and_leads_back(owner: Client, campaign: m.Campaign, zone: m.Zone) -> None:
    address = f"/zones/{zone.key}/use/assume/?campaign={campaign.key}"
    assert owner.post(address, {"kind": "school"}).headers["Location"] == f"/campaigns/{campaign.key}/use/"
    row = UseTimetable.objects.get()
    assert (row.hours, row.origin, row.lies_in) == (USUAL[PlaceKind.SCHOOL], "assumed", zone)
    assert "Assumed: usual for such a place" in text(get(owner, "use", campaign))


@pytest.mark.parametrize("kind", ["", "castle"])
def test_a_kind_that_is_none_is_refused_in_words(owner: Client, zone: m.Zone, kind: str) -> None:
    answer = owner.post(f"/zones/{zone.key}/use/assume/", {"kind": kind}, follow=True)
    assert "Say what kind of place it is." in text(answer)
    assert not UseTimetable.objects.exists()


def test_the_hours_of_a_known_kind_are_offered_alone(owner: Client, campaign: m.Campaign, zone: m.Zone) -> None:
    zone.place_kind = PlaceKind.OFFICE
    zone.save()
    page = text(get(owner, "use", campaign))
    assert "Assume: Mon-Fri 08:00-18:00" in page
    assert page.count('value="office"') == 3  # of the zone alone, and among all for building and campaign


def test_changing_and_deleting_lead_back_to_the_campaign(owner: Client, campaign: m.Campaign) -> None:
    row = use_timetables.make(campaign, None, hours=TIMES)
    back = f"/campaigns/{campaign.key}/use/"
    assert post(owner, "use-timetable-edit", row, pasted="daily 0-24", origin="told").url == back
    assert post(owner, "use-timetable-delete", row).url == back
    assert not UseTimetable.objects.exists()
