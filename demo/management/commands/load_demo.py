"""``manage.py load_demo``: enter the invented scenario and hand in its logs."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from campaigns.models import Job
from campaigns.tasks import run_job
from demo.load import is_loaded, load
from demo.scenario import PASSWORD, SCENARIO


class Command(BaseCommand):
    help = "Load the demo: an invented building, its campaign and its log files, which then wait for a worker."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--inline", action="store_true", help="Do the waiting jobs here instead of leaving them.")

    def handle(self, *args: Any, **options: Any) -> None:
        if is_loaded():
            self.stdout.write("The demo is loaded already.")
        else:
            load()
            self.stdout.write("The demo is loaded; its logs are waiting to be read.")
        while options["inline"] and (waiting := Job.ready().order_by("pk").first()):
            run_job(waiting.pk)
            waiting.refresh_from_db()
            self.stdout.write(f"{waiting.kind}: {waiting.state} {waiting.message}")
        for person in (p for o in SCENARIO.organisations for p in o.people):
            self.stdout.write(f"  {person.role:<11} {person.email:<32} {PASSWORD}")
