"""``manage.py backup FOLDER``: database and files, as they are now."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from config.keeping.backup import back_up


class Command(BaseCommand):
    help = "Keep database and files in a folder. Again into the same folder: what is there already is not copied again."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("folder", type=Path)

    def handle(self, *args: Any, **options: Any) -> None:
        backed = back_up(options["folder"], self.stdout.write)
        for damaged in backed.manifest.damaged:
            what = f"has SHA-256 {damaged.found}" if damaged.found else "is gone"
            self.stderr.write(f"{damaged.name} {what}; its row says {damaged.said or 'nothing'}.")
        self.stdout.write(f"Kept in {options['folder']}.")
        if backed.manifest.damaged:
            raise CommandError(f"{len(backed.manifest.damaged)} files were not as their rows say. The rest is kept.")
