"""Many observations noted at once: as one by one, all of them or none."""

from datetime import date

import pytest

from inspections import operations
from inspections.models import Observation
from jobsite.ids import new_id
from jobsite.ledger.rows import RefusedRow
from jobsite.refused import NotAllowed, Refused
from tests import factories as make
from tests.factories import recorded

pytestmark = pytest.mark.django_db

FIRST = date(2024, 5, 1)


def rows(site, board, **fields) -> list[Observation]:
    unit = make.unit_of(site)
    one = Observation(id=new_id(), unit=unit, text=" Cover missing ", code="C1", board=board, item=" 1 ", place=" lid ")
    two = Observation(
        id=new_id(), unit=unit, text="Old colours", code="C3", code_written="code 3", first_recorded_on=FIRST
    )
    three = Observation(id=new_id(), **{"unit": unit, "text": "Not read", "code": ""} | fields)
    for row in (one, three):
        row.first_recorded_on = None
    return [one, two, three]


def test_they_are_noted_as_one_by_one(start, site, board, office, now) -> None:
    together, alone = start(other_firm=True), start(other_firm=True)
    with recorded() as told:
        operations.note_observations(together, rows(site, board), by=office, now=now)
    values = ("text", "code", "code_written", "board", "item", "place", "first_recorded_on")
    with recorded() as each:
        for row in rows(site, board):
            fields = {name: getattr(row, name) for name in values}
            operations.note_observation(alone, id=row.pk, unit=row.unit, by=office, now=now, **fields)
    apart = {"inspection", "number"}
    assert [(e.verb, {n: v for n, v in e.facts.items() if n not in apart}, e.words) for e in told] == [
        (e.verb, {n: v for n, v in e.facts.items() if n not in apart}, e.words) for e in each
    ]
    kept = (*values, "draft", "recorded_on", "recorded_at", "recorded_by")
    assert list(together.observations.order_by("number").values_list(*kept)) == list(
        alone.observations.order_by("number").values_list(*kept)
    )
    numbers = [*together.observations.order_by("number"), *alone.observations.order_by("number")]
    assert len({row.number for row in numbers}) == 6


@pytest.mark.parametrize(
    ("fields", "said"),
    [({"text": "  "}, "Say what was observed."), ({"code": "C9"}, "Choose a code: C1, C2, C3 or FI.")],
)
def test_the_one_that_cannot_be_noted_is_named_and_none_is(start, site, board, office, now, fields, said) -> None:
    report, wrong = start(other_firm=True), rows(site, board, **fields)
    with recorded() as told, pytest.raises(RefusedRow) as refused:
        operations.note_observations(report, wrong, by=office, now=now)
    assert (refused.value.row, refused.value.sentence) == (wrong[2], said)
    assert (told, report.observations.count()) == ([], 0)


def test_a_unit_that_the_inspection_does_not_cover_is_refused(start, site, board, office, now) -> None:
    other = make.make_unit(site, "Flat 9")
    with pytest.raises(Refused, match="does not cover that unit"):
        operations.note_observations(start(other_firm=True), rows(site, board, unit=other), by=office, now=now)


def test_an_engineer_notes_none_on_another_firms_report(start, site, board, engineer, now) -> None:
    with pytest.raises(NotAllowed):
        operations.note_observations(start(other_firm=True), rows(site, board), by=engineer, now=now)
