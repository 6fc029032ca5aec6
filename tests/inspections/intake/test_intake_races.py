"""Two people at once with the same spreadsheet: it is taken in once."""

from threading import Barrier, Thread

import pytest
from django.db import connections

from inspections.choices import IntakeState
from inspections.intake import operations
from inspections.models import Intake
from jobsite.ids import new_id
from jobsite.premises.models import Board
from jobsite.refused import Refused
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
    start, answers = Barrier(2), []

    def take(key) -> None:
        try:
            intake = Intake.objects.select_related("site").get(pk=key)
            start.wait(timeout=20)
            answers.append(operations.take_in(intake, left_out={}, by=office, now=NOON).state)
        except Refused as refused:
            answers.append(refused.sentence)
        finally:
            connections.close_all()

    threads = [Thread(target=take, args=[intake.pk]) for intake in (sent[0], sent[-1])]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert Board.objects.filter(site=site).count() == 7
    assert answers.count(IntakeState.TAKEN_IN) == 3 - uploads
    assert sum("already taken in" in answer for answer in answers) == uploads - 1
