"""``manage.py rejudge``: judge everything again by the methods of today, or say first what that would change."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from campaigns.models import Campaign
from reports.receivers import judge_again
from reports.services.digests import METHOD
from reports.services.rejudging import FindingSaid, WouldChange, would_change


class Command(BaseCommand):
    help = "Judge campaigns again by the methods of today. With --dry-run: say what that would change, write nothing."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--dry-run", action="store_true", help="Only say what would change.")
        parser.add_argument("--campaign", help="The key of one campaign; without it all that have criteria.")

    def handle(self, *args: Any, **options: Any) -> None:
        campaigns = Campaign.objects.filter(criteria__isnull=False).distinct().select_related("site").order_by("pk")
        if options["campaign"]:
            campaigns = campaigns.filter(key=options["campaign"])
            if not campaigns:
                raise CommandError("There is no campaign with this key and criteria.")
        if not options["dry_run"]:
            judge_again(campaign.pk for campaign in campaigns)
            self.stdout.write(f"{len(campaigns):,} campaigns wait to be judged by method {METHOD}.")
            return
        for campaign in campaigns:
            self._tell(campaign, would_change(campaign))
        self.stdout.write("Nothing was written. Released reports stay as they are, whatever is judged again.")

    def _tell(self, campaign: Campaign, would: WouldChange) -> None:
        of_verdict = sum(change.is_of_verdict for change in would.findings)
        self.stdout.write(
            f"{campaign} ({campaign.key}), judged by method {would.method or 'none'}, now {METHOD}: "
            f"{would.results:,} of {would.judged:,} results would change, {len(would.findings):,} findings, "
            f"{of_verdict:,} verdicts."
        )
        for change in would.findings:
            mark = "verdict" if change.is_of_verdict else "value"
            self.stdout.write(f"  {mark}: {change.zone}; {change.limit}")
            self.stdout.write(f"    before: {_words(change.before)}")
            self.stdout.write(f"    after:  {_words(change.after)}")


def _words(said: FindingSaid) -> str:
    return f"{said.verdict} - {said.statement}" if said.statement else said.verdict
