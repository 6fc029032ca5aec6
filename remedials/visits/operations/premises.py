"""What becomes of visits and of getting in when a site goes to another customer, or turns out to be recorded twice."""

from datetime import datetime
from typing import Any

from django.db.models import F, Q

from jobsite.people.models import User
from jobsite.premises.models import Party, Site, Unit
from jobsite.premises.queries.merging import same_in_both
from jobsite.refused import Refused
from remedials.visits.choices import Answered
from remedials.visits.models import AlarmCode, OccupierNote, TimesOffer, Visit, VisitLine


def asked_anew(site: Site, former: Party, *, by: User, now: datetime) -> dict[str, Any]:
    """Inside an operation that gives `site` to another customer: times offered to the former one are withdrawn, the alarm
    codes are erased, and whoever is customer now is asked whether the visits to come suit; as facts.

    The codes were a secret of the former customer: the one who comes is asked for theirs. The visits stay: what was approved is still to be done, and the office sees that nobody has confirmed them.
    """
    offers = TimesOffer.objects.filter(Q(party=former.pk) | Q(party=None), site=site, state="open")
    withdrawn = offers.update(state="withdrawn", version=F("version") + 1)
    rows = Visit.objects.select_for_update(of=("self",)).filter(site=site, state=Visit.State.BOOKED, start__gt=now)
    again = list(rows.exclude(confirm_by=None).exclude(answered=Answered.NOT_ASKED).order_by("pk"))
    for visit in again:
        visit.answered = Answered.NOT_ASKED  # not its version: what waits to be told of the visit is still so
        visit.save(update_fields=["answered"])
    facts = {
        "times_withdrawn": withdrawn,
        "codes_retired": _codes_erased(site, now),
        "visits_to_confirm": sorted(visit.number for visit in again),
    }
    return {name: fact for name, fact in facts.items() if fact}


def _codes_erased(site: Site, now: datetime) -> list[str]:
    """Erases what was sealed of each alarm code of `site`; the keys of their rows."""
    held = AlarmCode.objects.select_for_update().filter(site=site, retired_at=None)
    keys = list(held.order_by("pk").values_list("pk", flat=True))
    AlarmCode.objects.filter(pk__in=keys).update(retired_at=now, sealed=b"", version=F("version") + 1)
    return [str(key) for key in keys]


def of_one_unit(gone: Site, into: Site) -> None:
    """Inside the merging of `gone` with `into`: where their one unit is the same, what is noted of its occupiers is one note.

    Raises Refused where both have a visit booked to inspect it: one of the two is in vain.
    """
    for mine, theirs in same_in_both(gone, into):
        if isinstance(mine, Unit) and isinstance(theirs, Unit):
            _one_inspection(mine, theirs)
            _one_note(mine, theirs)


def _one_inspection(mine: Unit, theirs: Unit) -> None:
    to_come = VisitLine.objects.filter(active=True, settled_at=None, unit__in=[mine.pk, theirs.pk])
    numbers = [str(number) for number in to_come.order_by("visit__number").values_list("visit__number", flat=True)]
    if len(numbers) > 1:
        both = " and ".join(numbers)
        raise Refused(f"Visits {both} are both booked to inspect it: take it off one of them first.", field="into")


def _one_note(mine: Unit, theirs: Unit) -> None:
    """What is known of either: words of both stand one after the other, so that nothing that somebody must mind is lost."""
    noted = {note.unit_id: note for note in OccupierNote.objects.filter(unit__in=[mine.pk, theirs.pk])}
    one, other = noted.get(mine.pk), noted.get(theirs.pk)
    if one and not other:
        one.unit = theirs
        one.save(update_fields=["unit"])
    if one and other:
        for name in ("contact", "phone", "best_times", "mind"):
            words = [getattr(other, name), getattr(one, name)]
            setattr(other, name, "; ".join(dict.fromkeys(filter(None, words))))
        other.email = other.email or one.email
        other.loses_power_badly = other.loses_power_badly or one.loses_power_badly
        other.version += 1
        other.save()
        one.delete()
