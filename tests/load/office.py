"""Every page that somebody in the office can open: found by asking, so that no list of pages can fall behind.

`python -m tests.load.office SITE` runs with the stack's environment on the database that DATABASE_URL names, and prints, as JSON,
for each page the addresses by which it was opened. A page here is what answers a GET with HTML; documents, files and parts of
pages for drawing again are none, nor is what the door shows.
"""

import json
import sys
from collections.abc import Iterator
from typing import Any

import django

ROWS = 4  # addresses of a page that is about a row
OUTSIDE = ("account_", "mfa_", "usersessions_", "admin:", "compared:", "api:", "phone:", "running:")
PIECES = ("like/", "sums/", "judge/", "gap/", "progress/", "columns/")  # ends of addresses of what is drawn into a page
ROW = "<uuid:pk>"


def rows_by_address(site: str) -> dict[str, list[Any]]:
    """For the first word of an address, rows that it may be about: those of this site, and some of others."""
    from django.db.models import Q

    from inspections.models import Inspection, Observation
    from jobsite.people.models import User
    from jobsite.premises.models import Board, Circuit, Feed, Party, Site, Supply, Unit
    from remedials.quotes.models import Line, Quote
    from remedials.visits.models import Visit
    from remedials.works.models import Remedial

    def some(rows: Any, there: Any) -> list[Any]:
        half = ROWS // 2
        near = list(rows.filter(there).order_by("pk").values_list("pk", flat=True)[:half])
        far = rows.exclude(pk__in=near).order_by("-pk").values_list("pk", flat=True)
        return near + list(far[: ROWS - len(near)])

    at = Q(site=site)
    return {
        "sites": some(Site.objects.all(), Q(pk=site)),
        "units": some(Unit.objects.all(), at),
        "supplies": some(Supply.objects.all(), at),
        "boards": some(Board.objects.all(), at),
        "feeds": some(Feed.objects.all(), Q(board__site=site)),
        "circuits": some(Circuit.objects.all(), at),
        "customers": some(Party.objects.all(), Q(sites=site)),
        "inspections": some(Inspection.objects.all(), at),
        "observations": some(Observation.objects.all(), at),
        "remedials": some(Remedial.objects.all(), at),
        "quotes": some(Quote.objects.all(), Q(sites=site)),
        "quote-lines": some(Line.objects.filter(offer__state="draft"), at),
        "visits": some(Visit.objects.all(), at),
        "people": some(User.objects.all(), Q(roles__contains=["engineer"])),
    }


def addresses(rows: dict[str, list[Any]]) -> Iterator[tuple[str, str]]:
    """Each route that needs no more than a row that is there, with an address."""
    from django.urls import URLPattern, get_resolver

    def walk(resolver: Any, before: str = "", within: str = "") -> Iterator[tuple[str, str]]:
        for entry in resolver.url_patterns:
            pattern = f"{before}{entry.pattern}"
            if isinstance(entry, URLPattern):
                yield f"{within}{entry.name}", pattern
            else:
                yield from walk(entry, pattern, f"{within}{entry.namespace}:" if entry.namespace else within)

    for name, pattern in walk(get_resolver()):
        if name.startswith(OUTSIDE) or pattern.endswith(PIECES):
            continue
        if "<" not in pattern:
            yield name, f"/{pattern}"
        elif pattern.count("<") == 1 and ROW in pattern:
            for row in rows.get(pattern.partition("/")[0], ()):
                yield name, f"/{pattern.replace(ROW, str(row))}"


def pages(client: Any, site: str) -> dict[str, list[str]]:
    """The addresses that answer this person with a page, by the name of the route."""
    found: dict[str, list[str]] = {}
    for name, address in addresses(rows_by_address(site)):
        answer = client.get(address, secure=True)
        if answer.status_code == 200 and answer.get("Content-Type", "").startswith("text/html"):
            found.setdefault(name, []).append(address)
    return found


def main() -> None:
    django.setup()
    from django.test import Client

    from jobsite.people.models import User

    client = Client(SERVER_NAME="localhost")
    client.force_login(User.objects.get(email=sys.argv[2]))
    sys.stdout.write(json.dumps(pages(client, sys.argv[1])))


if __name__ == "__main__":
    main()
