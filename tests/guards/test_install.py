"""Guards are there whenever a database has been migrated, whatever was done to its tables meanwhile."""

from __future__ import annotations

from typing import Any

import pytest
from django.apps import apps
from django.core.management import CommandError, call_command
from django.db import connection, models
from django.db.migrations.state import ProjectState

from campaigns import guards
from campaigns.guards.in_place import standing
from campaigns.guards.sql import trigger_of
from campaigns.models import Campaign
from config.checks import guards_stand
from tests.guards.asking import refused, sql
from tests.guards.houses import a_house


def dropped(name: str) -> None:
    """By somebody at the database."""
    guard = next(guard for guard in guards.all_guards() if guard.name == name)
    trigger = trigger_of(guard, connection.vendor)
    if connection.vendor == "postgresql":
        sql(f"DROP TRIGGER {trigger} ON {guard.table}")
    else:
        sql(f"DROP TRIGGER {trigger}")


@pytest.mark.django_db
class TestStanding:
    def test_all_of_them_after_a_migration(self) -> None:
        assert guards.missing(connection) == []
        assert guards_stand(databases=["default"]) == []

    def test_one_that_is_gone_is_told_and_made_again(self) -> None:
        dropped("reports_report_stays_as_it_is")
        assert guards.missing(connection) == ["reports_report_stays_as_it_is"]
        (told,) = guards_stand(databases=["default"])
        assert "reports_report_stays_as_it_is" in told.msg
        call_command("migrate", verbosity=0)
        assert guards.missing(connection) == []

    @pytest.mark.usefixtures("postgresql")
    def test_one_that_is_switched_off_or_gone_from_a_part_of_a_table(self) -> None:
        guard = next(guard for guard in guards.all_guards() if guard.name == "readings_reading_goes_aside")
        sql(f"DROP TRIGGER {trigger_of(guard, 'postgresql')} ON readings_reading_3")
        sql("ALTER TABLE reports_report DISABLE TRIGGER USER")
        assert {"readings_reading_goes_aside", "reports_report_is_not_deleted"} <= set(guards.missing(connection))
        guards.install(connection)
        assert guards.missing(connection) == []

    def test_one_of_an_earlier_version_is_replaced(self, monkeypatch: pytest.MonkeyPatch) -> None:
        before = standing(connection)
        later = guards.Guard("reports_report_is_not_deleted", "reports_report", "DELETE")
        others = tuple(guard for guard in guards.all_guards() if guard.name != later.name)
        monkeypatch.setattr("campaigns.guards.in_place.all_guards", lambda: (*others, later))
        guards.install(connection)
        assert len(standing(connection)) == len(before)
        assert standing(connection) - before == {("reports_report", trigger_of(later, connection.vendor))}

    def test_nothing_is_lifted_where_nothing_is_migrated(self) -> None:
        guards.before_migration(plan=[])
        assert guards.missing(connection) == []

    def test_lifted_for_a_migration_and_back_after_it(self) -> None:
        guards.before_migration(plan=["a step"])
        assert standing(connection) == set()
        guards.after_migration()
        assert guards.missing(connection) == []

    def test_a_database_that_is_on_its_way_gets_none(self) -> None:
        guards.before_migration(plan=["a step"])
        state = ProjectState.from_apps(apps)
        state.remove_field("campaigns", "campaign", "unsampled")
        guards.after_migration(apps=state.apps)
        assert standing(connection) == set()


@pytest.mark.django_db(transaction=True)
def test_a_table_that_is_made_anew_is_guarded_again() -> None:
    """As a migration does on SQLite, of a table that guards of other tables name as well."""
    field: models.Field[Any, Any] = models.IntegerField(default=0)
    field.set_attributes_from_name("floor_count")
    guards.before_migration(plan=["a step"])
    with connection.schema_editor() as editor:
        editor.add_field(Campaign, field)
        editor.remove_field(Campaign, field)
    guards.after_migration()
    assert guards.missing(connection) == []
    ours, theirs = a_house(), a_house()
    moved = "UPDATE campaigns_campaign SET site_id = %s WHERE id = %s"
    refused("campaigns_campaign_stays_in_house", moved, theirs[Campaign].site_id, ours[Campaign].pk)


@pytest.mark.django_db(transaction=True)
def test_what_is_stored_is_not_flushed() -> None:
    a_house()
    with pytest.raises(CommandError):
        call_command("flush", interactive=False, verbosity=0)
    assert Campaign.objects.count() == 1
    assert guards.missing(connection) == []
