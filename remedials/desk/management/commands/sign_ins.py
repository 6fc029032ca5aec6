"""`manage.py sign_ins`: how to sign in to the demo firm as each kind of person."""

from typing import Any

from django.core.management.base import BaseCommand

from jobsite.people.invitations import full_address
from jobsite.people.models import User
from remedials.desk.demo.people import sign_ins
from remedials.desk.demo.quotes import answering_path


class Command(BaseCommand):
    help = "Print how to sign in as each kind of person of the demo firm."

    def handle(self, *args: Any, **options: Any) -> None:
        lines = sign_ins()
        if not lines and not User.objects.exists():
            self.stdout.write("No demo firm here. Start a firm of your own with manage.py start_firm.")
        for address, password, words in lines:
            self.stdout.write(f"  {address:<20} {password}    {words}")
        if path := answering_path():
            self.stdout.write(f"  A customer answers a quote, without a sign-in: {full_address(path)}")
