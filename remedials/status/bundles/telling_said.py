"""What was said to customers, delivered to them and refused by them, by the entries; messages by their rows' own times."""

from collections.abc import Iterable
from datetime import datetime

from jobsite.messages.models import Message
from jobsite.words import many, when
from remedials.status.bundles.naming import Names
from remedials.status.bundles.rules import State, Told
from remedials.status.bundles.telling import LEFT_OUT, Row, Section

Titles = dict[str, str]
"""What documents are called, by key."""


def said(state: State, names: Names, messages: Iterable[Message], instant: datetime) -> Section:
    """Danger notices, messages to customers and what became of them, questions."""
    rows = [(told.at, _notice(told, state, names)) for told in state.of("notice.given")]
    rows += [(message.written_at, _message(message, instant)) for message in messages]
    rows += [(told.at, _question(told, names)) for told in state.of("question.asked", "question.replied")]
    rows.sort(key=lambda pair: pair[0])
    return Section(
        "Said",
        "Nothing to a customer was on record.",
        [row for _, row in rows],
        "The words of messages stand in messages.txt.",
    )


def _notice(told: Told, state: State, names: Names) -> Row:
    answers = [one for one in state.of("notice.answered") if one.subject == told.subject]
    about = ", ".join(names.of(key, "observation") for key in told.facts.get("observations", ()))
    lines = [
        f"Given {when(told.at)} by {names.who(told)}, {told.facts.get('how', '')}, to {told.words.get('given_to', LEFT_OUT)}."
    ]
    lines += [f"About {about}." if about else "", f"Why: {told.words.get('why', LEFT_OUT)}"]
    lines.append(f"What was advised: {told.words.get('advised', LEFT_OUT)}")
    for answer in answers:
        who = f" by {answer.words['answered_by']}" if answer.words.get("answered_by") else ""
        lines.append(
            f"Answer: {answer.facts.get('answer')}{who}, {when(answer.at)}. {answer.words.get('answer_note', '')}".rstrip()
        )
    if not answers:
        lines.append("No answer was on record.")
    head = names.of(told.subject, "dangernotice").capitalize()
    return Row(head, [line for line in lines if line], [names.ref(one) for one in (told, *answers)])


def outcome(message: Message, instant: datetime) -> str:
    """What had become of a message by `instant`, by its own times."""
    if message.settled_at is None or message.settled_at > instant:
        handed = message.handed_at is not None and message.handed_at <= instant
        return "handed to the mail server, whose answer had not come" if handed else "waiting to be sent"
    if message.returned_at and message.returned_at <= instant:
        return f"came back, {when(message.returned_at)}"
    state = Message.State.SENT if message.returned_at else Message.State(message.state)
    return f"{state.label}, {when(message.settled_at)}"


def _message(message: Message, instant: datetime) -> Row:
    lines = [
        f"Written {when(message.written_at)}; {outcome(message, instant)}.",
        f"Why: {message.why}" if message.why else "",
    ]
    return Row(f"Message {message.number}: {message.subject}", [line for line in lines if line])


def _question(told: Told, names: Names) -> Row:
    asked = told.verb == "question.asked"
    head = f"{names.of(told.subject, told.kind)}: {'a question was asked' if asked else 'a question was answered'}"
    return Row(head, [told.words.get("text", LEFT_OUT), f"{when(told.at)}, {names.who(told)}"], [names.ref(told)])


def delivered(state: State, names: Names, titles: Titles) -> Section:
    """Quotes, papers, closing letters and documents that were handed out."""
    rows = []
    for told in state.of(
        "quote.sent", "paper.supplied", "paper.mailed", "leaving.delivered", "document.made", "paper.made"
    ):
        if told.facts.get("came") == "refused" or told.facts.get("kind") == "bundle":
            continue
        rows.append(_delivered(told, names, titles))
    return Section("Delivered", "Nothing was on record.", rows, "Files by their SHA-256 stand in the folder files/.")


DELIVERED = {
    "quote.sent": "sent", "paper.supplied": "handed over", "paper.mailed": "sent by e-mail", "leaving.delivered": "delivered",
    "document.made": "made", "paper.made": "made",
}  # fmt: skip


def _delivered(told: Told, names: Names, titles: Titles) -> Row:
    what = titles.get(told.subject) or names.of(told.subject, told.kind)
    if told.facts.get("version"):
        what += f", version {told.facts['version']}"
    to = f" to {told.words['to']}" if told.words.get("to") else ""
    how = f" ({told.facts['how']})" if told.facts.get("how") else ""
    lines = [f"{DELIVERED[told.verb].capitalize()} {when(told.at)} by {names.who(told)}{to}{how}."]
    lines += [f"File {told.facts['file']}"] if told.facts.get("file") else []
    return Row(what[:1].upper() + what[1:], lines, [names.ref(told)])


def refused(state: State, names: Names) -> Section:
    """What was declined, refused or not let in; with what was answered later, where it was by then."""
    verbs = ("remedial.declined", "remedial.cancelled", "notice.answered", "paper.supplied", "quote.answered")
    rows = [_refused(told, names) for told in state.of(*verbs, "access.attempt")]
    return Section("Refused", "Nothing was recorded as refused.", [row for row in rows if row])


def _refused(told: Told, names: Names) -> Row | None:
    facts, words = told.facts, told.words
    what = names.of(told.subject, told.kind)
    what = what[:1].upper() + what[1:]
    who = (
        words.get("who")
        or words.get("answered_by")
        or words.get("to")
        or words.get("whom")
        or words.get("name")
        or "somebody"
    )
    at = f"{when(told.at)}, recorded by {names.who(told)}."
    if told.verb == "remedial.declined":
        return Row(f"{what}: declined by {who}", [words.get("reason", ""), at], [names.ref(told)])
    if told.verb == "remedial.cancelled":
        return Row(f"{what}: cancelled, asked by {who}", [words.get("reason", ""), at], [names.ref(told)])
    if told.verb == "notice.answered" and facts.get("answer") == "refused":
        return Row(f"{what}: refused by {who}", [words.get("answer_note", ""), at], [names.ref(told)])
    if told.verb == "paper.supplied" and facts.get("came") == "refused":
        return Row(f"{what}: {who} would not take it", [at], [names.ref(told)])
    if told.verb == "quote.answered" and (no := facts.get("lines", {}).get("no")):
        return Row(f"{what}: {many(len(no), 'line')} declined by {who}", [at], [names.ref(told)])
    if told.verb == "access.attempt" and not facts.get("got_in"):
        return Row(
            f"Attempt to get in ({str(facts.get('how', '')).replace('-', ' ')}): not let in",
            [words.get("said", ""), at],
            [names.ref(told)],
        )
    return None


def waiting(state: State, names: Names) -> Section:
    """What waited on somebody outside by then."""
    over = {told.subject for told in state.of("waiting.ended")}
    rows = [
        Row(
            f"{told.words.get('on_whom', LEFT_OUT)}: {told.words.get('for_what', LEFT_OUT)}",
            [f"Since {when(told.at)}, for {names.of(told.facts.get('of'), 'what is open')}."],
            [names.ref(told)],
        )
        for told in state.of("waiting.begun")
        if told.subject not in over
    ]
    return Section("Waited on somebody outside", "Nothing.", rows)
