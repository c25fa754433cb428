"""A reading is never changed, and leaves its table only to stand aside; asked by SQL, past all models."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection, transaction

from campaigns.guards import all_guards
from campaigns.models import Channel, Job, User
from readings.job_kinds import SET_ASIDE
from readings.models import AsideReading, Reading, SettingAside, TimelineStep, Upload
from readings.services.stretches_aside import set_aside, take_back
from readings.services.withdrawing import finish, withdraw
from tests import factories as make
from tests.guards.asking import refused, sql
from tests.guards.houses import STAMPS, Rows, a_house
from tests.worlds import World

pytestmark = pytest.mark.usefixtures("world_of_file")
CHANGES, GOES, BACK = (
    "readings_reading_never_changes",
    "readings_reading_goes_aside",
    "readings_asidereading_comes_back",
)
COPIED = (
    "INSERT INTO readings_asidereading (setting_aside_id, channel_id, stamp, nth, raw, flag, upload_id, line) "
    "SELECT %s, channel_id, stamp, nth, {}, flag, upload_id, line FROM readings_reading WHERE channel_id = %s"
)


def build(world: World) -> Rows:
    return a_house()


@pytest.fixture
def rows(own_world: World) -> Rows:
    found: Rows = own_world.built
    return found


@pytest.fixture
def channel(rows: Rows) -> Channel:
    found: Channel = rows[Channel]
    return found


@pytest.fixture
def by(db: None) -> User:
    return make.UserFactory.create()


def stretch(channel: Channel, **more: Any) -> SettingAside:
    said = {"first_stamp_ms": 0, "last_stamp_ms": 10_000, "reason": "covered"} | more
    return SettingAside.objects.create(organisation=channel.instrument.organisation, channel=channel, **said)


@pytest.mark.parametrize("change", ["raw = 5", "raw = NULL", "flag = 1", "line = 9", "stamp = stamp + 1", "nth = 3"])
def test_no_column_is_changed(rows: Rows, channel: Channel, change: str) -> None:
    refused(CHANGES, f"UPDATE readings_reading SET {change} WHERE channel_id = %s", channel.pk)
    refused("readings_asidereading_never_changes", f"UPDATE readings_asidereading SET {change}")


def test_none_is_deleted(rows: Rows, channel: Channel) -> None:
    refused(GOES, "DELETE FROM readings_reading WHERE channel_id = %s AND stamp = %s", channel.pk, STAMPS[0])
    refused(GOES, "DELETE FROM readings_reading")
    assert Reading.objects.count() == 3


def test_none_is_replaced(rows: Rows, channel: Channel) -> None:
    """What an upsert makes of a key that is held."""
    upload = rows[Upload].pk
    values = (
        f"(channel_id, stamp, nth, raw, flag, upload_id, line) VALUES ({channel.pk}, {STAMPS[0]}, 0, 7, 0, {upload}, 2)"
    )
    over = "ON CONFLICT (channel_id, stamp, nth) DO UPDATE SET raw = excluded.raw"
    refused(CHANGES, f"INSERT INTO readings_reading {values} {over}")
    if connection.vendor == "sqlite":
        refused(GOES, f"INSERT OR REPLACE INTO readings_reading {values}")
    assert Reading.objects.get(stamp=STAMPS[0]).raw == 0.01


@pytest.mark.usefixtures("postgresql")
def test_nor_through_a_part_of_the_table_or_all_at_once(rows: Rows, channel: Channel) -> None:
    for part in range(8):
        refused("is_not_emptied", f"TRUNCATE readings_reading_{part}")
        held = Reading.objects.extra(where=[f"tableoid = 'readings_reading_{part}'::regclass"]).count()
        if held:
            refused(GOES, f"DELETE FROM readings_reading_{part}")
            refused(CHANGES, f"UPDATE readings_reading_{part} SET raw = 1")
    connection.check_constraints()  # those that wait for the end would be in the way
    for table in ("readings_reading", "readings_asidereading", "reports_report", "auditlog_logentry"):
        refused("is_not_emptied", f"TRUNCATE {table} CASCADE")


def test_none_is_looked_at_when_it_comes() -> None:
    """They come by the million."""
    assert not [guard for guard in all_guards() if guard.table == "readings_reading" and guard.event == "INSERT"]


def test_one_that_stands_aside_as_it_is_may_go(channel: Channel) -> None:
    decided = stretch(channel)
    assert sql(COPIED.format("raw"), decided.pk, channel.pk) == 3
    assert sql("DELETE FROM readings_reading WHERE channel_id = %s", channel.pk) == 3


def test_one_that_stands_aside_as_another_may_not(channel: Channel) -> None:
    sql(COPIED.format("raw + 1"), stretch(channel).pk, channel.pk)
    refused(GOES, "DELETE FROM readings_reading WHERE channel_id = %s", channel.pk)


def test_nor_one_that_stands_aside_for_nothing(channel: Channel) -> None:
    """Under no row, under one of other stamps, one that was taken back, one of another house's channel."""
    sql(COPIED.format("raw"), 999_999, channel.pk)
    sql(COPIED.format("raw"), stretch(channel, first_stamp_ms=50_000, last_stamp_ms=60_000).pk, channel.pk)
    sql(COPIED.format("raw"), stretch(channel, taken_back_at=make.START).pk, channel.pk)
    sql(COPIED.format("raw"), stretch(a_house()[Channel]).pk, channel.pk)
    refused(GOES, "DELETE FROM readings_reading WHERE channel_id = %s", channel.pk)


def test_one_that_stands_aside_only_comes_back(rows: Rows, channel: Channel) -> None:
    refused(BACK, "DELETE FROM readings_asidereading")
    decided = rows[SettingAside]
    refused("readings_settingaside_is_not_deleted", "DELETE FROM readings_settingaside WHERE id = %s", decided.pk)
    assert AsideReading.objects.count() == 1


@pytest.mark.parametrize(
    "change",
    ["reason = 'other'", "organisation_id = organisation_id + 1", "upload_id = NULL", "created_at = '2020-01-01'"],
)
def test_why_it_stands_aside_is_not_changed(rows: Rows, change: str) -> None:
    refused(
        "readings_settingaside_stays", f"UPDATE readings_settingaside SET {change} WHERE id = %s", rows[SettingAside].pk
    )


def test_when_it_was_done_is_said_once(rows: Rows) -> None:
    decided = rows[SettingAside].pk
    assert sql("UPDATE readings_settingaside SET done_at = '2026-11-01 08:00:00' WHERE id = %s", decided) == 1
    refused("stays_as_it_is", "UPDATE readings_settingaside SET done_at = '2026-11-02 08:00:00' WHERE id = %s", decided)
    refused("stays_as_it_is", "UPDATE readings_settingaside SET done_at = NULL WHERE id = %s", decided)


@pytest.mark.parametrize("together", [20_000, 1])
def test_what_people_do_still_goes(
    rows: Rows, channel: Channel, by: User, monkeypatch: pytest.MonkeyPatch, together: int
) -> None:
    """A stretch aside and back, and aside again; then the file is withdrawn, which takes along what stands aside."""
    monkeypatch.setattr("readings.store.aside.PART", together)  # on SQLite
    upload = rows[Upload]
    before = list(Reading.objects.order_by("stamp").values_list("stamp", "raw", "line"))
    (made,) = set_aside([channel], STAMPS[0], STAMPS[1], "covered", by)
    assert (made.count, Reading.objects.count()) == (2, 1)
    take_back(made, by)
    assert list(Reading.objects.order_by("stamp").values_list("stamp", "raw", "line")) == before
    set_aside([channel], STAMPS[1], STAMPS[1], "covered", by)
    decided = withdraw(upload, "another room", by)
    job = Job.take(Job.objects.get(kind=SET_ASIDE).pk)
    assert job is not None
    finish(decided, job)
    assert AsideReading.objects.filter(setting_aside=decided).count() == 3 - Reading.objects.count()


def test_a_step_on_the_timeline_stays_as_it_was_done(rows: Rows) -> None:
    step = rows[TimelineStep].pk
    refused("stays_as_it_is", "UPDATE readings_timelinestep SET said = 'nothing' WHERE id = %s", step)
    with transaction.atomic():
        assert TimelineStep.objects.filter(pk=step).update(undone_at=rows[TimelineStep].created_at) == 1
    assert sql("UPDATE readings_timelinestep SET undone_at = NULL WHERE id = %s", step) == 1, "done again"
