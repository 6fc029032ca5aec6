"""Prints the states of an offer and the moves between them: `manage.py offer_states`."""

from typing import Any

from django.core.management.base import BaseCommand

from remedials.quotes.states import diagram


class Command(BaseCommand):
    help = "The states of a version of a quote as a Mermaid diagram, printed from the table that decides them."
    requires_system_checks = []

    def handle(self, *args: Any, **options: Any) -> None:
        self.stdout.write(diagram())
