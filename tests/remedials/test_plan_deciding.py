"""Deciding on what a plan proposes: accept, accept all, refuse, and what is no longer possible."""

from datetime import timedelta

import pytest

from jobsite.ids import new_id, part_of
from jobsite.refused import NotAllowed, Refused
from remedials.visits.models import Plan, Proposal, Visit
from remedials.visits.operations import book_visit
from remedials.visits.operations.planning import accept, accept_all, ask_plan, refuse
from remedials.visits.queries.planning import open_proposals
from tests import factories as make
from tests.at_once import at_once
from tests.factories import NOON, TODAY, recorded
from tests.remedials.desk import statements
from tests.remedials.work import on_the_way

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)
TOMORROW = NOON + timedelta(days=1)


@pytest.fixture
def who(office, now):
    return {"by": office, "now": now}


@pytest.fixture
def proposal(engineer, office):
    """An hour of tomorrow's noon for one remedial with a C2."""
    return make.make_proposal(make.make_plan(engineers=[engineer]), on_the_way("C2", minutes=60), engineers=[engineer])


def book(remedial, engineer, who, start=TOMORROW):
    return book_visit(
        remedial.site, id=new_id(), remedials=[remedial], engineers=[engineer], start=start, end=start + HOUR, **who
    )


def test_asking_keeps_what_is_asked_once(engineer, who) -> None:
    asked = {"id": new_id(), "first": TODAY, "days": 5, "effort": "quick", "seed": 3, "engineers": [engineer]}
    with recorded() as told:
        plan = ask_plan(**asked, **who)
        assert ask_plan(**asked, **who) == plan
    facts = {"number": 1001, "first": "2026-02-03", "days": 5, "effort": "quick", "seed": 3}
    assert [(t.verb, t.facts) for t in told] == [("plan.asked", facts | {"engineers": [str(engineer.pk)]})]
    assert (plan.state, plan.asked, Plan.objects.count()) == ("waiting", {"engineers": [str(engineer.pk)]}, 1)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"first": TODAY - timedelta(days=1)}, "The first day is past"),
        ({"first": TODAY + timedelta(days=367)}, "more than a year"),
        ({"days": 0}, "from 1 to 14 days"),
        ({"days": 15}, "from 1 to 14 days"),
        ({"effort": "for ever"}, "how long it searches"),
        ({"engineers": []}, "who can be sent"),
    ],
)
def test_asking_for_what_makes_no_sense(engineer, who, change, sentence) -> None:
    asked = {"id": new_id(), "first": TODAY, "days": 5, "effort": "quick", "seed": 3, "engineers": [engineer]}
    with pytest.raises(Refused, match=sentence):
        ask_plan(**asked | change, **who)
    assert Plan.objects.count() == 0


def test_engineers_neither_ask_nor_decide(engineer, proposal) -> None:
    who = {"by": engineer, "now": NOON}
    for act in (
        lambda: ask_plan(id=new_id(), first=TODAY, days=5, effort="quick", seed=1, engineers=[engineer], **who),
        lambda: accept(proposal, **who),
        lambda: accept_all(proposal.plan, **who),
        lambda: refuse(proposal, why="No", **who),
    ):
        with pytest.raises(NotAllowed):
            act()
    assert (Visit.objects.count(), Proposal.objects.get().state) == (0, "open")


def test_accepting_books_it_once(engineer, proposal, who) -> None:
    with recorded() as told:
        visit = accept(proposal, **who)
        assert accept(proposal, **who) == visit
    assert [t.verb for t in told if t.verb.startswith(("visit.", "proposal."))] == ["visit.booked", "proposal.accepted"]
    assert [t.facts for t in told if t.verb == "proposal.accepted"] == [{"plan": str(proposal.plan_id), "visit": str(visit.pk)}]  # fmt: skip
    proposal.refresh_from_db()
    assert (proposal.state, proposal.visit, proposal.decided_by, proposal.decided_at) == ("accepted", visit, who["by"], NOON)  # fmt: skip
    assert (visit.pk, visit.start, visit.end) == (part_of(proposal.pk, "visit"), TOMORROW, TOMORROW + HOUR)
    assert [a.engineer for a in visit.attendances.all()] == [engineer]


def test_what_is_booked_otherwise_is_gone_at_once(other_engineer, proposal, who) -> None:
    visit = book(proposal.remedials.get(), other_engineer, who)
    proposal.refresh_from_db()
    assert (proposal.state, proposal.said) == ("gone", f"Its work is on visit {visit.number} now.")
    with recorded() as told, pytest.raises(Refused, match=f"Its work is on visit {visit.number} now"):
        accept(proposal, **who)
    assert told == []


def test_what_is_found_taken_when_it_is_accepted_is_gone(engineer, proposal, who) -> None:
    remedial = proposal.remedials.get()
    remedial.stage = "declined"
    remedial.save()
    sentence = f"Remedial {remedial.number} is no longer to be booked: it is declined."
    with recorded() as told, pytest.raises(Refused, match=sentence[:-1]):
        accept(proposal, **who)
    proposal.refresh_from_db()
    assert (proposal.state, proposal.said, [t.verb for t in told]) == ("gone", sentence, ["proposal.gone"])


def test_what_the_booking_warns_of_needs_a_word(engineer, proposal, who) -> None:
    proposal.remedials.update(minutes=90)
    with pytest.raises(Refused, match="The work takes about 90 minutes") as warned:
        accept(proposal, **who)
    assert (warned.value.field, Visit.objects.count()) == ("despite", 0)
    proposal.refresh_from_db()
    assert proposal.state == "open"
    assert accept(proposal, despite="He is quick.", **who).despite == "He is quick."


def test_gone_because_somebody_is_elsewhere_left_or_it_is_past(engineer, proposal, who) -> None:
    elsewhere = on_the_way("C3", site=make.make_site("Old Pottery"))
    visit = book(elsewhere, engineer, who, start=TOMORROW + HOUR / 2)
    with pytest.raises(Refused, match=f"Edwin Wireman is at Old Pottery then: .* \\(visit {visit.number}\\)."):
        accept(proposal, **who)
    later = make.make_proposal(proposal.plan, on_the_way("C3", site=make.make_site("Barn")), engineers=[engineer])
    with pytest.raises(Refused, match="Its time is past"):
        accept(later, by=who["by"], now=TOMORROW)
    left = make.make_proposal(proposal.plan, on_the_way("C3", site=make.make_site("Mill")), engineers=[engineer], start=NOON + 3 * HOUR)  # fmt: skip
    engineer.is_active = False
    engineer.save()
    with pytest.raises(Refused, match="Edwin Wireman is no engineer of the firm now"):
        accept(left, **who)


def test_refusing_says_why_and_stays(proposal, who) -> None:
    with pytest.raises(Refused, match="Say why"):
        refuse(proposal, why=" ", **who)
    with recorded() as told:
        refuse(proposal, why="The tenant is away.", **who)
        refuse(proposal, why="Once more.", **who)
    assert [(t.verb, t.words) for t in told] == [("proposal.refused", {"why": "The tenant is away."})]
    with pytest.raises(Refused, match="This was refused: The tenant is away"):
        accept(proposal, **who)
    assert Visit.objects.count() == 0


def test_accepting_all_says_which_were_refused(engineer, other_engineer, proposal, who) -> None:
    plan = proposal.plan
    later = make.make_proposal(plan, on_the_way("C3", site=make.make_site("Barn"), minutes=60), engineers=[engineer], start=TOMORROW + 2 * HOUR)  # fmt: skip
    taken = make.make_proposal(plan, on_the_way("C3", site=make.make_site("Mill"), minutes=60), engineers=[engineer], start=TOMORROW - 2 * HOUR)  # fmt: skip
    make.make_visit(taken.site, taken.remedials.get(), engineers=[other_engineer])
    taken.remedials.update(stage="booked")
    visits, refused = accept_all(plan, **who)
    assert [visit.start for visit in visits] == [TOMORROW, TOMORROW + 2 * HOUR]
    assert [(p, "is on visit" in why) for p, why in refused] == [(taken, True)]
    assert sorted(plan.proposals.values_list("state", flat=True)) == ["accepted", "accepted", "gone"]
    assert accept_all(plan, **who) == ([], [])
    later.refresh_from_db()
    assert later.visit in visits


def test_open_proposals_leave_out_what_is_gone(engineer, other_engineer, proposal, who) -> None:
    shown = open_proposals(TODAY, TODAY + timedelta(days=6), now=NOON)
    assert [(row["key"], row["site"], row["engineers"], row["drive_minutes"]) for row in shown] == [
        (proposal.pk, "Sample House", [engineer.pk], 12)
    ]
    assert open_proposals(TODAY + timedelta(days=2), TODAY + timedelta(days=6), now=NOON) == []
    book(proposal.remedials.get(), other_engineer, who)
    assert open_proposals(TODAY, TODAY + timedelta(days=6), now=NOON) == []


@pytest.mark.parametrize("count", [1, 6])
def test_statements_of_open_proposals(engineer, office, count) -> None:
    plan = make.make_plan()
    for n in range(count):
        work = on_the_way("C2", "C3", site=make.make_site(f"Site {n}"))
        make.make_proposal(plan, work, engineers=[engineer], start=TOMORROW + n * HOUR)
    with statements() as sql:
        assert len(open_proposals(TODAY, TODAY + timedelta(days=6), now=NOON)) == count
    assert len(sql) == 8


# --- at the same time -------------------------------------------------------------------------------------------------


@pytest.mark.django_db(transaction=True)
def test_accepted_twice_at_once_is_one_visit(proposal, who) -> None:
    one, other = at_once(lambda: accept(proposal, **who), lambda: accept(proposal, **who))
    assert one == other == Visit.objects.get()


@pytest.mark.django_db(transaction=True)
def test_accepted_while_somebody_books_the_work(engineer, other_engineer, proposal, who) -> None:
    remedial = proposal.remedials.get()
    results = at_once(lambda: accept(proposal, **who), lambda: book(remedial, other_engineer, who))
    assert sorted(type(result).__name__ for result in results) == ["Refused", "Visit"]
    assert Visit.objects.count() == 1
    proposal.refresh_from_db()
    assert proposal.state == ("accepted" if isinstance(results[0], Visit) else "gone")


@pytest.mark.django_db(transaction=True)
def test_accepted_while_the_engineer_is_booked_elsewhere(engineer, proposal, who) -> None:
    elsewhere = on_the_way("C3", site=make.make_site("Old Pottery"))
    results = at_once(lambda: accept(proposal, **who), lambda: book(elsewhere, engineer, who))
    assert sorted(isinstance(result, Refused) for result in results) == [False, True]
    assert Visit.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_accepted_while_it_is_refused(proposal, who) -> None:
    results = at_once(lambda: accept(proposal, **who), lambda: refuse(proposal, why="No", **who))
    assert sorted(type(result).__name__ for result in results) in (["Proposal", "Refused"], ["Refused", "Visit"])
    proposal.refresh_from_db()
    assert (proposal.state == "accepted") is (Visit.objects.count() == 1)
