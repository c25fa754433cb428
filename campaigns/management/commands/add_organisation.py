"""``manage.py add_organisation``: how an operator begins - an organisation and its first consultant."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection, transaction
from django.db.migrations.executor import MigrationExecutor

from campaigns.models import Organisation, Role
from campaigns.services.people import add_person, password_link
from campaigns.services.records import save_new

NO_TABLES = "The database has no tables yet, or older ones. Run “manage.py migrate” first; “serve” does it too."


class Command(BaseCommand):
    help = "Add an organisation with its first consultant, and print the link at which they set their password."

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("name", help="Name of the organisation.")
        parser.add_argument("email", help="E-mail address of its first consultant.")
        parser.add_argument("--person", default="", help="Their name.")

    def handle(self, *args: Any, **options: Any) -> None:
        steps = MigrationExecutor(connection)
        if steps.migration_plan(steps.loader.graph.leaf_nodes()):
            raise CommandError(NO_TABLES)
        self.add(options)

    @transaction.atomic
    def add(self, options: dict[str, Any]) -> None:
        if Organisation.objects.filter(name=options["name"]).exists():
            raise CommandError(f"There is already an organisation called “{options['name']}”.")
        try:
            organisation = save_new(Organisation(name=options["name"]))
            membership = add_person(organisation, options["email"], options["person"], Role.CONSULTANT, None)
        except ValidationError as error:
            raise CommandError(" ".join(error.messages)) from error
        self.stdout.write(f"{organisation} is there. {membership.user} sets a password at")
        self.stdout.write(f"  {password_link(membership)}")
        self.stdout.write("under the address of this server; the link works once.")
