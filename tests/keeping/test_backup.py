"""Backup, destroy, restore: the same digests; and what is no whole backup is refused."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest
from django.apps import apps
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command
from django.db import connection, models

from campaigns.models import Organisation
from config.keeping import files, manifest
from config.keeping.backup import back_up
from config.keeping.manifest import BackupRefused
from config.keeping.restore import prove_whole, restore
from config.keeping.snapshot import snapshot
from config.keeping.tables import LEFT_OUT, kept_models
from config.keeping.verifying import verify
from readings.models import Reading
from tests import factories as make
from tests.keeping.conftest import Kept, destroy, digests, files_of, flip

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.history]


def triggers() -> list[Any]:
    sql = {
        "sqlite": "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' ORDER BY name",
        "postgresql": "SELECT tgrelid::regclass::text, tgname, tgenabled FROM pg_trigger WHERE NOT tgisinternal "
        "ORDER BY 1, 2",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(sql)
        return list(cursor.fetchall())


# --- what is kept ---


@pytest.mark.django_db
def test_every_table_is_kept_but_those_that_are_left_out_by_name() -> None:
    there = set(connection.introspection.table_names())
    parts = {table for table in there if table.startswith("readings_reading_")}  # of PostgreSQL: of one table
    assert there - parts - LEFT_OUT == kept_models(apps).keys()


@pytest.mark.django_db
def test_every_field_that_names_a_file_is_known() -> None:
    named = {
        (model._meta.label, field.name)
        for model in apps.get_models()
        for field in model._meta.fields
        if isinstance(field, models.FileField)
    }
    assert named == files.DIGESTS.keys()


# --- there and back ---


def test_backup_destroy_restore_verify_gives_identical_digests(kept: Kept, tmp_path: Path) -> None:
    folder = tmp_path / "backup"
    backed = back_up(folder)
    before, stored, guards = digests(tmp_path / "before"), files_of(kept.media), triggers()
    assert backed.manifest.damaged == ()
    assert backed.copied == len(stored) == 2, "the original and the PDF"
    assert sum(table.rows for table in backed.manifest.tables) > 400

    destroy(kept.media)
    assert Organisation.objects.count() == Reading.objects.count() == len(files_of(kept.media)) == 0
    call_command("restore", str(folder), verbosity=0)

    assert digests(tmp_path / "after") == before
    assert files_of(kept.media) == stored
    assert triggers() == guards
    found = verify(10, seed=1)
    assert found.wrong == []
    assert (found.files, found.reread) == (2, 1)
    assert found.contents >= 1


def test_numbers_of_rows_that_are_gone_are_not_given_again(kept: Kept, tmp_path: Path) -> None:
    gone = make.OrganisationFactory(name="Gone House")
    last = gone.pk
    gone.delete()
    back_up(tmp_path / "backup")
    destroy(kept.media)
    restore(tmp_path / "backup")
    assert make.OrganisationFactory(name="New House").pk > last


def test_what_is_written_meanwhile_is_not_in_it_and_nobody_waits(kept: Kept) -> None:
    before = Organisation.objects.count()
    with snapshot() as alias:
        make.OrganisationFactory(name="Came Meanwhile")
        assert Organisation.objects.using(alias).count() == before
        assert Organisation.objects.count() == before + 1


def test_again_into_the_same_folder_only_what_is_new_is_copied(kept: Kept, tmp_path: Path) -> None:
    folder = tmp_path / "backup"
    assert back_up(folder).copied == 2
    assert back_up(folder).copied == 0
    flip(manifest.kept_at(folder, kept.upload.sha256))
    assert back_up(folder).copied == 1, "what was spoilt in the folder is copied anew"
    assert len(list(folder.glob("tables-*"))) == 1
    prove_whole(folder, manifest.read(folder))


# --- what is refused ---


def test_a_half_written_backup_is_refused_and_goes_on(kept: Kept, tmp_path: Path) -> None:
    folder = tmp_path / "backup"
    with patch.object(manifest, "write", side_effect=KeyboardInterrupt), pytest.raises(KeyboardInterrupt):
        back_up(folder)
    destroy(kept.media)
    with pytest.raises(CommandError, match="was not finished"):
        call_command("restore", str(folder))
    assert Organisation.objects.count() == 0
    assert files_of(kept.media) == {}
    # The installation itself would have gone on: its files are in the folder already.
    assert len([path for path in (folder / "files").rglob("*") if path.is_file()]) == 2


def test_the_former_backup_stands_until_the_next_is_whole(kept: Kept, tmp_path: Path) -> None:
    folder = tmp_path / "backup"
    first = back_up(folder).manifest
    make.OrganisationFactory(name="Later House")
    with patch("config.keeping.backup.take", side_effect=KeyboardInterrupt), pytest.raises(KeyboardInterrupt):
        back_up(folder)
    assert manifest.read(folder) == first
    prove_whole(folder, first)


@pytest.mark.parametrize("what", ["manifest.json", "tables-*/readings_reading.jsonl.gz", "files/*/*"])
def test_a_flipped_byte_in_a_backup_is_found_before_anything_is_written(kept: Kept, tmp_path: Path, what: str) -> None:
    folder = tmp_path / "backup"
    back_up(folder)
    flip(next(iter(folder.glob(what))))
    destroy(kept.media)
    with pytest.raises(BackupRefused):
        restore(folder)
    assert Organisation.objects.count() == 0
    assert files_of(kept.media) == {}


@pytest.mark.parametrize("what", ["tables-*/campaigns_site.jsonl.gz", "files/*/*"])
def test_a_part_that_is_gone_is_found(kept: Kept, tmp_path: Path, what: str) -> None:
    back_up(tmp_path / "backup")
    next(iter((tmp_path / "backup").glob(what))).unlink()
    with pytest.raises(BackupRefused, match=r"is not there|gone"):
        restore(tmp_path / "backup", over=True)


def test_what_is_not_empty_is_not_written_over_unless_it_is_said(kept: Kept, tmp_path: Path) -> None:
    folder = tmp_path / "backup"
    back_up(folder)
    before = digests(tmp_path / "before")
    make.OrganisationFactory(name="Came Later")
    default_storage.delete(str(kept.upload.original.name))
    with pytest.raises(BackupRefused, match="not empty"):
        restore(folder)
    assert Organisation.objects.filter(name="Came Later").exists()
    restore(folder, over=True)
    assert digests(tmp_path / "after") == before
    assert kept.original().is_file()


def test_a_backup_of_a_later_fanlight_is_refused(kept: Kept, tmp_path: Path) -> None:
    later = replace(back_up(tmp_path).manifest, migrations=(("campaigns", "9999_of_tomorrow"),))
    manifest.write(tmp_path, later)
    with pytest.raises(BackupRefused, match="later Fanlight"):
        restore(tmp_path, over=True)


def test_a_file_that_was_damaged_before_is_told_and_the_rest_is_kept(kept: Kept, tmp_path: Path) -> None:
    flip(kept.original())
    with pytest.raises(CommandError, match="1 files were not as their rows say"):
        call_command("backup", str(tmp_path / "backup"))
    said = manifest.read(tmp_path / "backup")
    assert [(damaged.name, damaged.said) for damaged in said.damaged] == [
        (kept.upload.original.name, kept.upload.sha256)
    ]
    prove_whole(tmp_path / "backup", said)
