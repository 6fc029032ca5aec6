"""Entering an inspection or another firm's report while it is a draft."""

from datetime import date, timedelta

import pytest

from inspections import operations
from inspections.models import Inspection, Limitation, Observation
from jobsite.ids import new_id
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from tests import factories as make
from tests.factories import Told, recorded

pytestmark = pytest.mark.django_db
INSPECTED = date(2026, 1, 20)


def test_start_records_the_draft(start, site, board, qualified) -> None:
    with recorded() as told:
        draft = start(boards=[board], extent="All circuits", next_due_on=date(2031, 1, 20), remedy_limit_days=14)
    assert (draft.state, draft.inspector, draft.firm_name, draft.inspector_name) == (
        "draft",
        qualified,
        "Your firm",
        "Quentin Prover",
    )
    assert told == [
        Told(
            "inspection.started",
            draft.pk,
            {
                "number": draft.number,
                "other_firm": False,
                "kind": "periodic",
                "inspected_on": "2026-01-20",
                "edition": "2018+A2:2022",
                "next_due_on": "2031-01-20",
                "remedy_limit_days": 14,
                "outcome_written": "",
                "units": [str(make.unit_of(site).pk)],
                "boards": [str(board.pk)],
            },
            {"inspector_name": "Quentin Prover", "firm_name": "Your firm", "extent": "All circuits"},
        )
    ]


def test_start_twice_makes_one(start) -> None:
    first = start(id=(key := new_id()))
    with recorded() as told:
        second = start(id=key)
    assert (second, told, Inspection.objects.count()) == (first, [], 1)


def test_start_with_a_key_of_another_site(start, qualified, now) -> None:
    key = start().pk
    other = make.make_site("Elsewhere")
    with pytest.raises(Refused, match="already used for something else"):
        operations.start_inspection(
            other, id=key, units=[make.unit_of(other)], kind="periodic", other_firm=False,
            inspected_on=INSPECTED, edition="2018+A2:2022", by=qualified, now=now,
        )  # fmt: skip


@pytest.mark.parametrize(
    ("fields", "field", "sentence"),
    [
        ({"units": []}, "units", "Choose at least one unit that the inspection covers."),
        ({"inspected_on": date(2026, 2, 4)}, "inspected_on", "The day of the inspection lies in the future."),
        ({"edition": "2018+A9:2099"}, "edition", "Choose the edition that the report names."),
        ({"next_due_on": INSPECTED}, "next_due_on", "The next inspection must lie after this one."),
        (
            {"remedy_limit_days": -1},
            "remedy_limit_days",
            "The report's limit must be between 0 days (at once) and 10 years.",
        ),
        ({"other_firm": True, "firm_name": " "}, "firm_name", "Say which firm wrote the report."),
    ],
)
def test_start_refuses(start, fields, field, sentence) -> None:
    with recorded() as told, pytest.raises(Refused) as refused:
        start(**fields)
    assert (refused.value.sentence, refused.value.field, told) == (sentence, field, [])
    assert Inspection.objects.count() == 0


def test_start_refuses_units_and_boards_of_another_site(start) -> None:
    other = make.make_site("Elsewhere")
    with pytest.raises(Refused, match="A unit that was chosen is not at this site"):
        start(units=[make.unit_of(other)])
    with pytest.raises(Refused, match="A board that was chosen is not at this site"):
        start(boards=[make.make_board(other)])


def test_an_engineer_takes_in_no_other_firms_report(start, engineer) -> None:
    with pytest.raises(NotAllowed, match="Only the office"):
        start(other_firm=True, by=engineer)


def test_edit_records_what_changed(start, qualified, now) -> None:
    draft = start()
    with recorded() as told:
        edited = operations.edit_inspection(
            draft, version=1, by=qualified, now=now, kind="survey", reference=" R 17 ", inspected_on=INSPECTED
        )
    assert (edited.kind, edited.reference, edited.version) == ("survey", "R 17", 2)
    assert told == [Told("inspection.edited", draft.pk, {"kind": "survey"}, {"reference": "R 17"})]


def test_edit_to_the_same_leaves_no_entry(start, qualified, now) -> None:
    with recorded() as told:
        edited = operations.edit_inspection(start(), version=1, by=qualified, now=now, kind="periodic")
    assert (edited.version, [t.verb for t in told]) == (1, ["inspection.started"])


def test_edit_by_two_people(start, qualified, now) -> None:
    draft = start()
    operations.edit_inspection(draft, version=1, by=qualified, now=now, extent="First")
    with pytest.raises(ChangedMeanwhile) as met:
        operations.edit_inspection(draft, version=1, by=qualified, now=now, extent="Second")
    assert met.value.theirs.extent == "First"


def test_a_new_date_is_taken_over_by_the_observations(start, note, qualified, now) -> None:
    draft = start()
    plain, old = note(draft), note(draft, first_recorded_on=date(2025, 6, 1))
    edited = operations.edit_inspection(draft, version=1, by=qualified, now=now, inspected_on=date(2026, 1, 10))
    assert edited.inspected_on == date(2026, 1, 10)
    plain.refresh_from_db()
    old.refresh_from_db()
    assert (plain.recorded_on, plain.first_recorded_on) == (date(2026, 1, 10), date(2026, 1, 10))
    assert (old.recorded_on, old.first_recorded_on) == (date(2026, 1, 10), date(2025, 6, 1))


def test_edit_moves_the_cover_but_not_from_under_an_observation(start, note, site, qualified, now) -> None:
    flat, draft = make.make_unit(site, "Flat 1"), start()
    note(draft)
    with pytest.raises(Refused, match="An observation stands on a unit that was taken out"):
        operations.edit_inspection(draft, version=1, by=qualified, now=now, units=[flat])
    with recorded() as told:
        operations.edit_inspection(draft, version=1, by=qualified, now=now, units=[make.unit_of(site), flat])
    assert [t.facts["units"] for t in told] == [sorted([str(make.unit_of(site).pk), str(flat.pk)])]


def test_an_issued_report_is_frozen(issued, qualified, now) -> None:
    inspection, [observation] = issued("C2")
    for change in (
        lambda: operations.edit_inspection(inspection, version=2, by=qualified, now=now, extent="More"),
        lambda: operations.add_limitation(inspection, id=new_id(), what="The loft", by=qualified, now=now),
        lambda: operations.change_observation(observation, version=2, by=qualified, now=now, text="Other"),
        lambda: operations.drop_observation(observation, by=qualified, now=now),
    ):
        with recorded() as told, pytest.raises(Refused, match="does not change any more"):
            change()
        assert told == []


def test_limitations_of_a_draft(start, site, board, qualified, now) -> None:
    draft, key = start(), new_id()
    with recorded() as told:
        made = operations.add_limitation(
            draft, id=key, what="The loft", why="boarded", agreed_with="the owner", board=board, by=qualified, now=now
        )
        operations.add_limitation(draft, id=key, what="The loft", by=qualified, now=now)
        operations.remove_limitation(made, by=qualified, now=now)
        operations.remove_limitation(made, by=qualified, now=now)
    words = {"what": "The loft", "why": "boarded", "agreed_with": "the owner"}
    assert told == [
        Told("limitation.added", key, {"inspection": str(draft.pk), "unit": None, "board": str(board.pk)}, words),
        Told("limitation.removed", key, {"inspection": str(draft.pk)}, {"what": "The loft"}),
    ]
    assert Limitation.objects.count() == 0


def test_a_limitation_stands_until_a_later_inspection_covers_it(start, qualified, now) -> None:
    draft = start()
    loft = operations.add_limitation(draft, id=new_id(), what="The loft", by=qualified, now=now)
    operations.issue_inspection(draft, by=qualified, now=now)
    assert list(Limitation.objects.standing()) == [loft]
    older = operations.issue_inspection(start(inspected_on=date(2025, 1, 1)), by=qualified, now=now)
    later = operations.issue_inspection(start(inspected_on=date(2026, 2, 1)), by=qualified, now=now)
    for wrong, sentence in ((older, "older than the limitation"), (draft, "another inspection"), (start(), "issued")):
        with pytest.raises(Refused, match=sentence):
            operations.cover_limitation(loft, covered_by=wrong, by=qualified, now=now)
    with recorded() as told:
        operations.cover_limitation(loft, covered_by=later, by=qualified, now=now)
        operations.cover_limitation(loft, covered_by=later, by=qualified, now=now)
    facts = {"inspection": str(draft.pk), "covered_by": str(later.pk)}
    assert told == [Told("limitation.covered", loft.pk, facts)]
    assert list(Limitation.objects.standing()) == []


def test_note_records_the_observation(start, board, site, qualified, now) -> None:
    circuit, draft, key = make.make_circuit(board), start(), new_id()
    with recorded() as told:
        for _ in range(2):
            operations.note_observation(
                draft, id=key, unit=make.unit_of(site), text=" Burnt neutral ", code="C2", circuit=circuit,
                place="meter cupboard", item="4.9", by=qualified, now=now,
            )  # fmt: skip
    observation = Observation.objects.get()
    assert told == [
        Told(
            "observation.noted",
            key,
            {
                "inspection": str(draft.pk),
                "number": observation.number,
                "unit": str(make.unit_of(site).pk),
                "board": str(board.pk),
                "circuit": str(circuit.pk),
                "code": "C2",
                "continues": None,
                "first_recorded_on": "2026-01-20",
            },
            {"place": "meter cupboard", "item": "4.9", "text": "Burnt neutral", "code_written": "C2"},
        )
    ]
    assert (observation.draft, observation.board, observation.owner, observation.remedy_by) == (True, board, None, None)
    assert list(Observation.objects.open()) == []


def test_note_keeps_the_code_as_written(start, note) -> None:
    seen = note(start(other_firm=True), "C2", code_written=" 2 (as C2) ")
    assert (seen.code, seen.code_written) == ("C2", "2 (as C2)")


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"text": " \n"}, "text"),
        ({"code": "C4"}, "code"),
        ({"first_recorded_on": INSPECTED + timedelta(days=1)}, "first_recorded_on"),
    ],
)
def test_note_refuses(start, note, fields, field) -> None:
    draft = start()
    with recorded() as told, pytest.raises(Refused) as refused:
        note(draft, **fields)
    assert (refused.value.field, told) == (field, [])


def test_note_refuses_places_that_do_not_fit(start, note, site, board) -> None:
    draft, other = start(), make.make_site("Elsewhere")
    elsewhere = make.make_board(other)
    second = make.make_board(site, "Garage")
    for fields, field in (
        ({"unit": make.make_unit(site, "Flat 9")}, "unit"),
        ({"unit": make.unit_of(other)}, "unit"),
        ({"board": elsewhere}, "board"),
        ({"board": board, "circuit": make.make_circuit(second)}, "way"),
        ({"circuit": make.make_circuit(elsewhere)}, "board"),
    ):
        with pytest.raises(Refused) as refused:
            note(draft, **fields)
        assert refused.value.field == field


def test_an_observation_ages_from_the_one_it_continues(start, note, site) -> None:
    earlier = make.make_observation(site, on=date(2024, 5, 1))
    assert note(start(), continues=earlier).first_recorded_on == date(2024, 5, 1)


def test_note_continues_only_what_is_on_record_here(start, note, site) -> None:
    draft = start()
    for earlier in (
        make.make_observation(make.make_site("Elsewhere"), on=date(2024, 5, 1)),
        make.make_observation(site, on=date(2024, 5, 1), draft=True),
        make.make_observation(site, on=date(2026, 1, 21)),
    ):
        with pytest.raises(Refused) as refused:
            note(draft, continues=earlier)
        assert refused.value.field == "continues"


def test_change_keeps_what_was_not_named(start, note, qualified, now) -> None:
    seen = note(start(), "C3", first_recorded_on=date(2025, 3, 1))
    with recorded() as told:
        changed = operations.change_observation(seen, version=1, code="C2", by=qualified, now=now)
        operations.change_observation(seen, version=2, code="C2", by=qualified, now=now)
    assert (changed.code, changed.code_written, changed.first_recorded_on, changed.version) == (
        "C2",
        "C2",
        date(2025, 3, 1),
        2,
    )
    assert [(t.verb, t.facts["code"], t.facts["changed"], t.words) for t in told] == [
        ("observation.changed", "C2", ["code", "code_written"], {"code_written": "C2"})
    ]


def test_change_leaves_what_another_firm_wrote(start, note, office, now) -> None:
    seen = note(start(other_firm=True), "C2", code_written="code 2")
    assert operations.change_observation(seen, version=1, code="C3", by=office, now=now).code_written == "code 2"


def test_change_by_two_people(start, note, qualified, now) -> None:
    seen = note(start())
    operations.change_observation(seen, version=1, text="First", by=qualified, now=now)
    with pytest.raises(ChangedMeanwhile) as met:
        operations.change_observation(seen, version=1, text="Second", by=qualified, now=now)
    assert met.value.theirs.text == "First"


def test_drop_takes_it_off_the_draft_once(start, note, qualified, now) -> None:
    draft = start()
    seen = note(draft)
    with recorded() as told:
        operations.drop_observation(seen, by=qualified, now=now)
        operations.drop_observation(seen, by=qualified, now=now)
    facts = {"inspection": str(draft.pk), "number": seen.number}
    assert told == [Told("observation.dropped", seen.pk, facts, {"text": "Cover missing"})]
    assert Observation.objects.count() == 0


def test_what_was_made_safe_is_not_dropped(start, note, qualified, now) -> None:
    seen = note(start(), "C1")
    operations.make_safe(
        seen, id=new_id(), how="covered", what="Taped", agreed_with="the tenant", no_photo="too dark",
        look_again_on=now.date(), by=qualified, now=now,
    )  # fmt: skip
    with pytest.raises(Refused, match="it stays in the report"):
        operations.drop_observation(seen, by=qualified, now=now)
