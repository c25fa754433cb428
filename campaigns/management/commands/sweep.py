"""``manage.py sweep``: give back what stopped, send again what waits - once, by hand."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand

from campaigns.tasks import sweep


class Command(BaseCommand):
    help = "Give back jobs whose worker is gone and send waiting jobs again. Beat does this every 30 seconds by itself."

    def handle(self, *args: Any, **options: Any) -> None:
        done = sweep()
        self.stdout.write(f"{done['returned']} given back, {done['sent']} sent.")
