"""`manage.py messages --explain N`: why a message was or wasn't sent."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobsite import clock
from jobsite.ids import key_in
from jobsite.messages.models import Message
from remedials.due.operations import why_dropped
from remedials.due.queries.explaining import about_message, about_row


class Command(BaseCommand):
    help = (
        "Say why a message was or was not sent: for what occasion, by which rule, to whom, whether its reason stands now, each "
        "attempt, and what held it back. Of a row of the due list: who hears of it and when, and why nobody has heard yet."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--explain", metavar="N", required=True,
            help="the number of a message, or a row of the due list as KIND:KEY, as manage.py due prints it",
        )  # fmt: skip

    def handle(self, *args: Any, explain: str, **options: Any) -> None:
        now = clock.now()
        kind, colon, key = explain.partition(":")
        if colon:
            ref = key_in(key)
            if ref is None or not kind:
                raise CommandError(f"“{explain}” names no row. Write it as manage.py due prints it: KIND:KEY.")
            lines = about_row(kind, ref, now=now)
        else:
            message = self._message(explain)
            lines = about_message(message, why_not=why_dropped(message, today=clock.local_day(now)), now=now)
        for line in lines:
            self.stdout.write(line)

    def _message(self, text: str) -> Message:
        if not text.isascii() or not text.isdigit() or len(text) > 18:
            raise CommandError(f"“{text}” is no number of a message, such as 1001, and no row, such as decide:KEY.")
        message = Message.objects.filter(number=int(text)).first()
        if message is None:
            raise CommandError(f"There is no message {text}.")
        return message
