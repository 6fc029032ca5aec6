"""Visits and getting in on the pages of a site and a remedial: what came of each, who may see it, what is proposed."""

from datetime import date, time, timedelta

import pytest
import time_machine
from django.urls import reverse

from remedials.visits.models import AccessTime, ClosedDays, Plan, Proposal, VisitMove
from tests import factories as make
from tests.factories import NOON, TODAY
from tests.remedials.desk import hrefs, read, statements, text_of

pytestmark = pytest.mark.django_db
LAST_WEEK = NOON - timedelta(days=7)


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def at_desk(client, office):
    client.force_login(office)
    return client


def page(site) -> str:
    return reverse("desk:site", args=[site.pk])


def work(site, stage: str, work: str = "Fit a cover"):
    return make.make_remedial(make.make_observation(site), stage=stage, work=work)


def outcomes(client, site, which: str = "past_visits") -> list[str]:
    return [row["outcome"] for row in client.get(page(site)).context[which]]


@pytest.mark.parametrize(
    ("stages", "outcome"),
    [
        (["done", "reviewed"], "finished"),
        (["done", "booked"], "part done: 1 of 2"),
        (["done", "approved"], "part done: 1 of 2"),
        (["booked", "booked"], "nothing closed yet"),
        ([], "nothing was left to do"),
    ],
)
def test_what_came_of_a_visit_follows_from_its_work(at_desk, site, engineer, stages, outcome):
    make.make_visit(site, *[work(site, stage) for stage in stages], engineers=[engineer], start=LAST_WEEK)
    assert outcomes(at_desk, site) == [outcome]


def test_an_inspection_that_is_settled_is_done(at_desk, site, engineer):
    visit = make.make_visit(site, work(site, "booked"), engineers=[engineer], start=LAST_WEEK)
    line = make.make_visit_line(visit, unit=make.unit_of(site))
    assert outcomes(at_desk, site) == ["nothing closed yet"]
    line.settled_at = LAST_WEEK
    line.save()
    assert outcomes(at_desk, site) == ["part done: 1 of 2"]


def test_nobody_was_let_in(at_desk, site, engineer):
    visit = make.make_visit(site, engineers=[engineer], start=LAST_WEEK)
    make.make_attempt(site, visit=visit, at=LAST_WEEK, next_on=TODAY)
    make.make_visit(site, engineers=[engineer], start=LAST_WEEK, state="cancelled", cancelled_reason="Away", hours=3)
    assert sorted(outcomes(at_desk, site)) == ["cancelled: Away", "no access"]
    words = read(at_desk, page(site))
    assert "Last try 27 Jan 2026, 12:00, went there (Tina Tenant): not let in, try again today" in words


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({}, ""),
        ({"confirm_by": TODAY}, "not asked yet"),
        ({"answered": "asked"}, "asked, no answer yet"),
        ({"answered": "confirmed"}, "confirmed"),
        ({"answered": "cannot"}, "the customer cannot then"),
    ],
)
def test_a_visit_to_come_says_how_the_customer_stands_to_it(at_desk, site, engineer, fields, said):
    make.make_visit(site, work(site, "booked"), engineers=[engineer], start=NOON + timedelta(days=2), **fields)
    assert outcomes(at_desk, site, "visits") == [said]


def test_getting_in_is_a_line_each(at_desk, site, office, engineer):
    flat = make.make_unit(site, "Flat 2")
    AccessTime.objects.create(site=site, weekdays=[1, 0], start=time(9), end=time(16), note="ring first")
    AccessTime.objects.create(site=site, unit=flat, weekdays=[5], start=time(10), end=time(12))
    ClosedDays.objects.create(site=site, first=date(2026, 2, 16), last=date(2026, 2, 20), why="half term")
    ClosedDays.objects.create(site=site, first=date(2026, 1, 5), last=date(2026, 1, 9), why="over already")
    make.make_see_to(site, owner=office, by=TODAY + timedelta(days=1))
    make.make_see_to(site, what="Permit", owner=office, met_on=TODAY, met_how="Given")
    make.make_key(site, "K1", what="back door", place="hook 4")
    make.make_key(site, "K2", out_to=engineer, back_by=TODAY + timedelta(days=1))
    make.make_key(site, "K3", what="gate", given_back_at=NOON)
    response = at_desk.get(page(site))
    assert response.context["access"] == [
        ("Open to us", "Mon, Tue 09:00 to 16:00, ring first; Sat 10:00 to 12:00 (Flat 2)"),
        ("Closed", "16 Feb 2026 to 20 Feb 2026: half term"),
        ("See to first", "Ask for the asbestos register, Olive Deskworth by tomorrow"),
        ("Keys", "front door is out with Edwin Wireman, back by tomorrow; back door is with us, hook 4"),
    ]
    assert "Permit" not in text_of(response)


def test_a_site_of_which_nothing_is_known_leads_to_where_it_is_entered(at_desk, site):
    words = read(at_desk, page(site))
    assert "All about getting in" in words
    assert "Open to us" not in words
    assert "Visits to come" not in words


def test_a_subcontractor_sees_own_visits_only(client, site, engineer, subcontractor):
    make.grant_access(site, subcontractor)
    remedial = work(site, "booked")
    make.make_visit(site, engineers=[engineer], start=LAST_WEEK)
    other = make.make_visit(site, remedial, engineers=[engineer], start=NOON + timedelta(days=1))
    mine = make.make_visit(site, engineers=[subcontractor], start=NOON + timedelta(days=2))
    make.make_attempt(site)
    client.force_login(subcontractor)
    response = client.get(page(site))
    assert [row["number"] for row in response.context["visits"]] == [str(mine.number)]
    assert response.context["past_visits"] == []
    assert "Tina Tenant" not in text_of(response)
    at_remedial = client.get(reverse("desk:remedial", args=[remedial.pk]))
    assert reverse("visits:visit", args=[other.pk]) not in hrefs(at_remedial)


def test_a_remedial_says_when_its_parts_come_how_its_visit_moved_and_what_is_proposed(at_desk, site, office, engineer):
    remedial = work(site, "booked")
    remedial.parts_ready_on = date(2026, 2, 9)
    remedial.save()
    soon = NOON + timedelta(days=8)
    visit = make.make_visit(site, remedial, engineers=[engineer], start=soon)
    VisitMove.objects.create(
        visit=visit, from_start=NOON, from_end=NOON + timedelta(hours=1), to_start=soon, to_end=visit.end,
        from_engineers=[engineer.pk], to_engineers=[engineer.pk], reason="Tenant is away", by=office, at=NOON,
    )  # fmt: skip
    plan = Plan.objects.create(number=1, first=TODAY, progress=visit.pk, made_by=office, made_at=NOON)
    proposal = Proposal.objects.create(plan=plan, site=site, start=soon, end=visit.end, reason="Near the other one")
    proposal.remedials.add(remedial)
    proposal.engineers.add(engineer)
    response = at_desk.get(reverse("desk:remedial", args=[remedial.pk]))
    words = text_of(response)
    assert reverse("visits:plan", args=[plan.pk]) in hrefs(response)
    assert "Parts ready on 9 Feb 2026" in words
    assert (
        "moved from 3 Feb 2026, 12:00–13:00, by Olive Deskworth, 3 Feb 2026, 12:00: Tenant is away" in words
    )  # fmt: skip
    assert "Proposed: 11 Feb 2026, 12:00–14:00 Edwin Wireman Near the other one" in words
    proposal.state = "refused"
    proposal.save()
    assert "Proposed:" not in read(at_desk, reverse("desk:remedial", args=[remedial.pk]))


@pytest.mark.parametrize("size", [1, 4])
def test_the_pages_cost_no_statement_for_it(at_desk, site, engineer, size):
    remedial = work(site, "booked")
    for number in range(size):
        start = LAST_WEEK + timedelta(days=number)
        visit = make.make_visit(site, *([remedial] if not number else []), engineers=[engineer], start=start)
        make.make_attempt(site, visit=visit)
        make.make_key(site, f"K{number}")
    with statements() as sql:
        at_desk.get(page(site))
    assert len(sql) == 12  # the fourteen of a site with boards, less two
