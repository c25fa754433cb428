"""``manage.py verify``: whether what is kept still is what was kept."""

from __future__ import annotations

import secrets
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from config.keeping.verifying import verify


class Command(BaseCommand):
    help = (
        "Hold every file and every signed content against its digest, and readings of some files against the files. "
        "Writes nothing; exit code 1 and a list where something is wrong."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--files", type=int, default=20, help="Files that are read again; chosen by chance.")
        parser.add_argument("--seed", type=int, help="The same number chooses the same files.")

    def handle(self, *args: Any, **options: Any) -> None:
        seed = secrets.randbelow(1_000_000) if options["seed"] is None else options["seed"]
        found = verify(max(0, options["files"]), seed)
        for wrong in found.wrong:
            self.stderr.write(wrong)
        self.stdout.write(
            f"{found.files:,} files and {found.contents:,} signed contents held against their digests, "
            f"{found.reread:,} files read again (--seed {seed})."
        )
        if found.wrong:
            raise CommandError(f"{len(found.wrong)} things are not what was kept.")
        self.stdout.write("All is as it was kept.")
