"""What the tests of premises share: a refusal and a page as they are read, the rows and addresses of a site's pages."""

import re
from html import unescape

from django.urls import reverse

from tests import factories as make


def refusal(raised) -> tuple[str, str | None]:
    return raised.value.sentence, raised.value.field


def text_of(response) -> str:
    """What a person reads: no tags, single spaces."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", response.content.decode())).split())


def rows_of(site) -> dict[str, object]:
    """For each kind of page, the row that it is about."""
    shed = site.boards.get(designation="Shed")
    return {
        "site": site,
        "unit": make.unit_of(site),
        "role": make.unit_of(site).parties.get(),
        "supply": make.supply_of(site),
        "board": shed,
        "circuit": shed.circuits.get(),
        "feed": shed.feeds.get(),
        "source": shed.second_sources.get(),
        "party": site.customer,
    }


def address(name: str, kind: str, site) -> str:
    return reverse(f"premises:{name}", args=[rows_of(site)[kind].pk] if kind else [])


def posted(response) -> dict[str, object]:
    """What a browser would send from the form on this page, unchanged."""
    form = response.context["form"]
    values = {name: form[name].value() for name in form.fields}
    return {form.add_prefix(name): value for name, value in values.items() if value not in (None, False)}
