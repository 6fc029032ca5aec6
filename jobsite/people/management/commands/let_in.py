"""`manage.py let_in EMAIL`: helps somebody in who cannot sign in, from the server itself, where no manager is left to do it."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobsite import clock
from jobsite.ledger.actor import CLOCK
from jobsite.people import operations
from jobsite.people.invitations import full_address, mail_second_step_taken
from jobsite.people.models import User
from jobsite.refused import Refused

SERVER = "on the server, by manage.py let_in"


class Command(BaseCommand):
    help = (
        "Forget the wrong passwords that were tried for somebody; take a lost second step away; make a password link."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Whom, and what besides."""
        parser.add_argument("email", help="the person's e-mail address")
        parser.add_argument(
            "--lost-second-step", action="store_true", help="take the second step and recovery codes away"
        )
        parser.add_argument("--link", action="store_true", help="print a link that sets a password, for one hour")
        parser.add_argument("--address", default="", help="how the program is reached, such as http://localhost:8001")

    def handle(self, *args: Any, **options: Any) -> None:
        """Whoever may start this on the server may do it; the ledger says that it was done there."""
        user = User.objects.filter(email__iexact=options["email"].strip(), is_active=True).first()
        if user is None:
            raise CommandError("Nobody who works here has this e-mail address.")
        now = clock.now()
        operations.clear_tries(user, by=CLOCK, now=now)
        self.stdout.write(f"{user.name} can try again.")
        if options["lost_second_step"]:
            try:
                operations.take_second_step_away(user, how=SERVER, by=CLOCK, now=now)
            except Refused as refused:
                raise CommandError(refused.sentence) from refused
            mail_second_step_taken(user, by="Somebody at the server")
            self.stdout.write("The second step is taken away; they sign in by the password and set up another.")
        if options["link"]:
            user.refresh_from_db()
            path = operations.password_link(user)
            operations.note_means_changed(user, "link to set a password made on the server", by=CLOCK, now=now)
            self.stdout.write(full_address(path, options["address"]))
