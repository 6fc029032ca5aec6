"""`manage.py check_ledger [FILE…]`: recompute every chain, and compare with heads kept in the files given."""

from argparse import ArgumentParser
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from jobsite.ledger.models import Chain, Entry
from jobsite.ledger.queries import faults
from jobsite.ledger.rules import read_heads


class Command(BaseCommand):
    help = "Prove the ledger. FILEs are digests and documents that left the service; their heads must still be found."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("files", nargs="*", type=Path, metavar="FILE")

    def handle(self, *args: object, files: list[Path], **options: object) -> None:
        kept = read_heads(file.read_text(errors="replace") for file in files)
        if files and not kept:
            raise CommandError("None of these files names a head of the ledger.")
        found = list(faults(kept))
        for sentence in found:
            self.stderr.write(sentence)
        if found:
            raise CommandError(f"The ledger does not hold: {len(found)} faults.")
        self.stdout.write(
            f"The ledger holds: {Entry.objects.count()} entries in {Chain.objects.count()} chains, "
            f"{len(kept)} kept heads found."
        )
