"""What to bring: the materials of all the work of a visit, or of a person's day, added up. Never what anything costs."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from jobsite import clock
from jobsite.addresses import address
from jobsite.people.models import User
from jobsite.words import THIN, day, many, span
from remedials.visits.models import Visit
from remedials.visits.queries.visits import begins
from remedials.works.choices import ItemKind
from remedials.works.models import Item, Remedial

KINDS = [kind.value for kind in ItemKind]


def materials(remedials: Iterable[Remedial]) -> list[dict[str, Any]]:
    """What `remedials` take, the same thing in the same unit as one row, for pages and documents. One statement.

    Materials and fixed items are added up. Access equipment is not used up: of it as much as the work needs that needs
    most. Rows stand by kind, then name, each with the numbers of the remedials that it is for.
    """
    work = {remedial.pk: remedial for remedial in remedials}
    same: dict[tuple[str, str, str], list[Item]] = defaultdict(list)
    for item in Item.objects.filter(remedial__in=work).order_by("remedial__number", "position", "id"):
        same[item.kind, _folded(item.what), _folded(item.unit)].append(item)
    rows = [_row(items, work) for items in same.values()]
    return sorted(rows, key=lambda row: (KINDS.index(row["of"]), _folded(row["what"]), row["quantity"]))


def _folded(text: str) -> str:
    return " ".join(text.casefold().split())


def _row(items: Sequence[Item], work: dict[Any, Remedial]) -> dict[str, Any]:
    first = items[0]
    each: dict[Any, Decimal] = defaultdict(Decimal)
    for item in items:
        each[item.remedial_id] += item.quantity
    total = max(each.values()) if first.kind == ItemKind.ACCESS else sum(each.values(), Decimal())
    sources = dict.fromkeys(", ".join(filter(None, [item.supplier, item.reference])) for item in items)
    return {
        "of": first.kind,
        "what": first.what,
        "quantity": f"{total.normalize():f}" + (f"{THIN}{first.unit}" if first.unit else ""),
        "kind": "" if first.kind == ItemKind.MATERIAL else first.get_kind_display(),
        "from": "; ".join(filter(None, sources)),
        "for": ", ".join(str(number) for number in sorted(work[key].number for key in each)),
    }


def crew_words(remedials: Iterable[Remedial], going: int) -> str:
    """How many people the work needs at once, where that is more than one or more than go; else ""."""
    most = max((remedial.crew for remedial in remedials), default=1)
    if most <= 1:
        return ""
    return f"{most} people at once" + (f"; only {many(going, 'goes', 'go')}" if going < most else "")


def work_on(visits: Iterable[Visit]) -> list[Remedial]:
    """The remedials that are on `visits` now and still to be done. One statement."""
    rows = Remedial.objects.filter(lines__visit__in=[v.pk for v in visits], lines__active=True)
    return list(rows.select_related("site").order_by("number").distinct())


def of_visit(visit: Visit) -> dict[str, Any]:
    """The page of what to bring to `visit` (with its site). Three statements."""
    work = work_on([visit])
    going = visit.attendances.filter(cancelled=False).count()
    return {
        "title": f"What to bring to visit {visit.number}",
        "about": f"{visit.site.name}, {span(visit.start, visit.end)}",
        "back": address("visits:visit", visit.pk),
        "back_words": f"Visit {visit.number}",
        "rows": materials(work),
        "crew": crew_words(work, going),
        "parts": parts_to_come(work, visit),
        "visits": [],
    }


def parts_to_come(work: Iterable[Remedial], visit: Visit) -> list[str]:
    """What will not be there yet when `visit` begins, a sentence each."""
    on = clock.local_day(visit.start)
    late = [r for r in work if r.parts_ready_on and r.parts_ready_on > on]
    return [f"The parts of remedial {r.number} are there only from {day(r.parts_ready_on)}." for r in late]


def of_day(user: User, on: date) -> dict[str, Any]:
    """The page of what `user` brings along on the day `on`, for all visits of it. Three statements."""
    begin, end = begins(on), begins(on + timedelta(days=1))
    rows = Visit.objects.filter(state=Visit.State.BOOKED, attendances__engineer=user, attendances__cancelled=False)
    visits = list(rows.filter(start__lt=end, end__gt=begin).select_related("site").order_by("start", "pk"))
    work = work_on(visits)
    return {
        "title": f"What to bring on {day(on)}",
        "about": f"{user.name}: {many(len(visits), 'visit')}",
        "back": address("visits:my_day"),
        "back_words": "My day",
        "rows": materials(work),
        "crew": "",
        "parts": [],
        "visits": [
            {
                "address": address("visits:visit", visit.pk),
                "words": f"Visit {visit.number}, {visit.site.name}",
                "span": span(visit.start, visit.end),
            }
            for visit in visits
        ],
    }
