"""``manage.py restore FOLDER``: a backup into an empty installation."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from config.keeping.manifest import BackupRefused
from config.keeping.restore import restore


class Command(BaseCommand):
    help = "Put a backup into an empty installation, of either database, and prove that it is there as it was kept."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("folder", type=Path)
        parser.add_argument("--over", action="store_true", help="Everything in this installation goes.")

    def handle(self, *args: Any, **options: Any) -> None:
        try:
            restored = restore(options["folder"], self.stdout.write, over=options["over"])
        except BackupRefused as error:
            raise CommandError(str(error)) from None
        for damaged in restored.manifest.damaged:
            self.stderr.write(f"{damaged.name} was not as its row says when the backup was made.")
        self.stdout.write("Restored. Everybody logs in again.")
