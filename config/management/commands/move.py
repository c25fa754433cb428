"""``manage.py move --to DATABASE_URL``: from the embedded default to PostgreSQL, with everything."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.files.storage import FileSystemStorage, Storage, default_storage
from django.core.management.base import BaseCommand, CommandError, CommandParser

from config.keeping.backup import back_up


class Command(BaseCommand):
    help = (
        "Put everything into another, empty database, and the files into the storage that the settings name. What is "
        "here stays as it is. Stop Fanlight first: what is written meanwhile would stay behind."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--to", required=True, help="DATABASE_URL of the other database, which is empty.")
        parser.add_argument("--files", type=Path, help="Where the files are now, if not in FANLIGHT_VAR.")
        parser.add_argument("--by-way-of", type=Path, help="A folder for the backup it is done by, which is kept then.")

    def handle(self, *args: Any, **options: Any) -> None:
        if options["to"] == settings.DATABASE_URL:
            raise CommandError("That is the database that is used already.")
        if options["by_way_of"]:
            return self._move(options["by_way_of"], options)
        with tempfile.TemporaryDirectory(prefix="fanlight-move-", dir=settings.VAR_DIR) as folder:
            return self._move(Path(folder), options)

    def _move(self, folder: Path, options: dict[str, Any]) -> None:
        backed = back_up(folder, self.stdout.write, _files_now(options["files"]))
        if backed.manifest.damaged:
            names = ", ".join(damaged.name for damaged in backed.manifest.damaged)
            raise CommandError(f"Nothing was moved: these files are gone or not what was kept: {names}.")
        # A process of its own, whose default database is the other one: what restore does, it does there.
        restored = subprocess.run(  # noqa: S603 - this program itself
            [sys.executable, str(settings.BASE_DIR / "manage.py"), "restore", str(folder)],
            env=os.environ | {"DATABASE_URL": options["to"]},
            capture_output=True, text=True,
        )  # fmt: skip
        self.stdout.write(restored.stdout)
        if restored.returncode:
            raise CommandError(f"The other database was not filled. {restored.stderr.strip()}")
        self.stdout.write("Moved. Set DATABASE_URL to the other database and start Fanlight again.")


def _files_now(folder: Path | None) -> Storage:
    """Those of the embedded default are on the disk, whatever storage the settings name for them to go to."""
    if folder is None and isinstance(default_storage, FileSystemStorage):
        return default_storage
    return FileSystemStorage(folder or settings.MEDIA_ROOT)
