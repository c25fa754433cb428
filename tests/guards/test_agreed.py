"""What was offered, answered and agreed stays as it was; asked by SQL, past all models."""

from __future__ import annotations

import pytest

from campaigns.models import AcceptanceLimit, Agreement, AlertLevel, Campaign, Membership, Organisation, User
from tests import factories as make
from tests.guards.asking import refused, sql
from tests.guards.houses import Rows, a_house
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")
ANSWER = "UPDATE campaigns_agreement SET answered_name = %s, answered_at = %s, comment = %s WHERE id = %s"
AT, LATER = "2026-11-01 08:00:00+00:00", "2026-11-02 08:00:00+00:00"


def build(world: World) -> Rows:
    return a_house()


@pytest.fixture
def rows(own_world: World) -> Rows:
    found: Rows = own_world.built
    return found


OFFERED = {
    "question": "'another'", "decision": "'another'", "undecided": "''", "version": "7", "digest": "'another'",
    "content": "'{\"said\": 2}'", "client_id": "NULL", "offered_at": "NULL", "offered_by_id": "NULL",
    "campaign_id": "campaign_id + 1", "created_at": "'2020-01-01 00:00:00'", "id": "id + 1000",
    "key": "'00000000-0000-4000-8000-000000000000'",
}  # fmt: skip


@pytest.mark.parametrize("column", OFFERED)
def test_what_was_offered_is_not_changed(rows: Rows, column: str) -> None:
    changed = f"UPDATE campaigns_agreement SET {column} = {OFFERED[column]} WHERE id = %s"
    refused("campaigns_agreement_stays", changed, rows[Agreement].pk)


def test_every_other_column_is_of_the_answer() -> None:
    rest = {str(field.column) for field in Agreement._meta.concrete_fields} - OFFERED.keys() - {"state"}
    assert {name for name in rest if not name.startswith("answered_")} == {"recorded_at", "comment"}


def test_an_answer_is_given_once(rows: Rows) -> None:
    agreement = rows[Agreement].pk
    assert sql(ANSWER, "S. Mullion", AT, "", agreement) == 1
    assert sql(ANSWER, "S. Mullion", AT, "", agreement) == 1, "the same again is no change"
    for name, at in (("C. Lintel", AT), ("S. Mullion", LATER), ("", AT), ("S. Mullion", None)):
        refused("campaigns_agreement_stays_as_it_is", ANSWER, name, at, "", agreement)
    assert sql("UPDATE campaigns_agreement SET state = 'overtaken' WHERE id = %s", agreement) == 1


def test_what_was_offered_is_not_deleted_and_a_draft_is_written_anew(rows: Rows) -> None:
    refused("campaigns_agreement_is_not_deleted", "DELETE FROM campaigns_agreement WHERE id = %s", rows[Agreement].pk)
    said = {"question": "?", "decision": "!", "undecided": "."}
    draft = Agreement.objects.create(campaign=rows[Campaign], version=2, **said).pk
    assert sql("UPDATE campaigns_agreement SET question = 'another' WHERE id = %s", draft) == 1
    assert sql("DELETE FROM campaigns_agreement WHERE id = %s", draft) == 1


@pytest.mark.parametrize("change", ["percent = 30", "measure = 'time'", f"set_at = '{LATER}'", "is_usual = true"])
def test_an_acceptance_limit_is_never_changed(rows: Rows, change: str) -> None:
    changed = f"UPDATE campaigns_acceptancelimit SET {change} WHERE id = %s"
    refused("campaigns_acceptancelimit_stays", changed, rows[AcceptanceLimit].pk)


def test_people_of_another_house_are_not_told(rows: Rows) -> None:
    """A table that only says who belongs to what is looked at like any other."""
    level = rows[AlertLevel]
    table = AlertLevel.people.through._meta.db_table
    added = f"INSERT INTO {table} (alertlevel_id, membership_id) VALUES (%s, %s)"
    ours, theirs = make.UserFactory.create(), a_house()[Membership]
    refused(f"{table}_membership_in_house", added, level.pk, theirs.pk)
    member = Membership.objects.create(user=ours, organisation=rows[Organisation], role="field")
    assert sql(added, level.pk, member.pk) == 1


def test_an_account_stays_with_the_house_that_made_it(rows: Rows) -> None:
    moved = "UPDATE campaigns_user SET house_id = %s WHERE id = %s"
    ours, theirs = rows[Organisation].pk, a_house()[Organisation].pk
    made = User.objects.create_user("k.transom@example.org", house=rows[Organisation]).pk
    refused("campaigns_user_stays_in_house", moved, theirs, made)
    refused("campaigns_user_stays_in_house", moved, None, made)
    operators = User.objects.create_user("k.transom@example.org").pk
    assert sql("UPDATE campaigns_user SET email = 'k.sill@example.org' WHERE id = %s", operators) == 1
    assert sql(moved, ours, operators) == 1
