"""Alert levels of a campaign: off until chosen, with whom they tell; never deleted, always in the history."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import NoReverseMatch, reverse

from campaigns.models import AlertLevel, Criterion, Limit, Membership, Role, User
from campaigns.services import alert_levels
from campaigns.services.alert_terms import in_terms_of, in_unit
from campaigns.services.removal import weigh
from methods.quantities.units import NotConvertible
from tests import factories as make
from tests.alerts.conftest import Round, member_of
from tests.campaigns.changes import told
from tests.campaigns.pages import errors, text
from tests.worlds import member

pytestmark = pytest.mark.django_db
Browse = Callable[[User | None], Client]

OWN: dict[str, Any] = {"parameter": "formaldehyde", "value": 0.3, "unit": "ppm", "averaging": "mean", "minutes": 30}


def test_nothing_holds_until_it_is_chosen(on_round: Round) -> None:
    campaign = make.CampaignFactory.create(site=on_round.campaign.site)
    assert campaign.alert_levels.count() == 0
    offered = alert_levels.offered(campaign)
    assert len(offered) == 8
    assert not any(offer.chosen for offer in offered)
    assert all(offer.from_memory and offer.source for offer in offered)


def test_who_chooses_a_level_is_told(on_round: Round) -> None:
    level = on_round.level
    assert (level.value, level.unit, level.averaging, level.minutes, level.is_on) == (300, "ppm", "any", 0, True)
    assert list(level.people.all()) == [member_of(on_round.consultant, on_round.campaign.site.organisation)]
    assert on_round.consultant.email in level.told
    assert [o.key for o in alert_levels.offered(on_round.campaign) if o.chosen] == ["CO-ALARM-300"]


def test_the_same_level_is_not_chosen_twice(on_round: Round) -> None:
    with pytest.raises(ValidationError, match="chosen already"):
        alert_levels.choose(on_round.campaign, "CO-ALARM-300", on_round.consultant)
    with pytest.raises(ValidationError, match="no such level"):
        alert_levels.choose(on_round.campaign, "CO-ALARM-301", on_round.consultant)


def test_a_ceiling_among_the_criteria_is_offered(on_round: Round) -> None:
    ceiling = Limit.objects.filter(averaging="ceiling", parameter="formaldehyde", value__isnull=False).first()
    assert ceiling is not None
    Criterion.objects.create(campaign=on_round.campaign, limit=ceiling)
    assert f"limit:{ceiling.code}" in [offer.key for offer in alert_levels.offered(on_round.campaign)]
    level = alert_levels.choose(on_round.campaign, f"limit:{ceiling.code}", on_round.consultant)
    assert (level.parameter, level.value, level.averaging) == ("formaldehyde", float(ceiling.value or 0), "any")
    assert "ceiling of this campaign" in level.source


@pytest.mark.parametrize(
    ("entered", "field"),
    [
        ({"value": 0.0}, "value"),
        ({"minutes": 0}, "minutes"),
        ({"averaging": "any"}, "minutes"),
        ({"unit": "Bq/m³"}, "unit"),
        ({"addresses": "not an address"}, "addresses"),
        ({"within_minutes": 0}, "__all__"),
    ],
)
def test_what_is_no_level_is_refused(on_round: Round, entered: dict[str, Any], field: str) -> None:
    with pytest.raises(ValidationError) as refused:
        alert_levels.make(on_round.campaign, **OWN | entered)
    assert field in refused.value.message_dict
    assert on_round.campaign.alert_levels.count() == 1


@pytest.mark.history
def test_changes_are_in_the_history_with_who_is_told(on_round: Round) -> None:
    level = alert_levels.make(on_round.campaign, **OWN)
    person = member_of(on_round.consultant, on_round.campaign.site.organisation)
    alert_levels.change(level, [person], value=0.4, addresses="porter@harbour.example")
    alert_levels.switch(level, on=False)
    changes = told(level)
    assert ("changed", "on", "True", "False") in changes
    assert ("changed", "value", "0.3", "0.4") in changes
    assert any(
        field == "who is told" and on_round.consultant.email in after and "porter@harbour.example" in after
        for _, field, _, after in changes
    )


def test_only_people_of_the_house_and_of_the_sites_client(on_round: Round, stranger: User, client_person: User) -> None:
    site = on_round.campaign.site
    other = member(
        site.organisation,
        Role.CLIENT,
        "other@client.example",
        client=make.ClientFactory(organisation=site.organisation),
    )
    allowed = {row.user for row in alert_levels.may_be_told(on_round.campaign)}
    assert allowed == {on_round.consultant, client_person}
    for person in (stranger, other):
        with pytest.raises(ValidationError, match="Only people"):
            alert_levels.make(on_round.campaign, Membership.objects.filter(user=person), **OWN)


def test_a_person_who_is_told_can_leave(on_round: Round) -> None:
    person = member_of(on_round.consultant, on_round.campaign.site.organisation)
    assert weigh(person).blocked == []
    assert weigh(person).goes_too == []


class TestTerms:
    def test_mass_per_volume_in_ppm(self, on_round: Round) -> None:
        """100 mg/m³ of CO at 25 °C and 101.325 kPa: 100 · 24.465 / 28.010 = 87.34 ppm (ideal gas)."""
        level = alert_levels.choose(on_round.campaign, "CO-WHO-15M", on_round.consultant)
        terms = in_terms_of(level, on_round.channel.spec)
        assert terms.rule.value == pytest.approx(87.34, abs=0.01)
        assert terms.told(terms.rule.value) == pytest.approx(100)

    def test_what_cannot_be_converted_is_said_on_the_page(self, on_round: Round, browse: Browse) -> None:
        make.InstrumentFactory.create(
            organisation=on_round.campaign.site.organisation, channel__parameter="tvoc", channel__unit="ppb"
        )
        level = alert_levels.make(
            on_round.campaign, parameter="tvoc", value=3000.0, unit="µg/m³", averaging="any", minutes=0
        )
        with pytest.raises(NotConvertible):
            in_unit(level, "ppb")
        page = text(browse(on_round.consultant).get(reverse("alert-levels", args=[on_round.campaign.key])))
        assert "Not looked at:" in page


class TestLevelPages:
    def test_one_click(self, on_round: Round, browse: Browse) -> None:
        browser = browse(on_round.consultant)
        page = text(browser.get(reverse("alert-levels", args=[on_round.campaign.key])))
        assert "Carbon dioxide above 5000 ppm, one reading is enough" in page
        browser.post(reverse("alert-level-choose", args=[on_round.campaign.key]), {"level": "CO2-5000"})
        assert on_round.campaign.alert_levels.filter(code="CO2-5000", is_on=True).count() == 1

    def test_a_level_of_its_own(self, on_round: Round, browse: Browse) -> None:
        person = member_of(on_round.consultant, on_round.campaign.site.organisation)
        entered = OWN | {"people": [person.pk], "addresses": "a@b.example", "within_minutes": 30}
        url = reverse("alert-level-add", args=[on_round.campaign.key])
        assert browse(on_round.consultant).post(url, entered).status_code == 302
        level = AlertLevel.objects.get(parameter="formaldehyde")
        assert (list(level.people.all()), level.addresses, level.within_minutes) == ([person], "a@b.example", 30)

    def test_what_is_wrong_stands_at_its_field(self, on_round: Round, browse: Browse) -> None:
        url = reverse("alert-level-add", args=[on_round.campaign.key])
        answer = browse(on_round.consultant).post(url, OWN | {"minutes": 0, "within_minutes": 30})
        assert answer.status_code == 422
        assert "minutes" in errors(answer)

    def test_change_and_switch(self, on_round: Round, browse: Browse) -> None:
        browser, level = browse(on_round.consultant), on_round.level
        url = reverse("alert-level-edit", args=[level.key])
        assert browser.get(url).status_code == 200
        entered = {"parameter": "co", "value": 250, "unit": "ppm", "averaging": "any", "minutes": 0}
        assert browser.post(url, entered | {"within_minutes": 15}).status_code == 302
        browser.post(reverse("alert-level-switch", args=[level.key]), {"on": "no"})
        level.refresh_from_db()
        assert (level.value, level.within_minutes, level.is_on, level.people.count()) == (250, 15, False, 0)

    def test_it_is_never_deleted(self) -> None:
        with pytest.raises(NoReverseMatch):
            reverse("alert-level-delete", args=["00000000-0000-0000-0000-000000000000"])
