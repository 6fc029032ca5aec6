"""The pages of the planner: asking, waiting, deciding, former plans; how driving is reckoned."""

import re
from datetime import timedelta
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from openpyxl import load_workbook

from jobsite.firm.models import Progress
from jobsite.ids import new_id
from remedials.visits.driving.table import HEADS
from remedials.visits.models import DrivingTime, Plan, Unplanned, Visit
from remedials.visits.queries.planning import compared
from tests import factories as make
from tests.factories import NOON, recorded
from tests.remedials.desk import hrefs, read, statements, text_of
from tests.remedials.planned import engineer_at_home, site_at, work_at
from tests.remedials.work import on_the_way

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
TOMORROW = NOON + timedelta(days=1)
FIGURES = {
    "planned": 3, "minutes": 1200, "km": 400.5, "late": 0, "jobs": 4, "iterations": 500, "seconds": 1.4,
    "cut_short": False, "rule": {"planned": 2, "minutes": 1500, "km": 500.0, "late": 1},
}  # fmt: skip


def at(name: str, row=None) -> str:
    return reverse(f"visits:{name}", args=[row.pk] if row else [])


@pytest.fixture
def plan(engineer, office):
    """A plan with one proposal for a C2 of the Old Pottery, and one remedial that had no room."""
    plan = make.make_plan(engineers=[engineer], figures=FIGURES)
    work = on_the_way("C2", site=make.make_site("Old Pottery"), minutes=60, work="Fit a cover")
    make.make_proposal(plan, work, engineers=[engineer], reason="1 C2 item; 12 minutes from home.")
    left = on_the_way("C3", site=make.make_site("Far Lodge"), work="Replace a lamp")
    Unplanned.objects.create(plan=plan, remedial=left, why="There is no room in anybody's hours.")
    return plan


# --- asking -----------------------------------------------------------------------------------------------------------


def test_asking_for_a_plan(at_desk, engineer) -> None:
    page = at_desk.get(at("plan_new"))
    shown = text_of(page)
    assert ("Nothing is booked until you accept it." in shown, "Edwin Wireman" in shown) == (True, True)
    assert 'value="2026-02-04"' in page.content.decode()  # the day after NOON, a Wednesday
    typed = {"id": str(new_id()), "first": "2026-02-09", "days": "5", "engineers": [engineer.pk], "effort": "quick"}
    done = at_desk.post(at("plan_new"), typed)
    plan = Plan.objects.get()
    assert (done.status_code, done["Location"]) == (302, at("plan", plan))
    assert (plan.days, plan.effort, plan.seed, plan.after) == (5, "quick", 1, None)
    assert at_desk.post(at("plan_new"), typed)["Location"] == at("plan", plan)


def test_asking_badly_keeps_what_was_typed(at_desk, engineer) -> None:
    typed = {"id": str(new_id()), "first": "2026-02-01", "days": "5", "engineers": [engineer.pk], "effort": "quick"}
    refused = at_desk.post(at("plan_new"), typed)
    assert refused.status_code == 422
    assert "The first day is past: plan from today on." in text_of(refused)
    assert 'value="2026-02-01"' in refused.content.decode()
    assert at_desk.post(at("plan_new"), typed | {"days": "40", "engineers": []}).status_code == 422
    assert Plan.objects.count() == 0


def test_asking_names_the_places_that_are_missing(at_desk, engineer) -> None:
    lodge = make.make_site("Nowhere Lodge")
    on_the_way("C2", site=lodge)
    page = at_desk.get(at("plan_new"))
    assert "Nowhere Lodge" in text_of(page)
    assert {reverse("premises:site_edit", args=[lodge.pk]), reverse("people:person_edit", args=[engineer.pk])} <= hrefs(
        page
    )


def test_asking_again_begins_from_the_plan(at_desk, plan, engineer) -> None:
    shown = read(at_desk, at("plan_new"), after=plan.pk, first="2026-02-10", days=3)
    assert f"Begin from plan {plan.number}" in shown
    page = at_desk.get(at("plan_new"), {"after": plan.pk, "first": "2026-02-10", "days": 3})
    assert re.search(r'value="2026-02-10"', page.content.decode())
    typed = {"id": str(new_id()), "first": "2026-02-09", "days": "5", "engineers": [engineer.pk], "effort": "normal"}
    at_desk.post(f"{at('plan_new')}?after={plan.pk}", typed | {"after": "on", "seed": "7"})
    made = Plan.objects.order_by("-number").first()
    assert (made.after, made.seed) == (plan, 7)


@pytest.mark.parametrize(
    "query", [{"first": "soon"}, {"days": "x"}, {"after": "nonsense"}, {"first": "", "days": "999"}]
)
def test_asking_with_a_damaged_address(at_desk, query) -> None:
    assert at_desk.get(at("plan_new"), query).status_code == 200


# --- waiting ----------------------------------------------------------------------------------------------------------


def test_waiting_says_how_far_it_is_and_may_be_left(at_desk) -> None:
    plan = make.make_plan(state="running")
    Progress.objects.filter(pk=plan.progress).update(state="running", sentence="Searching.", done=40, total=500)
    page = at_desk.get(at("plan", plan))
    assert "Searching." in text_of(page)
    assert "You can leave this page" in text_of(page)
    assert '<progress value="40" max="500"' in page.content.decode()
    part = at_desk.get(at("plan", plan), headers={"HX-Request": "true"})
    assert part.content.decode().lstrip().startswith('<div id="progress"')
    Plan.objects.update(state="ready")
    assert at_desk.get(at("plan", plan), headers={"HX-Request": "true"})["HX-Redirect"] == at("plan", plan)


def test_a_plan_that_nobody_comes_to_is_worked_out_here(at_desk, office) -> None:
    edwin = engineer_at_home()
    work_at(site_at("Mill", 2), "C2")
    plan = make.make_plan(state="waiting", engineers=[edwin], effort="quick")
    assert "Nobody has come to it yet." not in read(at_desk, at("plan", plan))
    Progress.objects.update(changed_at=NOON - timedelta(seconds=20))
    assert "Nobody has come to it yet." in read(at_desk, at("plan", plan))
    assert at_desk.post(at("plan_here", plan))["Location"] == at("plan", plan)
    plan.refresh_from_db()
    assert (plan.state, plan.proposals.count()) == ("ready", 1)


def test_a_plan_that_failed_says_so(at_desk) -> None:
    sentence = "The plan that was found broke its own conditions, so it is not shown."
    plan = make.make_plan(state="failed", sentence=sentence, figures={"faults": ["Job 1 lies outside its windows."]})
    shown = read(at_desk, at("plan", plan))
    assert (sentence in shown, "Job 1 lies outside its windows." in shown, "Ask again" in shown) == (True, True, True)


# --- deciding ---------------------------------------------------------------------------------------------------------


def test_the_plan_says_what_and_why(at_desk, plan) -> None:
    shown = read(at_desk, at("plan", plan))
    for words in (
        "Wednesday 4 Feb 2026",
        "Edwin Wireman",
        "12:00–13:00 Old Pottery",
        "Fit a cover",
        "C2",
        "1 C2 item; 12 minutes from home.",
        "There is no room in anybody's hours.",
        "Replace a lamp",
        "Driving, minutes 1,200 1,500",
        "Driving, kilometres 400.5 500.0",
        "Worked out in 1 s.",
        "Compared with taking the earliest date first and the nearest engineer",
    ):
        assert words in shown


@pytest.mark.parametrize(
    ("seconds", "said"), [(0.2, ""), (0.999, ""), (1.0, "Worked out in 1 s."), (59.9, "Worked out in 59 s.")]
)
def test_how_long_it_took_is_said_from_a_second_on(seconds, said) -> None:
    assert compared(FIGURES | {"seconds": seconds}) == said


def test_accepting_on_the_page(at_desk, plan) -> None:
    proposal = plan.proposals.get()
    assert "12:00–13:00, Edwin Wireman" in read(at_desk, at("proposal_accept", proposal))
    done = at_desk.post(at("proposal_accept", proposal), follow=True)
    visit = Visit.objects.get()
    assert f"Visit {visit.number} to Old Pottery booked." in text_of(done)
    assert f"Accepted : Visit {visit.number}" in text_of(done)
    assert at("proposal_accept", proposal) not in hrefs(done)


def test_refusing_on_the_page(at_desk, plan) -> None:
    proposal = plan.proposals.get()
    assert at_desk.post(at("proposal_refuse", proposal), {"why": ""}).status_code == 422
    done = at_desk.post(at("proposal_refuse", proposal), {"why": "The tenant is away."}, follow=True)
    assert "Refused . The tenant is away." in text_of(done)


def test_what_is_gone_cannot_be_accepted(at_desk, plan, other_engineer) -> None:
    proposal = plan.proposals.get()
    make.make_visit(proposal.site, proposal.remedials.get(), engineers=[other_engineer])
    proposal.remedials.update(stage="booked")
    shown = text_of(at_desk.get(at("plan", plan)))
    assert ("No longer possible" in shown, "is on visit" in shown, "Accept all" in shown) == (True, True, False)
    refused = at_desk.post(at("proposal_accept", proposal))
    assert (refused.status_code, "is on visit" in text_of(refused)) == (422, True)


def test_accepting_all_on_the_page(at_desk, plan, engineer) -> None:
    other = on_the_way("C3", site=make.make_site("Barn"), minutes=60)
    make.make_proposal(plan, other, engineers=[engineer], start=NOON - timedelta(hours=1))
    page = at_desk.post(at("plan_accept_all", plan))
    assert (page.status_code, Visit.objects.count()) == (422, 1)
    assert "Barn, 3 Feb 2026, 11:00–12:00: Its time is past" in text_of(page)
    assert at_desk.post(at("plan_accept_all", plan))["Location"] == at("plan", plan)


def test_an_empty_plan(at_desk) -> None:
    assert "Nothing to propose" in read(at_desk, at("plan", make.make_plan()))


@pytest.mark.parametrize("count", [1, 8])
def test_statements_of_a_plan(at_desk, engineer, count) -> None:
    plan = make.make_plan(figures=FIGURES)
    for n in range(count):
        work = on_the_way("C2", "C3", site=make.make_site(f"Site {n}"))
        make.make_proposal(plan, work, engineers=[engineer], start=TOMORROW + n * timedelta(hours=1))
        Unplanned.objects.create(plan=plan, remedial=on_the_way("C3", site=work.site), why="No room.")
    with statements() as sql:
        read(at_desk, at("plan", plan))
    assert len(sql) == 13


# --- former plans -----------------------------------------------------------------------------------------------------


def test_list_of_plans(at_desk, plan) -> None:
    make.make_plan(state="failed", sentence="It stumbled.")
    shown = read(at_desk, at("plans"))
    assert f"Plan {plan.number} Wed 4 Feb 2026, 5 days ready 1 open 3 Feb 2026, 12:00 by Anyoffice Body" in shown.replace(f"by {plan.made_by}", "by Anyoffice Body")  # fmt: skip
    assert "failed: It stumbled." in shown


def test_no_plan_yet(at_desk) -> None:
    page = at_desk.get(at("plans"))
    assert "No plan yet" in text_of(page)
    assert at("plan_new") in hrefs(page)


@pytest.mark.parametrize("count", [1, 12])
def test_statements_of_the_list(at_desk, engineer, count) -> None:
    for _ in range(count):
        make.make_proposal(make.make_plan(), on_the_way("C2"), engineers=[engineer])
    with statements() as sql:
        read(at_desk, at("plans"))
    assert len(sql) == 4


# --- driving ----------------------------------------------------------------------------------------------------------


def send(client, text: str | bytes, name: str = "table.csv"):
    data = text.encode() if isinstance(text, str) else text
    return client.post(at("driving"), {"file": SimpleUploadedFile(name, data)}, follow=True)


TABLE = f"{','.join(HEADS)}\nQX1,QX2,25,18.4\nQX2,QX1,27,18.4\n"


def test_the_table_replaces_what_is_kept_and_comes_back_the_same(at_desk) -> None:
    DrivingTime.objects.create(from_district="QX8", to_district="QX9", minutes=1, km=1)
    with recorded() as told:
        page = send(at_desk, TABLE)
        assert "The table holds 2 driving times now." in text_of(page)
        send(at_desk, TABLE)
    assert [(t.verb, t.facts["rows"]) for t in told] == [("driving-times.replaced", 2)]
    assert at_desk.get(at("driving_file"), {"as": "csv"}).content.decode("utf-8-sig").replace("\r\n", "\n") == TABLE
    sheet = at_desk.get(at("driving_file"))
    rows = list(load_workbook(BytesIO(sheet.content)).active.iter_rows(values_only=True))
    assert rows == [HEADS, ("QX1", "QX2", 25, 18.4), ("QX2", "QX1", 27, 18.4)]
    with recorded() as told:
        send(at_desk, sheet.content, "driving-times.xlsx")
    assert (told, DrivingTime.objects.count()) == ([], 2)


def test_a_faulty_row_leaves_the_table_as_it_is(at_desk) -> None:
    send(at_desk, TABLE)
    page = send(at_desk, f"{','.join(HEADS)}\nQX1,QX3,5,2\nQX1,nowhere,x,2\n")
    assert page.status_code == 422
    shown = text_of(page)
    assert "1 row of this file cannot be read; nothing was changed." in shown
    assert "3 QX1 – nowhere To district: “NOWHERE” is no postcode district" in shown
    assert DrivingTime.objects.count() == 2


@pytest.mark.parametrize(
    "data",
    [b"", b"PK\x03\x04" + b"x" * 400, b"\xff\xfe\x00", b"<html>no</html>", b"%PDF-1.7", b"\0" * 100, b"a,b\n1,2\n",
     (",".join(HEADS) + "\n<script>,QX2,1,1\n").encode(), b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600],
)  # fmt: skip
def test_hostile_files(at_desk, data) -> None:
    page = send(at_desk, data)
    assert page.status_code == 422
    assert b"<script>," not in page.content
    assert DrivingTime.objects.count() == 0


def test_taking_the_table_away(at_desk) -> None:
    send(at_desk, TABLE)
    with recorded() as told:
        at_desk.post(at("driving_drop"))
        at_desk.post(at("driving_drop"))
    assert [(t.verb, t.facts) for t in told] == [("driving-times.dropped", {"rows": 2})]
    assert "By the table" not in read(at_desk, at("driving"))


def test_how_driving_is_reckoned(at_desk) -> None:
    assert "1.30 times as far by road, at 40 km an hour." in read(at_desk, at("driving"))


def test_engineers_have_no_part_in_it(on_site, plan) -> None:
    for address in (
        at("plans"),
        at("plan_new"),
        at("plan", plan),
        at("driving"),
        at("proposal_accept", plan.proposals.get()),
    ):
        assert on_site.get(address).status_code == 403
