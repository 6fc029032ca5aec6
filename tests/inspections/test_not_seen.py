"""Still there? What becomes of open observations that a new inspection covers and does not note again."""

from datetime import date, timedelta

import pytest

from inspections import operations
from inspections.models import NotSeenAgain, Observation
from inspections.queries.not_seen import in_question
from jobsite.ids import new_id
from jobsite.ledger.queries import faults
from jobsite.refused import NotAllowed, Refused
from tests import factories as make
from tests.factories import TODAY, Told, besides_papers, recorded

pytestmark = pytest.mark.django_db
LONG_AGO = date(2024, 5, 1)


@pytest.fixture
def seen(site):
    """An open C2 of 2024, on no board."""
    return make.make_observation(site, "Cover missing", on=LONG_AGO)


def issue(draft, now):
    return operations.issue_inspection(draft, by=draft.recorded_by, now=now)


def answer(draft, observation, said, by, now, seen=""):
    return operations.answer_not_seen(draft, observation=observation, answer=said, seen=seen, by=by, now=now)


def fresh(row):
    return type(row).objects.get(pk=row.pk)


def said_of(observation) -> list[tuple[str, str]]:
    return list(NotSeenAgain.objects.filter(observation=observation).values_list("answer", "seen"))


# --- what is asked ----------------------------------------------------------------------------------------------------


def test_what_is_open_and_covered_is_asked_about(start, site, board, seen) -> None:
    on_board = make.make_observation(site, "Blank missing", on=LONG_AGO, board=board)
    make.make_observation(site, "Closed", on=LONG_AGO, ended="remedied", ended_on=TODAY)
    make.make_observation(site, "Younger", on=date(2026, 1, 21))
    make.make_observation(make.make_site("Elsewhere"), "Other site", on=LONG_AGO)
    assert set(in_question(start())) == {seen, on_board}


def test_boards_that_it_names_are_those_it_covers(start, site, board, seen) -> None:
    kitchen = make.make_board(site, "Kitchen")
    here = make.make_observation(site, on=LONG_AGO, board=board)
    make.make_observation(site, on=LONG_AGO, board=kitchen)
    assert set(in_question(start(boards=[board]))) == {seen, here}
    assert set(in_question(start(boards=[board], kind="call-out"))) == {here}


def test_another_units_items_are_not_asked_about_but_on_a_board_that_it_names(start, site, board) -> None:
    flat = make.make_unit(site, "Flat 2")
    make.make_observation(site, on=LONG_AGO, unit=flat)
    shared = make.make_observation(site, on=LONG_AGO, unit=flat, board=board)
    assert set(in_question(start())) == set()
    assert set(in_question(start(boards=[board]))) == {shared}


def test_what_it_notes_again_is_not_asked_about(start, note, seen) -> None:
    draft = start()
    note(draft, continues=seen)
    assert set(in_question(draft)) == set()


# --- still there ------------------------------------------------------------------------------------------------------


def test_still_there_notes_it_again_as_it_was(start, site, board, qualified, now) -> None:
    circuit = make.make_circuit(board)
    earlier = make.make_observation(
        site, "Cover missing", code="C1", on=LONG_AGO, board=board, circuit=circuit, place="hall"
    )
    draft = start()
    answer(draft, earlier, "not-looked", qualified, now)
    made = operations.note_again(draft, earlier=earlier, id=new_id(), by=qualified, now=now)
    again = operations.note_again(draft, earlier=earlier, id=new_id(), by=qualified, now=now)
    assert again == made
    assert (made.text, made.code, made.board, made.circuit, made.place) == (
        "Cover missing",
        "C1",
        board,
        circuit,
        "hall",
    )
    assert (made.continues, made.first_recorded_on, made.draft) == (earlier, LONG_AGO, True)
    assert said_of(earlier) == []
    issue(draft, now)
    assert fresh(earlier).ended == "continued"


def test_what_is_closed_is_not_noted_again(start, site, qualified, now) -> None:
    closed = make.make_observation(site, on=LONG_AGO, ended="remedied", ended_on=TODAY)
    with pytest.raises(Refused, match="is closed"):
        operations.note_again(start(), earlier=closed, id=new_id(), by=qualified, now=now)


# --- answers ----------------------------------------------------------------------------------------------------------


def test_gone_counts_from_the_issue_by_a_qualified_person(start, seen, qualified, now) -> None:
    draft = start()
    with recorded() as told:
        row = answer(draft, seen, "gone", qualified, now, " A new cover is fitted ")
        assert answer(draft, seen, "gone", qualified, now, "A new cover is fitted") == row
    assert fresh(seen).ended == ""
    facts = {"inspection": str(draft.pk), "answer": "gone"}
    assert told == [Told("not-seen-again.answered", seen.pk, facts, {"seen": "A new cover is fitted"})]
    with recorded() as told:
        issue(draft, now)
    seen = fresh(seen)
    assert (seen.ended, seen.ended_reason, seen.ended_on) == ("gone", "A new cover is fitted", TODAY)
    ended = {"ended": "gone", "code": "C2", "inspection": str(draft.pk)}
    assert besides_papers(told)[1:] == [Told("observation.ended", seen.pk, ended, {"reason": "A new cover is fitted"})]


@pytest.mark.parametrize("said", ["not-looked", ""])
def test_whatever_else_is_said_it_stays_open_and_is_marked(start, seen, qualified, now, said) -> None:
    draft = start()
    if said:
        answer(draft, seen, said, qualified, now)
    with recorded() as told:
        issue(draft, now)
        issue(draft, now)
    assert fresh(seen).ended == ""
    assert said_of(seen) == [(said, "")]
    facts = {"observations": [str(seen.pk)], "unanswered": 0 if said else 1}
    assert besides_papers(told)[1:] == [Told("inspection.not-confirmed", draft.pk, facts)]


def test_the_office_ends_nothing_by_taking_in_another_firms_report(start, seen, office, qualified, now) -> None:
    draft = start(other_firm=True)
    answer(draft, seen, "gone", office, now, "Not in their list")
    issued = issue(draft, now)
    assert fresh(seen).ended == ""
    with pytest.raises(NotAllowed, match="qualified"):
        answer(issued, seen, "gone", office, now, "Not in their list at all")
    answer(issued, seen, "gone", qualified, now, "Looked myself: a cover is fitted")
    assert (fresh(seen).ended, said_of(seen)) == ("gone", [("gone", "Looked myself: a cover is fitted")])


def test_an_answer_can_be_taken_back(start, seen, qualified, now) -> None:
    draft = start()
    answer(draft, seen, "not-looked", qualified, now)
    with recorded() as told:
        for _ in range(2):
            operations.take_back_answer(draft, observation=seen, by=qualified, now=now)
    facts = {"inspection": str(draft.pk), "answer_before": "not-looked"}
    assert (said_of(seen), told) == ([], [Told("not-seen-again.taken-back", seen.pk, facts)])
    answer(draft, seen, "not-looked", qualified, now)
    issued = issue(draft, now)
    with recorded() as told:
        operations.take_back_answer(issued, observation=seen, by=qualified, now=now)
    assert (said_of(seen), told) == ([("", "")], [Told("not-seen-again.taken-back", seen.pk, facts)])


def test_gone_is_opened_again_where_it_is_there_after_all(start, seen, qualified, engineer, now) -> None:
    draft = start()
    answer(draft, seen, "gone", qualified, now, "Nothing there")
    issued = issue(draft, now)
    with pytest.raises(Refused, match="there after all"):
        operations.take_back_answer(issued, observation=seen, by=qualified, now=now)
    operations.reopen_observation(seen, reason="Behind the shelf", by=engineer, now=now)
    assert (fresh(seen).ended, [answer for answer, _ in said_of(seen)]) == ("", [""])
    assert fresh(seen).step_by is not None


def test_an_fi_is_never_simply_gone(start, site, qualified, now) -> None:
    fi = make.make_observation(site, code="FI", on=LONG_AGO)
    draft = start()
    with pytest.raises(Refused, match="ends in a finding"):
        answer(draft, fi, "gone", qualified, now, "Nothing there")
    issue(draft, now)
    assert fresh(fi).ended == ""


def test_gone_says_what_was_seen(start, seen, qualified, now) -> None:
    with pytest.raises(Refused) as refused:
        answer(start(), seen, "gone", qualified, now, "  ")
    assert refused.value.field == "seen"


def test_only_what_is_asked_about_is_answered_for(start, site, seen, qualified, now) -> None:
    elsewhere = make.make_observation(site, on=LONG_AGO, unit=make.make_unit(site, "Flat 2"))
    draft = start()
    with pytest.raises(Refused, match="does not cover it"):
        answer(draft, elsewhere, "not-looked", qualified, now)
    with pytest.raises(Refused, match="nobody looked"):
        answer(draft, seen, "", qualified, now)
    issued = issue(start(), now)
    with pytest.raises(Refused, match="does not cover it"):
        answer(issued, elsewhere, "not-looked", qualified, now)


def test_who_may_answer(start, seen, office, engineer, qualified, now) -> None:
    with pytest.raises(NotAllowed):
        answer(start(other_firm=True), seen, "not-looked", engineer, now)
    assert answer(start(by=qualified), seen, "not-looked", engineer, now).by == engineer


def test_nothing_is_answered_at_an_archived_site(start, site, seen, qualified, now) -> None:
    draft = start()
    site.archived_at = now
    site.save()
    with pytest.raises(Refused, match="is archived"):
        answer(draft, seen, "not-looked", qualified, now)


def test_answers_that_no_longer_fit_fall_away_at_the_issue(start, note, seen, qualified, now) -> None:
    draft = start()
    answer(draft, seen, "not-looked", qualified, now)
    note(draft, continues=seen)
    issue(draft, now)
    assert (said_of(seen), fresh(seen).ended) == ([], "continued")


def test_a_reissue_takes_over_what_the_former_report_said(start, site, seen, qualified, now) -> None:
    other = make.make_observation(site, "Blank missing", on=LONG_AGO)
    former = start()
    answer(former, seen, "not-looked", qualified, now)
    issue(former, now)
    draft = operations.reissue_inspection(former, id=new_id(), reason="A slip", by=qualified, now=now)
    answer(draft, other, "gone", qualified, now, "A blank is fitted")
    issue(draft, now)
    rows = NotSeenAgain.objects.filter(inspection=draft).values_list("observation", "answer")
    assert set(rows) == {(seen.pk, "not-looked"), (other.pk, "gone")}
    assert (fresh(seen).ended, fresh(other).ended) == ("", "gone")


def test_nothing_vanishes_and_the_record_holds(start, note, site, qualified, now) -> None:
    """Whatever mixture of answers: each earlier one is open, continued, or gone by name and reason."""
    rows = [make.make_observation(site, f"Defect {n}", on=LONG_AGO - timedelta(days=n)) for n in range(5)]
    draft = start()
    note(draft, text="Defect 0", continues=rows[0])
    operations.note_again(draft, earlier=rows[1], id=new_id(), by=qualified, now=now)
    answer(draft, rows[2], "gone", qualified, now, "Nothing there")
    answer(draft, rows[3], "not-looked", qualified, now)
    issue(draft, now)
    states = dict(Observation.objects.filter(pk__in=[r.pk for r in rows]).values_list("text", "ended"))
    assert states == {
        "Defect 0": "continued", "Defect 1": "continued", "Defect 2": "gone", "Defect 3": "", "Defect 4": "",
    }  # fmt: skip
    assert list(faults()) == []
