"""No row points at one of another organisation, and none moves to another; asked by SQL of every link there is."""

from __future__ import annotations

from typing import Any

import pytest
from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import connection
from django.db.models import ForeignKey, Model

from campaigns import access
from campaigns.guards import all_guards, message_of
from campaigns.guards.organisations import NOT_GUARDED, is_owner, links
from campaigns.guards.rules import CROSSES, STAYS
from campaigns.guards.sql import trigger_of
from campaigns.models import Campaign, Criterion, Deployment, Instrument, Limit, Membership, Organisation, PlannedPoint
from campaigns.services.records import save_new
from readings.models import Upload
from tests import factories as make
from tests.guards.asking import refused, sql
from tests.guards.houses import Rows, a_house
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")
APPS = ("campaigns", "readings", "reports")
Link = tuple[type[Model], Any]
LINKS: list[Link] = list(links())
ACROSS = [link for link in LINKS if not is_owner(*link) and (link[0].__name__, link[1].name) not in NOT_GUARDED]
OWNING = [link for link in LINKS if is_owner(*link)]
#: Readings are asked for by another key than ``id``; that they are never changed is asked elsewhere.
BY_MILLION = {"Reading", "AsideReading"}


def build(world: World) -> tuple[Rows, Rows]:
    return a_house(), a_house()


@pytest.fixture
def houses(own_world: World) -> tuple[Rows, Rows]:
    found: tuple[Rows, Rows] = own_world.built
    return found


def said(link: Link) -> str:
    return f"{link[0].__name__}.{link[1].name}"


def other_end(field: ForeignKey[Any, Any], rows: Rows) -> Any:
    return rows[field.related_model]


# --- every foreign key ------------------------------------------------------------------------------------------------


def test_every_link_between_rows_of_organisations_is_guarded_or_says_why_not() -> None:
    guarded = {(guard.table, guard.name, guard.event) for guard in all_guards()}
    for model, field in LINKS:
        table = model._meta.db_table
        if is_owner(model, field):
            assert (table, f"{table}_stays_in_house", "UPDATE") in guarded, said((model, field))
        elif (model.__name__, field.name) in NOT_GUARDED:
            assert len(NOT_GUARDED[model.__name__, field.name]) > 20
        else:
            name = f"{table}_{field.name}_in_house"
            assert {(table, name, "INSERT"), (table, name, "UPDATE")} <= guarded, said((model, field))


def test_every_model_but_people_belongs_to_an_organisation() -> None:
    """A model that ``access`` does not know has no organisation, and so no guard."""
    mine = {model for label in APPS for model in apps.get_app_config(label).get_models()}
    assert {model.__name__ for model in mine - set(access.registered())} == {"PasswordTry", "User", "Worker"}
    exempt = {(model.__name__, field.name) for model, field in LINKS}
    assert set(NOT_GUARDED) <= exempt, "a reason for a link that is no more"


@pytest.mark.parametrize("link", ACROSS, ids=said)
def test_a_link_across_is_refused(houses: tuple[Rows, Rows], link: Link) -> None:
    (model, field), (ours, theirs) = link, houses
    name = f"{model._meta.db_table}_{field.name}_in_house|stays_as_it_is|one_place"
    table, own, foreign = model._meta.db_table, ours[model], other_end(field, theirs)
    refused(name, f"UPDATE {table} SET {field.column} = %s WHERE id = %s", foreign.pk, own.pk)
    columns = [str(one.column) for one in model._meta.concrete_fields if one.column != "id"]
    taken = ", ".join("%s" if column == field.column else f'"{column}"' for column in columns)
    quoted = ", ".join(f'"{column}"' for column in columns)
    refused(
        f"{table}_{field.name}_in_house|one_place",
        f"INSERT INTO {table} (id, {quoted}) SELECT id + 100000, {taken} FROM {table} WHERE id = %s",
        foreign.pk,
        own.pk,
    )


@pytest.mark.parametrize("link", [link for link in OWNING if link[0].__name__ not in BY_MILLION], ids=said)
def test_a_row_does_not_move_to_another_organisation(houses: tuple[Rows, Rows], link: Link) -> None:
    (model, field), (ours, theirs) = link, houses
    name = f"{model._meta.db_table}_stays"
    foreign = other_end(field, theirs)
    refused(name, f"UPDATE {model._meta.db_table} SET {field.column} = %s WHERE id = %s", foreign.pk, ours[model].pk)


# --- what may be ------------------------------------------------------------------------------------------------------


def test_within_a_house_a_row_may_move(houses: tuple[Rows, Rows]) -> None:
    (ours, _) = houses
    elsewhere = make.PointFactory.create(room__zone=ours[Deployment].point.room.zone)
    moved = "UPDATE campaigns_deployment SET point_id = %s WHERE id = %s"
    assert sql(moved, elsewhere.pk, ours[Deployment].pk) == 1
    assert sql("UPDATE readings_upload SET instrument_id = NULL WHERE id = %s", ours[Upload].pk) == 1


def test_a_published_limit_is_for_all_and_stays_so(houses: tuple[Rows, Rows]) -> None:
    (ours, _) = houses
    published = Limit.objects.filter(organisation=None).first()
    assert published is not None
    assert Criterion.objects.create(campaign=ours[Campaign], limit=published).pk
    taken = "UPDATE campaigns_limit SET organisation_id = %s WHERE id = %s"
    refused("campaigns_limit_stays_in_house", taken, ours[Organisation].pk, published.pk)


def test_people_are_told_in_words(houses: tuple[Rows, Rows]) -> None:
    """By a service that is asked without a form, of a model that does not look by itself."""
    (ours, theirs) = houses
    with pytest.raises(ValidationError) as caught:
        save_new(PlannedPoint(campaign=ours[Campaign], point=theirs[Deployment].point))
    assert caught.value.messages == [CROSSES]
    assert message_of("campaigns_campaign_stays_in_house") == STAYS
    assert message_of("no_such_guard") is None


def test_a_person_may_have_roles_in_two_houses(houses: tuple[Rows, Rows]) -> None:
    """A person belongs to none."""
    (ours, theirs) = houses
    role = {"user": ours[Membership].user, "organisation": theirs[Organisation], "role": "field"}
    assert Membership.objects.create(**role).pk


def test_names_fit_both_databases() -> None:
    names = [trigger_of(guard, connection.vendor) for guard in all_guards()]
    assert len(set(names)) == len(names)
    assert max(map(len, names)) <= 63
    assert Instrument._meta.db_table in {guard.table for guard in all_guards()}
