"""Saying where an instrument stood, without a form."""

from __future__ import annotations

from datetime import timedelta
from unittest.mock import patch

import pytest
from django.core.exceptions import ValidationError

from campaigns.models import Campaign, Deployment, Instrument, SamplingPoint, Site, User
from campaigns.services import deployments
from campaigns.services.integrity import DELETED
from campaigns.services.locks import instruments_held
from tests import factories as make
from tests.campaigns.changes import heard, told

pytestmark = pytest.mark.history

START, HOUR = make.START, timedelta(hours=1)


@pytest.fixture
def campaign(site: Site) -> Campaign:
    return make.CampaignFactory(site=site)


@pytest.fixture
def meter(site: Site) -> Instrument:
    return make.InstrumentFactory(organisation=site.organisation, name="meter N")


@pytest.fixture
def ash(site: Site) -> SamplingPoint:
    return make.PointFactory(room__zone__floor__building__site=site, room__name="Ash", name="P1")


@pytest.fixture
def birch(site: Site) -> SamplingPoint:
    return make.PointFactory(room__zone__floor__building__site=site, room__name="Birch", name="P1")


@pytest.fixture
def stay(campaign: Campaign, meter: Instrument, ash: SamplingPoint) -> Deployment:
    return deployments.make(campaign, instrument=meter, point=ash, starts_at=START, ends_at=START + HOUR, notes="shut")


def test_made_with_its_history_and_one_word(campaign: Campaign, meter: Instrument, ash: SamplingPoint) -> None:
    with heard() as words:
        made = deployments.make(campaign, instrument=meter, point=ash, starts_at=START)
    assert Deployment.objects.get() == made
    assert (made.ends_at, made.notes) == (None, "")
    assert {what for what, *_ in told(made)} == {"created"}
    assert words == [[campaign.pk]]


def test_what_is_left_out_stays(stay: Deployment, campaign: Campaign, birch: SamplingPoint) -> None:
    with heard() as words:
        changed = deployments.change(stay, point=birch)
    assert (changed.point, changed.starts_at, changed.notes) == (birch, START, "shut")
    assert [row[:2] for row in told(changed)[:1]] == [("changed", "point")]
    assert words == [[campaign.pk]]
    assert deployments.change(stay, ends_at=None).ends_at is None


def test_a_colleagues_change_meanwhile_stays(stay: Deployment) -> None:
    """Somebody has the row in hand as it was; what they do not touch is not put back."""
    seen = Deployment.objects.get()
    deployments.change(stay, notes="opened at noon")
    deployments.change(seen, ends_at=START + 2 * HOUR)
    stay.refresh_from_db()
    assert (stay.notes, stay.ends_at) == ("opened at noon", START + 2 * HOUR)


def test_one_place_at_a_time_said_by_model_and_database(
    stay: Deployment, campaign: Campaign, meter: Instrument, birch: SamplingPoint
) -> None:
    def put() -> None:
        deployments.make(campaign, instrument=meter, point=birch, starts_at=START + HOUR / 2)

    with pytest.raises(ValidationError) as by_model:
        put()
    assert by_model.value.message_dict == {"instrument": [f"{Deployment.ONE_PLACE_MESSAGE} It is at Ash, P1 then."]}
    with patch.object(Deployment, "full_clean"), pytest.raises(ValidationError) as by_database:
        put()
    assert by_database.value.message_dict == {"instrument": [Deployment.ONE_PLACE_MESSAGE]}
    assert Deployment.objects.get() == stay


def test_what_is_a_strangers_is_refused(campaign: Campaign, meter: Instrument, stranger: User) -> None:
    house = stranger.memberships.get().organisation
    theirs = make.PointFactory.create(room__zone__floor__building__site__organisation=house)
    with pytest.raises(ValidationError) as refused:
        deployments.make(campaign, instrument=meter, point=theirs, starts_at=START)
    assert refused.value.message_dict == {"point": ["This point is on another site than the campaign."]}
    borrowed = make.InstrumentFactory.create(organisation=house)
    with pytest.raises(ValidationError, match="This instrument belongs to another organisation"):
        deployments.make(campaign, instrument=borrowed, point=theirs, starts_at=START)
    assert not Deployment.objects.exists()


def test_refused_changes_change_nothing(stay: Deployment) -> None:
    with pytest.raises(ValidationError, match="A deployment ends after it starts"):
        deployments.change(stay, ends_at=START)
    stay.refresh_from_db()
    assert stay.ends_at == START + HOUR


def test_a_deployment_that_is_gone_is_not_made_again(stay: Deployment) -> None:
    deployments.remove(Deployment.objects.get())
    with pytest.raises(ValidationError, match=DELETED):
        deployments.change(stay, notes="late")
    assert not Deployment.objects.exists()


def test_removed_with_its_history_and_one_word(stay: Deployment, campaign: Campaign) -> None:
    gone = Deployment.objects.get()
    with heard() as words:
        deployments.remove(gone)
    assert told(stay)[0][0] == "deleted"
    assert words == [[campaign.pk]]


def test_another_instrument_holds_both(stay: Deployment, site: Site) -> None:
    other = make.InstrumentFactory.create(organisation=site.organisation)
    assert deployments.change(stay, instrument=other).instrument == other
    with pytest.raises(RuntimeError, match="at once"), instruments_held(Deployment, other.pk):
        deployments.change(stay, instrument=make.InstrumentFactory.create(organisation=site.organisation))


def test_given_to_a_third_instrument_meanwhile(stay: Deployment, site: Site) -> None:
    """Which instrument to hold is known only before it is held."""
    third = make.InstrumentFactory.create(organisation=site.organisation)
    before = {stay.instrument_id}
    Deployment.objects.update(instrument=third)
    seen = patch.object(deployments, "_stands_with", return_value=before)
    with seen, pytest.raises(ValidationError, match="another instrument meanwhile"):
        deployments.change(stay, notes="late")
    stay.refresh_from_db()
    assert (stay.instrument, stay.notes) == (third, "shut")


def test_several_are_one_step(campaign: Campaign, stay: Deployment, birch: SamplingPoint) -> None:
    noon = START + HOUR / 2
    with heard() as words, instruments_held(Deployment, stay.instrument_id):
        deployments.change(stay, ends_at=noon)
        deployments.make(campaign, instrument=stay.instrument, point=birch, starts_at=noon, ends_at=START + HOUR)
    assert words == [[campaign.pk]]
    assert [(row.point.room and row.point.room.name) for row in Deployment.objects.all()] == ["Ash", "Birch"]


def test_a_step_that_fails_leaves_everything(campaign: Campaign, stay: Deployment, birch: SamplingPoint) -> None:
    noon = START + HOUR / 2

    def step() -> None:
        with instruments_held(Deployment, stay.instrument_id):
            deployments.change(stay, ends_at=noon)
            deployments.make(campaign, instrument=stay.instrument, point=birch, starts_at=noon, ends_at=noon)

    with pytest.raises(ValidationError, match="A deployment ends after it starts"):
        step()
    assert Deployment.objects.get().ends_at == START + HOUR
