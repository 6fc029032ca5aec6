"""Random histories of what may happen to a report and its works: whatever happened, the papers say what is so now.

What is so is worked out anew each time, by the rule that the pages count by and by the tables of the law, from the rows as they
stand; nothing of `operations.keeping` is used for it.
"""

from datetime import timedelta

import pytest
from hypothesis import HealthCheck, Phase, example, given, settings
from hypothesis import strategies as st

from inspections import operations
from inspections.models import Inspection, Observation, Paper
from inspections.queries.facts import facts_on
from inspections.rules import Item, required_and_complete
from inspections.standards.duties import Trigger, duties_at
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind
from jobsite import clock
from jobsite.ids import new_id
from jobsite.ledger.models import Entry
from jobsite.premises import operations as premises
from jobsite.premises.models import Unit
from jobsite.refused import Refused
from tests import factories as make
from tests.factories import NOON

pytestmark = pytest.mark.django_db
# Those that complete works and open them again come oftener: else hardly a history would get that far.
STEPS = (
    *("finish",) * 5, *("reopen",) * 4, *("unfind",) * 2, *("give",) * 2, "close", "recode", "no-code", "finding", "reissue",
    "new-report", "tenure", "nation", "others",
)  # fmt: skip
DONE = ("remedied", "others", "finding")


class History:
    """A let house with two units, its people, and a clock that goes on a day with each step."""

    def __init__(self) -> None:
        self.site = make.make_site("Kiln Row", nation="england", tenure="private-rented")
        self.units = [make.unit_of(self.site), make.make_unit(self.site, "Flat 2", tenure="private-rented")]
        self.office, self.qualified = make.anybody("office"), make.make_qualified()
        self.now = NOON
        self.report(("C1", "C2", "FI"))

    def report(self, codes) -> None:
        """A report of ours on both units; the first of the open defects of each unit is noted again."""
        draft = operations.start_inspection(
            self.site, id=new_id(), units=self.units, kind="periodic", other_firm=False, by=self.qualified, now=self.now,
            inspected_on=clock.local_day(self.now), edition="2018+A2:2022",
        )  # fmt: skip
        before = {o.unit_id: o for o in Observation.objects.open().filter(site=self.site).order_by("-number")}
        for number, code in enumerate(codes):
            unit = self.units[number % 2]
            earlier = before.pop(unit.pk, None)
            operations.note_observation(
                draft, id=new_id(), unit=unit, text=f"Defect {number}", code=code, continues=earlier, by=self.qualified,
                now=self.now,
            )  # fmt: skip
        operations.issue_inspection(draft, by=self.qualified, now=self.now)

    def step(self, what: str, which: int) -> None:
        """One thing that somebody does, to one of the rows it can be done to; what is refused did not happen."""
        self.now += timedelta(days=1)
        who = {"by": self.qualified, "now": self.now}
        rows = self.rows(what)
        if not rows:
            return
        row, unit = rows[which % len(rows)], self.units[which % 2]
        unit = Unit.objects.select_related("site").get(pk=unit.pk)
        day = clock.local_day(self.now)
        acts = {
            "close": lambda: operations.end_observation(
                row, ended="remedied", reason="Mended", done_on=day - timedelta(days=which % 3), **who
            ),
            "others": lambda: operations.end_observation(row, ended="others", reason="Their letter", **who),
            "reopen": lambda: operations.reopen_observation(row, reason="It came back", **who),
            "recode": lambda: operations.review(
                row, decision="recode", code=("C1", "C2", "C3", "FI")[which % 4], reason="Seen", **who
            ),
            "no-code": lambda: operations.review(row, decision="no-code", reason="A label", **who),
            "finding": lambda: operations.record_finding(
                row, id=new_id(), code=("", "C2", "C3")[which % 3], text="Looked at", **who
            ),
            "unfind": lambda: operations.withdraw_finding(row, reason="The wrong board", **who),
            "reissue": lambda: self.reissue(which),
            "new-report": lambda: self.report(("C2", "C3", "FI")[: which % 3 + 1]),
            "tenure": lambda: premises.edit_unit(
                unit, version=unit.version, tenure=("private-rented", "owner-occupied", "social-rented")[which % 3],
                by=self.office, now=self.now,
            ),
            "nation": lambda: premises.edit_site(
                unit.site, version=unit.site.version, nation=("england", "wales", "northern-ireland")[which % 3],
                by=self.office, now=self.now,
            ),
            "give": lambda: self.give(which),
            "finish": lambda: self.finish(unit),
        }  # fmt: skip
        try:
            acts[what]()
        except Refused:
            return

    def rows(self, what: str) -> list[Observation]:
        """The observations that a step may be about: those that have ended for what opens them again."""
        rows = Observation.objects.filter(site=self.site, draft=False).order_by("number")
        if what == "reopen":
            rows = rows.filter(ended__in=["remedied", "others"])
        return list(rows.filter(ended="finding") if what == "unfind" else rows)

    def finish(self, unit) -> None:
        """Everything that is required at a unit is done."""
        who = {"by": self.qualified, "now": self.now}
        for row in Observation.objects.open().filter(unit=unit, code__in=["C1", "C2", "FI"]).order_by("number"):
            if row.code == "FI":
                operations.record_finding(row, id=new_id(), code="", text="All sound", **who)
            else:
                operations.end_observation(row, ended="remedied", reason="Mended", **who)

    def reissue(self, which: int) -> None:
        """The report in force is corrected; nothing is left out."""
        reports = list(Inspection.objects.filter(site=self.site, state="issued").order_by("number"))
        draft = operations.reissue_inspection(
            reports[which % len(reports)], id=new_id(), reason="A slip", by=self.qualified, now=self.now
        )
        operations.issue_inspection(draft, by=self.qualified, now=self.now)

    def give(self, which: int) -> None:
        """One of the open papers is given."""
        papers = list(Paper.objects.open().filter(site=self.site).order_by("pk"))
        if papers:
            paper = papers[which % len(papers)]
            operations.answer_paper(
                paper, answer="done", answered_on=clock.local_day(self.now), how="By hand", version=paper.version,
                by=self.office, now=self.now,
            )  # fmt: skip


def asked_now(trigger: Trigger, unit: Unit, on) -> set[str]:
    kind = PremisesKind(unit.kind)
    found = duties_at(
        trigger, Nation(unit.site.nation), Tenure(unit.tenure), on, premises_kind=kind, facts=facts_on(on),
        tenancy_granted_on=unit.tenancy_granted_on,
    )  # fmt: skip
    return {duty.key for duty in found}


def must_be_true(site) -> None:
    """What the papers say is what the rows and the law say."""
    units = {unit.pk: unit for unit in Unit.objects.filter(site=site).select_related("site")}
    rows = list(Observation.objects.filter(site=site, draft=False))
    items = [Item(o.pk, o.code, o.ended, o.continues_id, (o.inspection_id, o.unit_id)) for o in rows]
    counted = required_and_complete(items)
    for report in Inspection.objects.filter(site=site, state="issued"):
        for key, unit in units.items():
            standing = Paper.objects.standing().filter(inspection=report, unit=unit)
            copies = {p.duty for p in standing.filter(trigger=Trigger.INSPECTION) if p.answer not in ("lapsed", "past")}
            given = {p.duty for p in standing.filter(trigger=Trigger.INSPECTION, answer="done")}
            assert copies - given == asked_now(Trigger.INSPECTION, unit, report.inspected_on) - given
            confirmations = {
                p.duty: p for p in standing.filter(trigger=Trigger.COMPLETION) if p.answer not in ("lapsed", "past")
            }
            required, complete = counted.get((report.pk, key), (0, 0))
            of_it = [o for o in rows if (o.inspection_id, o.unit_id) == (report.pk, key)]
            worked = required and required == complete and _worked(of_it, rows)
            if not worked:
                assert not confirmations, (report.number, unit.name)
                continue
            day = next(iter(confirmations.values())).event_on if confirmations else report.inspected_on
            still_open = {duty for duty, p in confirmations.items() if not p.answer}
            met = set(confirmations) - still_open
            assert still_open | met >= asked_now(Trigger.COMPLETION, unit, day), (report.number, unit.name)
            assert still_open <= asked_now(Trigger.COMPLETION, unit, day)
    replaced = Inspection.objects.filter(site=site, state="replaced")
    assert not Paper.objects.open().filter(inspection__in=replaced).exists()


def _worked(of_it, rows) -> bool:
    """Whether any of these, or what continues them, ended by work."""
    found, waiting = (
        set(),
        [o for o in of_it if o.code in ("C1", "C2", "FI") and o.ended not in ("no-code", "withdrawn")],
    )
    while waiting:
        one = waiting.pop()
        if one.pk not in found:
            found.add(one.pk)
            waiting += [o for o in rows if o.continues_id == one.pk]
    return any(o.ended in DONE for o in rows if o.pk in found)


@settings(
    max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture],
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
)  # fmt: skip
# What was confirmed while the home was let stands no longer once the works are open again, let or not.
@example([("finish", 0), ("give", 2), ("tenure", 4), ("reopen", 0)])
@example([("finish", 0), ("give", 2), ("tenure", 4), ("reopen", 0), ("finish", 0), ("tenure", 0)])
@given(st.lists(st.tuples(st.sampled_from(STEPS), st.integers(0, 11)), min_size=4, max_size=14))
def test_whatever_happened_the_papers_say_what_is_so(steps) -> None:
    from django.db import transaction

    with transaction.atomic():
        history = History()
        must_be_true(history.site)
        for what, which in steps:
            history.step(what, which)
            must_be_true(history.site)
        told = set(Entry.objects.filter(verb__in=["paper.opened"]).values_list("subject", flat=True))
        assert set(Paper.objects.filter(site=history.site).values_list("pk", flat=True)) <= told
        transaction.set_rollback(True)
