"""Prints the stages of a remedial and the moves between them: `manage.py stages`."""

from typing import Any

from django.core.management.base import BaseCommand

from remedials.works.states import diagram


class Command(BaseCommand):
    help = "The stages of a remedial as a Mermaid diagram, printed from the table that decides them."
    requires_system_checks = []

    def handle(self, *args: Any, **options: Any) -> None:
        self.stdout.write(diagram())
