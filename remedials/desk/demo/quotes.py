"""Rates, a price book, and quotes in every state: a wharf of workshops, and a house whose owner answers on a link."""

from decimal import Decimal
from typing import Any

from inspections.models import Observation
from jobsite.people.links import token_hash
from jobsite.people.models import PrivateLink
from jobsite.people.operations import make_link
from jobsite.premises.choices import PremisesKind, Tenure
from jobsite.premises.models import Party, Site
from remedials.desk.demo.story import Story
from remedials.quotes.models import Offer, Quote, StandardJob
from remedials.quotes.operations.answering import Said, answer_offer
from remedials.quotes.operations.asking import ask_question
from remedials.quotes.operations.book import Job, add_job
from remedials.quotes.operations.drafting import begin_quote, edit_line, revise_quote
from remedials.quotes.operations.filling import fill_from_job
from remedials.quotes.operations.mailing import link_ends
from remedials.quotes.operations.sending import send_offer, withdraw_offer
from remedials.quotes.operations.terms import set_terms
from remedials.works.choices import ItemKind
from remedials.works.models import Remedial
from remedials.works.operations.taking import Take

TOKEN = "demo-only-the-owner-answers-here-0123456789"  # noqa: S105 - the demo's, printed at the start


def _takes(*rows: tuple[str, str], kind: str = ItemKind.MATERIAL) -> tuple[Take, ...]:
    return tuple(Take(what, kind, cost_each=Decimal(cost), supplier="Sample Wholesale") for what, cost in rows)


BOOK = (
    Job("Blanks fitted", "Close the openings in the board so that nobody can touch live parts.", 20,
        items=_takes(("Blank, universal", "1.10"))),
    Job("RCBO fitted", "Fit a device that cuts the power in a moment if somebody gets a shock.", 60, retests=("rcd",),
        certificate_kind="minor works", items=_takes(("RCBO B32, 30 mA", "31.50"))),
    Job("Main bonding to one service", "Connect the incoming pipe to earth, so that a fault cannot make it live.", 120,
        certificate_kind="minor works", items=_takes(("10 mm² green and yellow, per job", "24.00"), ("Clamp", "2.20"))),
    Job("Circuit chart made", "Find out what each switch of the board is for, and write it inside its door.", 90),
    Job("Socket renewed", "Change the damaged socket for a new one.", 40, retests=("joint",),
        items=_takes(("Double socket", "4.60"))),
    Job("Light fitting renewed", "Change the broken light for a new one.", 45, retests=("joint",),
        items=_takes(("LED fitting", "28.00"))),
    Job("Gland and armour earthed", "Seal the cable where it enters and connect its armour to earth.", 60,
        items=_takes(("Gland kit, 20 mm", "6.80"))),
    Job("Cable put into trunking", "Cover the loose cable so that it cannot be damaged.", 75, crew=1,
        items=_takes(("Trunking, 3 m", "9.40"))),
    Job("Emergency light renewed", "Change the light that should stay on in a power cut, and test it.", 45,
        items=_takes(("Emergency fitting", "41.00"))),
    Job("Surge protection fitted", "Protect what is plugged in from surges out of the network.", 75,
        certificate_kind="minor works", items=_takes(("Surge device, type 2", "58.00"))),
    Job("Investigation, two hours", "Open up and look, so that we know whether it is dangerous.", 120, skill="testing"),
    Job("Work above 4 m", "Reach the work safely.", 30, items=_takes(("Tower, a day", "65.00"), kind=ItemKind.ACCESS)),
)  # fmt: skip


def tell(story: Story) -> None:
    """Rates since last year, the price book, then the two places."""
    story.day(400)
    rates = [("", Decimal(22), Decimal(48)), ("testing", Decimal(26), Decimal(58))]
    story.do(
        set_terms, by=story.cast.manager, holds_from=story.date(400), rates=rates, call_out=Decimal(45),
        call_out_cost=Decimal(18), markup_percent=Decimal(20), vat_number="GB 999 9999 73",
    )  # fmt: skip
    jobs = {job.name: story.make(add_job, job=job) for job in BOOK}
    _Wharf(story, jobs).tell()
    _house(story, jobs)


class _Place:
    """A place whose observations are priced and quoted."""

    def __init__(self, story: Story, jobs: dict[str, StandardJob]) -> None:
        self.story, self.jobs = story, jobs

    def priced(self, seen: Observation, job: str, *, work: str = "", times: int = 1) -> Remedial:
        """A remedial for `seen`, priced from the book."""
        remedial = self.story.remedial([seen], work or job, minutes=30)
        self.story.do(fill_from_job, remedial, job=self.jobs[job], times=times, version=remedial.version)
        remedial.refresh_from_db()
        return remedial

    def begun(self, name: str, party: Party, *remedials: Remedial, **more: Any) -> Offer:
        offer: Offer = self.story.make(begin_quote, party=party, name=name, remedials=remedials, **more)
        return offer

    def sent(self, offer: Offer, to: str, how: str = "printed") -> Offer:
        offer.refresh_from_db()
        gone: Offer = self.story.make(send_offer, offer, how=how, to=to, version=offer.version)
        return gone

    def answered(self, offer: Offer, name: str, *says: str, by: Any = None, **more: Any) -> None:
        """What was said to the first lines of work, in their order."""
        lines = offer.lines.filter(kind="work").order_by("position")
        why = {"yes": "", "no": "later"}
        said = {line.pk: Said(one, why[one]) for line, one in zip(lines, says, strict=False)}
        self.story.make(
            answer_offer,
            offer,
            says=said,
            name=name,
            fingerprint=offer.fingerprint,
            party=offer.quote.party,
            by=by,
            **more,
        )


class _Wharf(_Place):
    """Workshops on a wharf: quotes lapsed, withdrawn, superseded, answered, with the customer, a draft."""

    def tell(self) -> None:
        story = self.story
        story.day(100)
        self.party = story.party(
            "Candlewick Wharf Traders", organisation=True, email="wharf@example.com", phone="01632 960150"
        )
        self.seen = self._report(self._site())
        self._over()
        self._standing()

    def _site(self) -> Site:
        story = self.story
        site = story.site(
            "Candlewick Wharf", self.party, "Wharf Road, Ebbsford", "QX4 6ZJ", kind=PremisesKind.INDUSTRIAL,
            tenure=Tenure.NOT_A_HOME, phases=("L1", "L2", "L3"), earthing="TN-S", main_fuse_a=100,
        )  # fmt: skip
        main = story.board(site, "Wharf main", "123", site.supplies.get(), place="gatehouse")
        unit_a = story.circuit(main, "1", "Unit A", "C50", arrangement="distribution")
        unit_b = story.circuit(main, "2", "Unit B", "C50", arrangement="distribution")
        self.a = story.board(site, "Unit A", "123", unit_a, place="beside the press")
        self.b = story.board(site, "Unit B", "123", unit_b, place="in the drying room")
        story.circuits(self.a, ("1L1", "Sockets", "B32"), ("2L2", "Lights", "B10"))
        story.circuits(self.b, ("1L1", "Sockets", "B32"), ("2L3", "Lights", "B10"))
        return site

    def _report(self, site: Site) -> dict[str, Observation]:
        story = self.story
        report = story.report(
            site, [site.units.get()], 98, firm="Lamplight Inspections", taken_in=96, outcome_written="unsatisfactory"
        )
        found = {
            key: story.note(report, str(item), code, text, board=board)
            for item, (key, code, text, board) in enumerate(
                (
                    ("blanks", "C2", "Three blanks missing, live parts can be touched", self.a),
                    ("rcd", "C2", "No RCD for sockets used in the yard", self.a),
                    ("bond", "C2", "No main bonding to the water pipe", self.b),
                    ("cable", "C2", "Cable hangs loose across the drying room", self.b),
                    ("heat", "FI", "Signs of heat at a neutral, cause unknown", self.b),
                    ("chart", "C3", "No circuit chart", self.a),
                    ("exit", "C3", "Exit light does not stay lit", self.b),
                    ("surge", "C3", "No surge protection", self.b),
                ),
                start=1,
            )
        }
        story.issue(report)
        story.day(90)
        for key in ("blanks", "rcd", "bond", "cable", "heat"):
            story.review(found[key], "agree")
        return found

    def _over(self) -> None:
        """One lapsed without an answer, one withdrawn, one answered with a refusal that leaves a danger."""
        story, seen = self.story, self.seen
        story.day(80)
        chart = self.priced(seen["chart"], "Circuit chart made")
        self.sent(self.begun("A chart for Unit A", self.party, chart), "the foreman")
        story.day(30)
        cable = self.priced(seen["cable"], "Cable put into trunking", times=4)
        wrong = self.sent(self.begun("The loose cable in the drying room", self.party, cable), "the foreman")
        story.day(28)
        story.do(withdraw_offer, wrong, reason="It was measured for one wall only: a new quote follows.")
        story.day(24)
        two = (self.priced(seen["blanks"], "Blanks fitted", times=3), self.priced(seen["rcd"], "RCBO fitted"))
        self.safe = self.sent(self.begun("Unit A made safe", self.party, *two), "the foreman")
        story.day(21, 11)
        self.answered(self.safe, "Foreman", "yes", "no", how="phone", order_number="CW-2207")

    def _standing(self) -> None:
        """A second version with the customer, a variation found on site, and a draft."""
        story, seen = self.story, self.seen
        story.day(16)
        bond = self.priced(seen["bond"], "Main bonding to one service")
        first = self.sent(self.begun("Bonding of the water pipe", self.party, bond), "the foreman")
        story.day(9)
        second: Offer = story.make(revise_quote, first.quote)
        line = second.lines.filter(kind="work").order_by("position")[0]
        story.do(edit_line, line, version=second.version, price=line.price + 40)
        self.sent(second, "wharf@example.com", "email")
        story.day(2)
        why = "Dirk Achterberg saw that the exit light has no charge left, while fitting the blanks."
        exit_light = self.priced(seen["exit"], "Emergency light renewed")
        more = self.begun(
            "Exit light in Unit B", self.party, exit_light, variation_of=self.safe.quote, variation_why=why
        )
        self.sent(more, "the foreman")
        story.day(0, 8)
        rest = (
            self.priced(seen["heat"], "Investigation, two hours"),
            self.priced(seen["surge"], "Surge protection fitted"),
        )
        self.begun("What is left in Unit B", self.party, *rest)


def _house(story: Story, jobs: dict[str, StandardJob]) -> None:
    """An owner who lives there: one line accepted on the link, a question about another."""
    place = _Place(story, jobs)
    story.day(40)
    owner = story.party("Ms A. Thimblewood", email="thimblewood@example.org", phone="07700 900151")
    site = story.site("7 Spindle Lane", owner, "7 Spindle Lane, Ebbsford", "QX4 7ZK", earthing="TN-C-S", main_fuse_a=80)
    board = story.board(site, "Fuse board", "1", site.supplies.get(), place="under the stairs")
    story.circuits(board, ("1L1", "Sockets", "B32"), ("2L1", "Lights", "B6"))
    report = story.own_inspection(site, [site.units.get()], 12, next_due_on=story.date(12 - 5 * 365))
    found = [
        story.note(report, "1", "C2", "Socket in the garden room cracked, live parts can be touched", board=board),
        story.note(report, "2", "C2", "No RCD for the sockets", board=board),
        story.note(report, "3", "C3", "Light in the porch broken"),
    ]
    story.issue(report)
    story.day(6)
    work = [
        place.priced(seen, job)
        for seen, job in zip(found, ("Socket renewed", "RCBO fitted", "Light fitting renewed"), strict=True)
    ]
    offer = place.sent(place.begun("What the inspection found", owner, *work), "thimblewood@example.org", "email")
    link, _ = story.make(
        make_link, purpose=PrivateLink.Purpose.QUOTE, site=site.pk, party=owner.pk, thing=offer.quote_id,
        sent_to="Ms A. Thimblewood", expires_at=link_ends(offer),
    )  # fmt: skip
    link.token_hash = token_hash(TOKEN)  # so that it can be shown at the start: nobody else ever gets such a link
    link.save(update_fields=["token_hash"])
    story.day(4, 19)
    place.answered(offer, "A. Thimblewood", "yes", by=link)
    asked = offer.lines.filter(kind="work").order_by("position")[1]
    story.make(
        ask_question, offer, text="Does the power have to be off for long? I work at home.", name="A. Thimblewood",
        by=link, line_key=asked.key,
    )  # fmt: skip


def answering_path() -> str:
    """The path of the page on which the demo's owner answers; "" where the demo was not loaded."""
    there = PrivateLink.objects.filter(token_hash=token_hash(TOKEN), withdrawn_at=None).first()
    return f"/q/{TOKEN}/" if there and there.thing and Quote.objects.filter(pk=there.thing).exists() else ""
