"""`manage.py take_returned`: what a mail server says that could not deliver one of our messages, read on stdin.

A mail server hands every mail to RETURN_EMAIL to this command, whole, as it came. It ends with 0 where the mail was a
delivery report about one of our messages, else with 65 (EX_DATAERR of sysexits.h), which such servers know.
"""

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobsite import clock
from jobsite.messages.models import Message
from jobsite.messages.operations import take_returned
from jobsite.messages.rules.reports import NoReport

WRONG_INPUT = 65
LARGEST = 32 * 1024 * 1024


class Command(BaseCommand):
    help = "Reads a delivery report (RFC 3464) on stdin and notes that the message it is about came back."

    def handle(self, **_: Any) -> None:
        data = sys.stdin.buffer.read(LARGEST + 1)
        if len(data) > LARGEST:
            raise CommandError("This mail is larger than any delivery report.", returncode=WRONG_INPUT)
        try:
            message, report = take_returned(data, now=clock.now())
        except NoReport as error:
            raise CommandError(str(error), returncode=WRONG_INPUT) from error
        if message.state == Message.State.RETURNED:
            became = "came back"
        elif report.action == "delayed":
            became = "is delayed; the mail server still tries"
        else:
            became = f"stays as it is: {message.get_state_display()}"
        self.stdout.write(f"Message {message.number} to {message.address} {became}. {report.words}".strip())
