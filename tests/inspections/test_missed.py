"""What another firm's report missed becomes an observation of our own."""

from datetime import date

import pytest

from inspections import operations
from inspections.models import Observation
from jobsite.ids import new_id
from jobsite.refused import NotAllowed, Refused
from tests import factories as make
from tests.factories import Told, recorded

pytestmark = pytest.mark.django_db


@pytest.fixture
def add(qualified, now, site):
    def missed(report, **fields):
        usual = {"id": new_id(), "unit": make.unit_of(site), "text": "Blank missing", "code": "C2"}
        return operations.add_missed(report, **usual | {"by": qualified, "now": now} | fields)

    return missed


def test_it_is_ours_of_today_with_its_own_clocks_and_the_report_stays(issued, add, board, qualified, now) -> None:
    report, _ = issued("C3", other_firm=True)
    with recorded() as told:
        made = add(report, board=board, place=" lid ")
    made.refresh_from_db()
    assert (made.inspection, made.missed_in, made.recorded_on, made.first_recorded_on) == (
        None, report, date(2026, 2, 3), date(2026, 2, 3),
    )  # fmt: skip
    assert (made.code, made.code_written, made.reviewed, made.draft, made.owner) == ("C2", "C2", True, False, qualified)
    assert (made.remedy_by, made.step_by) == (date(2026, 3, 2), made.step_by)
    assert made.step_by is not None
    facts = {
        "report": str(report.pk), "number": made.number, "unit": str(made.unit_id), "code": "C2", "board": str(board.pk),
        "circuit": None, "make_safe_by": None, "remedy_by": "2026-03-02", "step_by": made.step_by.isoformat(),
    }  # fmt: skip
    assert told == [Told("observation.missed", made.pk, facts, {"text": "Blank missing", "place": "lid"})]
    assert report.observations.count() == 1


def test_adding_twice_makes_one(issued, add) -> None:
    report, _ = issued("C3", other_firm=True)
    key = new_id()
    add(report, id=key)
    with recorded() as told:
        assert add(report, id=key).pk == key
    assert (told, Observation.objects.filter(missed_in=report).count()) == ([], 1)
    other, _ = issued("C3", other_firm=True)
    with pytest.raises(Refused, match="already used for something else"):
        add(other, id=key)


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"text": "  "}, "Say what was observed."),
        ({"code": ""}, "Choose a code"),
        ({"code": "C9"}, "Choose a code"),
    ],
)
def test_without_words_or_code_nothing_is_added(issued, add, fields, said) -> None:
    report, _ = issued("C3", other_firm=True)
    with pytest.raises(Refused, match=said):
        add(report, **fields)
    assert not Observation.objects.filter(missed_in=report).exists()


def test_only_a_report_of_another_firm_that_is_taken_in_missed_something(issued, start, add) -> None:
    for report in (issued("C3")[0], start(other_firm=True)):
        with pytest.raises(Refused, match="Only another firm's report"):
            add(report)


def test_a_unit_of_another_site_is_refused(issued, add) -> None:
    report, _ = issued("C3", other_firm=True)
    with pytest.raises(Refused, match="not at this site"):
        add(report, unit=make.unit_of(make.make_site("Elsewhere")))


def test_it_asks_for_competence_on_the_day(issued, add, engineer, office) -> None:
    report, _ = issued("C3", other_firm=True)
    for by in (engineer, office):
        with pytest.raises(NotAllowed):
            add(report, by=by)


def test_an_archived_site_takes_nothing_new(issued, add, site, now) -> None:
    report, _ = issued("C3", other_firm=True)
    type(site).objects.filter(pk=site.pk).update(archived_at=now)
    with pytest.raises(Refused, match="archived"):
        add(report)
