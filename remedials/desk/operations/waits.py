"""A chase sent to whoever holds something up: one message, and everything it is about is chased again on a day."""

from collections.abc import Iterable
from datetime import date, datetime
from uuid import UUID

from jobsite.ledger.operations import operation
from jobsite.messages.models import Message
from jobsite.messages.operations import write_messages
from jobsite.people.models import User
from jobsite.refused import NotAllowed, Refused
from remedials.quotes.models import Quote
from remedials.quotes.operations.following import chase_quote
from remedials.works import policy
from remedials.works.models import Waiting
from remedials.works.operations.ground import needed, not_in_the_past
from remedials.works.operations.waiting import chase

NOT_YOURS = "Only the office may chase what we wait for."


@operation
def send_chase(
    *, id: UUID, waitings: Iterable[Waiting], quotes: Iterable[Quote], address: str, subject: str, words: str,
    chase_on: date, to: UUID | None = None, by: User, now: datetime,
) -> Message:  # fmt: skip
    """Write one e-mail to `address` that chases `waitings` and `quotes`, which are then chased next on `chase_on`.

    `to`: the party it goes to, where it is one of ours. The same form (`id`) again: the same message, nothing more happens.
    Raises NotAllowed, and Refused where nothing is chased, a waiting has ended or a quote is no longer out.
    """
    if not policy.may_plan(by):
        raise NotAllowed(NOT_YOURS)
    occasion = f"chase {id}"
    if sent := Message.objects.filter(occasion=occasion).first():
        return sent
    asked, offered = sorted(waitings, key=lambda row: row.pk), sorted(quotes, key=lambda row: row.pk)
    if not asked and not offered:
        raise Refused("Choose what is chased.", field="things")
    not_in_the_past(chase_on, now=now, field="chase_on")
    subject = needed(subject, "Say what it is about.", field="subject")
    words = needed(words, "Say what is asked.", field="words")
    said = f"By e-mail to {address}: {subject}"
    for quote in offered:
        chase_quote(quote, id=id, heard=said, chase_on=chase_on, by=by, now=now)
    for waiting in asked:
        chase(waiting, id=id, chase_on=chase_on, said=said, by=by, now=now)
    sites = {waiting.site_id for waiting in asked}
    message = Message(
        occasion=occasion, to_kind=Message.To.CUSTOMER, to_id=to or [*asked, *offered][0].pk, address=address,
        subject=subject, body=words, site=sites.pop() if len(sites) == 1 and not offered else None, written_at=now,
        next_try_at=now, why=f"Chased by {by}.",
    )  # fmt: skip
    write_messages([message])
    return Message.objects.get(occasion=occasion)
