"""Work that moves to another visit: the visit it leaves with nothing to do is cancelled, so that its engineer is free."""

from datetime import timedelta

import pytest
from django.db import transaction

from jobsite.ids import new_id
from jobsite.premises.operations import archive_site
from jobsite.refused import Refused
from remedials.visits.models import Visit
from remedials.works.operations import leave_remedial
from tests.at_once import behind
from tests.factories import Told, anybody, make_observation, make_remedial, make_site, make_user, recorded
from tests.remedials.test_visits_operations import HOUR, MORNING, book
from tests.remedials.work import on_the_way


def states() -> list[str]:
    return list(Visit.objects.order_by("number").values_list("state", flat=True))


def test_a_visit_left_with_nothing_to_do_is_cancelled(office, engineer, other_engineer, now) -> None:
    remedial = on_the_way("C2")
    first = book(remedial, engineer, by=office)
    with recorded() as told:
        second = book(remedial, other_engineer, by=office, move=True)
    words = {"reason": f"Its work moved to visit {second.number}."}
    assert told[0] == Told("visit.cancelled", first.pk, {"number": first.number, "remedials": []}, words)
    assert [entry.verb for entry in told[1:]] == ["visit.booked", "remedial.booked"]
    assert states() == ["cancelled", "booked"]
    book(on_the_way("C2", site=make_site("Other")), engineer, by=office)


def test_the_same_engineer_moves_to_a_time_that_overlaps(office, engineer, now) -> None:
    remedial = on_the_way("C2")
    book(remedial, engineer, by=office)
    book(remedial, engineer, by=office, move=True, start=MORNING + HOUR, end=MORNING + 3 * HOUR)
    assert states() == ["cancelled", "booked"]


def test_a_visit_with_other_work_stays(office, engineer, other_engineer, now) -> None:
    remedial = on_the_way("C2")
    second = make_remedial(make_observation(remedial.site), stage="approved")
    book(remedial, engineer, by=office, remedials=[remedial, second])
    book(remedial, other_engineer, by=office, move=True)
    assert states() == ["booked", "booked"]
    with pytest.raises(Refused, match="is at Sample House then"):
        book(on_the_way("C2", site=make_site("Other")), engineer, by=office)


def test_a_visit_that_has_begun_took_place(office, engineer, now) -> None:
    remedial = on_the_way("C2")
    book(remedial, engineer, by=office)
    tomorrow = {"start": MORNING + timedelta(days=1), "end": MORNING + timedelta(days=1, hours=1)}
    book(remedial, engineer, by=office, move=True, now=MORNING + HOUR, **tomorrow)
    assert states() == ["booked", "booked"]


def test_a_visit_whose_work_was_part_done_took_place(office, engineer, now) -> None:
    remedial = on_the_way("C2")
    book(remedial, engineer, by=office)
    leave_remedial(remedial, id=new_id(), because="Second fix", by=engineer, now=now)
    tomorrow = {"start": MORNING + timedelta(days=1), "end": MORNING + timedelta(days=1, hours=1)}
    book(remedial, engineer, by=office, **tomorrow)
    assert states() == ["booked", "booked"]


@pytest.mark.django_db(transaction=True)
def test_a_visit_booked_while_the_site_is_archived_is_refused(now) -> None:
    office, engineer = anybody("office"), make_user("Ada Wire", "engineer")
    remedial = on_the_way("C3")
    with transaction.atomic():
        archive_site(remedial.site, by=office, now=now)
        late = behind(lambda: book(remedial, engineer, by=office))
    assert "archived" in late.exception().sentence
    assert not Visit.objects.exists()
