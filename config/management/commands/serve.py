"""``manage.py serve``: everything Fanlight needs, in one command."""

from __future__ import annotations

import contextlib
import signal
from typing import Any

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import OperationalError

from config.embedded import EmbeddedWorker
from config.server.listening import listening


class Command(BaseCommand):
    help = "Migrate, then serve the pages, with one background worker beside them unless REDIS_URL names a broker."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--host", default="127.0.0.1")
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--threads", type=int, default=16)
        parser.add_argument("--no-migrate", action="store_true", help="The database is migrated already.")
        parser.add_argument("--worker", choices=("auto", "yes", "no"), default="auto", help="Start a worker here?")

    def handle(self, *args: Any, **options: Any) -> None:
        if not options["no_migrate"]:
            _migrate()
        # A polite end (kill, docker stop) takes the same way out as Ctrl-C, so that the worker is stopped too.
        signal.signal(signal.SIGTERM, signal.default_int_handler)
        with_worker = options["worker"] == "yes" or (options["worker"] == "auto" and not settings.REDIS_URL)
        from config.wsgi import application

        try:
            server = listening(application, options["host"], options["port"], options["threads"])
        except OSError as error:
            where = f"{options['host']}:{options['port']}"
            raise CommandError(f"{where} cannot be used ({error.strerror}). Name another with --port.") from None
        with EmbeddedWorker() if with_worker else contextlib.nullcontext():
            self.stdout.write(f"Fanlight is at http://{options['host']}:{options['port']}/  (stop with Ctrl-C)")
            self.stdout.flush()
            with contextlib.suppress(KeyboardInterrupt):
                server.run()
        self.stdout.write("Stopped.")


def _migrate() -> None:
    try:
        call_command("migrate", interactive=False, verbosity=0)
    except OperationalError as error:
        said = str(error).strip().splitlines()[0]
        raise CommandError(f"The database cannot be reached: {said} Look at DATABASE_URL and start it first.") from None
