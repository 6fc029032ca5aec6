"""A defect that came without an inspection, whose next step an observation is, and pictures of it."""

from datetime import date
from io import BytesIO

import pytest
from PIL import Image

from inspections import operations
from inspections.models import Observation
from jobsite.ids import new_id
from jobsite.ledger.files import read_file
from jobsite.refused import NotAllowed, Refused
from tests import factories as make
from tests.factories import Told, picture, recorded

pytestmark = pytest.mark.django_db
TODAY, TOMORROW = date(2026, 2, 3), date(2026, 2, 4)


@pytest.fixture
def rang(site, office, now):
    def take_in(**fields):
        usual = {"id": new_id(), "unit": make.unit_of(site), "text": "Socket sparks", "reported_by": "the tenant"}
        return operations.report_defect(site, **usual | {"by": office, "now": now} | fields)

    return take_in


def test_report_takes_it_in_once_uncoded_and_for_today(rang, site, office, board) -> None:
    key, circuit = new_id(), make.make_circuit(board)
    with recorded() as told:
        seen = rang(id=key, circuit=circuit, place=" hall ")
        assert rang(id=key, circuit=circuit) == seen
    assert (seen.code, seen.draft, seen.reviewed, seen.inspection) == ("", False, False, None)
    assert (seen.recorded_on, seen.first_recorded_on, seen.remedy_by) == (TODAY, TODAY, None)
    assert list(Observation.objects.uncoded()) == [seen]
    facts = {"number": seen.number, "unit": str(make.unit_of(site).pk), "board": str(board.pk)}
    facts |= {"circuit": str(circuit.pk), "owner": str(office.pk), "step_by": "2026-02-03"}
    words = {"text": "Socket sparks", "reported_by": "the tenant", "place": "hall"}
    assert told == [Told("observation.reported", key, facts, words)]


def test_the_day_of_report_is_londons(rang, now) -> None:
    late = now.replace(month=7, hour=23, minute=30)  # half past midnight in London
    assert rang(now=late).recorded_on == date(2026, 7, 4)


@pytest.mark.parametrize(
    ("fields", "field"),
    [({"text": ""}, "text"), ({"reported_by": "  "}, "reported_by"), ({"step_by": date(2026, 2, 2)}, "step_by")],
)
def test_report_refuses(rang, fields, field) -> None:
    with recorded() as told, pytest.raises(Refused) as refused:
        rang(**fields)
    assert (refused.value.field, told) == (field, [])


def test_report_refuses_a_unit_of_another_site(rang) -> None:
    with pytest.raises(Refused, match="This unit is not at this site"):
        rang(unit=make.unit_of(make.make_site("Elsewhere")))


def test_nothing_new_becomes_due_at_an_archived_site(rang, start, site, now) -> None:
    site.archived_at = now
    site.save()
    for begin in (rang, start):
        with recorded() as told, pytest.raises(Refused, match="Kiln Cottage is archived: bring it back first"):
            begin()
        assert told == []


def test_take_on_gives_the_next_step_once(site, office, engineer, now) -> None:
    seen = make.make_observation(site, by=office)
    with recorded() as told:
        given = operations.take_on(seen, owner=engineer, step_by=TOMORROW, reason="nearest", by=office, now=now)
        operations.take_on(seen, owner=engineer, step_by=TOMORROW, by=office, now=now)
    assert (given.owner, given.step_by, given.version) == (engineer, TOMORROW, 2)
    facts = {"owner_before": str(office.pk), "step_by_before": "2026-02-03"}
    facts |= {"owner": str(engineer.pk), "step_by": "2026-02-04"}
    assert told == [Told("observation.taken-on", seen.pk, facts, {"reason": "nearest"})]


def test_take_on_refuses(site, start, note, office, engineer, now) -> None:
    gone = make.make_user("Gus Gone", "office", is_active=False)
    open_one, draft = make.make_observation(site), note(start())
    closed = make.make_observation(site, ended="remedied", ended_on=TODAY)
    for observation, owner, day, sentence in (
        (open_one, engineer, date(2026, 2, 2), "This day is past"),
        (open_one, gone, TODAY, "Gus Gone has left the firm"),
        (draft, engineer, TODAY, "not issued yet"),
        (closed, engineer, TODAY, "is closed"),
    ):
        with recorded() as told, pytest.raises(Refused, match=sentence):
            operations.take_on(observation, owner=owner, step_by=day, by=office, now=now)
        assert told == []


def test_the_same_photo_is_kept_once(site, engineer, now) -> None:
    seen = make.make_observation(site)
    with recorded() as told:
        photo = operations.add_photo(seen, data=picture(), caption=" the hall ", by=engineer, now=now)
        assert operations.add_photo(seen, data=picture(), by=engineer, now=now) == photo
    assert (photo.width, photo.height, photo.caption) == (30, 20, "the hall")
    assert Image.open(BytesIO(read_file(photo.file))).format == "JPEG"
    facts = {"photo": str(photo.pk), "file": photo.file_id}
    assert told == [Told("observation.photographed", seen.pk, facts, {"caption": "the hall"})]


def test_what_is_no_photo_is_refused(site, engineer, now) -> None:
    seen = make.make_observation(site)
    with pytest.raises(Refused) as refused:
        operations.add_photo(seen, data=b"<svg/>", by=engineer, now=now)
    assert (refused.value.field, seen.photos.count()) == ("photo", 0)


def test_a_link_reports_and_adds_nothing(site, rang, now) -> None:
    link, _ = make.make_link(site)
    seen = make.make_observation(site)
    for change in (
        lambda: rang(by=link),
        lambda: operations.take_on(seen, owner=make.anybody(), step_by=TODAY, by=link, now=now),
        lambda: operations.add_photo(seen, data=picture(), by=link, now=now),
    ):
        with recorded() as told, pytest.raises(NotAllowed):
            change()
        assert told == []


def test_what_may_be_dangerous_now_is_looked_at_today_and_stays_uncoded(rang) -> None:
    with recorded() as told:
        seen = rang(may_be_dangerous=True, step_by=date(2026, 2, 9))
    assert (seen.alarming, seen.code, seen.step_by) == (True, "", date(2026, 2, 3))
    assert [one.facts["may_be_dangerous"] for one in told] == [True]
    assert not rang().alarming
