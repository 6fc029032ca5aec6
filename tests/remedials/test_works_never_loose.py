"""Whatever is done to remedials in whatever order: no open C1, C2 or FI ever lacks a next step, an owner and a date."""

from collections.abc import Callable
from contextlib import suppress
from datetime import timedelta
from random import Random

import pytest

from inspections.models import Observation
from inspections.operations import (
    give_danger_notice,
    issue_inspection,
    note_observation,
    reissue_inspection,
    start_inspection,
)
from jobsite.ids import new_id
from jobsite.ledger.queries import faults
from jobsite.refused import Refused
from remedials.due.models import DueRow
from remedials.visits.models import Visit
from remedials.visits.operations import book_visit, cancel_visit
from remedials.works import operations as do
from remedials.works.models import Proof, Remedial, Remedies
from tests.factories import NOON, TODAY, make_observation, make_qualified, make_site, make_user, unit_of

STEPS = 30
REISSUES = 4


class Firm:
    """A few people and one site; each method does one thing to one remedial, as somebody of them would."""

    def __init__(self, seed: int) -> None:
        self.dice = Random(seed)
        self.now = NOON
        self.office, self.engineer = make_user("Olive Desk", "office"), make_user("Edwin Wire", "engineer")
        self.qualified = make_qualified()
        self.site = make_site()
        codes = ["C1", "C2", "FI", "C3"]
        self.found = [make_observation(self.site, f"Item {code}", code=code, by=self.office) for code in codes]
        give_danger_notice(
            self.found[:2], id=new_id(), why="Live parts", advised="Keep off", given_to="Petra", how="hand",
            by=self.office, now=self.now,
        )  # fmt: skip

        do.make_remedial(self.found, id=new_id(), work="Put all right", by=self.office, now=self.now)
        Observation.objects.update(owner=None, step_by=None)  # the remedial carries them: theirs are not asked

    def act(self) -> None:
        """One thing that the table allows, or that is refused with a sentence."""
        remedials = list(Remedial.objects.order_by("number"))
        self.now += timedelta(hours=self.dice.choice([1, 5, 30]))
        if not remedials or self.dice.random() < 0.15:
            return self.make()
        return self.dice.choice(self.acts())(self.dice.choice(remedials))

    def acts(self) -> list[Callable[[Remedial], object]]:
        by, now = {"by": self.office}, {"now": self.now}
        office = by | now
        at_site = {"by": self.engineer} | now
        return [
            lambda r: do.approve_remedial(r, given_by="Petra", how="phone", given_on=TODAY, **office),
            lambda r: do.decline_remedial(
                r, who="Petra", reason="", offer_again_on=self.now.date() + timedelta(days=9), **office
            ),
            lambda r: do.offer_again(r, **office),
            lambda r: do.mark_quoted(
                r, owner=self.office, step_by=self.now.date() + timedelta(days=5), number=1001, **office
            ),
            lambda r: do.mark_to_price_again(r, number=1001, **office),
            lambda r: do.cancel_remedial(
                r, reason="Not needed after all", nothing_more=self.dice.random() < 0.3, **office
            ),
            lambda r: do.done_by_others(r, who="Another Firm", reference="MW 1", on=TODAY, **office),
            lambda r: do.leave_remedial(r, id=new_id(), because="Second fix", **at_site),
            lambda r: do.close_remedial(r, id=new_id(), no_photo_reason="No cameras", **at_site),
            lambda r: do.reopen_remedial(r, reason="Came loose", **office),
            self.book,
            self.cancel_its_visit,
            self.review,
            self.review,
        ]

    def make(self) -> None:
        chosen = self.dice.sample(self.found, self.dice.randint(1, 3))
        do.make_remedial(chosen, id=new_id(), work="Put it right", by=self.office, now=self.now)

    def book(self, remedial: Remedial) -> None:
        start = self.now + timedelta(hours=self.dice.randint(1, 200))
        book_visit(
            self.site, id=new_id(), remedials=[remedial], engineers=[self.engineer], start=start,
            end=start + timedelta(hours=1), move=self.dice.random() < 0.5, by=self.office, now=self.now,
        )  # fmt: skip

    def cancel_its_visit(self, remedial: Remedial) -> None:
        if visits := list(Visit.objects.filter(lines__remedial=remedial).order_by("number")):
            cancel_visit(self.dice.choice(visits), reason="Customer away", by=self.office, now=self.now)

    def review(self, remedial: Remedial) -> None:
        if proof := Proof.objects.filter(remedial=remedial, state="stands").first():
            decision = self.dice.choice(["accepted", "accepted", "sent-back"])
            do.review_proof(
                proof, decision=decision, reason="Looked", finding_code=self.dice.choice(["", "C2", "C3"]),
                finding_text="What was found", by=self.qualified, now=self.now,
            )  # fmt: skip


def lacking() -> list[str]:
    """Open dangerous observations that have no row in the due list, or one without owner or date."""
    rows = DueRow.objects.all()
    carried = set(rows.filter(loose=False).exclude(owner=None).values_list("observation", flat=True))
    # A remedial with several observations stands in the list with its worst: it carries the others as well.
    listed = set(rows.filter(loose=False).exclude(remedial=None).values_list("remedial", flat=True))
    with_remedial = set(Remedies.objects.filter(remedial__in=listed).values_list("observation", flat=True))
    dangerous = Observation.objects.open().dangerous()
    return [str(o) for o in dangerous if o.pk not in carried | with_remedial] + [
        str(row.subject) for row in rows if row.loose
    ]


@pytest.mark.parametrize("seed", range(4))
def test_no_dangerous_observation_is_ever_left_without_a_next_step(db, seed: int) -> None:
    firm, refused = Firm(seed), []
    for _ in range(STEPS):
        try:
            firm.act()
        except Refused as no:
            refused.append(no.sentence)
        assert lacking() == []
    stands = Proof.objects.filter(state="stands").values_list("remedial", flat=True)
    assert len(stands) == len(set(stands))
    assert 0 < len(refused) < STEPS
    assert list(faults()) == []


@pytest.mark.parametrize("seed", range(4))
def test_what_is_ended_was_put_right_by_somebody(db, seed: int) -> None:
    """An observation is remedied only with a closed remedial, or by others; an FI only by its finding."""
    firm = Firm(100 + seed)
    for _ in range(STEPS):
        try:
            firm.act()
        except Refused:
            continue
        for observation in firm.found:
            observation.refresh_from_db()
            stages = set(observation.remedials.values_list("stage", flat=True))
            if observation.ended == "remedied":
                assert stages & {"done", "reviewed"}
                assert observation.code != "FI"
                assert not stages & {"to-price", "approved", "booked", "declined"}
            if observation.ended == "others":
                assert "by-others" in stages


@pytest.mark.parametrize("seed", range(3))
def test_reissues_in_between_leave_nothing_loose_and_lose_nothing(db, seed: int) -> None:
    """A report is issued, worked on, reissued with a corrected code or words, worked on, and so on."""
    firm = Firm(200 + seed)
    draft = start_inspection(
        firm.site, id=new_id(), units=[unit_of(firm.site)], kind="periodic", other_firm=False, inspected_on=TODAY,
        edition="2018+A2:2022", by=firm.qualified, now=firm.now,
    )  # fmt: skip
    for before in firm.found:
        note_observation(
            draft, id=new_id(), unit=before.unit, text=before.text, code=before.code, continues=before, by=firm.qualified,
            now=firm.now,
        )  # fmt: skip
    report = issue_inspection(draft, by=firm.qualified, now=firm.now)
    for _ in range(REISSUES):
        firm.found = list(report.observations.order_by("number"))
        for _ in range(STEPS // 3):
            with suppress(Refused):
                firm.act()
            assert lacking() == []
        before = {o.pk: o for o in report.observations.all()}
        draft = reissue_inspection(report, id=new_id(), reason="A slip", by=firm.qualified, now=firm.now)
        assert lacking() == []
        report = issue_inspection(draft, by=firm.qualified, now=firm.now)
        after = {o.continues_id: o for o in report.observations.all()}
        assert lacking() == []
        assert set(after) == set(before)
        for key, former in before.items():
            copy = after[key]
            assert (copy.code, copy.ended, copy.made_safe) == (former.code, former.ended, former.made_safe)
            assert copy.first_recorded_on == former.first_recorded_on
            assert set(copy.remedials.all()) == set(former.remedials.all())
    assert list(faults()) == []
