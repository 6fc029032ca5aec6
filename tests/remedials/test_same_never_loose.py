"""Whatever inspections see again, find gone or pass over, while work goes on: nothing vanishes, nothing is left loose."""

from collections import Counter
from contextlib import suppress

import pytest

from inspections import operations as found
from inspections.models import Observation
from inspections.queries.not_seen import in_question
from jobsite import clock
from jobsite.ids import new_id
from jobsite.ledger.queries import faults
from jobsite.refused import Refused
from tests.factories import unit_of
from tests.remedials.test_works_never_loose import Firm, lacking

STEPS = 24


class Inspecting(Firm):
    """The firm inspects its site again and again, and says of observations that they are one defect, or two after all."""

    def act(self) -> None:
        if self.dice.random() < 0.5:
            return super().act()
        return self.dice.choice([self.inspect, self.inspect, self.join, self.part, self.there_after_all])()

    def inspect(self) -> None:
        """Issue a report of today: each open observation is noted again, gone, not looked at, or passed over."""
        who = {"by": self.qualified, "now": self.now}
        draft = found.start_inspection(
            self.site, id=new_id(), units=[unit_of(self.site)], kind="periodic", other_firm=False,
            inspected_on=clock.local_day(self.now), edition="2018+A2:2022", **who,
        )  # fmt: skip
        for earlier in in_question(draft).order_by("number"):
            said = self.dice.choice(["again", "again", "worse", "gone", "not-looked", ""])
            with suppress(Refused):
                if said == "again":
                    found.note_again(draft, earlier=earlier, id=new_id(), **who)
                elif said == "worse":
                    found.note_observation(
                        draft, id=new_id(), unit=earlier.unit, text="Worse now", code=self.dice.choice(["C1", "C2", "FI"]),
                        continues=earlier, **who,
                    )  # fmt: skip
                elif said:
                    found.answer_not_seen(draft, observation=earlier, answer=said, seen="Nothing there", **who)
        if self.dice.random() < 0.3:
            found.note_observation(draft, id=new_id(), unit=unit_of(self.site), text="Seen first", code="C2", **who)
        found.issue_inspection(draft, **who)
        self.found = list(Observation.objects.open()) or self.found

    def join(self) -> None:
        rows = list(Observation.objects.open().order_by("number"))
        earlier, later = self.dice.sample(rows, 2)
        found.continue_earlier(later, earlier=earlier, by=self.engineer, now=self.now)

    def part(self) -> None:
        rows = list(Observation.objects.open().exclude(continues=None).order_by("number"))
        found.part_from_earlier(self.dice.choice(rows), reason="Two after all", by=self.engineer, now=self.now)

    def there_after_all(self) -> None:
        rows = list(Observation.objects.filter(ended="gone").order_by("number"))
        found.reopen_observation(self.dice.choice(rows), reason="Behind the shelf", by=self.engineer, now=self.now)


def vanished() -> list[str]:
    """Observations that ended without what their ending says: nobody continues them, or nobody said that they are gone."""
    wrong = []
    for row in Observation.objects.exclude(ended=""):
        if row.ended == "continued" and not row.continued_by.filter(draft=False).exists():
            wrong.append(f"{row.number} is continued by nothing")
        if row.ended == "gone" and not (row.ended_reason and row.not_seen_again.filter(answer="gone").exists()):
            wrong.append(f"{row.number} is gone by nobody's word")
    return wrong


@pytest.mark.parametrize("seed", range(5))
def test_nothing_vanishes_and_nothing_is_left_loose(db, seed: int) -> None:
    firm, done = Inspecting(300 + seed), Counter()
    for _ in range(STEPS):
        try:
            firm.act()
            done["done"] += 1
        except (Refused, IndexError, ValueError) as no:  # nothing to choose from is no act
            done[type(no).__name__] += 1
        assert lacking() == []
        assert vanished() == []
    assert done["done"] > STEPS / 4
    assert Observation.objects.filter(ended="continued").exists()
    assert all(row.first_recorded_on <= row.continues.first_recorded_on for row in followers())
    assert list(faults()) == []


def followers():
    """Those that continue another as the same defect: their age runs from the first record."""
    return Observation.objects.exclude(continues=None).select_related("continues")
