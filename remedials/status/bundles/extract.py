"""The entries of a site's ledger up to an instant, with those of the sites that were recorded twice."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID

from jobsite.ledger.documents import with_what_went_over
from jobsite.ledger.models import Entry, Words
from jobsite.ledger.rules import FIRM_CHAIN
from jobsite.people.models import Competence, Skill
from jobsite.premises.models import Site
from remedials.status.bundles.rules import Told, up_to
from remedials.status.bundles.sealing import may_be_given


@dataclass
class Extract:
    """Entries by chain, each from the first one on, in the order of their numbers; and the words beside them that may be given."""

    site: Site
    instant: datetime
    chains: dict[UUID, list[Entry]] = field(default_factory=dict)
    words: dict[UUID, list[Words]] = field(default_factory=dict)
    left_out: int = 0

    @property
    def entries(self) -> list[Entry]:
        """All of them in the order in which they were written, as far as the chains say; a site that was merged comes first."""
        rows = [entry for chain in self.chains.values() for entry in chain]
        own = self.site.pk
        return sorted(rows, key=lambda row: (row.at, row.chain == own, row.chain, row.number))

    def told(self) -> list[Told]:
        """The entries as the rules read them."""
        return [as_told(entry, self.words.get(entry.pk, ())) for entry in self.entries]


def as_told(entry: Entry, words: Iterable[Words] = ()) -> Told:
    """One entry as the rules read it."""
    return Told(
        str(entry.chain), entry.number, str(entry.operation), entry.at, entry.actor_kind, str(entry.actor), entry.verb,
        entry.subject_kind, str(entry.subject), entry.facts, {row.name: row.text for row in words},
    )  # fmt: skip


def chains_of(site: Site) -> list[UUID]:
    """The chain of `site` and of every site that went over to it, also by way of another. One statement a generation."""
    return [site.pk, *sorted(with_what_went_over([site.pk]) - {site.pk})]


def extract_of(site: Site, instant: datetime) -> Extract:
    """What the ledger of `site` held at `instant`. A fixed number of statements, whatever the number of entries."""
    found = Extract(site, instant)
    rows: dict[UUID, list[Entry]] = {key: [] for key in chains_of(site)}
    for entry in Entry.objects.filter(chain__in=rows).order_by("chain", "number"):
        rows[entry.chain].append(entry)
    for key, entries in rows.items():
        kept, left_out = up_to([as_told(entry) for entry in entries], instant)
        found.left_out += left_out
        if kept:
            found.chains[key] = entries[: len(kept)]
    found.words = words_to_give([entry for chain in found.chains.values() for entry in chain])
    return found


def words_to_give(entries: Iterable[Entry]) -> dict[UUID, list[Words]]:
    """The words beside `entries` that may be given, by the key of the entry. One statement."""
    verbs = {entry.pk: entry.verb for entry in entries}
    found: dict[UUID, list[Words]] = {}
    for row in Words.objects.filter(entry__in=verbs).order_by("entry", "name"):
        if may_be_given(verbs[row.entry], row.name, row.text):
            found.setdefault(row.entry, []).append(row)
    return found


def of_the_firm(people: Iterable[str], instruments: Iterable[str], instant: datetime) -> list[Entry]:
    """The entries of the firm's own chain about the competence of `people` and about `instruments`, by their keys. Three statements."""
    keys: set[UUID] = {UUID(key) for key in instruments}
    users = [UUID(key) for key in people]
    keys |= set(Competence.objects.filter(user__in=users).values_list("pk", flat=True))
    keys |= set(Skill.objects.filter(user__in=users).values_list("pk", flat=True))
    rows = Entry.objects.filter(chain=FIRM_CHAIN, subject__in=keys, at__lte=instant)
    return list(rows.order_by("number"))
