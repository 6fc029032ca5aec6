"""`manage.py try_mail ADDRESS`: whether the mail server of the settings takes mail from us, and for that address."""

import time
from argparse import ArgumentParser
from email.utils import make_msgid
from typing import Any

from django.conf import settings
from django.core.mail import EmailMultiAlternatives
from django.core.management.base import BaseCommand, CommandError

from jobsite import clock
from jobsite.ids import new_id
from jobsite.messages.carrier import Carrier, Unreachable, envelope_sender
from jobsite.messages.mail import Complete, Letterhead, as_mail, valid_address
from jobsite.messages.models import Message

BODY = (
    "This is a trial.\n\nIt was sent by hand to see whether e-mail leaves this program. Nothing needs to be done.\n\n"
    "Open the program:\n{where}\n"
)


class Command(BaseCommand):
    help = "Sends one mail to ADDRESS now, as messages are sent, and says how each step went."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("address")

    def handle(self, *, address: str, **_: Any) -> None:
        if not valid_address(address):
            raise CommandError(f"{address} is no e-mail address.")
        mail = self.trial(address)
        self.stdout.write(f"Way out: {way_out()}")
        self.stdout.write(f"From {mail.from_email}, answers to {', '.join(mail.reply_to) or 'the same'}")
        self.stdout.write(f"What cannot be delivered goes back to {envelope_sender(mail)}")
        carrier, began = Carrier(), time.monotonic()
        try:
            carrier.open()
            self.stdout.write(f"Reached in {time.monotonic() - began:.1f} s")
            carried = carrier.carry(mail, begin=lambda: True)
        except Unreachable as error:
            raise CommandError(str(error)) from error
        finally:
            carrier.close()
        if carried.state != Message.State.SENT:
            raise CommandError(carried.error)
        self.stdout.write(f"Taken for {address} after {time.monotonic() - began:.1f} s. Look whether it arrives.")

    def trial(self, address: str) -> EmailMultiAlternatives:
        """A mail that no row stands behind: its Message-ID is none of ours, so that what comes back is nobody's."""
        now = clock.now()
        message = Message(
            pk=new_id(),
            address=address,
            subject="Trial: does e-mail leave this program?",
            body="",
            why="Somebody tried whether e-mail leaves.",
            written_at=now,
        )
        body = BODY.format(where=settings.SITE_ADDRESS)
        mail = as_mail(message, Complete(body), Letterhead.of_the_firm(), now=now)
        mail.extra_headers["Message-ID"] = make_msgid(domain="trial.invalid")
        return mail


def way_out() -> str:
    """Where mails go by the settings, without a password."""
    if not settings.EMAIL_BACKEND.endswith("smtp.EmailBackend"):
        where = getattr(settings, "EMAIL_FILE_PATH", None)
        return f"no mail server: files below {where}" if where else settings.EMAIL_BACKEND
    secret = (
        "TLS from the start" if settings.EMAIL_USE_SSL else "TLS by STARTTLS" if settings.EMAIL_USE_TLS else "no TLS"
    )
    user = f" as {settings.EMAIL_HOST_USER}" if settings.EMAIL_HOST_USER else ""
    return f"{settings.EMAIL_HOST}, port {settings.EMAIL_PORT}, {secret}{user}"
