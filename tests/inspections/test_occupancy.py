"""Somebody moves in: who goes, which law binds, what it asks; what became of each paper; the due list."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from inspections import operations
from inspections.models import OccupancyChange, Paper
from jobsite.ids import new_id
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.due.models import DueRow
from tests import factories as make
from tests.factories import TODAY, recorded
from tests.jobsite.premises import posted, refusal, text_of
from tests.remedials.desk import statements

pytestmark = pytest.mark.django_db
NEXT_WEEK = TODAY + timedelta(days=7)


@pytest.fixture
def who(office, now):
    return {"by": office, "now": now}


@pytest.fixture
def at_desk(client, office):
    client.force_login(office)
    return client


def let_in(nation: str = "england", tenure: str = "private-rented", **fields):
    site = make.make_site("Kiln Row", nation=nation, tenure=tenure, **fields)
    return make.unit_of(site)


def move_in(unit, since=NEXT_WEEK, **more):
    return operations.change_occupancy(unit, id=new_id(), since=since, **more)


def asked(change) -> list[tuple[str, str, date]]:
    return [(paper.what, paper.to, paper.due_on) for paper in change.papers.order_by("due_on", "what")]


COPY = "a copy of the report"
REPORT = "a report that is in force on the day they move in"
ENGLISH = "an inspection and test by a qualified person, whose report is still valid"
WELSH = "a valid electrical condition report, throughout the occupation"
SCOTTISH = "an electrical safety inspection by a competent person"


@pytest.mark.parametrize(
    ("nation", "tenure", "papers"),
    [
        ("england", "private-rented", [(COPY, "the new tenant", NEXT_WEEK), (ENGLISH, "", NEXT_WEEK)]),
        ("england", "social-rented", [(COPY, "the new tenant", NEXT_WEEK), (ENGLISH, "", NEXT_WEEK)]),
        # 14 days starting with the first day of the occupation (WSI 2022/6 regulation 6(3) as amended, read).
        (
            "wales",
            "social-rented",
            [(WELSH, "", NEXT_WEEK), (COPY, "the contract-holder", NEXT_WEEK + timedelta(days=13))],
        ),
        ("scotland", "private-rented", [(COPY, "the new tenant", NEXT_WEEK), (SCOTTISH, "", NEXT_WEEK)]),
        ("northern-ireland", "private-rented", [(COPY, "the new tenant", NEXT_WEEK), (REPORT, "", NEXT_WEEK)]),
        ("england", "owner-occupied", []),
        ("england", "not-a-home", []),
    ],
)
def test_what_the_law_of_the_nation_asks(who, nation, tenure, papers) -> None:
    assert asked(move_in(let_in(nation, tenure), **who)) == papers


def test_a_report_in_force_is_not_asked_for_again(who) -> None:
    unit = let_in()
    qualified = make.make_qualified()
    report = make.make_inspection(unit.site, issued=False, next_due_on=date(2030, 2, 3), by=qualified)
    operations.issue_inspection(report, by=qualified, now=who["now"])
    assert asked(move_in(unit, **who)) == [(COPY, "the new tenant", NEXT_WEEK)]


def test_who_was_there_goes_and_the_tenancy_decides(who) -> None:
    unit = let_in("england", "social-rented")
    old, new = make.make_party("Old Tenant"), make.make_party("New Tenant")
    unit.parties.create(party=old, role="occupier", since=date(2020, 1, 1))
    unit.parties.create(party=unit.site.customer, role="owner", since=date(2020, 1, 1))
    key = new_id()
    with recorded() as told:
        for _ in range(2):
            change = operations.change_occupancy(
                unit, id=key, since=NEXT_WEEK, occupier=new, tenancy_granted_on=TODAY, **who
            )
    roles = unit.parties.order_by("since", "role").values_list("party__name", "role", "until")
    assert list(roles) == [
        ("Old Tenant", "occupier", NEXT_WEEK - timedelta(days=1)),
        (unit.site.customer.name, "owner", None),
        ("New Tenant", "occupier", None),
    ]
    unit.refresh_from_db()
    assert unit.tenancy_granted_on == TODAY
    assert [t.verb for t in told][:3] == ["role.ended", "role.given", "unit.changed"]
    assert [t.verb for t in told if t.subject == change.pk] == ["occupancy.changed"]
    assert OccupancyChange.objects.count() == 1


@pytest.mark.parametrize(
    ("told", "field"),
    [
        ({"since": TODAY + timedelta(days=400)}, "since"),
        ({"tenancy_granted_on": NEXT_WEEK + timedelta(days=1)}, "tenancy_granted_on"),
    ],
)
def test_days_that_cannot_be(who, told, field) -> None:
    with recorded() as entries, pytest.raises(Refused) as raised:
        operations.change_occupancy(let_in(), id=new_id(), **({"since": NEXT_WEEK} | told), **who)
    assert refusal(raised)[1] == field
    assert entries == []


def test_an_engineer_records_no_occupancy(engineer, now) -> None:
    with pytest.raises(NotAllowed):
        move_in(let_in(), by=engineer, now=now)


def test_the_same_twice_is_refused_in_a_sentence(who) -> None:
    unit = let_in()
    move_in(unit, **who)
    with pytest.raises(Refused, match="recorded already"):
        move_in(unit, **who)


def test_a_report_issued_meanwhile_answers_what_asked_for_one(who) -> None:
    unit = let_in()
    move_in(unit, **who)
    qualified = make.make_qualified()
    report = make.make_inspection(unit.site, issued=False, next_due_on=date(2030, 2, 3), by=qualified)
    with recorded() as told:
        operations.issue_inspection(report, by=qualified, now=who["now"])
    done = Paper.objects.exclude(answer="").get()
    assert (done.what, done.how) == (ENGLISH, f"Report {report.number} was issued.")
    assert "paper.answered" in [t.verb for t in told]
    due = DueRow.objects.filter(kind="paper").order_by("due", "subject").values_list("subject", flat=True)
    assert list(due) == [f"{COPY} to the new tenant", f"{COPY} to each existing tenant"]


# --- papers -----------------------------------------------------------------------------------------------------------


def answer(paper, **told):
    told = {"answer": "done", "answered_on": TODAY, "how": "by e-mail to the tenant", "version": 1} | told
    return operations.answer_paper(paper, **told)


def test_an_answered_paper_leaves_the_due_list_and_comes_back_opened(site, who) -> None:
    paper = make.make_paper(site)
    row = DueRow.objects.get(kind="paper")
    assert (row.ref, row.subject, row.due, row.owner_id) == (
        paper.pk, "a copy of the report to the tenant", TODAY, paper.owner_id,
    )  # fmt: skip
    with recorded() as told:
        for _ in range(2):
            paper = answer(paper, **who)
    assert [(t.verb, t.facts["answer"]) for t in told] == [("paper.answered", "done")]
    assert not DueRow.objects.filter(kind="paper").exists()
    answer(paper, answer="", answered_on=None, how="", version=2, **who)
    assert DueRow.objects.filter(kind="paper").exists()


@pytest.mark.parametrize(
    ("told", "field"),
    [
        ({"answered_on": None}, "answered_on"),
        ({"answered_on": NEXT_WEEK}, "answered_on"),
        ({"how": " "}, "how"),
        ({"answer": "perhaps"}, "answer"),
    ],
)
def test_an_answer_says_when_and_how(site, who, told, field) -> None:
    with pytest.raises(Refused) as raised:
        answer(make.make_paper(site), **told, **who)
    assert refusal(raised)[1] == field


def test_two_people_answer_one_paper(site, who) -> None:
    paper = make.make_paper(site)
    answer(paper, **who)
    with pytest.raises(ChangedMeanwhile):
        answer(paper, how="by hand", **who)


# --- pages ------------------------------------------------------------------------------------------------------------


def test_the_page_records_and_shows_what_is_asked(at_desk) -> None:
    unit = let_in()
    where = reverse("inspections:occupancy", args=[unit.pk])
    shown = text_of(at_desk.get(where))
    assert "No report is on record for it." in shown
    assert "check the current law" in shown
    form = posted(at_desk.get(where)) | {"since": NEXT_WEEK.isoformat(), "tenancy_granted_on": "2026-02-01"}
    assert at_desk.post(where, form)["Location"] == where
    assert at_desk.post(where, form)["Location"] == where
    shown = text_of(at_desk.get(where))
    assert "a copy of the report to the new tenant: by 10 Feb 2026" in shown
    assert "SI 2020/312 regulation 3 (England), as amended" in shown
    assert Paper.objects.count() == 2
    site_page = text_of(at_desk.get(reverse("desk:site", args=[unit.site_id])))
    assert "Owed in writing" in site_page


def test_a_paper_is_answered_on_its_page(at_desk, site) -> None:
    paper = make.make_paper(site)
    where = reverse("inspections:paper_answer", args=[paper.pk])
    form = posted(at_desk.get(where)) | {"answer": "done", "answered_on": "2026-02-03", "how": ""}
    assert at_desk.post(where, form).status_code == 422
    at_desk.post(where, form | {"how": "by hand"})
    shown = text_of(at_desk.get(reverse("inspections:occupancy", args=[paper.unit_id])))
    assert "a copy of the report to the tenant: done on 3 Feb 2026: by hand" in shown


@pytest.mark.parametrize("size", [1, 8])
def test_the_page_costs_the_same_at_any_size(at_desk, site, size) -> None:
    """Session, person, heartbeat, the unit, parties to choose from, its next inspection, its changes with their papers."""
    for _ in range(size):
        make.make_paper(site)
    with statements() as sql:
        at_desk.get(reverse("inspections:occupancy", args=[make.unit_of(site).pk]))
    assert len(sql) == 9


# --- codes that wait --------------------------------------------------------------------------------------------------


def test_another_firms_codes_are_due_until_each_is_decided(site, who, qualified) -> None:
    report = make.make_inspection(site, issued=False, other_firm=True, firm_name="Brightwire", by=who["by"])
    rows = [
        make.make_observation(site, code=c, inspection=report, draft=True, reviewed=False, by=who["by"])
        for c in ("C1", "C2")
    ]
    operations.issue_inspection(report, **who)
    row = DueRow.objects.get(kind="codes")
    assert (row.ref, row.subject, row.owner_id) == (
        report.pk, f"2 codes to decide in report {report.number} of Brightwire", who["by"].pk,
    )  # fmt: skip
    assert row.due == TODAY + timedelta(days=2)  # three days to decide, counted starting with today
    for observation in rows:
        observation.refresh_from_db()
        operations.review(observation, decision="agree", reason="", by=qualified, now=who["now"])
    assert not DueRow.objects.filter(kind="codes").exists()
