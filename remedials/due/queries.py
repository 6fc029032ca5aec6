"""Reading the due list and the state of the clockwork."""

from django.http import HttpRequest


def clockwork_banner(request: HttpRequest) -> str:
    """A sentence for every office page when the sweep has not run for 30 minutes; else ""."""
    return ""
