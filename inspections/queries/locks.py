"""What stands made safe: its locks, who holds the keys, when somebody looks again."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from inspections.models import MadeSafe, Observation
from inspections.queries import shown
from jobsite import words
from jobsite.addresses import address
from jobsite.paging import Slice, keyset
from jobsite.people.models import User
from jobsite.premises.models import Site

HEADS = (
    "Site",
    "Where",
    "Code",
    "How",
    "What",
    "Lock",
    "Key held by",
    "Agreed with",
    "Since",
    "By",
    "Look again",
    "Who",
)
ORDER = ("look_again_on", "id")
RELATED = ("observation__site", "observation__unit", "observation__board", "observation__circuit", "by", "looker")


def _standing(user: User, site: Site | None) -> Any:
    seen = Observation.objects.visible_to(user)
    rows = MadeSafe.objects.filter(ended="", observation__in=seen.filter(site=site) if site else seen)
    return rows.select_related(*RELATED)


def locks(user: User, *, site: Site | None, today: date, after: str = "") -> Slice:
    """A page of what stands made safe, of `site` or everywhere; what is to be looked at first stands first. One
    statement.
    """
    found = keyset(_standing(user, site), ORDER, after=after)
    return Slice([_row(made, today) for made in found.rows], found.next)


def cells(user: User, *, site: Site | None) -> Iterable[tuple[Any, ...]]:
    """All of that list, for a file. One statement."""
    for made in _standing(user, site).order_by(*ORDER):
        seen = made.observation
        yield (
            seen.site.name, _where(seen), seen.code, made.get_how_display(), made.what, made.lock, made.key_holder,
            made.agreed_with, words.when(made.at), made.by.name, made.look_again_on, made.looker.name if made.looker else "",
        )  # fmt: skip


def _where(seen: Observation) -> str:
    return shown.where(seen, with_unit=not seen.unit.whole_site)


def _row(made: MadeSafe, today: date) -> dict[str, Any]:
    seen = made.observation
    return {
        "site": seen.site.name,
        "mark": shown.mark(seen),
        "where": _where(seen),
        "href": address("desk:observation", seen.pk) if not seen.draft else address("inspections:look_again", seen.pk),
        "text": seen.text,
        "how": words.joined(made.get_how_display().capitalize(), made.what, by=": "),
        "lock": made.lock or ("not noted" if made.key_holder else "none"),
        "key": made.key_holder or "nobody",
        "since": f"{words.when(made.at)}, {made.by.name}",
        "again": words.near_day(made.look_again_on, today),
        "late": words.late(made.look_again_on, today),
        "looker": made.looker.name if made.looker else "",
    }
