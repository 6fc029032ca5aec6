"""`manage.py load_demo`: the invented firm, in an empty database."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobsite import clock
from jobsite.people.models import User
from jobsite.refused import Refused
from remedials.desk.demo.loading import load_demo


class Command(BaseCommand):
    help = "Load an invented firm into an empty database. With --if-empty, leave a database in use as it is."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--if-empty", action="store_true")

    def handle(self, *args: Any, if_empty: bool, **options: Any) -> None:
        if if_empty and User.objects.exists():
            return
        try:
            sites = load_demo(now=clock.now())
        except Refused as refused:
            raise CommandError(refused.sentence) from refused
        self.stdout.write(f"The demo firm is loaded: {sites} sites.")
