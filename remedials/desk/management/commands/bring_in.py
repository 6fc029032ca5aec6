"""`manage.py bring_in FILE`: everything that a firm owns, from an archive of take_out, into an empty installation."""

from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from jobsite import clock
from jobsite.people.invitations import full_address
from jobsite.people.models import User
from jobsite.people.operations.accounts import password_link
from jobsite.people.rights import Role
from jobsite.refused import Refused
from remedials.desk.bulk.bringing_in import BroughtIn, bring_in
from remedials.desk.bulk.reading import check_version, look_over, opened


class Command(BaseCommand):
    help = (
        "Bring an archive of manage.py take_out into this installation, which must be empty: run manage.py migrate first, and "
        "stop web, worker and beat. All of it is brought in, or nothing."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("file", type=Path, metavar="FILE")
        parser.add_argument("--check", action="store_true", help="only read the archive and say whether it is whole")
        parser.add_argument(
            "--fingerprint",
            default="",
            metavar="HEX",
            help="the SHA-256 of manifest.json that you were told when it was made",
        )
        parser.add_argument(
            "--nothing-sent-since",
            action="store_true",
            help="what waited to be sent still waits: the installation it came from sends nothing any more",
        )

    def handle(
        self, *args: object, file: Path, check: bool, fingerprint: str, nothing_sent_since: bool, **options: object
    ) -> None:
        try:
            if fingerprint or check:
                self._check(file, fingerprint.strip().lower(), whole=check)
            if check:
                return
            done = bring_in(file, nothing_sent_since=nothing_sent_since, now=clock.now(), tell=self.stdout.write)
        except Refused as refused:
            raise CommandError(f"Nothing was brought in. {refused.sentence}") from refused
        for line in told(done):
            self.stdout.write(line)

    def _check(self, file: Path, fingerprint: str, *, whole: bool) -> None:
        with opened(file) as archive:
            if fingerprint and archive.fingerprint != fingerprint:
                raise Refused(f"This is another archive: the SHA-256 of its manifest.json is {archive.fingerprint}.")
            if whole:
                check_version(archive.manifest)
                look_over(archive)
                said = archive.manifest
                self.stdout.write(
                    f"Whole: {said.firm} as of {said.made_at}, {said.rows:,} rows, {said.files:,} files. "
                    f"The SHA-256 of its manifest.json is {archive.fingerprint}."
                )


def told(done: BroughtIn) -> list[str]:
    """What whoever brought it in must know, a sentence each."""
    said = done.manifest
    rows, files, chains = said.rows, said.files, len(said.heads)
    lines = [f"Brought in {said.firm} as of {said.made_at}: {rows:,} rows, {files:,} files."]
    lines.append(f"Every table came to the fingerprint of the archive, and the ledger holds in {chains:,} chains.")
    if said.missing:
        lines.append(f"{len(said.missing)} files were missing already when it was made.")
    if done.in_doubt:
        lines.append(
            f"{done.in_doubt} messages waited then and may be sent from where this came from: they stand as 'not known whether "
            f"it was sent' until somebody decides."
        )
    if not said.secrets:
        lines.append(
            "Passwords, second factors, tokens of links and alarm codes are in no such archive. Links are sent anew."
        )
        managers = User.objects.filter(is_active=True, roles__contains=[Role.MANAGER.value]).order_by("email")
        lines += [f"{user.name} sets a password here, once: {full_address(password_link(user))}" for user in managers]
        lines.append(
            "Everybody else chooses a new password on the page for signing in, or is invited again by a manager."
        )
    elif done.other_secret:
        lines.append(
            "SECRET_KEY is not the one of then: name that one in SECRET_KEY_FALLBACKS, or alarm codes and second factors that "
            "were kept do not open."
        )
    return lines
