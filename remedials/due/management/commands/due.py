"""`manage.py due [--as-of DATE]`: the due list as it would stand on a day."""

from argparse import ArgumentParser, ArgumentTypeError
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobsite import clock
from remedials.due.queries.as_of import lines_as_of


def a_day(text: str) -> date:
    """A date as it is typed: 2026-11-26. Raises ArgumentTypeError with a sentence for the person."""
    try:
        day = date.fromisoformat(text)
    except ValueError as error:
        raise ArgumentTypeError(f"“{text}” is no date. Write it as year, month and day: 2026-11-26.") from error
    if not 1900 <= day.year <= 9000:
        raise ArgumentTypeError(f"{day} is no day on which anything here could be due.")
    return day


class Command(BaseCommand):
    help = (
        "Print today's rows of the due list as they would stand on a day: in their groups, how late each would be, who has "
        "it. What happens until then is not foretold."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--as-of", metavar="DATE", default="", help="a day such as 2026-11-26; today where it is left out"
        )

    def handle(self, *args: Any, as_of: str, **options: Any) -> None:
        try:
            day = a_day(as_of) if as_of else clock.local_day(clock.now())
        except ArgumentTypeError as error:
            raise CommandError(str(error)) from error
        for line in lines_as_of(day):
            self.stdout.write(line)
