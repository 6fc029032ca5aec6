"""`manage.py check_document FILE…`: whether each file is one that this firm made, to the byte, by the ledger."""

from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from remedials.status.proof.checking import check_document, in_words


class Command(BaseCommand):
    help = "Say of each FILE whether we made just these bytes, when, and whether the ledger that says so holds."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("files", nargs="+", type=Path, metavar="FILE")

    def handle(self, *args: object, files: list[Path], **options: object) -> None:
        wrong = 0
        for file in files:
            try:
                checked = check_document([file.read_bytes()])
            except OSError as error:
                raise CommandError(f"{file} cannot be read: {error.strerror}.") from error
            wrong += not (checked.ours and checked.holds)
            self.stdout.write(f"{file} (SHA-256 {checked.sha256})")
            for sentence in in_words(checked):
                self.stdout.write(f"  {sentence}")
        if wrong:
            raise CommandError(f"{wrong} of {len(files)} not confirmed.")
