"""What reminders and digests read of the due list."""

from collections.abc import Collection, Iterable, Sequence
from datetime import date
from textwrap import shorten
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, Q

from inspections.models import Observation
from jobsite.people.models import Competence, User
from jobsite.premises.models import Site
from remedials.due.models import DueRow, Leaving
from remedials.works.models import Remedial, Remedies


def why_not_archive(site: Site) -> str:
    """Why `site` may not leave the lists: the worst that is dangerous, uncoded, quoted or booked there, or a key that is out.

    With the site it would drop out of the due list, and nobody would be reminded of it again. Where a closing letter was
    delivered that said so in full, nothing keeps it; while one is still to be delivered, that does. Two statements.
    """
    letter = Leaving.objects.filter(site=site, taken_back_at__isnull=True).first()
    if letter is not None:
        said = f"Closing letter {letter.number} is not delivered yet: say when it was, which archives the site, or take it back."
        return "" if letter.delivered_on else said
    held = Q(quote__isnull=False) | Q(visit__isnull=False) | Q(kind__in=("uncoded", "key"))
    kept = DueRow.objects.filter(Q(rank__gte=2) | held, site=site)
    worst = kept.order_by("-rank", "due", "ref").first()
    if worst is None:
        return ""
    word = worst.code or ("quote" if worst.quote else "visit" if worst.visit else worst.kind)
    what = f"{word}: {shorten(worst.subject, 80, placeholder=' …')}"
    return f"This is still open here ({what}). It would drop out of the due list with the site: see it ended first."


def everybody(*, today: date) -> list[Any]:
    """All people of the firm, also who has left, by name, with `qualified`: whether a competence covers `today`. One statement."""
    qualified = Exists(Competence.objects.on(today).filter(user=OuterRef("pk")))
    return list(User.objects.annotate(qualified=qualified).order_by("name", "pk"))


def active_staff() -> list[User]:
    """People of the firm who still work here."""
    return list(User.objects.filter(is_active=True).order_by("name", "pk"))


def danger_now(*, today: date, sites: Sequence[UUID | None] | None = None) -> list[DueRow]:
    """The rows that a C1 leads that is not made safe; at `sites` only, where they are given. Two statements.

    Of several that one work is to put right the row has one: `bare_beside` has the others. First which sites have one: the view reaches those by its indexes, and need not be worked out for all.
    """
    there = set(Observation.objects.bare().values_list("site", flat=True).distinct())
    there = there if sites is None else there & set(sites)
    rows = DueRow.objects.filter(code="C1", made_safe=False, observation__isnull=False, shows_from__lte=today)
    rows = rows.filter(site__in=there).select_related("site", "owner")
    return list(rows.order_by("observation", "due", "kind"))


def bare_beside(works: Iterable[UUID], led: Collection[UUID]) -> dict[UUID, tuple[UUID, date]]:
    """The C1 not made safe that `works` (remedials) are to put right and that lead no row, those of `led`: each with the first
    such work and the day on which it was first recorded. One statement, none where there is no work.
    """
    works = set(works)
    pairs = Remedies.objects.filter(remedial__in=works, observation__in=Observation.objects.bare())
    rows = (
        pairs.values_list("observation", "remedial", "observation__first_recorded_on").order_by("-pk") if works else ()
    )
    return {observation: (remedial, recorded) for observation, remedial, recorded in rows if observation not in led}


def words_of(observations: Iterable[UUID]) -> dict[UUID, str]:
    """What is wrong, as each of `observations` says it. One statement."""
    return dict(Observation.objects.filter(pk__in=observations).values_list("pk", "text"))


def words_of_works(remedials: Iterable[UUID]) -> dict[UUID, str]:
    """What is to be done, as each of `remedials` says it. One statement."""
    return dict(Remedial.objects.filter(pk__in=remedials).values_list("pk", "work"))


def alarms(*, today: date, sites: Sequence[UUID | None] | None = None) -> list[DueRow]:
    """Every report of a defect that may be dangerous now and that nobody competent has coded yet. One statement."""
    alarming = Observation.objects.uncoded().filter(pk=OuterRef("observation"), may_be_dangerous=True)
    rows = DueRow.objects.filter(Exists(alarming), kind="uncoded", shows_from__lte=today)
    rows = rows.select_related("site", "owner").order_by("due", "ref")
    return list(rows if sites is None else rows.filter(site__in=[site for site in sites if site]))
