"""``manage.py demo``: the invented campaign, ready to click through, with one command."""

from __future__ import annotations

import threading
import time
from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandParser
from django.db import close_old_connections

from campaigns.models import Campaign, Job, Membership, Role
from demo.load import is_loaded, load
from demo.scenario import PASSWORD, SCENARIO
from reports.job_kinds import EVALUATE
from reports.models import Report
from reports.services.release import sign_and_release

PATIENCE_S = 300


class Command(BaseCommand):
    help = "Migrate, load the demo through the real pipeline, and serve it with a worker."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--worker", choices=("auto", "yes", "no"), default="auto", help="As for serve.")

    def handle(self, *args: Any, **options: Any) -> None:
        call_command("migrate", interactive=False, verbosity=0)
        if not is_loaded():
            load()
        self.stdout.write("\nThe Fanlight demo. Building, people, instruments and air are invented.\n")
        for person in (p for o in SCENARIO.organisations for p in o.people):
            self.stdout.write(f"  {person.role:<11} {person.email:<32} {PASSWORD}")
        self.stdout.write("\nThe logs are being read and judged by the worker now; the pages fill as you look.")
        self.stdout.write("Once that is done the report is signed and released, so that the client can read it.\n")
        self.stdout.flush()
        threading.Thread(target=self.release_when_judged, daemon=True).start()
        call_command("serve", host=options["host"], port=options["port"], worker=options["worker"], no_migrate=True)

    def release_when_judged(self) -> None:
        """What the consultant would do next: sign and release, once everything is read and judged."""
        try:
            campaign = Campaign.objects.get(name=SCENARIO.campaign.name)
            until = time.monotonic() + PATIENCE_S
            while time.monotonic() < until and not self.settled(campaign):
                time.sleep(1)
            if self.settled(campaign) and not Report.objects.filter(campaign=campaign).exists():
                organisation = campaign.site.organisation
                consultant = Membership.objects.filter(organisation=organisation, role=Role.CONSULTANT).first()
                assert consultant is not None
                sign_and_release(campaign, consultant.user)
                self.stdout.write("Judged, signed and released: the client can log in now.")
        finally:
            close_old_connections()

    @staticmethod
    def settled(campaign: Campaign) -> bool:
        """Read and judged, with nothing waiting."""
        moving = Job.objects.filter(
            organisation=campaign.site.organisation, state__in=(Job.State.QUEUED, Job.State.RUNNING)
        )
        judged = Job.objects.filter(kind=EVALUATE, subject_id=campaign.pk, code="judged", total__gt=0)
        return not moving.exists() and judged.exists()
