"""The diary's page: what stands where, for whom, and what it costs."""

import re
from datetime import UTC, date, datetime, timedelta

import pytest
from django.urls import reverse

from jobsite.people.models import Leave
from remedials.visits.models import Proposal
from tests import factories as make
from tests.remedials.desk import hrefs, text_of
from tests.remedials.work import on_the_way

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
MONDAY = date(2026, 2, 2)  # the week of NOON


def at(hour: float, on: date = make.TODAY) -> datetime:
    """London's clock in February is UTC's."""
    return datetime(on.year, on.month, on.day, tzinfo=UTC) + timedelta(hours=hour)


def booked(site_name: str, *engineers, start: datetime | None = None, hours: float = 2, code: str = "C2", **fields):
    site = make.make_site(
        site_name, **{name: fields.pop(name) for name in ("latitude", "longitude", "postcode") if name in fields}
    )
    remedial = on_the_way(code, site=site, stage="booked")
    return make.make_visit(site, remedial, engineers=engineers, start=start or at(14), hours=hours, **fields)


def drawn(answer) -> str:
    return "".join(re.findall(r"<svg class=\"drawing diary\".*?</svg>\s*</div>", answer.content.decode(), re.DOTALL))


def cell(answer, engineer, on: date) -> str:
    found = re.search(
        rf'<g data-cell="" data-engineer="{engineer.pk}" data-day="{on}".*?(?=<g data-cell=|</svg>)', drawn(answer)
    )
    return found[0]


def test_the_week_as_a_list_and_as_a_drawing(at_desk, engineer, other_engineer) -> None:
    visit = booked("Old Pottery", engineer, other_engineer, outage="The kiln room", answered="confirmed")
    answer = at_desk.get("/diary/")
    shown = text_of(answer)
    assert "Mon 2 Feb to Sun 8 Feb 2026" in shown
    line = "14:00–16:00 , visit 1 C2 Old Pottery , Edwin Wireman, Otto Ampleby: 1 remedial, 1 to close, confirmed"
    assert f"Tuesday 3 Feb 2026 {line} Power off: The kiln room" in shown
    for person in (engineer, other_engineer):
        words = f"Visit {visit.number}, 14:00–16:00, Old Pottery, C2, {person.name}, 1 remedial, 1 to close"
        assert f"{words}, power off: The kiln room, confirmed" in cell(answer, person, make.TODAY)
        assert 'class="mark c2"' in cell(answer, person, make.TODAY)
    assert "Old Pottery" not in cell(answer, engineer, make.TODAY + timedelta(days=1))


def test_a_visit_of_several_days_stands_in_each(at_desk, engineer) -> None:
    booked("Old Pottery", engineer, hours=48)
    answer = at_desk.get("/diary/")
    days = [make.TODAY + timedelta(days=n) for n in range(3)]
    times = [re.search(r"Visit 1, (\S+), Old", cell(answer, engineer, on))[1] for on in days]
    assert times == ["14:00–…", "…–…", "…–14:00"]
    assert text_of(answer).count("Old Pottery") >= 3


@pytest.mark.parametrize(("show", "days"), [("day", 1), ("week", 7), ("fortnight", 14), ("nonsense", 7)])
def test_days_shown(at_desk, engineer, show, days) -> None:
    answer = at_desk.get("/diary/", {"show": show, "day": "2026-02-05"})
    heads = re.findall(r'data-day="(\S+)"', answer.content.decode())
    assert len(set(heads)) == days
    assert min(heads) == ("2026-02-05" if days == 1 else "2026-02-02")


@pytest.mark.parametrize(("asked", "day"), [({}, "2026-02-03"), ({"day": "2026-04-01"}, "2026-04-01")])
def test_the_day_shown_and_what_is_grey_are_said(at_desk, engineer, asked, day) -> None:
    answer = at_desk.get("/diary/", asked)
    assert re.search(
        rf'<input[^>]*name="day"[^>]*value="{day}"|<input[^>]*value="{day}"[^>]*name="day"', answer.content.decode()
    )
    assert "Grey: not worked, leave or bank holiday." in text_of(answer)


def test_ways_to_other_days_keep_what_is_shown(at_desk, engineer) -> None:
    shown = at_desk.get("/diary/", {"show": "fortnight", "day": "2026-02-05", "engineer": engineer.pk}).content.decode()
    kept = f"show=fortnight&amp;engineer={engineer.pk}"
    for on in ("2026-01-19", "2026-02-03", "2026-02-16"):
        assert f"/diary/?day={on}&amp;{kept}" in shown


def test_one_engineer_alone_and_all_who_go_kept(at_desk, engineer, other_engineer) -> None:
    booked("Old Pottery", engineer, other_engineer)
    booked("Mill", other_engineer, start=at(8))
    answer = at_desk.get("/diary/", {"engineer": engineer.pk})
    assert ("Old Pottery" in text_of(answer), "Mill" in text_of(answer)) == (True, False)
    both = re.search(r'data-engineers="([^"]*)"', drawn(answer))[1].split()
    assert sorted(both) == sorted([str(engineer.pk), str(other_engineer.pk)])


def test_leave_and_bank_holidays_are_shaded_and_said(at_desk, engineer, office) -> None:
    Leave.objects.create(
        user=engineer, first=date(2026, 4, 2), last=date(2026, 4, 2), what="training", recorded_by=office
    )
    answer = at_desk.get("/diary/", {"day": "2026-04-01"})
    thursday, friday = cell(answer, engineer, date(2026, 4, 2)), cell(answer, engineer, date(2026, 4, 3))
    assert ("training" in thursday, "bank holiday" in friday) == (True, True)
    assert all('class="shut"' in one and 'class="gap"' not in one for one in (thursday, friday))
    assert "Friday 3 Apr 2026 Bank holiday: Good Friday" in text_of(answer)
    assert ">Good Fr" in drawn(answer)
    assert "Away: Edwin Wireman: training" in text_of(answer)
    assert 'class="gap"' in cell(answer, engineer, date(2026, 4, 1))


def test_driving_between_visits_and_where_it_is_too_long(at_desk, engineer) -> None:
    """0.1 degree of latitude is 11.12 km: by road 14.46 km, 22 minutes at 40 km/h."""
    booked("South", engineer, start=at(12.5), hours=1, latitude="52.00000", longitude="-1.00000")
    booked("North", engineer, start=at(14), hours=1, latitude="52.10000", longitude="-1.00000")
    booked("Far", engineer, start=at(15.25), hours=1, latitude="52.20000", longitude="-1.00000")
    booked("Nowhere", engineer, start=at(17), hours=1)
    shown = text_of(at_desk.get("/diary/"))
    assert "22 minutes to drive from South to North;" in shown
    assert "22 minutes to drive from North to Far: only 15 minutes between the visits" in shown
    assert "Nowhere to" not in shown


def test_empty_stretches_are_asked_about_by_those_who_book(at_desk, engineer) -> None:
    booked("Old Pottery", engineer, start=at(13), hours=1)
    free = f"/diary/gap/?who={engineer.pk}&amp;day=2026-02-03&amp;start=12%3A00&amp;until=13%3A00"
    assert free in at_desk.get("/diary/").content.decode()
    at_desk.force_login(engineer)
    shown = at_desk.get("/diary/").content.decode()
    assert ("Old Pottery" in shown, "/diary/gap/" in shown, "data-move" in shown) == (True, False, False)


def test_proposals_stand_dashed_with_their_reason(at_desk, engineer, office) -> None:
    site = make.make_site("Old Pottery")
    remedial = on_the_way("C1", site=site, stage="approved")
    plan = _plan(office)
    one = Proposal.objects.create(plan=plan, site=site, start=at(13), end=at(15), reason="The danger soonest")
    one.engineers.add(engineer)
    one.remedials.add(remedial)
    answer = at_desk.get("/diary/")
    assert "Proposed, 13:00–15:00, Old Pottery, C1, Edwin Wireman, The danger soonest" in cell(
        answer, engineer, make.TODAY
    )
    assert 'class="visit proposed"' in cell(answer, engineer, make.TODAY)
    assert "Proposed: 13:00–15:00 C1 Old Pottery , Edwin Wireman: The danger soonest" in text_of(answer)
    at_desk.force_login(engineer)
    assert "Old Pottery" not in text_of(at_desk.get("/diary/"))


def _plan(by):
    from jobsite.ids import new_id
    from remedials.visits.models import Plan

    return Plan.objects.create(number=1, first=MONDAY, progress=new_id(), made_by=by, made_at=make.NOON)


def test_a_subcontractor_sees_only_their_own(client, subcontractor, engineer) -> None:
    mine = booked("Old Pottery", subcontractor)
    make.grant_access(mine.site, subcontractor)
    make.make_visit(mine.site, engineers=[engineer], start=at(8))
    client.force_login(subcontractor)
    answer = client.get("/diary/")
    assert re.findall(r"Visit (\d+),", drawn(answer)) == [str(mine.number)] * 2  # its name and its title
    assert str(engineer.pk) not in answer.content.decode()


def test_cancelled_visits_are_left_out(at_desk, engineer) -> None:
    visit = booked("Old Pottery", engineer, state="cancelled", cancelled_reason="Away")
    visit.attendances.update(cancelled=True)
    shown = text_of(at_desk.get("/diary/"))
    assert ("Old Pottery" in shown, "No visit on these days" in shown) == (False, True)


def test_the_lists_around_the_diary_are_reached_from_it(client, office, engineer) -> None:
    everybodys = {reverse("visits:keys_out"), reverse("visits:to_see_to")}
    offices = {reverse(f"visits:{name}") for name in ("plans", "gap", "calendars")} | {reverse("people:away")}
    for user, shown in ((office, everybodys | offices), (engineer, everybodys)):
        client.force_login(user)
        assert hrefs(client.get("/diary/")) & (everybodys | offices) == shown, user
        assert all(client.get(href).status_code == 200 for href in shown), user


@pytest.mark.parametrize("day", ["nonsense", "10000-01-01", "0001-01-01", "2026-02-30"])
def test_a_day_that_cannot_be(at_desk, day) -> None:
    answer = at_desk.get("/diary/", {"day": day})
    assert (answer.status_code, "Mon 2 Feb to Sun 8 Feb 2026" in text_of(answer)) == (200, True)


@pytest.mark.parametrize("count", [1, 4])
def test_statements_of_the_diary(at_desk, engineer, office, django_assert_num_queries, count) -> None:
    plan = _plan(office)
    for n in range(count):
        visit = booked(f"Site {n}", engineer, start=at(8 + 2 * n), hours=1, postcode=f"QX{n + 1} 1AA")
        person = make.make_user(f"More{n} Wireman", "engineer")
        make.make_visit(visit.site, engineers=[person], start=at(9))
        one = Proposal.objects.create(plan=plan, site=visit.site, start=at(30 + n), end=at(31 + n), reason="So")
        one.engineers.add(person)
    at_desk.get("/diary/")
    # session, person, banner; engineers, visits, proposals, terms, hours (2), away, firm; driving where several districts
    with django_assert_num_queries(10 + (count > 1)):
        assert at_desk.get("/diary/").status_code == 200
