"""The lines of a draft: added from remedials or freely, changed, put in order, taken out."""

from collections.abc import Iterable, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Max

from inspections.queries.facts import facts_on
from inspections.standards.facts import Facts
from jobsite import clock
from jobsite.ids import new_id
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.ledger.queries import facts_by_form
from jobsite.premises.models import Site
from jobsite.refused import ChangedMeanwhile, Refused
from remedials.quotes.choices import Certainty, LineKind, Treatment
from remedials.quotes.models import Line, LineRemedial, Offer, QuoteSite
from remedials.quotes.operations.ground import (
    CHANGED,
    count_on,
    held_remedials,
    held_sites,
    locked_draft,
    must_quote,
    tell,
)
from remedials.quotes.operations.reckoning import must_be_within, reckon
from remedials.quotes.queries.offering import Work, standing_in, terms_of, works_of
from remedials.quotes.rules.alike import groups, together_words
from remedials.quotes.rules.danger import danger_words, rank, worst
from remedials.quotes.rules.money import penny
from remedials.quotes.verbs import Verb
from remedials.works.models import Remedial
from remedials.works.states import WORDS, Stage

MOST_LINES = 500
LONGEST = 2_000
MOST_VISITS = 100
OFFERABLE = frozenset({Stage.TO_PRICE, Stage.QUOTED})
EDITABLE = ("words", "danger", "price", "cost", "treatment", "certainty", "optional", "either", "needs", "visits")
GONE = "This line was taken out meanwhile."
CALL_OUT_WORDS = "Coming to the site"


@operation
def add_lines(
    offer: Offer,
    *,
    by: Actor,
    now: datetime,
    remedials: Iterable[Remedial] = (),
    together: bool = False,
    like: bool = False,
    alternative: bool = False,
    words: str = "",
    price: Decimal = Decimal(0),
    cost: Decimal = Decimal(0),
    treatment: str = Treatment.STANDARD,
    site: Site | None = None,
    id: UUID | None = None,
) -> list[Line]:
    """Add a line for each of `remedials`, or one line without a remedial that says `words`; the new lines.

    `together`: one line for all of them; `like`: one for those that are alike. `alternative`: remedials that stand in
    this version already get a second line, and the two exclude each other. A call-out of the site is added where one
    of them is the first that wants a visit. `id`: the form's; sending it twice adds once.
    Raises NotAllowed, and Refused for what another open quote offers, what is not to be priced, and line 501.
    """
    must_quote(by)
    remedials = list(remedials)
    held_sites({r.site_id for r in remedials} | ({site.pk} if site else set()))
    found = held_remedials(r.pk for r in remedials)
    offer = locked_draft(offer)
    if id is not None and (told_before := facts_by_form(Verb.LINES_ADDED, offer.quote, id)):
        return list(offer.lines.filter(key__in=told_before["keys"]))
    if not found:
        return [_add_free(offer, words, price, cost, treatment, site, id, by, now)]
    works = works_of(sorted(found, key=lambda r: r.number))
    made = append(offer, works, together=together, like=like, alternative=alternative, now=now)
    told(offer, made, id=id, by=by, now=now)
    return made


def _add_free(
    offer: Offer, words: str, price: Decimal, cost: Decimal, treatment: str, site: Site | None,
    id: UUID | None, by: Actor, now: datetime,
) -> Line:  # fmt: skip
    line = Line(offer=offer, words=_said(words), price=price, cost=cost, treatment=treatment, site=site, made_at=now)
    line.position, line.written_in = _next_position(offer), offer.version + 1
    _room_for(offer, 1)
    reckon(line, offer, on=clock.local_day(now))
    must_be_within(offer, [line])
    line.save()
    if site:
        QuoteSite.objects.get_or_create(quote=offer.quote, site=site)
    aim_call_outs(offer)
    told(offer, [line], id=id, by=by, now=now)
    return line


def told(offer: Offer, made: Sequence[Line], *, id: UUID | None, by: Actor, now: datetime) -> None:
    """Count the version on and note which lines were added."""
    count_on(offer)
    facts: dict[str, Any] = {"version": offer.number, "lines": len(made), "form": str(id) if id else None}
    facts["keys"] = sorted(str(line.key) for line in made)
    tell(Verb.LINES_ADDED, offer.quote, by=by, now=now, facts=facts)


def append(
    offer: Offer,
    works: Sequence[Work],
    *,
    now: datetime,
    together: bool = False,
    like: bool = False,
    alternative: bool = False,
) -> list[Line]:
    """Inside an operation: the lines for `works`, their remedials locked, at the end of the locked draft.

    Raises Refused as `add_lines` does.
    """
    _may_be_offered(offer, works, alternative=alternative)
    by_key = {work.remedial.pk: work for work in works}
    parts = [list(by_key)] if together else groups(w.like for w in works) if like else [[key] for key in by_key]
    if together:
        _one_line(works)
    today, position = clock.local_day(now), _next_position(offer)
    facts = facts_on(today)
    wanting = {w.remedial.site_id for w in works if w.costing is None or w.costing.call_out}
    visits = _call_outs(offer, wanting, position + len(parts), facts, now)
    _room_for(offer, len(parts) + len(visits))
    lines, links = [], []
    for number, keys in enumerate(parts):
        line = _line_of(offer, [by_key[key] for key in keys], now)
        line.position = position + number
        lines.append(reckon(line, offer, on=today, facts=facts))
        links += [LineRemedial(line=line, remedial_id=key) for key in keys]
    lines += visits
    must_be_within(offer, lines)
    if alternative:
        _exclude_each_other(offer, lines, by_key)
    QuoteSite.objects.bulk_create(
        [QuoteSite(quote=offer.quote, site_id=key) for key in sorted({w.remedial.site_id for w in works})],
        ignore_conflicts=True,
    )
    Line.objects.bulk_create(lines)
    LineRemedial.objects.bulk_create(links)
    aim_call_outs(offer)
    return lines


def _may_be_offered(offer: Offer, works: Sequence[Work], *, alternative: bool) -> None:
    """Raises Refused, naming the first remedial that may not be offered in this version."""
    keys = [work.remedial.pk for work in works]
    elsewhere = standing_in(keys, besides=offer.quote_id)
    here = set(LineRemedial.objects.filter(line__offer=offer, remedial__in=keys).values_list("remedial", flat=True))
    for work in works:
        remedial = work.remedial
        if other := elsewhere.get(remedial.pk):
            raise Refused(
                f"Remedial {remedial.number} stands in quote {other.quote.number} already: it is not offered twice.",
                field="remedials",
            )
        if remedial.stage not in OFFERABLE:
            stage = WORDS[Stage(remedial.stage)]
            raise Refused(f"Remedial {remedial.number} is {stage}: it is not offered now.", field="remedials")
        if remedial.pk in here and not alternative:
            raise Refused(f"Remedial {remedial.number} stands in this quote already.", field="remedials")


def _one_line(works: Sequence[Work]) -> None:
    """Raises Refused where these cannot be one line."""
    if len({work.remedial.site_id for work in works}) > 1:
        raise Refused("One line is about one site: these are at several.", field="together")
    if len({work.treatment for work in works}) > 1:
        raise Refused("VAT falls on these in different ways: they cannot be one line.", field="together")


def _line_of(offer: Offer, works: Sequence[Work], now: datetime) -> Line:
    """One line for `works`: their words, danger, worst code, cost and price together."""
    first, code = works[0], worst(w.code for w in works)
    return Line(
        offer=offer,
        site=first.remedial.site,
        words=together_words([w.words for w in works], [w.where for w in works])[:LONGEST],
        danger=danger_words(code, [text for w in works for text in w.found])[:LONGEST],
        code=code,
        cost=sum((w.costing.cost for w in works if w.costing), Decimal(0)),
        price=sum((w.price for w in works), Decimal(0)),
        treatment=first.treatment,
        made_at=now,
        written_in=offer.version + 1,
    )


def _call_outs(offer: Offer, wanting: set[UUID], position: int, facts: Facts, now: datetime) -> list[Line]:
    """A call-out for each site that nothing in this version wanted a visit to before.

    Where something did and there is none, somebody took it out on purpose.
    """
    had = set(offer.lines.values_list("site", flat=True))
    terms = terms_of(clock.local_day(now))
    if terms is None or not terms.call_out:
        return []
    sites = Site.objects.filter(pk__in=wanting - had).order_by("sort", "pk")
    return [
        _call_out(offer, site, terms.call_out, terms.call_out_cost, position + n, facts, now)
        for n, site in enumerate(sites)
    ]


def _call_out(
    offer: Offer, site: Site, price: Decimal, cost: Decimal, position: int, facts: Facts, now: datetime
) -> Line:
    line = Line(offer=offer, site=site, kind=LineKind.CALL_OUT, visits=1, words=CALL_OUT_WORDS, made_at=now)
    line.price, line.cost, line.position, line.written_in = price, cost, position, offer.version + 1
    return reckon(line, offer, on=clock.local_day(now), facts=facts)


def aims(lines: Iterable[Line]) -> dict[UUID, list[UUID] | None]:
    """What each call-out among `lines` (by its key) should name; None: none of the work is left that it is for.

    Work that names no site may be at any of them. A call-out that names none keeps what it names and is still there.
    """
    lines = list(lines)
    work = [line for line in lines if line.kind == LineKind.WORK]
    keys, several = {line.key for line in work}, len({line.site_id for line in work}) > 1
    anywhere = [line.key for line in work if line.site_id is None]
    found: dict[UUID, list[UUID] | None] = {}
    for one in (line for line in lines if line.kind == LineKind.CALL_OUT):
        if one.site_id is None:
            left = [key for key in one.needs if key in keys]
            found[one.key] = (left or None) if one.needs else []
        else:
            here = [line.key for line in work if line.site_id == one.site_id] or anywhere
            found[one.key] = (here if several else []) if here else None
    return found


def aim_call_outs(offer: Offer) -> list[Line]:
    """Where a version offers work at several sites, each call-out names the lines it is for: any of them brings it.

    One that no work is left for is taken out; those that were, for the ledger.
    """
    lines = list(offer.lines.all())
    wanted, changed, gone = aims(lines), [], []
    for call_out in (line for line in lines if line.key in wanted):
        needs = wanted[call_out.key]
        if needs is None:
            gone.append(call_out)
        elif call_out.needs != needs:
            call_out.needs = needs
            changed.append(call_out)
    Line.objects.bulk_update(changed, ["needs"])
    if gone:
        Line.objects.filter(pk__in=[line.pk for line in gone]).delete()
    return gone


def _exclude_each_other(offer: Offer, lines: list[Line], offered: Iterable[UUID]) -> None:
    """Give the new lines and those that offer the same remedials here already one letter."""
    same = list(offer.lines.filter(remedials__in=list(offered)).distinct())
    letter = next((line.either for line in same if line.either), "") or _free_letter(offer)
    Line.objects.filter(pk__in=[line.pk for line in same]).update(either=letter, written_in=offer.version + 1)
    for line in lines:
        line.either = letter if line.kind == LineKind.WORK else ""


def _free_letter(offer: Offer) -> str:
    used = set(offer.lines.exclude(either="").values_list("either", flat=True))
    return next((letter for letter in "ABCDEFGHIJKLMNOPQRSTUVWXYZ" if letter not in used), "A")


def _room_for(offer: Offer, more: int) -> None:
    if offer.lines.count() + more > MOST_LINES:
        raise Refused(f"A quote has {MOST_LINES} lines at most: make a second one.", field="remedials")


def _next_position(offer: Offer) -> int:
    return (offer.lines.aggregate(last=Max("position"))["last"] or 0) + 1


def _said(words: str) -> str:
    if not (words := words.strip()):
        raise Refused("Say what is done, in plain words.", field="words")
    if len(words) > LONGEST:
        raise Refused(f"This is longer than {LONGEST} characters.", field="words")
    return words


@operation
def edit_line(line: Line, *, version: int, by: Actor, now: datetime, **fields: Any) -> Line:
    """Change a line of a draft; `fields` are those of EDITABLE. `version`: the offer's that the person saw.

    Somebody's change of another line meanwhile is no matter; of this one it raises ChangedMeanwhile. The VAT is
    reckoned anew. Raises NotAllowed, Refused; a wrong field name is a mistake in our code (TypeError).
    """
    if unknown := set(fields) - set(EDITABLE):
        raise TypeError(f"not to be edited: {sorted(unknown)}")
    must_quote(by)
    offer = locked_draft(line.offer)
    found = Line.objects.select_related("site").filter(pk=line.pk, offer=offer).first()
    if found is None:
        raise Refused(GONE)
    found.offer = offer
    fields = _checked(found, offer, fields)
    changed = [name for name, value in fields.items() if getattr(found, name) != value]
    if not changed:
        return found
    if found.written_in > version or version > offer.version:
        raise ChangedMeanwhile(CHANGED.replace("quote", "line"), theirs=found)
    before = {name: getattr(found, name) for name in ("price", "treatment")}
    for name in changed:
        setattr(found, name, fields[name])
    reckon(found, offer, on=clock.local_day(now))
    must_be_within(offer, [found])
    found.written_in = offer.version + 1
    found.save(update_fields=[*changed, "rate", "vat", "written_in"])
    count_on(offer)
    facts: dict[str, Any] = {"version": offer.number, "line": str(found.key), "changed": sorted(changed)}
    if "price" in changed:
        facts |= {"price": [f"{before['price']:.2f}", f"{found.price:.2f}"]}
    tell(Verb.LINE_EDITED, offer.quote, by=by, now=now, facts=facts)
    return found


def _checked(line: Line, offer: Offer, fields: dict[str, Any]) -> dict[str, Any]:
    """`fields` as they may be kept. Raises Refused beside the first that may not."""
    fields = dict(fields)
    if "words" in fields:
        fields["words"] = _said(fields["words"])
    if "either" in fields:
        fields["either"] = _letter(fields["either"])
    if "needs" in fields:
        wanted = set(fields["needs"])
        known = set(offer.lines.filter(kind=LineKind.WORK).exclude(pk=line.pk).values_list("key", flat=True))
        if wanted - known:
            raise Refused("A line that this one needs was taken out meanwhile: choose again.", field="needs")
        fields["needs"] = [*dict.fromkeys(key for key in fields["needs"])]
        if set(line.needs) == wanted:
            fields["needs"] = line.needs
    if line.kind == LineKind.CALL_OUT:
        fields = {
            n: v for n, v in fields.items() if n in {"words", "price", "cost", "treatment", "visits", "certainty"}
        }
        fields = _by_visits(line, fields)
    else:
        fields.pop("visits", None)
    for name, choices in (("treatment", Treatment), ("certainty", Certainty)):
        if name in fields and fields[name] not in choices.values:
            raise Refused("Choose one of those offered.", field=name)
    return fields


def _by_visits(line: Line, fields: dict[str, Any]) -> dict[str, Any]:
    """A call-out of more or fewer visits costs more or less by itself, where nobody set another sum."""
    before, visits = line.visits or 1, fields.get("visits") or line.visits or 1
    if not 1 <= visits <= MOST_VISITS:
        raise Refused(f"Between 1 and {MOST_VISITS} visits.", field="visits")
    for name in ("price", "cost"):
        if visits != before and fields.get(name, getattr(line, name)) == getattr(line, name):
            fields[name] = penny(getattr(line, name) * visits / before)
    return fields | {"visits": visits}


def _letter(text: str) -> str:
    """The letter of an either-group. Raises Refused for anything but one letter A to Z or nothing."""
    text = text.strip().upper()
    if text and not (len(text) == 1 and "A" <= text <= "Z"):
        raise Refused("Write one letter, A to Z: lines with the same letter exclude each other.", field="either")
    return text


@operation
def remove_lines(offer: Offer, *, keys: Iterable[UUID], by: Actor, now: datetime) -> Offer:
    """Take the lines with these keys out of a draft; other lines need them no more. Gone already: nothing happens."""
    must_quote(by)
    offer = locked_draft(offer)
    wanted = set(keys)
    gone = [line for line in offer.lines.all() if line.key in wanted]
    if not gone:
        return offer
    Line.objects.filter(pk__in=[line.pk for line in gone]).delete()
    rest = [line for line in offer.lines.filter(kind=LineKind.WORK) if wanted & set(line.needs)]
    for line in rest:
        line.needs, line.written_in = [key for key in line.needs if key not in wanted], offer.version + 1
    Line.objects.bulk_update(rest, ["needs", "written_in"])
    gone += aim_call_outs(offer)
    count_on(offer)
    words = "\n".join(line.words for line in gone)
    facts = {"version": offer.number, "lines": sorted(str(line.key) for line in gone)}
    tell(Verb.LINE_REMOVED, offer.quote, by=by, now=now, facts=facts, words={"lines": words})
    _leave_sites(offer, {line.site_id for line in gone if line.site_id})
    return offer


def _leave_sites(offer: Offer, sites: set[UUID]) -> None:
    """The quote is no longer about those of `sites` that no version of it has a line for, unless it is about no other."""
    kept = Line.objects.filter(offer__quote=offer.quote_id, site__in=sites).values_list("site", flat=True)
    left = QuoteSite.objects.filter(quote=offer.quote_id, site__in=sites - set(kept))
    if left and QuoteSite.objects.filter(quote=offer.quote_id).count() > len(left):
        left.delete()


@operation
def order_lines(offer: Offer, keys: Sequence[UUID], *, by: Actor, now: datetime) -> Offer:
    """Put the lines of a draft in the order of `keys`; lines that are not named follow in the order they have."""
    must_quote(by)
    offer = locked_draft(offer)
    wanted = {key: n for n, key in enumerate(keys)}
    return _reorder(
        offer, sorted(offer.lines.all(), key=lambda line: wanted.get(line.key, len(wanted))), by=by, now=now
    )


@operation
def move_line(line: Line, *, before: UUID | None, by: Actor, now: datetime) -> Offer:
    """Put a line before the line with the key `before`, at the end where that is None or gone. Safe to repeat."""
    must_quote(by)
    offer = locked_draft(line.offer)
    lines = list(offer.lines.all())
    moving = next((one for one in lines if one.pk == line.pk), None)
    if moving is None:
        raise Refused(GONE)
    rest = [one for one in lines if one is not moving]
    at = next((n for n, one in enumerate(rest) if one.key == before), len(rest))
    return _reorder(offer, [*rest[:at], moving, *rest[at:]], by=by, now=now)


@operation
def group_by_danger(offer: Offer, *, by: Actor, now: datetime) -> Offer:
    """Put the lines of a draft in the order of danger, call-outs last; within a code they keep their order."""
    must_quote(by)
    offer = locked_draft(offer)
    lines = sorted(offer.lines.all(), key=lambda line: (line.kind == LineKind.CALL_OUT, rank(line.code)))
    return _reorder(offer, lines, by=by, now=now)


def _reorder(offer: Offer, lines: list[Line], *, by: Actor, now: datetime) -> Offer:
    if [line.position for line in lines] == sorted(line.position for line in lines):
        return offer
    for position, line in enumerate(lines, start=1):
        line.position = position
    Line.objects.bulk_update(lines, ["position"])
    count_on(offer)
    tell(Verb.LINES_ORDERED, offer.quote, by=by, now=now, facts={"version": offer.number})
    return offer


def copied(line: Line, offer: Offer, *, needs: list[UUID], facts: Facts, now: datetime) -> Line:
    """`line` (with its site) for the next version `offer`: the same key, a row of its own, the VAT as it is today."""
    names = (
        "key", "position", "kind", "site", "visits", "words", "danger", "code", "cost", "price", "treatment",
        "certainty", "optional", "either",
    )  # fmt: skip
    new = Line(id=new_id(), offer=offer, needs=needs, made_at=now, **{name: getattr(line, name) for name in names})
    return reckon(new, offer, on=clock.local_day(now), facts=facts)
