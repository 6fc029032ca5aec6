"""The history of a site: what its ledger tells, in plain words, newest first."""

import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from functools import cache
from importlib import import_module
from typing import Any
from uuid import UUID

from django.apps import apps
from django.db.models import QuerySet, TextChoices
from django.utils.module_loading import module_has_submodule

from jobsite.addresses import address
from jobsite.ledger.models import Chain, Entry
from jobsite.ledger.queries import words_of
from jobsite.ledger.rules import Head
from jobsite.paging import SIZE, Slice, keyset
from jobsite.people.models import PrivateLink, User
from jobsite.premises.models import Site
from jobsite.words import day, plain, when
from remedials.quotes.verbs import Verb as OfQuotes
from remedials.status.record.subjects import named

# The chain's own order, as in the file: of two that worked at the same time, the one who was a moment later may stand first.
ORDER = ("-number",)
CLOCK = "the clock"
DIGEST = "_digest"
AT_ONCE = 500
MESSAGE = "message"  # its page is the office's, and its words may tell a price
SUMS = frozenset({"pounds"})  # facts of others than quotes that tell a price
# Keys of rows (and what a list says of them after a colon), and hashes of files.
UNSPEAKABLE = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}:?|\b[0-9a-f]{64}\b")


@cache
def verbs() -> dict[str, str]:
    """Every verb that an app records, with its words. Apps that record anything have a `verbs.py` with a `Verb`."""
    found: dict[str, str] = {}
    for app in apps.get_app_configs():
        if app.module is not None and module_has_submodule(app.module, "verbs"):
            verb: type[TextChoices] | None = getattr(import_module(f"{app.name}.verbs"), "Verb", None)
            found |= dict(verb.choices) if verb else {}
    return found


def entries_of(site: Site) -> QuerySet[Entry]:
    """The entries of the chain of `site`."""
    return Entry.objects.filter(chain=site.pk)


def merged_into(site: Site) -> list[dict[str, str]]:
    """The sites that were `site` recorded twice: each has a history of its own, closed when it went over. One statement."""
    rows = site.merged.order_by("sort", "pk").values_list("pk", "name", "number")
    return [{"href": address("desk:history", pk), "name": f"{name}, site {number}"} for pk, name, number in rows]


def page_of_history(site: Site, *, after: str = "", size: int = SIZE, prices: bool = False) -> Slice:
    """One page of the history as dicts of ready strings, newest first; sums only with `prices`. At most five statements."""
    found = keyset(entries_of(site), ORDER, after=after, size=size)
    return Slice(in_words(found.rows, prices=prices), found.next)


def in_words(entries: Iterable[Entry], *, prices: bool = False) -> list[dict[str, Any]]:
    """Entries in plain words: when, who, what, of what, and what was said. At most four statements.

    Without `prices` it is told that something was priced, quoted and answered, and no more of it.
    """
    entries = list(entries)
    said = words_of(entry.pk for entry in entries)
    who = actors(entries)
    about = named((entry.subject_kind, entry.subject) for entry in entries)
    last = ""
    rows = []
    for entry in entries:
        row = _row(entry, said.get(entry.pk, {}), who, about)
        row |= {} if prices else _without_sums(entry)
        row["heading"] = row["day"] if row["day"] != last else ""
        last = row["day"]
        rows.append(row)
    return rows


def actors(entries: Iterable[Entry]) -> dict[UUID, str]:
    """Who did each, by name. At most two statements."""
    keys: dict[str, set[UUID]] = {"person": set(), "link": set()}
    for entry in entries:
        keys.setdefault(entry.actor_kind, set()).add(entry.actor)
    names = dict(User.objects.filter(pk__in=keys["person"]).values_list("pk", "name")) if keys["person"] else {}
    if keys["link"]:
        links = PrivateLink.objects.filter(pk__in=keys["link"]).values_list("pk", "sent_to")
        names |= {key: f"private link sent to {sent_to}" for key, sent_to in links}
    return names


def _row(
    entry: Entry, said: dict[str, str], who: dict[UUID, str], about: Mapping[UUID, tuple[str, str]]
) -> dict[str, Any]:
    name, href = about.get(entry.subject, (entry.subject_kind, ""))
    moment = when(entry.at)
    return {
        "number": str(entry.number),
        "day": moment.partition(", ")[0],
        "time": moment.partition(", ")[2],
        "who": CLOCK if entry.actor_kind == "clock" else who.get(entry.actor, "somebody whose name is no longer kept"),
        "verb": verbs().get(entry.verb, entry.verb),
        "subject": name,
        "href": href,
        "facts": facts_in_words(entry.facts),
        "words": [(spoken(name), text) for name, text in sorted(said.items())],
    }


def _without_sums(entry: Entry) -> dict[str, Any]:
    """What an entry tells otherwise to somebody who sees no prices."""
    if entry.verb in OfQuotes.values:
        return {"facts": "", "words": [], "href": ""}
    said = {"facts": facts_in_words({name: value for name, value in entry.facts.items() if name not in SUMS})}
    return said | ({"href": ""} if entry.subject_kind == MESSAGE else {})


def facts_in_words(facts: Mapping[str, Any]) -> str:
    """The facts that a person can read: codes, dates, numbers. Keys of rows, digests and plain noes are left out."""
    said = {
        name: _fact(value) for name, value in sorted(facts.items()) if not name.endswith(DIGEST) and name != "number"
    }
    return ", ".join(f"{spoken(name)} {text}" for name, text in said.items() if text)


def _fact(value: Any) -> str:
    if value is None or value is False or isinstance(value, dict):
        return ""
    if isinstance(value, list):
        return ", ".join(filter(None, map(_fact, value)))
    return _moment(UNSPEAKABLE.sub("", value)) if isinstance(value, str) else plain(value)


def _moment(text: str) -> str:
    """A date or an instant in words; any other text as it is."""
    try:
        return day(date.fromisoformat(text)) if len(text) == 10 else when(datetime.fromisoformat(text))
    except ValueError:
        return text


def spoken(name: str) -> str:
    """The name of a fact as it is spoken: "remedy_by" is "remedy by"."""
    return name.replace("_", " ")


def as_text(site: Site, *, now: datetime, prices: bool = False) -> Iterator[str]:
    """The whole history as lines of text, oldest first, ending with the head of the chain; sums only with `prices`.

    The head names the last entry that the text tells of: kept outside, it finds out a ledger that was cut or
    recomputed later (`manage.py check_ledger FILE`).
    """
    chain = Chain.objects.filter(pk=site.pk).first()
    yield f"History of {site.name}, site {site.number}"
    yield f"Written {when(now)}. Times are those of London."
    yield ""
    if chain is None or not chain.length:
        yield "Nothing has been recorded yet."
        return
    for start in range(0, chain.length, AT_ONCE):
        piece = entries_of(site).filter(number__gt=start, number__lte=min(start + AT_ONCE, chain.length))
        for row in in_words(piece.order_by("number"), prices=prices):
            yield from _lines(row)
    yield ""
    yield "Keep this file: the line below proves the history above against the ledger."
    yield Head(chain.pk, chain.length, bytes(chain.head).hex()).line()


def _lines(row: dict[str, Any]) -> Iterator[str]:
    yield f"{row['number']}. {row['day']}, {row['time']}  {row['who']}: {row['verb']} ({row['subject']})"
    if row["facts"]:
        yield f"    {row['facts']}"
    for name, text in row["words"]:
        yield f"    {name}: {' '.join(text.split())}"
