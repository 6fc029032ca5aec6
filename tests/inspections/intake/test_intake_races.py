"""Two people at once with the same spreadsheet: it is taken in once."""

import pytest

from inspections.choices import IntakeState
from inspections.intake import operations
from inspections.models import Intake
from jobsite.ids import new_id
from jobsite.premises.models import Board
from jobsite.refused import Refused
from tests.at_once import at_once
from tests.data import make
from tests.factories import NOON, make_site, unit_of

BOARDS = (make.HERE / "orrin-reach-boards.xlsx").read_bytes()


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("uploads", [1, 2])
def test_two_people_take_in_the_same_file(office, uploads: int) -> None:
    """Of one upload both get the same answer; of two uploads with the same content the second is refused."""
    site = make_site("Orrin Reach boatyard", phases=("L1", "L2", "L3"))
    more = {"kind": "boards", "data": BOARDS, "unit": unit_of(site), "by": office, "now": NOON}
    sent = [operations.receive(site, id=new_id(), file_name=f"{number}.xlsx", **more) for number in range(uploads)]
    for intake in sent:
        operations.read(intake.pk, now=NOON)

    def take(key):
        intake = Intake.objects.select_related("site").get(pk=key)
        return operations.take_in(intake, left_out={}, by=office, now=NOON).state

    answers = at_once(lambda: take(sent[0].pk), lambda: take(sent[-1].pk))
    assert Board.objects.filter(site=site).count() == 7
    assert answers.count(IntakeState.TAKEN_IN) == 3 - uploads
    refused = [answer.sentence for answer in answers if isinstance(answer, Refused)]
    assert sum("already taken in" in sentence for sentence in refused) == len(refused) == uploads - 1
