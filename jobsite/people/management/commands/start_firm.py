"""`manage.py start_firm --name "Firm" --email someone@example.com`: an empty firm with its first manager."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobsite import clock
from jobsite.ids import new_id
from jobsite.people.invitations import full_address
from jobsite.people.operations import start_firm
from jobsite.refused import Refused


class Command(BaseCommand):
    help = "Make the firm and its first manager, and print the address under which they set their password."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """The firm's name, and the manager's address and name."""
        parser.add_argument("--name", required=True, help="the firm's name")
        parser.add_argument("--email", required=True, help="the first manager's e-mail address")
        parser.add_argument("--manager", default="", help="the first manager's name; otherwise their address")

    def handle(self, *args: Any, **options: Any) -> None:
        """Refuses in a database that has people already."""
        who = {"email": options["email"], "manager": options["manager"] or options["email"]}
        try:
            path = start_firm(id=new_id(), name=options["name"], now=clock.now(), **who)
        except Refused as refused:
            raise CommandError(refused.sentence) from refused
        self.stdout.write(f"{options['name']} is ready. Set the manager's password here, once:\n{full_address(path)}")
