"""What came back: a mail server that had taken a message says that it cannot deliver it."""

from datetime import datetime

from jobsite.ledger.actor import CLOCK, Actor
from jobsite.ledger.operations import operation, record
from jobsite.messages.mail import key_of
from jobsite.messages.models import Message
from jobsite.messages.operations.deciding import only_the_office
from jobsite.messages.rules.reports import DELAYED, NoReport, Report, read_report
from jobsite.messages.verbs import Verb
from jobsite.refused import Refused

STATE = Message.State
DELIVERED = (STATE.SENT, STATE.UNKNOWN)
LONGEST = 2_000


@operation
def came_back(message: Message, *, why: str, by: Actor, now: datetime) -> Message:
    """The office saw that `message` came back, and why. Again: harmless. Raises Refused where it was never sent."""
    only_the_office(by)
    message = Message.objects.select_for_update().get(pk=message.pk)
    why = why.strip()
    if message.state == STATE.RETURNED:
        return message
    if message.state not in DELIVERED:
        raise Refused(f"This message is {message.get_state_display()}; it cannot have come back.")
    if not why:
        raise Refused("Say what the mail that came back says, or who told you.", field="why")
    return _returned(message, why=why[:LONGEST], by=by, now=now, facts={})


@operation
def take_returned(data: bytes, *, now: datetime) -> tuple[Message, Report]:
    """Note what the delivery report in the mail `data` says of one of our messages, and return both.

    Only a final failure settles it as RETURNED; that it is delayed is noted beside it. Read again: harmless. Raises NoReport
    for what is no report, or is about no message of ours.
    """
    report = read_report(data)
    key = key_of(report.message_id)
    message = Message.objects.select_for_update().filter(pk=key).first() if key else None
    if message is None:
        raise NoReport(f"The report is about {report.message_id}, which is no message of ours.")
    if message.state not in DELIVERED:
        return message, report
    facts = {"status": report.status} if report.status else {}
    if report.final:
        return _returned(message, why=report.words or "no reason given", by=CLOCK, now=now, facts=facts), report
    if report.action == DELAYED and message.delayed_why != report.words:
        message.delayed_why = report.words
        message.save(update_fields=["delayed_why"])
        record(Verb.DELAYED, site=message.site, subject=message, by=CLOCK, now=now, facts=facts)
    return message, report


def _returned(message: Message, *, why: str, by: Actor, now: datetime, facts: dict[str, str]) -> Message:
    message.state, message.returned_at, message.returned_why = STATE.RETURNED, now, why
    message.settled_at = message.settled_at or now
    message.save(update_fields=["state", "returned_at", "returned_why", "settled_at"])
    record(
        Verb.RETURNED, site=message.site, subject=message, by=by, now=now, facts={"to": str(message.to_id)} | facts,
        words={"why": why},
    )  # fmt: skip
    return message
