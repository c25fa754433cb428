"""An installation with something in it: a judged house, a released report with its PDF, a log and its original."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest
from django.conf import LazySettings
from django.core.management.color import no_style
from django.db import connection, transaction

from campaigns.models import User
from config.keeping.backup import back_up
from config.keeping.triggers import triggers_put_aside
from readings.models import Upload
from reports.models import Report
from reports.services import release
from reports.services.release import sign_and_release
from tests import factories as make
from tests.readings.doing import a_log, hand_in, read
from tests.reports.measured import House, house, work

LOG = [0.031, 0.032, "", "<0.01", 0.034]


@dataclass
class Kept:
    house: House
    upload: Upload
    report: Report
    media: Path

    def original(self) -> Path:
        return Path(self.upload.original.path)


@pytest.fixture
def kept(transactional_db: None, site: Any, consultant: User, settings: LazySettings, tmp_path: Path) -> Kept:
    settings.MEDIA_ROOT = tmp_path / "media"
    found = house(site)
    report = sign_and_release(found.campaign, consultant)
    make.InstrumentFactory(organisation=site.organisation, name="meter N", serial="FL-7001")
    upload = hand_in(found.campaign, a_log(LOG, serial="FL-7001", every_s=60))
    read(upload)
    with patch.object(release, "render", return_value=b"%PDF-1.7 a page"):  # setting it takes seconds
        work()
    report.refresh_from_db()
    return Kept(found, upload, report, settings.MEDIA_ROOT)


def digests(folder: Path) -> dict[str, str]:
    """What every table says at this moment, by its name."""
    return {table.name: table.digest for table in back_up(folder).manifest.tables}


def files_of(media: Path) -> dict[str, bytes]:
    return {str(path.relative_to(media)): path.read_bytes() for path in media.rglob("*") if path.is_file()}


def destroy(media: Path) -> None:
    """A migrated database with nobody in it, and no files."""
    with transaction.atomic(), triggers_put_aside(connection):
        tables = [t for t in connection.introspection.django_table_names() if t != "django_migrations"]
        with connection.cursor() as cursor, connection.constraint_checks_disabled():
            for sql in connection.ops.sql_flush(no_style(), tables, allow_cascade=True):
                cursor.execute(sql)
    for path in media.rglob("*"):
        if path.is_file():
            path.unlink()


def against_the_rules(sql: str, *values: Any) -> None:
    """Written past everything that stands between: as a fault of the disk, or an operator who errs."""
    with transaction.atomic(), triggers_put_aside(connection), connection.cursor() as cursor:
        cursor.execute(sql, values)
        assert cursor.rowcount > 0


def flip(path: Path, at: int = -10) -> None:
    content = bytearray(path.read_bytes())
    content[at] ^= 1
    path.chmod(0o600)
    path.write_bytes(bytes(content))
