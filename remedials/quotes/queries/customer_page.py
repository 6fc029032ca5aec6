"""The customer's page of a quote: what is offered, what was answered, what can still be said. Ready strings."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from jobsite import clock
from jobsite.firm.queries import the_firm
from jobsite.marks import code_mark
from jobsite.people.models import PrivateLink
from jobsite.people.names import AsCustomersRead, as_customers_read
from jobsite.premises.models import Party
from jobsite.words import day as in_words
from jobsite.words import dialled, money, when
from remedials.quotes.choices import LineKind, Says
from remedials.quotes.models import Answer, Offer, Question, Quote
from remedials.quotes.queries.answering import LineNow, lapsed, lines_now, total_of
from remedials.quotes.queries.limits import beyond_limits, limits_of, may_be_passed_to, roles_held, units_of
from remedials.quotes.rules.differences import What, between
from remedials.quotes.rules.totals import Totals
from remedials.quotes.rules.wording import paragraphs, place_words
from remedials.quotes.states import State

MEANS = {
    "C1": "Danger present",
    "C2": "Potentially dangerous",
    "C3": "Improvement recommended",
    "FI": "Needs to be investigated: whether it is dangerous is not known",
}


@dataclass
class Opened:
    """What a private link opens: the quote, the version that counts, those before it, its lines, for whom."""

    link: PrivateLink
    quote: Quote
    offer: Offer
    former: list[Offer]
    lines: list[LineNow]
    party: Party

    @property
    def known(self) -> dict[str, LineNow]:
        """Lines of work by their key as forms name it."""
        return {str(now.line.key): now for now in self.lines if now.line.kind == LineKind.WORK}


def opened_by(link: PrivateLink) -> Opened | None:
    """What `link` opens; None where it is no longer there. Six statements."""
    offers = list(
        Offer.objects.filter(quote=link.thing).exclude(state=State.DRAFT)
        .select_related("quote__party", "quote__owner", "file").order_by("number")
    )  # fmt: skip
    if not offers:
        return None
    offer, quote = offers[-1], offers[-1].quote
    party = quote.party if link.party in (None, quote.party_id) else Party.objects.filter(pk=link.party).first()
    if party is None:
        return None
    return Opened(link, quote, offer, offers[:-1], lines_now(offer), party)


def is_open(offer: Offer, *, now: datetime) -> bool:
    """Whether the version takes answers at `now`."""
    return offer.state == State.SENT and not lapsed(offer, clock.local_day(now))


def stands_words(offer: Offer, *, now: datetime) -> str:
    """Why the version takes no answer now, as a sentence; "" where it does."""
    if is_open(offer, now=now):
        return ""
    if offer.state == State.ANSWERED:
        return "Every line of this quote is answered. What was said is kept below."
    if offer.state == State.SENT:
        return (
            f"This quote held until {in_words(offer.valid_until)}. Ring us for a new one: nothing can be accepted here "
            "any more, but you can send us a question."
        )
    if offer.state == State.WITHDRAWN:
        return f"We withdrew this quote on {when(offer.ended_at)}: {offer.end_reason} Nothing can be accepted any more."
    return "This version no longer stands: ring us."


# --- prices -----------------------------------------------------------------------------------------------------------


def price_words(said: Mapping[str, Any], line: Mapping[str, Any]) -> dict[str, str]:
    """The price of a line as it was said: with VAT first for a consumer, net first for a business."""
    net, vat, pay = (money(Decimal(line[name])) for name in ("price", "vat", "to_pay"))
    if not said["vat_registered"]:
        return {"first": pay, "more": "no VAT is charged"}
    if said["reverse_charge"]:
        return {"first": f"{net} without VAT", "more": f"you account for VAT of {vat} ({line['rate_words']})"}
    if said["consumer"]:
        return {"first": f"{pay} with VAT", "more": f"{net} and VAT of {vat} ({line['rate_words']})"}
    return {"first": f"{net} without VAT", "more": f"VAT {vat} ({line['rate_words']}), {pay} with VAT"}


def total_words(said: Mapping[str, Any], sums: Totals) -> dict[str, str]:
    """A total in the same order as the prices."""
    line = {"price": sums.net, "vat": sums.vat + sums.reverse_vat, "to_pay": sums.to_pay, "rate_words": ""}
    words = price_words(said, line)
    return {"first": words["first"], "more": words["more"].replace(" ()", ""), "note": sums.words}


def pence(pounds: Decimal) -> int:
    """Whole pence, for the script that adds up what is tapped."""
    return int(pounds * 100)


# --- lines ------------------------------------------------------------------------------------------------------------


def _notes(
    line: Mapping[str, Any], names: Mapping[str, str], alternatives: Mapping[str, list[Mapping[str, Any]]]
) -> list[str]:
    """What hangs on a line: whether its price is fixed, optional, one of several, what it needs."""
    notes = [line["certainty_words"], "Optional: you can leave it open." if line["optional"] else ""]
    others = [one["words"] for one in alternatives.get(line["either"], ()) if one is not line]
    notes.append(f"Only one of these: this, or {' or '.join(others)}." if others else "")
    needs = [names[key] for key in line["needs"] if key in names]
    notes.append(f"Only together with: {'; '.join(needs)}." if needs else "")
    return [note for note in notes if note]


def _alternatives(said: Mapping[str, Any]) -> dict[str, list[Mapping[str, Any]]]:
    """The lines of which only one can be had, by the letter that they share."""
    found: dict[str, list[Mapping[str, Any]]] = {}
    for line in said["lines"]:
        if line["either"]:
            found.setdefault(line["either"], []).append(line)
    return found


def _became(now: LineNow) -> dict[str, str]:
    """What was said to a line, or why nothing can be any more."""
    if now.answer is None:
        return {"state": "over", "words": now.over} if now.over else {"state": "open", "words": ""}
    given = now.answer.answer
    said = {Says.YES: "Accepted", Says.NO: "Not accepted", Says.NOT_CHOSEN: "Not chosen"}[Says(now.answer.says)]
    return {"state": now.answer.says, "words": f"{said} by {given.name}, {when(given.given_at)}."}


def lines_shown(
    opened: Opened, form: Any, errors: Mapping[str, str], threads: Iterable[Mapping[str, Any]]
) -> list[dict[str, Any]]:
    """The lines as they were said, each with what became of it and the fields to answer it."""
    said, by_key = opened.offer.said, {str(now.line.key): now for now in opened.lines}
    names, alternatives = {line["key"]: line["words"] for line in said["lines"]}, _alternatives(said)
    shown = []
    for line in said["lines"]:
        now = by_key.get(line["key"])
        if now is None or line["kind"] != LineKind.WORK:
            continue
        sums = {"pay": line["to_pay"], "net": line["price"]}
        shown.append({
            **{name: line[name] for name in ("key", "words", "danger", "where")},
            "mark": code_mark(line["code"]) if line["code"] else "",
            "means": MEANS.get(line["code"], ""),
            "price": price_words(said, line),
            "notes": _notes(line, names, alternatives),
            "became": _became(now),
            "open": now.answerable,
            "error": errors.get(line["key"], ""),
            "fields": form.plain_line(line["key"]),
            "pence": {name: pence(Decimal(text)) for name, text in sums.items()},
            "threads": [t for t in threads if t["line"] == line["key"]],
        })  # fmt: skip
    return shown


def call_outs_shown(opened: Opened) -> list[dict[str, Any]]:
    """Call-outs that come once with whatever is accepted; those that an earlier answer brought say so."""
    said, by_key = opened.offer.said, {str(now.line.key): now for now in opened.lines}
    return [
        {
            "words": line["words"],
            "price": price_words(said, line),
            "paid": by_key[line["key"]].answer is not None,
            "needs": " ".join(line["needs"]),
            "pay": pence(Decimal(line["to_pay"])),
            "net": pence(Decimal(line["price"])),
        }
        for line in said["lines"]
        if line["kind"] == LineKind.CALL_OUT and line["key"] in by_key
    ]


# --- what was said before ---------------------------------------------------------------------------------------------

HEADS = {Says.YES: "Accepted", Says.NO: "Not accepted", Says.NOT_CHOSEN: "Not chosen, since another was"}
WILL = {Says.YES: "You will accept", Says.NO: "You will not accept", Says.NOT_CHOSEN: "Not chosen, since another is"}


def answers_shown(quote: Quote, reads: AsCustomersRead) -> list[dict[str, Any]]:
    """Every answer that stands, in whatever version, the newest first: the receipt that stays. Two statements."""
    rows = Answer.objects.filter(offer__quote=quote, taken_back_at=None).select_related("offer", "recorded_by")
    rows = rows.prefetch_related("lines__line").order_by("-recorded_at")
    return [_answer(answer, reads) for answer in rows]


def _answer(answer: Answer, reads: AsCustomersRead) -> dict[str, Any]:
    said = answer.offer.said
    sums = {"price": answer.net, "vat": answer.vat, "to_pay": answer.to_pay, "rate_words": ""}
    lines = sorted(answer.lines.all(), key=lambda row: row.line.position)
    price = price_words(said, sums)
    return {
        "id": answer.pk,
        "version": answer.offer.number,
        "name": answer.name,
        "how": answer.get_how_display(),
        "when": when(answer.given_at),
        "recorder": reads.name(answer.recorded_by.name) if answer.recorded_by else "",
        "groups": [
            {
                "head": head,
                "yes": says == Says.YES,
                "lines": [_line_answer(said, row) for row in lines if row.says == says],
            }
            for says, head in HEADS.items()
            if any(row.says == says for row in lines)
        ],
        "yes": any(row.says == Says.YES for row in lines),
        "total": {"first": price["first"], "more": price["more"].replace(" ()", "")},
        "order_number": answer.order_number,
        "note": answer.note,
        "rights": paragraphs(answer.rights_shown),
        "begin": answer.begin_words if answer.begin_at_once else "",
        "begin_no": answer.begin_at_once is False,
        "reverse": said.get("reverse_charge_words", "") if said.get("reverse_charge") else "",
        "fingerprint": answer.fingerprint,
    }


def _line_answer(said: Mapping[str, Any], row: Any) -> dict[str, str]:
    line = next((one for one in said["lines"] if one["id"] == str(row.line_id)), None)
    why = ": ".join(part for part in (row.get_why_not_display() if row.why_not else "", row.words) if part)
    return {
        "words": (line["words"] if line else row.line.words).rstrip("."),
        "price": price_words(said, line)["first"] if line else "",
        "why": why,
    }


def threads_of(quote: Quote, reads: AsCustomersRead) -> list[dict[str, Any]]:
    """Every question with what was said since, the oldest first. Two statements."""
    rows = Question.objects.filter(quote=quote).prefetch_related("remarks").order_by("asked_at", "pk")
    return [
        {
            "id": question.pk,
            "line": str(question.line_key) if question.line_key else "",
            "open": question.open,
            "reply_by": in_words(question.reply_by),
            "remarks": [
                {
                    "who": reads.name(r.name) if r.by_id else r.name,
                    "ours": r.by_id is not None,
                    "when": when(r.at),
                    "text": r.text,
                }
                for r in question.remarks.all()
            ],
        }
        for question in rows
    ]


def changes_shown(opened: Opened) -> dict[str, Any] | None:
    """What changed since the version before, line by line; None where there was none."""
    if not opened.former:
        return None
    before = opened.former[-1]
    return {"number": before.number, "on": when(before.sent_at), "rows": changes(before.said, opened.offer.said)}


def changes(old: Mapping[str, Any], new: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The differences of two versions as rows for a page."""
    return [
        {
            "what": str(found.what),
            "name": found.name if found.what != What.OFFER else "",
            "changes": [str(change) for change in found.changes],
        }
        for found in between(old, new)
    ]


# --- the page ---------------------------------------------------------------------------------------------------------


def page_of(
    opened: Opened, form: Any, *, now: datetime, errors: Mapping[str, str] | None = None, over: bool = False
) -> dict[str, Any]:
    """All that the page shows. `errors`: a sentence for lines by key; `over`: offer to pass it on at once."""
    said, offer = opened.offer.said, opened.offer
    reads, limits = as_customers_read(), limit_words(opened, now=now)
    threads, answers = threads_of(opened.quote, reads), answers_shown(opened.quote, reads)
    return {
        "firm": said["firm"] | {"dial": dialled(said["firm"]["phone"])},
        "said": said,
        "for": opened.party.name,
        "number": offer.quote.number,
        "version": offer.number,
        "places": [place_words(site["name"], site["address"]) for site in said["sites"]],
        "rights": rights_shown(said),
        "on": in_words(date.fromisoformat(said["on"])),
        "until": in_words(offer.valid_until),
        "stands": stands_words(offer, now=now),
        "open": is_open(offer, now=now) and any(line.answerable for line in opened.lines),
        "lines": lines_shown(opened, form, errors or {}, threads),
        "call_outs": call_outs_shown(opened),
        "all": total_said(said),
        "answers": answers,
        "before": [answer["total"]["first"] for answer in answers if answer["yes"]],
        "threads": [t for t in threads if not t["line"]],
        "changed": changes_shown(opened),
        "limits": limits,
        "over": over,
        "pass_to": passable(opened, now=now) if over or limits else [],
        "fingerprint": offer.fingerprint,
    }


def rights_shown(said: Mapping[str, Any]) -> dict[str, Any] | None:
    """The right to cancel as it was said, by paragraphs, and the form for it; None where none is shown."""
    if not said.get("cancellation"):
        return None
    return {
        "words": paragraphs(said["cancellation"]["words"]),
        "default": said["cancellation"]["default"],
        "form": paragraphs((said.get("cancellation_form") or {}).get("words", "")),
        "begin": (said.get("begin") or {}).get("words", ""),
    }


def whom_to_ring() -> dict[str, str]:
    """The firm as customers see it. One statement."""
    firm = the_firm()
    return {"name": firm.name, "phone": firm.phone, "email": firm.email, "dial": dialled(firm.phone)}


def total_said(said: Mapping[str, Any]) -> dict[str, str]:
    """What everything comes to, as the document says it."""
    sums = said["totals"]
    vat = Decimal(sums["vat"]) + Decimal(sums["reverse_vat"])
    words = price_words(said, {"price": sums["net"], "vat": vat, "to_pay": sums["to_pay"], "rate_words": ""})
    return {"first": words["first"], "more": words["more"].replace(" ()", ""), "note": sums["words"].rstrip(".")}


def limit_words(opened: Opened, *, now: datetime) -> list[str]:
    """How far this party may approve at each unit, where that is limited."""
    units = units_of(opened.offer, opened.lines)
    limits = limits_of(opened.offer, units, roles_held(units, now=now), opened.party.pk, linked=True)
    return [
        f"You may approve up to {money(limit)} at {_unit_name(units[pk])}."
        if limit
        else f"You may not approve work at {_unit_name(units[pk])}."
        for pk, limit in limits.items()
        if limit is not None
    ]


def _unit_name(unit: Any) -> str:
    return unit.site.name if unit.whole_site else unit.name


def passable(opened: Opened, *, now: datetime) -> list[dict[str, Any]]:
    """To whom the quote could be passed on: whoever may approve all of it and can be written to."""
    parties = may_be_passed_to(opened.offer, opened.lines, besides=opened.party.pk, now=now)
    return [{"id": party.pk, "name": party.name, "reached": bool(party.email)} for party in parties]


def over_with(opened: Opened, yes: set[UUID], *, now: datetime) -> list[str]:
    """Why this party may not approve `yes`, a sentence for each unit."""
    return beyond_limits(opened.offer, opened.lines, yes, party=opened.party.pk, linked=True, now=now)


def chosen_shown(opened: Opened, settled: Mapping[UUID, str]) -> dict[str, Any]:
    """What is about to be confirmed: the lines by what is said to them, and the total of what is accepted."""
    said = opened.offer.said
    words = {line["key"]: line for line in said["lines"]}
    taken: Iterable[LineNow] = [now for now in opened.lines if settled.get(now.line.key) == Says.YES]
    sums = total_of(taken, reverse_charge=opened.offer.reverse_charge)
    groups = [
        {
            "will": will,
            "yes": says == Says.YES,
            "lines": [
                {"words": words[str(key)]["words"].rstrip("."), "price": price_words(said, words[str(key)])["first"]}
                for key, given in settled.items()
                if given == says
            ],
        }
        for says, will in WILL.items()
        if says in settled.values()
    ]
    left = [now.line.words for now in opened.lines if now.answerable and now.line.key not in settled]
    return {
        "groups": groups,
        "total": total_words(said, sums),
        "rates": [
            {"words": f"VAT at {row.percent.normalize():f} %", "net": money(row.net), "vat": money(row.vat)}
            for row in sums.rates
        ],
        "yes": any(given == Says.YES for given in settled.values()),
        "left": left,
    }
