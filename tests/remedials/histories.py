"""A small firm in which anything that people do may happen in any order: the acts of the stateful tests of the due list.

Every act is a real operation on a real database. `pick` is a number that chooses among what there is; an act that has
nothing to choose from, or that is refused with a sentence, does nothing.
"""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from inspections import operations as inspect
from inspections.models import Inspection, MadeSafe, Observation, Paper
from jobsite import clock
from jobsite.ids import new_id
from jobsite.people import operations as people
from jobsite.people.models import Competence, Instrument, User
from jobsite.premises import operations as premises
from jobsite.premises.models import Party, Site, Unit
from jobsite.refused import Refused
from remedials.due.models import DueRow, Leaving
from remedials.due.operations import leaving, undertaking
from remedials.quotes.models import Answer, Offer
from remedials.quotes.operations import answering, drafting, following, pricing, sending
from remedials.visits import operations as visits
from remedials.visits.models import SiteKey, Visit, VisitLine
from remedials.visits.operations import attempts, keys, seeing_to
from remedials.works import operations as work
from remedials.works.models import Proof, Remedial, Waiting
from tests import factories as make
from tests.factories import NOON

CODES = ("C1", "C2", "FI", "C3")
OPEN_STAGES = ("to-price", "quoted", "approved", "booked")


class Firm:
    """Its people, two plain sites of one customer, a block of flats of another; and the time."""

    def __init__(self) -> None:
        self.now = NOON
        self.manager = make.make_user("Mira Owner", "manager")
        self.office = make.make_user("Olive Desk", "office")
        self.engineer = make.make_user("Edwin Wire", "engineer")
        self.other = make.make_user("Erik Cable", "engineer")
        self.qualified = make.make_qualified()
        self.landlady, self.buyer = make.make_party(), make.make_party("Bruno Buyer", email="bruno@example.com")
        make.make_site("Sample House", customer=self.landlady, tenure="private-rented")
        make.make_site("Sample House again", customer=self.landlady, tenure="private-rented")
        flats = make.make_site("Sample Court", customer=self.buyer)
        make.make_unit(flats, "Flat 1", tenure="private-rented")
        make.make_terms()
        make.make_instrument(check_due=self.today + timedelta(days=40))

    @property
    def today(self) -> date:
        return clock.local_day(self.now)

    def day(self, days: int) -> date:
        return self.today + timedelta(days=days)

    # --- what there is to choose from ---------------------------------------------------------------------------------

    @staticmethod
    def one(rows: Any, pick: int) -> Any:
        """One of `rows`, by key; raises Refused where there is none."""
        rows = list(rows.order_by("pk")) if hasattr(rows, "order_by") else list(rows)
        if not rows:
            raise Refused("There is none.")
        return rows[pick % len(rows)]

    def site(self, pick: int) -> Site:
        return self.one(Site.objects.filter(merged_into=None), pick)

    def unit(self, pick: int) -> Unit:
        return self.one(Unit.objects.filter(retired_at=None, site__archived_at=None), pick)

    def open_one(self, pick: int) -> Observation:
        return self.one(Observation.objects.open(), pick)

    def observation(self, pick: int) -> Observation:
        return self.one(Observation.objects.filter(draft=False), pick)

    def remedial(self, pick: int, *stages: str) -> Remedial:
        rows = Remedial.objects.all()
        return self.one(rows.filter(stage__in=stages) if stages else rows, pick)

    def somebody(self, pick: int) -> User:
        return self.one(User.objects.filter(is_active=True), pick)

    def engineers(self, pick: int) -> list[User]:
        return [self.one(User.objects.filter(is_active=True, roles__contains=["engineer"]), pick)]

    def _by(self, by: User) -> dict[str, Any]:
        return {"by": by, "now": self.now}

    @property
    def by_office(self) -> dict[str, Any]:
        return self._by(self.office)

    @property
    def by_qualified(self) -> dict[str, Any]:
        return self._by(self.qualified)

    @property
    def by_engineer(self) -> dict[str, Any]:
        """An engineer who still works here."""
        return self._by(User.objects.filter(pk=self.engineer.pk, is_active=True).first() or self.qualified)

    @property
    def by_manager(self) -> dict[str, Any]:
        return self._by(self.manager)

    # --- found --------------------------------------------------------------------------------------------------------

    def report_defect(self, pick: int, alarming: bool) -> None:
        unit = self.unit(pick)
        inspect.report_defect(
            unit.site, id=new_id(), unit=unit, text="A tenant says it sparks", reported_by="Tina Tenant",
            may_be_dangerous=alarming, **self.by_office,
        )  # fmt: skip

    def find(self, pick: int, code: str) -> None:
        unit = self.unit(pick)
        inspect.note_found(
            unit.site, id=new_id(), unit=unit, text=f"Found while there: {code}", code=code, **self.by_engineer
        )

    def start(self, pick: int, codes: Sequence[str], other_firm: bool) -> Inspection:
        unit = self.unit(pick)
        by = self.by_office if other_firm else self.by_qualified
        draft = inspect.start_inspection(
            unit.site, id=new_id(), units=[unit], kind="periodic", other_firm=other_firm, inspected_on=self.today,
            edition="2018+A2:2022", **by, **({"firm_name": "Invented Sparks"} if other_firm else {}),
        )  # fmt: skip
        for n, code in enumerate(codes):
            inspect.note_observation(draft, id=new_id(), unit=unit, text=f"Item {n}: {code}", code=code, **by)
        return draft

    def inspect(self, pick: int, codes: Sequence[str], other_firm: bool) -> None:
        draft = self.start(pick, codes, other_firm)
        self.issue_draft(draft)

    def issue_draft(self, draft: Inspection) -> None:
        inspect.issue_inspection(draft, **(self.by_office if draft.other_firm else self.by_qualified))

    def issue(self, pick: int) -> None:
        self.issue_draft(self.one(Inspection.objects.filter(state="draft"), pick))

    def throw_draft_away(self, pick: int) -> None:
        draft = self.one(Inspection.objects.filter(state="draft"), pick)
        inspect.delete_draft(draft, reason="Entered twice", **self._by(draft.recorded_by))

    def reissue(self, pick: int) -> None:
        report = self.one(Inspection.objects.filter(state="issued"), pick)
        draft = inspect.reissue_inspection(report, id=new_id(), reason="A slip", **self.by_qualified)
        self.issue_draft(draft)

    def find_again(self, pick: int) -> None:
        """A later report notes an open observation again."""
        earlier = self.open_one(pick)
        draft = inspect.start_inspection(
            earlier.site, id=new_id(), units=[earlier.unit], kind="periodic", other_firm=False, inspected_on=self.today,
            edition="2018+A2:2022", **self.by_qualified,
        )  # fmt: skip
        inspect.note_again(draft, earlier=earlier, id=new_id(), **self.by_qualified)
        self.issue_draft(draft)

    # --- decided ------------------------------------------------------------------------------------------------------

    def review(self, pick: int, code: str) -> None:
        decision = "recode" if code else "no-code"
        inspect.review(self.observation(pick), decision=decision, code=code, reason="Looked at it", **self.by_qualified)

    def record_finding(self, pick: int, code: str) -> None:
        seen = self.one(Observation.objects.open().filter(code="FI"), pick)
        inspect.record_finding(seen, id=new_id(), code=code, text="Opened it up", **self.by_qualified)

    def withdraw_finding(self, pick: int) -> None:
        seen = self.one(Observation.objects.filter(ended="finding"), pick)
        inspect.withdraw_finding(seen, reason="Another circuit", **self.by_qualified)

    def make_safe(self, pick: int, days: int) -> None:
        inspect.make_safe(
            self.open_one(pick), id=new_id(), how="covered", what="Boarded over", agreed_with="Petra", no_photo="Dark",
            look_again_on=self.day(days), **self.by_engineer,
        )  # fmt: skip

    def _held(self, pick: int) -> MadeSafe:
        return self.one(MadeSafe.objects.filter(ended=""), pick)

    def look_again(self, pick: int, days: int) -> None:
        inspect.look_again(self._held(pick), id=new_id(), look_again_on=self.day(days), **self.by_engineer)

    def reconnect(self, pick: int) -> None:
        inspect.reconnect(self._held(pick), reason="The tenant took it off", **self.by_engineer)

    def end(self, pick: int, ended: str) -> None:
        inspect.end_observation(self.observation(pick), ended=ended, reason="As said", **self.by_office)

    def open_again(self, pick: int) -> None:
        inspect.reopen_observation(self.observation(pick), reason="It is back", **self.by_office)

    def give_notice(self, pick: int) -> None:
        inspect.give_danger_notice(
            [self.open_one(pick)], id=new_id(), why="Live parts", advised="Keep off", given_to="Petra", how="hand",
            **self.by_engineer,
        )  # fmt: skip

    def take_on(self, pick: int, whose: int, days: int) -> None:
        inspect.take_on(self.open_one(pick), owner=self.somebody(whose), step_by=self.day(days), **self.by_office)

    # --- works --------------------------------------------------------------------------------------------------------

    def make_remedial(self, pick: int, many: int) -> None:
        first = self.open_one(pick)
        rows = [
            first,
            *Observation.objects.open().filter(site=first.site).exclude(pk=first.pk).order_by("pk")[: many - 1],
        ]
        work.make_remedial(rows, id=new_id(), work="Put it right", photo_required=False, **self.by_office)

    def take_on_work(self, pick: int, whose: int, days: int) -> None:
        work.take_on(
            self.remedial(pick, *OPEN_STAGES, "declined"),
            owner=self.somebody(whose),
            step_by=self.day(days),
            **self.by_office,
        )

    def approve(self, pick: int) -> None:
        work.approve_remedial(
            self.remedial(pick, "to-price", "quoted"),
            given_by="Petra",
            how="phone",
            given_on=self.today,
            **self.by_office,
        )

    def decline(self, pick: int, days: int) -> None:
        again = self.day(days)
        work.decline_remedial(
            self.remedial(pick, "to-price", "quoted", "approved"),
            who="Petra",
            reason="",
            offer_again_on=again,
            **self.by_office,
        )

    def offer_again(self, pick: int) -> None:
        work.offer_again(self.remedial(pick, "declined"), **self.by_office)

    def cancel(self, pick: int, nothing_more: bool) -> None:
        work.cancel_remedial(
            self.remedial(pick, *OPEN_STAGES),
            reason="Not needed after all",
            nothing_more=nothing_more,
            **self.by_office,
        )

    def done_by_others(self, pick: int) -> None:
        work.done_by_others(
            self.remedial(pick, *OPEN_STAGES, "declined"),
            who="Another firm",
            reference="MW 1",
            on=self.today,
            **self.by_office,
        )

    def parts(self, pick: int, days: int) -> None:
        work.say_when_parts_are_ready(self.remedial(pick, *OPEN_STAGES), on=self.day(days), **self.by_office)

    def close(self, pick: int) -> None:
        row = self.remedial(pick, "approved", "booked")
        work.close_remedial(row, id=new_id(), no_photo_reason="No cameras allowed", **self.by_engineer)

    def leave(self, pick: int) -> None:
        work.leave_remedial(
            self.remedial(pick, "approved", "booked"), id=new_id(), because="Second fix", **self.by_engineer
        )

    def review_proof(self, pick: int, decision: str, code: str) -> None:
        proof = self.one(Proof.objects.filter(state="stands", review=None), pick)
        work.review_proof(
            proof,
            decision=decision,
            reason="Looked",
            finding_code=code,
            finding_text="What was found",
            **self.by_qualified,
        )

    def reopen(self, pick: int) -> None:
        work.reopen_remedial(
            self.remedial(pick, "done", "reviewed", "cancelled", "by-others"), reason="Came loose", **self.by_office
        )

    def onwards(self, pick: int, hours: int) -> None:
        """A remedial one stage on its usual way."""
        row = self.remedial(pick, *OPEN_STAGES, "done")
        at = Remedial.objects.filter(stage=row.stage)
        place = [one.pk for one in at.order_by("pk")].index(row.pk)
        if row.stage == "to-price":
            self.quote(place)
        elif row.stage == "quoted":
            self.approve(pick)
        elif row.stage == "approved":
            self._book(row.site, pick, hours, remedials=[row], despite="Agreed")
        elif row.stage == "booked":
            work.close_remedial(row, id=new_id(), no_photo_reason="No cameras allowed", **self.by_engineer)
        else:
            self.review_proof(pick, "accepted", "C3")

    # --- waiting ------------------------------------------------------------------------------------------------------

    def wait(self, pick: int, whole: bool, days: int) -> None:
        of = {"remedial": self.remedial(pick)} if whole else {"observation": self.open_one(pick)}
        work.wait_on(
            id=new_id(), on_whom="network operator", for_what="a new cut-out", asked_on=self.today,
            chase_on=self.day(days), **of, **self.by_office,
        )  # fmt: skip

    def chase(self, pick: int, days: int) -> None:
        row = self.one(Waiting.objects.filter(ended_at=None), pick)
        work.chase(row, id=new_id(), chase_on=self.day(days), **self.by_office)

    def end_waiting(self, pick: int) -> None:
        work.end_waiting(self.one(Waiting.objects.filter(ended_at=None), pick), how="They came", **self.by_office)

    # --- quotes -------------------------------------------------------------------------------------------------------

    def quote(self, pick: int) -> None:
        """Price a remedial and send the quote."""
        row = self.remedial(pick, "to-price")
        pricing.price_remedial(
            row, minutes=60, crew=1, skill="", items=[], treatment="standard", plain="We put it right", call_out=False,
            **self.by_office,
        )  # fmt: skip
        offer = drafting.begin_quote(
            id=new_id(), party=row.site.customer, name="Works", remedials=[row], sites=[row.site], **self.by_office
        )
        self._send(offer)

    def _send(self, offer: Offer) -> None:
        sending.send_offer(offer, id=new_id(), how="printed", to="Petra", version=None, **self.by_office)

    def _sent(self, pick: int) -> Offer:
        return self.one(Offer.objects.filter(state="sent"), pick)

    def answer(self, pick: int, yes: bool) -> None:
        offer = self._sent(pick)
        said = {line.pk: answering.Said("yes" if yes else "no") for line in offer.lines.filter(kind="work")}
        answering.answer_offer(
            offer, id=new_id(), says=said, name="Petra", fingerprint=offer.fingerprint, party=offer.quote.party,
            how="phone", **self.by_office,
        )  # fmt: skip

    def take_answer_back(self, pick: int) -> None:
        answering.take_back_answer(self.one(Answer.objects.all(), pick), why="Misheard", **self.by_office)

    def withdraw_quote(self, pick: int) -> None:
        sending.withdraw_offer(self._sent(pick), reason="Prices rose", **self.by_office)

    def chase_quote(self, pick: int, days: int) -> None:
        quote = self._sent(pick).quote
        following.chase_quote(quote, id=new_id(), heard="Thinks about it", chase_on=self.day(days), **self.by_office)

    # --- visits -------------------------------------------------------------------------------------------------------

    def book(self, pick: int, whose: int, hours: int, despite: bool) -> None:
        row = self.remedial(pick, "approved", "booked")
        self._book(row.site, whose, hours, remedials=[row], move=row.stage == "booked", despite="Agreed" * despite)

    def book_other(self, pick: int, whose: int, hours: int) -> None:
        """A visit for what is no remedial: an inspection, a look at what was made safe, a call-out."""
        row = self.open_one(pick)
        what = {"looks": [row]} if row.made_safe else {"units": [row.unit]} if row.code else {"call_outs": [row]}
        self._book(row.site, whose, hours, despite="Agreed", **what)

    def _book(self, site: Site, whose: int, hours: int, **fields: Any) -> None:
        start = self.now + timedelta(hours=hours)
        visits.book_visit(
            site, id=new_id(), engineers=self.engineers(whose), start=start, end=start + timedelta(hours=1),
            **fields, **self.by_office,
        )  # fmt: skip

    def _visit(self, pick: int) -> Visit:
        return self.one(Visit.objects.filter(state="booked"), pick)

    def cancel_visit(self, pick: int) -> None:
        visits.cancel_visit(self._visit(pick), reason="Customer away", **self.by_office)

    def move_visit(self, pick: int, whose: int, hours: int) -> None:
        row, start = self._visit(pick), self.now + timedelta(hours=hours)
        visits.move_visit(
            row, start=start, end=start + timedelta(hours=1), engineers=self.engineers(whose), version=row.version,
            reason="Agreed anew", despite="Agreed", **self.by_office,
        )  # fmt: skip

    def nobody_there(self, pick: int) -> None:
        visits.no_access(self._visit(pick), id=new_id(), note="Rang twice", **self.by_engineer)

    def settle(self, pick: int) -> None:
        lines = VisitLine.objects.filter(active=True, settled_at=None).exclude(kind="remedial")
        visits.settle_line(self.one(lines, pick), how="Done", **self.by_office)

    def try_to_get_in(self, pick: int, days: int) -> None:
        unit = self.unit(pick)
        attempts.log_attempt(
            unit.site, id=new_id(), how="phone", at=self.now, whom="Tina Tenant", unit=unit, next_on=self.day(days),
            **self.by_office,
        )  # fmt: skip

    def see_to(self, pick: int, days: int) -> None:
        site = self.unit(pick).site
        seeing_to.note_to_see_to(
            site, id=new_id(), kind="asbestos", what="Register", owner=self.office, due=self.day(days), **self.by_office
        )

    def key_out(self, pick: int, days: int) -> None:
        site = self.unit(pick).site
        if not SiteKey.objects.filter(site=site).exists():
            keys.take_key(site, id=new_id(), tag=f"K{site.number}", what="front door", **self.by_office)
        key = SiteKey.objects.get(site=site)
        keys.give_key_out(key, id=new_id(), to=self.engineer, back_by=self.day(days), **self.by_office)

    def key_in(self, pick: int) -> None:
        keys.bring_key_in(self.one(SiteKey.objects.exclude(out_to=None), pick), id=new_id(), **self.by_office)

    # --- people and things of the firm --------------------------------------------------------------------------------

    def goes(self, pick: int) -> None:
        leavers = User.objects.filter(is_active=True).exclude(
            pk__in=[self.manager.pk, self.office.pk, self.qualified.pk]
        )
        people.person_left(self.one(leavers, pick), **self.by_manager)

    def returns(self, pick: int) -> None:
        people.person_returned(self.one(User.objects.filter(is_active=False), pick), **self.by_manager)

    def compare_instrument(self, days: int) -> None:
        people.check_instrument(
            Instrument.objects.get(), id=new_id(), checked_on=self.today, by_whom="Sampleton Calibration",
            due=self.day(days), **self.by_manager,
        )  # fmt: skip

    def competent_until(self, pick: int, days: int) -> None:
        row = self.one(Competence.objects.exclude(user=self.qualified), pick)
        people.end_competence(row, until=self.day(days), **self.by_manager)

    def found_competent(self, days: int) -> None:
        people.record_competence(
            self.other, id=new_id(), since=self.today, until=self.day(days), evidence="Course", **self.by_manager
        )

    # --- sites --------------------------------------------------------------------------------------------------------

    def archive(self, pick: int) -> None:
        premises.archive_site(self.site(pick), **self.by_office)

    def bring_back(self, pick: int) -> None:
        premises.bring_back_site(self.one(Site.objects.exclude(archived_at=None), pick), **self.by_office)

    def merge(self, pick: int, into: int) -> None:
        premises.merge_sites(self.site(pick), into=self.site(into), names={}, reason="Recorded twice", **self.by_office)

    def hand_over(self, pick: int) -> None:
        site = self.site(pick)
        to = self.one(Party.objects.exclude(pk=site.customer_id), pick)
        premises.hand_over_site(site, to=to, on=self.today, reason="Sold", version=site.version, **self.by_office)

    def retire_unit(self, pick: int) -> None:
        premises.retire_unit(self.unit(pick), **self.by_office)

    def moves_in(self, pick: int) -> None:
        inspect.change_occupancy(self.unit(pick), id=new_id(), since=self.today, **self.by_office)

    def answer_paper(self, pick: int) -> None:
        row = self.one(Paper.objects.filter(answer=""), pick)
        inspect.answer_paper(
            row, answer="done", answered_on=self.today, how="By post", version=row.version, **self.by_office
        )

    # --- the list itself ----------------------------------------------------------------------------------------------

    def _row(self, pick: int, **only: Any) -> DueRow:
        return self.one(sorted(DueRow.objects.filter(**only), key=lambda row: (row.kind, row.ref)), pick)

    def have_it(self, pick: int, whose: int, days: int) -> None:
        row = self._row(pick)
        undertaking.have_it(
            row.kind, row.ref, until=self.day(days), reason="Waits for a part", by=self.somebody(whose), now=self.now
        )

    def give_back(self, pick: int) -> None:
        row = self._row(pick, in_hand_until__isnull=False)
        undertaking.give_back(row.kind, row.ref, **self.by_office)

    # --- the firm's part at a site ends -------------------------------------------------------------------------------

    def write_letter(self, pick: int, days: int) -> None:
        leaving.write_letter(
            self.site(pick), id=new_id(), why="left", to_name="Petra", to_address="1 Sample Street", reason="Moves away",
            owner=self.office, deliver_by=self.day(days), **self.by_office,
        )  # fmt: skip

    def _letter(self, pick: int) -> Leaving:
        return self.one(Leaving.objects.filter(delivered_on=None, taken_back_at=None), pick)

    def deliver_letter(self, pick: int) -> None:
        row = self._letter(pick)
        leaving.deliver_letter(row, how="hand", on=self.today, to="Petra", version=row.version, **self.by_office)

    def take_letter_back(self, pick: int) -> None:
        leaving.take_back(self._letter(pick), **self.by_office)
