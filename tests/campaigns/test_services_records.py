"""Keeping rows that have no rule of their own: checked, whole or not at all, in the words of the model."""

from __future__ import annotations

from unittest.mock import patch

import pytest
from django.core.exceptions import NON_FIELD_ERRORS, ValidationError

from campaigns.models import Building, Calibration, Client, Deployment, Floor, Instrument, Room, Site, Zone
from campaigns.services.integrity import DELETED, GONE, beside
from campaigns.services.locks import hold_campaign, hold_organisation, instruments_held
from campaigns.services.records import all_or_nothing, save_changed, save_new
from campaigns.services.removal import Blocked, remove
from tests import factories as make
from tests.campaigns.changes import heard, told

pytestmark = [pytest.mark.django_db, pytest.mark.history]


def test_a_new_row_is_saved_with_its_history(site: Site) -> None:
    building = save_new(Building(site=site, name="East wing"))
    assert Building.objects.get() == building
    assert ("created", "name", "–", "East wing") in told(building)


def test_a_changed_row_is_saved_with_its_history(site: Site) -> None:
    building = save_new(Building(site=site, name="East wing"))
    save_changed(building, name="West wing")
    assert told(building)[0] == ("changed", "name", "East wing", "West wing")


def test_what_others_have_changed_meanwhile_stays(site: Site) -> None:
    room = make.RoomFactory.create(zone__floor__building__site=site, name="Ash", area_m2=20, notes="")
    read = Room.objects.get()
    Room.objects.update(name="Birch", area_m2=24)
    with heard() as words:
        saved = save_changed(read, notes="carpet")
    room.refresh_from_db()
    assert (room.name, room.area_m2, room.notes) == (saved.name, saved.area_m2, saved.notes) == ("Birch", 24, "carpet")
    assert (words, told(room)[0]) == ([], ("changed", "notes", "–", "carpet")), "of the notes nobody judges anything"


def test_what_is_not_in_order_is_told_by_field(site: Site) -> None:
    with pytest.raises(ValidationError) as refused:
        save_new(Building(site=site, name="", place_kind="castle"))
    assert set(refused.value.message_dict) == {"name", "place_kind"}
    assert not Building.objects.exists()


def test_a_constraint_is_told_in_its_own_words_by_model_and_database(site: Site) -> None:
    save_new(Building(site=site, name="East wing"))
    again = Building(site=site, name="East wing")
    with pytest.raises(ValidationError) as by_model:
        save_new(again)
    with patch.object(Building, "full_clean"), pytest.raises(ValidationError) as by_database:
        save_new(again)
    said = ["This site already has a building of this name."]
    assert by_model.value.messages == by_database.value.messages == said
    assert [field for field, _ in beside(Building, by_database.value, {"name", "place_kind"})] == ["name"]
    assert Building.objects.count() == 1


def test_a_message_goes_beside_a_field_that_is_shown() -> None:
    error = ValidationError({"name": "Too long.", NON_FIELD_ERRORS: "This floor already has a zone of this name."})
    assert [field for field, _ in beside(Zone, error, {"name"})] == ["name", "name"]
    assert [field for field, _ in beside(Zone, error, {"use"})] == [None, None]


def test_a_row_does_not_come_back_from_the_dead(site: Site) -> None:
    building = save_new(Building(site=site, name="East wing"))
    Building.objects.all().delete()
    with pytest.raises(ValidationError, match=DELETED):
        save_changed(building, name="West wing")
    assert not Building.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_what_it_belongs_to_may_be_gone() -> None:
    """PostgreSQL finds out at the commit, which is the service's own."""
    floor = make.FloorFactory.create()
    late = Zone(floor=Floor.objects.get(), name="North")
    remove(floor)
    with patch.object(Zone, "full_clean"), pytest.raises(ValidationError, match=GONE):
        save_new(late)


def test_several_are_one_whole_and_one_word(site: Site) -> None:
    campaign = make.CampaignFactory.create(site=site)
    with heard() as words, all_or_nothing(Building):
        save_changed(site, altitude_m=12)
        save_changed(site, altitude_m=14)
    assert words == [[campaign.pk]]

    def fail() -> None:
        with all_or_nothing(Building):
            save_changed(site, altitude_m=20)
            save_new(Building(site=site, name=""))

    with heard() as words, pytest.raises(ValidationError, match="cannot be blank"):
        fail()
    assert words == []
    site.refresh_from_db()
    assert site.altitude_m == 14


def test_what_must_stay_is_a_reason_like_any_other(site: Site) -> None:
    room = make.RoomFactory.create(name="Ash", zone__floor__building__site=site)
    with pytest.raises(ValidationError, match="1 room hangs on it: Ash") as refused:
        remove(room.zone)
    assert isinstance(refused.value, Blocked)
    assert refused.value.messages == ["1 room hangs on it: Ash."]


def test_a_calibration_needs_no_form(site: Site) -> None:
    deployment = make.DeploymentFactory.create(campaign__site=site)
    channel = deployment.instrument.channels.get()
    with heard() as words:
        calibration = save_new(Calibration(channel=channel, date="2026-03-01", due="2027-03-01", slope=1.02))
    assert words == [[deployment.campaign_id]]
    with pytest.raises(ValidationError, match="The due date follows the calibration date"):
        save_new(Calibration(channel=channel, date="2026-03-02", due="2026-03-01"))
    with heard() as words:
        remove(calibration)
    assert words == [[deployment.campaign_id]]


def test_what_is_held_must_be_there(site: Site) -> None:
    campaign = make.CampaignFactory.create(site=site)
    instrument = make.InstrumentFactory.create()
    client = site.client
    assert client is not None
    Instrument.objects.filter(pk=instrument.pk).delete()
    campaign.delete()
    with pytest.raises(ValidationError, match=GONE), all_or_nothing(Client):
        hold_campaign(campaign)
    with pytest.raises(ValidationError, match=GONE), all_or_nothing(Client):
        hold_organisation(client.organisation_id + 1000)
    with pytest.raises(ValidationError, match=GONE), instruments_held(Deployment, instrument.pk):
        pass


def test_instruments_are_held_all_at_once(db: None) -> None:
    """Taken one after the other they could be taken in another order by somebody else."""
    first, second = make.InstrumentFactory.create_batch(2)
    with instruments_held(Deployment, first.pk, second.pk), instruments_held(Deployment, second.pk):
        pass
    held, more = instruments_held(Deployment, first.pk), instruments_held(Deployment, second.pk)
    with pytest.raises(RuntimeError, match="at once"), held, more:
        pass
    with instruments_held(Deployment, second.pk):
        pass
