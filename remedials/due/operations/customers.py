"""What customers are reminded of: inspections that come due, quotes that lapse.

Polite words may be stopped (`stopping`), come at most once a week about the same thing, and wait for a working hour. What
the law asks for is no reminder: it is still said once a week at most, but nobody can stop it.
"""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db.models import Case, Exists, F, Func, IntegerField, OuterRef, Q, QuerySet, TextField, Value, When
from django.db.models.functions import Cast, Concat

from inspections.models import InspectionDue
from jobsite.firm.models import Firm
from jobsite.firm.queries import the_firm
from jobsite.messages.models import Message
from jobsite.messages.operations import CLAIM_HOLDS
from jobsite.words import day as in_words
from jobsite.words import many
from remedials.due.models import Leaving, NoReminders, Reminding
from remedials.due.operations.apart import Met, all_or_halves, each, whole_or_by_site
from remedials.due.queries.settings import hours_of, reminding
from remedials.due.queries.standing import INSPECTION, Standing
from remedials.due.rules.moments import next_moment
from remedials.quotes.operations import mailing
from remedials.visits.models import Visit, VisitLine

LAW = (
    "\nThat limit is the law's, and the duty is the landlord's: check the current law. We write of it as long as it is open, "
    "also to those who want no reminders."
)
A_WEEK = timedelta(days=7)
AT_ONCE = 5_000  # so that a sweep stays short and small, also the first of a firm with many sites


def customer_messages(*, today: date, now: datetime, met: Met | None = None) -> list[Message]:
    """Every message to a customer that is due now, to go out at the next hour that the firm allows.

    Nobody who wants no reminders is written one. What cannot be read is left out and noted in `met`.
    """
    met = met or Met("customers")
    settings = reminding()
    when = next_moment(now, hours_of(settings, the_firm().nation, today, today))
    found = inspection_notices(settings, today=today, now=now, met=met)
    for lapsing in all_or_halves(
        [None],
        lambda _: mailing.lapse_messages(today=today, now=now),
        lambda _, error: met.add("quotes that lapse", error),
    ):
        found += lapsing
    wanted = _still_wanted(found)
    for message in wanted:
        message.next_try_at = when
    return wanted


def _still_wanted(messages: list[Message]) -> list[Message]:
    """Without reminders to whoever wants none, and without those about a site whose closing letter is on its way."""
    reminders = [message for message in messages if message.reminder]
    if not reminders:
        return messages
    stopped = NoReminders.objects.filter(party__in={m.to_id for m in reminders}, lifted_at__isnull=True)
    left = Leaving.objects.filter(site__in={m.site for m in reminders if m.site}, taken_back_at__isnull=True)
    parties, sites = set(stopped.values_list("party", flat=True)), set(left.values_list("site", flat=True))
    return [m for m in messages if not (m.reminder and (m.to_id in parties or m.site in sites))]


def inspection_notices(settings: Reminding, *, today: date, now: datetime, met: Met) -> list[Message]:
    """To the customer of a unit whose inspection comes due: once at each of the days set, the nearest only; then again
    each so many days while it is overdue.

    Nobody is asked to arrange what is booked, nor within a week of the last word about it. At most AT_ONCE at a time,
    the longest overdue first: the next sweep writes the rest. Two statements.
    """
    firm = the_firm()
    due = _to_say(settings, today=today, now=now).select_related("unit__site__customer").order_by("due_on", "pk")

    def read(sites: Sequence[UUID | None] | None) -> list[InspectionDue]:
        return list((due if sites is None else due.filter(unit__site__in=[key for key in sites if key]))[:AT_ONCE])

    rows = [row for part in whole_or_by_site(read, met) for row in part]
    return each(
        rows,
        lambda row: _notice(row, firm, today=today, now=now),
        lambda row, error: met.add(f"the inspection of unit {row.unit_id}", error),
    )


def _to_say(settings: Reminding, *, today: date, now: datetime) -> QuerySet[InspectionDue]:
    """The rows of which something is to be said now, with its `occasion`."""
    ahead = max(settings.inspection_days, default=-1)  # without any day before, only what is overdue
    rows = InspectionDue.objects.filter(
        due_on__lte=today + timedelta(days=ahead),
        unit__retired_at__isnull=True,
        unit__site__archived_at__isnull=True,
        unit__site__customer__archived_at__isnull=True,
    ).exclude(unit__site__customer__email="")
    of_unit = {"reason_kind": INSPECTION, "reason_ref": OuterRef("unit"), "to_id": OuterRef("unit__site__customer")}
    # What was said while the clock was ahead is no last word: its week has not come.
    of_this_week = Message.objects.filter(quiet_until__gt=now, written_at__lte=now + CLAIM_HOLDS, **of_unit)
    # Each apart: joined by OR they would be asked row by row.
    rows = rows.filter(~Exists(_booked()), ~Exists(of_this_week))
    # Lists that the database reads once each; whoever is in one must not stand before others in the queue.
    stopped = NoReminders.objects.filter(lifted_at__isnull=True).values("party")
    left = Leaving.objects.filter(taken_back_at__isnull=True).values("site")
    rows = rows.filter(Q(by_law=True) | ~Q(unit__site__customer__in=stopped) & ~Q(unit__site__in=left))
    rows = rows.annotate(occasion=_occasion(settings, today))
    return rows.filter(~Exists(Message.objects.filter(occasion=OuterRef("occasion"))))


def _booked() -> QuerySet[VisitLine]:
    return VisitLine.objects.filter(
        unit=OuterRef("unit"), active=True, settled_at=None, visit__state=Visit.State.BOOKED
    )


def _occasion(settings: Reminding, today: date) -> Concat:
    """Unit, day, customer, and which of the times: the days before that were reached last, or how often it was late."""
    late = Func(
        Value(today), F("due_on"), template="(%(expressions)s)", arg_joiner=" - ", output_field=IntegerField()
    ) / Value(settings.inspection_overdue_every)
    marks = [
        When(due_on__lte=today + timedelta(days=days), then=Value(str(days)))
        for days in sorted(set(settings.inspection_days))
    ]
    which = Case(
        When(due_on__lt=today, then=Concat(Value("late "), Cast(late, TextField()))),
        *marks, default=Value("0"), output_field=TextField(),
    )  # fmt: skip
    day = Func(F("due_on"), Value("YYYY-MM-DD"), function="to_char", output_field=TextField())
    unit, customer = Cast("unit", TextField()), Cast("unit__site__customer", TextField())
    space = Value(" ")
    return Concat(
        Value(f"{INSPECTION} "), unit, space, day, space, customer, space, which, output_field=TextField()
    )  # fmt: skip


def _notice(row: InspectionDue, firm: Firm, *, today: date, now: datetime) -> Message:
    site, customer = row.unit.site, row.unit.site.customer
    place = site.name if row.unit.whole_site else f"{row.unit.name}, {site.name}"
    by, past = in_words(row.due_on), row.due_on < today
    was = "was" if past else "is"
    what = "inspection of the electrical installation"
    state = f"The next {what} at {place} {was} due by {by}{_away(row.due_on, today)}."
    subject = f"Electrical inspection {'overdue since' if past else 'due by'} {by}: {place}"
    if row.by_law and row.after_id is None:  # that day is ours, counted from when it was noticed: no report says it
        state = f"We have no report of an {what} at {place}. If there is one, please send it to us."
        subject = f"No report of an electrical inspection: {place}"
    law = LAW if row.by_law else ""
    return Message(
        occasion=row.occasion,  # type: ignore[attr-defined]  # by `_to_say`
        to_kind=Message.To.CUSTOMER,
        to_id=customer.pk,
        address=customer.email,
        subject=subject,
        body=(
            f"Dear {customer.name},\n\n{state}\nWhy: {row.basis}{law}\n\nTo arrange it, please reply or ring {firm.phone}. "
            "If it was done by somebody else, please send us the report: then we ask no more.\n\n"
            f"{firm.name}\n"
        ),
        reminder=not row.by_law,
        about=f"{INSPECTION} {row.pk}",
        quiet_until=now + A_WEEK,
        why=_why(row, row.occasion.rsplit(" ", 1)[-1], past=past),  # type: ignore[attr-defined]
        site=site.pk,
        reason_kind=INSPECTION,
        reason_ref=row.unit_id,
        written_at=now,
        next_try_at=now,
    )


def _away(due_on: date, today: date) -> str:
    days = (due_on - today).days
    if days < 0:
        return f", {many(-days, 'day')} ago"
    return f", in {many(days, 'day')}" if days else ", today"


def _why(row: InspectionDue, time: str, *, past: bool) -> str:
    which = "the inspection is overdue" if past else f"the inspection is due in at most {many(int(time), 'day')}"
    kind = "asked for by law, so no reminder that can be stopped" if row.by_law else "a polite reminder"
    return f"To the customer, at most once a week: {which} ({kind}). By the settings of reminders."


def inspection_stands(message: Message, known: Standing) -> bool:
    """Whether what an inspection's message says still holds: the same day, the same customer, not booked, site in use."""
    due = known.inspections.get(message.reason_ref) if message.reason_ref else None
    if due is None or due.unit.site.customer_id != message.to_id:
        return False
    if not message.occasion.startswith(f"{INSPECTION} {due.pk} {due.due_on} "):
        return False
    return (INSPECTION, due.unit_id) in known.rows and due.unit_id not in known.booked
