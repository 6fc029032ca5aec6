"""`manage.py fill`: a large invented firm in an empty database, for measuring."""

from argparse import ArgumentParser
from dataclasses import fields
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobsite import clock
from jobsite.premises.models import Site
from remedials.desk.filling import Size, fill


class Command(BaseCommand):
    help = "Fill an empty database with a large invented firm, for measuring. Refuses one that holds sites."

    def add_arguments(self, parser: ArgumentParser) -> None:
        for field in fields(Size):
            parser.add_argument(f"--{field.name}", type=int, default=field.default)

    def handle(self, *args: Any, **options: Any) -> None:
        if Site.objects.exists():
            raise CommandError("This database holds sites already; fill is for an empty one.")
        size = Size(**{field.name: options[field.name] for field in fields(Size)})
        fill(size, now=clock.now())
        self.stdout.write(", ".join(f"{getattr(size, f.name):,} {f.name}" for f in fields(size)))
