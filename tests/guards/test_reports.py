"""What was signed, and the history, stay as they are; asked by SQL, past all models."""

from __future__ import annotations

import pytest
from auditlog.models import LogEntry
from django.db.models import Model

from campaigns.guards import all_guards
from reports.guards import SET_ANEW, SET_LATER
from reports.models import Report
from tests import factories as make
from tests.guards.asking import refused, sql, value
from tests.guards.houses import Rows, a_house
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")


def build(world: World) -> Rows:
    return a_house()


@pytest.fixture
def report(own_world: World) -> Report:
    found: Report = own_world.built[Report]
    return found


def others_of(model: type[Model], *but: str) -> list[str]:
    return [str(field.column) for field in model._meta.concrete_fields if field.name not in but]


@pytest.mark.parametrize("column", others_of(Report, *SET_LATER, *SET_ANEW))
def test_no_column_that_was_signed_is_changed(report: Report, column: str) -> None:
    new = {"content": "'{\"said\": 2}'", "id": "id + 1000", "revision": "7", "created_at": "'2020-01-01 00:00:00'"}
    new |= {"signed_at": new["created_at"], "campaign_id": "campaign_id + 1", "signed_by_id": "signed_by_id + 1"}
    new |= {"client_id": "NULL"}
    new |= {"key": "'00000000-0000-4000-8000-000000000000'"}
    changed = f"UPDATE reports_report SET {column} = {new.get(column, repr('another'))} WHERE id = %s"
    refused("reports_report_stays", changed, report.pk)


def test_what_is_set_later_is_set_once(report: Report) -> None:
    for column, first, second in (
        ("withdrawn_at", "'2026-11-01 08:00:00'", "NULL"),
        ("pdf", "'reports/1.pdf'", "'reports/2.pdf'"),
    ):
        assert sql(f"UPDATE reports_report SET {column} = {first} WHERE id = %s", report.pk) == 1
        refused(
            "reports_report_stays_as_it_is", f"UPDATE reports_report SET {column} = {second} WHERE id = %s", report.pk
        )
    refused("reports_report_stays", "UPDATE reports_report SET released_at = NULL WHERE id = %s", report.pk)


def test_the_digest_of_a_file_that_is_set_anew_is_never_lost(report: Report) -> None:
    changed = "UPDATE reports_report SET pdf_sha256 = %s WHERE id = %s"
    for digest in ("a" * 64, "b" * 64):
        assert sql(changed, digest, report.pk) == 1
    refused("reports_report_keeps_its_digest", changed, "", report.pk)


def test_a_released_report_is_never_deleted(report: Report) -> None:
    refused("reports_report_is_not_deleted", "DELETE FROM reports_report WHERE id = %s", report.pk)
    draft = Report.objects.create(
        campaign=report.campaign, revision=2, content={}, digest="0" * 64, signed_by=report.signed_by,
        signed_name="C. Lintel", signed_at=make.START,
    )  # fmt: skip
    assert sql("DELETE FROM reports_report WHERE id = %s", draft.pk) == 1


def test_a_report_saved_whole_is_the_same(report: Report) -> None:
    """What is read and written back does not differ, whichever way the database keeps times and JSON."""
    same = Report.objects.get(pk=report.pk)
    same.pdf = "reports/1.pdf"
    same.save()
    assert Report.objects.get(pk=report.pk).pdf == "reports/1.pdf"


@pytest.fixture
def entry(report: Report) -> LogEntry:
    made = LogEntry.objects.log_create(
        report.campaign.site, force_log=True, action=LogEntry.Action.UPDATE, changes={"name": ["a", "b"]},
        actor=make.UserFactory.create(),
    )  # fmt: skip
    assert made is not None
    return made


@pytest.mark.history
def test_the_history_is_not_rewritten(entry: LogEntry) -> None:
    for change in (
        "changes = '{}'",
        "timestamp = '2020-01-01 00:00:00'",
        "action = 2",
        "object_repr = 'x'",
        "actor_id = 1",
    ):
        refused("auditlog_logentry_stays", f"UPDATE auditlog_logentry SET {change} WHERE id = %s", entry.pk)
    refused("auditlog_logentry_is_not_deleted", "DELETE FROM auditlog_logentry")


@pytest.mark.history
def test_a_person_may_go_and_the_history_stays(entry: LogEntry) -> None:
    assert entry.actor is not None
    entry.actor.delete()
    assert value("SELECT actor_id FROM auditlog_logentry WHERE id = %s", entry.pk) is None


def test_every_column_of_the_history_is_guarded() -> None:
    (guard,) = (guard for guard in all_guards() if guard.name == "auditlog_logentry_stays_as_it_is")
    assert all(f'OLD."{column}" IS DISTINCT FROM' in guard.refuse for column in others_of(LogEntry))
