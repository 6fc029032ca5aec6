"""Quotes of the large invented firm for measuring: rates, prices, offers in every state, one of two hundred lines."""

import hashlib
from collections import defaultdict
from datetime import datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Any
from uuid import UUID

from jobsite import clock
from jobsite.ids import new_id
from jobsite.ledger.files import store_file
from jobsite.people.models import PrivateLink
from remedials.quotes.choices import WhyNot
from remedials.quotes.models import (
    Answer,
    Costing,
    Line,
    LineAnswer,
    LineRemedial,
    Offer,
    Quote,
    QuoteSite,
    Rate,
    Terms,
)
from remedials.quotes.queries.said import offer_as_said

if TYPE_CHECKING:
    from remedials.desk.filling import Filling

TOKEN = "measuring-only-not-a-quote-0123456789abcdefghijklm"  # noqa: S105 - opens nothing but an invented quote
PENNY = Decimal("0.01")
# The last version's state, how often: a quarter is out, of the rest most is answered.
STATES = (*("answered",) * 9, *("sent",) * 5, *("lapsed",) * 2, "draft", "draft", "withdrawn", "superseded")


class Quotes:
    """Writes the quotes of a firm that has sites and remedials already."""

    def __init__(self, firm: "Filling") -> None:
        self.firm, self.random, self.now, self.today = firm, firm.random, firm.now, firm.today
        self.by = firm.office[0]
        self.file = store_file(b"%PDF-1.7 measured", media_type="application/pdf", now=self.now)

    def write(self) -> None:
        """Terms, prices, quotes with their lines and answers, then the long ones."""
        self.prices()
        self.quotes()
        self.answers()
        self.long = self.long_one("A long quote being built")
        self.long_sent = self.long_one("A long quote to answer")
        self._send_long(self.long_sent)

    def prices(self) -> None:
        terms = Terms.objects.create(holds_from=self.today.replace(year=2020, day=1), set_by=self.by)
        self.firm.add(Rate, [Rate(terms=terms, skill="", cost_hour=Decimal(22), price_hour=Decimal(48))])
        self.price_of: dict[UUID, Decimal] = {}
        rows = []
        for remedial in self.firm.remedial_rows:
            price = Decimal(self.random.randrange(2_000, 90_000)) / 100
            self.price_of[remedial.pk] = price
            cost = (price * Decimal("0.6")).quantize(PENNY)
            common = {"terms": terms, "priced_by": self.by, "priced_at": self.now}
            rows.append(Costing(remedial=remedial, cost=cost, worked_out=price, **common))
        self.firm.add(Costing, rows)

    def quotes(self) -> None:
        """Quotes, each at one site, with lines of its remedials, the same one over where a site has few."""
        at_site = defaultdict(list)
        for remedial in self.firm.remedial_rows:
            at_site[remedial.site_id].append(remedial)
        sites = [site for site in self.firm.site_rows if at_site[site.pk]]
        size = self.firm.size
        self.quote_rows, places, self.offers, lines, links = [], [], [], [], []
        for n, site in enumerate(self.firm.spread(size.quotes, sites)):
            quote, offer = self._quote(1001 + n, site, f"Works at {site.name}")
            self.quote_rows.append(quote)
            places.append(QuoteSite(quote=quote, site=site))
            self.offers.append(offer)
            for position in range(size.lines // size.quotes):
                line = self._line(offer, at_site[site.pk][position % len(at_site[site.pk])], position)
                lines.append(line[0])
                links.append(line[1])
        for model, rows in ((Quote, self.quote_rows), (QuoteSite, places), (Offer, self.offers), (Line, lines)):
            self.firm.add(model, rows)
        self.firm.add(LineRemedial, links)
        self.lines_of = defaultdict(list)
        for one in lines:
            self.lines_of[one.offer_id].append(one)
        self._send()

    def _quote(self, number: int, site: Any, name: str) -> tuple[Quote, Offer]:
        owner = self.random.choice(self.firm.office)
        made = {"made_by": self.by, "made_at": self.now}
        quote = Quote(number=number, party_id=site.customer_id, name=name, owner=owner, **made)
        return quote, Offer(quote=quote, consumer=False, valid_until=self.today + timedelta(days=30), **made)

    def _line(self, offer: Offer, remedial: Any, position: int) -> tuple[Line, LineRemedial]:
        price = self.price_of[remedial.pk]
        line = Line(
            offer=offer, position=position, words=remedial.work, danger="Somebody could touch live parts.",
            code=self.random.choice(("C1", "C2", "C2", "FI", "C3", "C3")), price=price, rate=Decimal(20),
            cost=(price * Decimal("0.6")).quantize(PENNY), vat=(price / 5).quantize(PENNY), made_at=self.now,
            site_id=remedial.site_id,
        )  # fmt: skip
        return line, LineRemedial(line=line, remedial=remedial)

    def _send(self) -> None:
        """Most were sent at some time of the last two years; what was sent lately and not answered is still open."""
        changed = ("state", "said", "sent_at", "sent_by", "sent_how", "sent_to", "fingerprint", "file", "valid_until")
        self.fate = {offer.pk: self.random.choice(STATES) for offer in self.offers}
        for offer in self.offers:
            if (fate := self.fate[offer.pk]) != "draft":
                days = self.random.randrange(0, 25) if fate == "sent" else self.random.randrange(40, 700)
                self._mark_sent(offer, self.now - timedelta(days=days))
        Offer.objects.bulk_update(self.offers, changed, batch_size=500)
        # Only what was sent can end: the database sees to that.
        for offer in self.offers:
            if (fate := self.fate[offer.pk]) in ("withdrawn", "superseded"):
                offer.state, offer.ended_at, offer.end_reason = fate, offer.sent_at, "invented"
            elif fate == "answered":
                offer.state = fate
        Offer.objects.bulk_update(self.offers, ["state", "ended_at", "end_reason"], batch_size=500)

    def _mark_sent(self, offer: Offer, at: datetime) -> None:
        offer.said = offer_as_said(offer, now=at)
        offer.state, offer.sent_at, offer.sent_by, offer.sent_how = "sent", at, self.by, "email"
        offer.sent_to, offer.file = "customer@example.com", self.file
        offer.fingerprint = hashlib.sha256(offer.pk.bytes).hexdigest()
        offer.valid_until = clock.local_day(at) + timedelta(days=30)

    def answers(self) -> None:
        """Who answered said yes to most; superseded ones stand as they are, their next version left out."""
        answers, said = [], []
        for offer in self.offers:
            if self.fate[offer.pk] != "answered" or offer.sent_at is None:
                continue
            at = offer.sent_at + timedelta(days=self.random.randrange(0, 20))
            answer = Answer(
                offer=offer, party_id=offer.quote.party_id, name="Somebody", how="phone", given_at=at, recorded_at=at,
                recorded_by=self.by, fingerprint=offer.fingerprint, net=0, vat=0, to_pay=0,
            )  # fmt: skip
            for line in self.lines_of[offer.pk]:
                yes = self.random.random() < 0.7
                why = "" if yes else self.random.choice(WhyNot.values)
                said.append(LineAnswer(answer=answer, line=line, says="yes" if yes else "no", why_not=why))
                if yes:
                    answer.net, answer.vat = answer.net + line.price, answer.vat + line.vat
            answer.to_pay = answer.net + answer.vat
            answers.append(answer)
        self.firm.add(Answer, answers)
        self.firm.add(LineAnswer, said)

    def long_one(self, name: str, lines: int = 200) -> Offer:
        """A draft of so many lines at the busiest site."""
        site = next(site for site in self.firm.site_rows if site.pk == self.firm.busiest)
        here = [remedial for remedial in self.firm.remedial_rows if remedial.site_id == site.pk]
        last = Quote.objects.order_by("-number").values_list("number", flat=True)[0]
        quote, offer = self._quote(last + 1, site, name)
        made = [self._line(offer, here[n % len(here)], n) for n in range(lines)]
        self.firm.add(Quote, [quote])
        self.firm.add(QuoteSite, [QuoteSite(quote=quote, site=site)])
        self.firm.add(Offer, [offer])
        self.firm.add(Line, [line for line, _ in made])
        self.firm.add(LineRemedial, [link for _, link in made])
        return offer

    def _send_long(self, offer: Offer) -> None:
        """It says what it offers, and a link opens it."""
        self._mark_sent(offer, self.now)
        offer.save()
        digest = hashlib.sha256(TOKEN.encode()).digest()
        link = PrivateLink(
            id=new_id(), token_hash=digest, purpose="quote", site=self.firm.busiest, party=offer.quote.party_id,
            thing=offer.quote_id, made_by=self.by, made_at=self.now, expires_at=self.now + timedelta(days=365),
        )  # fmt: skip
        self.firm.add(PrivateLink, [link])
