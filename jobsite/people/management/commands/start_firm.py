"""`manage.py start_firm`: an empty firm with its first manager. On a terminal it asks for what it is not given."""

import sys
from argparse import ArgumentParser
from typing import Any

from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand, CommandError
from django.core.validators import validate_email
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from jobsite import clock
from jobsite.ids import new_id
from jobsite.people.invitations import full_address
from jobsite.people.operations import start_firm
from jobsite.refused import Refused

ASKED = {
    "name": "The firm's name",
    "email": "The first manager's e-mail address",
    "manager": "The first manager's name",
}


class Command(BaseCommand):
    help = "Make the firm and its first manager, and print the address under which they set their password."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """The firm's name, the manager's address and name, and how the program is reached."""
        for name, words in ASKED.items():
            parser.add_argument(f"--{name}", default="", help=words)
        parser.add_argument("--address", default="", help="how the program is reached, such as http://localhost:8001")

    def handle(self, *args: Any, **options: Any) -> None:
        """Refuses in a database that has people already, and in one whose tables are still being made."""
        executor = MigrationExecutor(connection)
        if executor.migration_plan(executor.loader.graph.leaf_nodes()):
            raise CommandError(
                "The tables are not all made yet. Wait until the program says “Open http://…”, then try again."
            )
        given = {name: options[name].strip() or self._ask(name) for name in ASKED}
        given["manager"] = given["manager"] or given["email"]
        try:
            validate_email(given["email"])
            path = start_firm(id=new_id(), now=clock.now(), **given)
        except ValidationError as wrong:
            raise CommandError(f"This is no e-mail address: {given['email']}") from wrong
        except Refused as refused:
            raise CommandError(refused.sentence) from refused
        address = full_address(path, options["address"])
        self.stdout.write(f"{given['name']} is ready. Set the manager's password here, once:\n{address}")

    def _ask(self, name: str) -> str:
        """What the person at the terminal answers; where nobody sits there, "" for what need not be told."""
        if not sys.stdin.isatty():
            if name == "manager":
                return ""
            raise CommandError(f"{ASKED[name]} is needed: --{name}")
        while not (answer := input(f"{ASKED[name]}: ").strip()):
            pass
        return answer
