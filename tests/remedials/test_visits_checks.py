"""What does not fit, as it is read from the record; and that it is read in as many statements for many as for one."""

from datetime import date, time, timedelta

import pytest

from jobsite.people.models import Leave, Shift, Skill, WorkingWeek
from jobsite.people.queries.hours import away, can_on, hours_on, skills_of
from jobsite.sorting import sort_key
from remedials.quotes.models import Answer, LineAnswer, Offer
from remedials.visits.models import ClosedDays, DiaryTerms
from remedials.visits.queries.checks import findings
from remedials.visits.queries.terms import diary_terms
from remedials.visits.rules.checks import Check, Severity
from tests.factories import (
    NOON,
    TODAY,
    anybody,
    make_answered,
    make_board,
    make_circuit,
    make_feed,
    make_observation,
    make_remedial,
    make_see_to,
    make_sent_offer,
    make_site,
    make_user,
    make_visit,
)

HOUR = timedelta(hours=1)
USUAL = (time(8), time(16, 30))


def checked(site, remedials, engineers, **more) -> dict[str, str]:
    usual = {"start": NOON + 24 * HOUR, "end": NOON + 25 * HOUR, "now": NOON}
    found = findings(site=site, remedials=remedials, engineers=engineers, **usual | more)
    return {one.check.value: one.sentence for one in found}


def work_at(site, **more):
    more.setdefault("stage", "approved")
    return make_remedial(make_observation(site, on=TODAY), **more)


# --- people's hours ---------------------------------------------------------------------------------------------------


def set_week(user, holds_from, shifts) -> None:
    week = WorkingWeek.objects.create(user=user, holds_from=holds_from, recorded_by=anybody("manager"))
    Shift.objects.bulk_create(Shift(week=week, weekday=n, start=a, end=b) for n, a, b in shifts)


def test_hours_follow_the_week_that_holds_and_the_clock_in_london(engineer, other_engineer) -> None:
    set_week(engineer, date(2026, 1, 1), [(n, time(7), time(15)) for n in range(5)])
    set_week(engineer, date(2026, 10, 26), [(5, time(9), time(13))])
    first, last = date(2026, 10, 23), date(2026, 10, 31)  # the clocks go back on 25 October 2026
    found = hours_on([engineer, other_engineer], first, last, usual=USUAL)
    hours = {on: f"{s[0]:%d %H}–{s[1]:%d %H}" for (pk, on), s in found.items() if pk == engineer.pk and s}
    assert hours == {date(2026, 10, 23): "23 06–23 14", date(2026, 10, 31): "31 09–31 13"}
    usual = [on.day for (pk, on), span in found.items() if pk == other_engineer.pk and span]
    assert usual == [23, 26, 27, 28, 29, 30]


@pytest.mark.parametrize(
    ("on", "hours"),
    [
        (date(2026, 3, 28), (8, 16)),  # Saturday, the day before the clocks go forward: London keeps UTC
        (date(2026, 3, 29), (7, 15)),  # they went forward at 01:00 UTC
        (date(2026, 10, 24), (7, 15)),
        (date(2026, 10, 25), (8, 16)),  # they went back at 01:00 UTC
        (date(2028, 2, 29), (8, 16)),
    ],
)
def test_hours_across_the_clock_changes(engineer, on, hours) -> None:
    """The last Sundays of March and October at 01:00 UTC: The Summer Time Order 2002 (SI 2002/262), from memory."""
    set_week(engineer, date(2026, 1, 1), [(n, time(8), time(16)) for n in range(7)])
    start, end = hours_on([engineer], on, on, usual=USUAL)[engineer.pk, on]
    assert ((start.hour, end.hour), end - start) == (hours, 8 * HOUR)


def test_a_shift_over_the_missing_hour_is_an_hour_shorter_and_over_the_double_hour_longer(engineer) -> None:
    set_week(engineer, date(2026, 1, 1), [(6, time(0, 30), time(3, 30))])
    for on, hours in ((date(2026, 3, 22), 3), (date(2026, 3, 29), 2), (date(2026, 10, 25), 4)):
        start, end = hours_on([engineer], on, on, usual=USUAL)[engineer.pk, on]
        assert end - start == hours * HOUR


def test_hours_of_many_are_read_in_two_statements(db, django_assert_num_queries) -> None:
    people = [make_user(f"{word} Wireman", "engineer") for word in ("Ada", "Bea", "Cas", "Dot")]
    for user in people:
        set_week(user, TODAY, [(0, time(8), time(12))])
    for some in (people[:1], people):
        with django_assert_num_queries(2):
            hours_on(some, TODAY, TODAY + timedelta(13), usual=USUAL)


def test_who_is_away_and_what_they_can_do_on_a_day(engineer) -> None:
    by = anybody("manager")
    leave = Leave.objects.create(user=engineer, first=TODAY, last=TODAY + timedelta(2), recorded_by=by)
    Leave.objects.create(user=engineer, first=TODAY, last=TODAY, withdrawn_at=NOON, recorded_by=by)
    assert away([engineer], TODAY + timedelta(2), TODAY + timedelta(9)) == [leave]
    assert away([engineer], TODAY + timedelta(3), TODAY + timedelta(9)) == []
    for name, until in (("Boards", None), ("Fire alarms", TODAY)):
        Skill.objects.create(user=engineer, name=name, sort=sort_key(name), since=TODAY, until=until)
    skills = skills_of([engineer])[engineer.pk]
    assert can_on(skills, TODAY) == {"boards", "fire alarms"}
    assert can_on(skills, TODAY + timedelta(1)) == {"boards"}
    assert can_on(skills, TODAY - timedelta(1)) == frozenset()


# --- what does not fit ------------------------------------------------------------------------------------------------


def test_nothing_is_said_where_all_fits(engineer) -> None:
    site = make_site()
    assert checked(site, [work_at(site)], [engineer]) == {}


def test_people(engineer) -> None:
    site, by = make_site(), anybody("manager")
    tomorrow = TODAY + timedelta(1)
    learner = make_user("Ben Learner", "engineer", apprentice=True, subcontractor=True, insured_until=TODAY)
    Leave.objects.create(user=learner, first=tomorrow, last=tomorrow, what="training", recorded_by=by)
    found = checked(site, [work_at(site, skill="Fire alarms", crew=2)], [learner], end=NOON + 40 * HOUR)
    assert set(found) == {"hours", "leave", "insurance", "alone", "skill", "crew"}
    Skill.objects.create(user=engineer, name="Fire  Alarms", sort=sort_key("Fire  Alarms"), since=TODAY)
    assert "skill" not in checked(site, [work_at(site, skill="fire alarms")], [engineer])
    Skill.objects.update(until=tomorrow)
    assert "skill" not in checked(site, [work_at(site, skill="fire alarms")], [engineer])
    found = checked(site, [work_at(site, skill="fire alarms")], [engineer], end=NOON + 48 * HOUR)
    assert "nobody who goes has it on each day from" in found["skill"]


def test_work(engineer) -> None:
    site = make_site()
    row = work_at(site, parts_ready_on=TODAY + timedelta(3), minutes=90)
    make_see_to(site, remedial=row)
    row.observations.update(remedy_by=TODAY)  # today would be in time, tomorrow is not
    assert set(checked(site, [row], [engineer])) == {"parts", "see-to", "remedy-by", "too-short"}


def test_a_consumers_days_to_cancel(engineer) -> None:
    row = make_remedial(make_observation(make_site()), stage="quoted")
    offer = make_sent_offer(row)
    said = make_answered(offer)["quote-answers"]

    Offer.objects.filter(pk=offer.pk).update(consumer=True)
    for line in offer.lines.all():
        LineAnswer.objects.create(answer=said, line=line, says="yes")
    for asked in (None, False):
        Answer.objects.update(begin_at_once=asked)
        found = checked(row.site, [row], [engineer])
        assert f"until {(TODAY + timedelta(14)).day} " in found["cancellation"]
    Answer.objects.update(begin_at_once=True)
    assert checked(row.site, [row], [engineer]) == {}


def test_the_place(engineer) -> None:
    site = make_site()
    ClosedDays.objects.create(site=site, first=TODAY, last=TODAY + timedelta(4), why="Exams")
    christmas = NOON.replace(month=12, day=25, hour=10)
    found = checked(site, [work_at(site)], [engineer], start=christmas, end=christmas + HOUR)
    assert found["bank-holiday"] == "25 Dec 2026 is a bank holiday: Christmas Day."
    assert "access" in checked(site, [work_at(site)], [engineer])


def test_driving_from_the_visit_before(engineer) -> None:
    site = make_site(latitude="52.00000", longitude="-1.00000")
    far = make_site("Far Barn", latitude="52.50000", longitude="-1.00000")
    make_visit(far, engineers=[engineer], start=NOON + 22 * HOUR, hours=1.5)
    found = checked(site, [work_at(site)], [engineer])
    # 0.5 degrees of latitude are 55.6 km (60 nautical miles a degree); times 1.3 at 40 km/h: 109 minutes.
    assert "about 109 minutes, and 30 minutes are left" in found["driving"]


def lock_site(quantity: str = "loop-impedance"):
    from remedials.works.models import RequiredReading

    site = make_site()
    main = make_board(site, "Main")
    sub = make_board(site, "Sub", fed=False)
    make_feed(sub, make_circuit(main, 1))
    row = work_at(site)
    RequiredReading.objects.create(remedial=row, circuit=make_circuit(sub, 3), quantity=quantity)
    return site, main, row


@pytest.mark.parametrize(("quantity", "refused"), [("loop-impedance", True), ("insulation-resistance", False)])
def test_live_tests_below_a_lock_off_of_somebody_else(engineer, quantity, refused) -> None:
    from inspections.models import MadeSafe

    site, main, row = lock_site(quantity)
    seen = make_observation(site, board=main)
    MadeSafe.objects.create(
        observation=seen, how="locked", what="Main switch off", agreed_with="Petra", key_holder="Una", at=NOON,
        by=make_user("Una", "engineer"), look_again_on=TODAY,
    )  # fmt: skip
    DiaryTerms.objects.create(holds_from=TODAY, severities={"lock-off": "silent"})
    found = findings(
        site=site, remedials=[row], engineers=[engineer], start=NOON + 24 * HOUR, end=NOON + 25 * HOUR, now=NOON
    )
    assert [(one.check, one.severity) for one in found] == ([(Check.LOCK_OFF, Severity.REFUSE)] if refused else [])
    MadeSafe.objects.update(by=engineer)
    assert checked(site, [row], [engineer]) == {}


def test_a_lock_off_without_its_board_is_warned_of_before_live_tests(engineer) -> None:
    from inspections.models import MadeSafe

    site, _, row = lock_site()
    MadeSafe.objects.create(
        observation=make_observation(site), how="locked", what="Isolator in the yard", agreed_with="Petra",
        key_holder="Una", at=NOON, by=make_user("Una", "engineer"), look_again_on=TODAY,
    )  # fmt: skip
    usual = {"site": site, "engineers": [engineer], "start": NOON + 24 * HOUR, "end": NOON + 25 * HOUR, "now": NOON}
    found = findings(remedials=[row], locks="Lift firm, main isolator", **usual)
    assert [(one.check, one.severity) for one in found] == [(Check.LOCKS, Severity.WARN)] * 2
    assert ["Isolator in the yard" in found[0].sentence, "Lift firm" in found[1].sentence] == [True, True]
    assert findings(remedials=[work_at(site)], locks="Lift firm", **usual) == []


def test_an_outage_of_another_visit_takes_the_power_that_is_needed(engineer, other_engineer) -> None:
    site, main, row = lock_site()
    off = make_remedial(make_observation(site, board=main), stage="booked", power_off=True)
    other = make_visit(site, off, engineers=[other_engineer], start=NOON + 24 * HOUR)
    assert f"visit {other.number}" in checked(site, [row], [engineer])["outage"]
    assert checked(site, [row], [engineer], visit=other) == {}
    make_visit(site, row, engineers=[engineer], start=NOON + 48 * HOUR)
    again = checked(site, [off], [other_engineer], start=NOON + 48 * HOUR, end=NOON + 49 * HOUR)
    assert "This takes the power away" in again["outage"]


def test_work_that_moves_to_this_visit_is_no_outage_of_the_visit_it_leaves(engineer, other_engineer) -> None:
    site, main, row = lock_site()
    off = make_remedial(make_observation(site, board=main), stage="booked", power_off=True)
    make_visit(site, off, engineers=[other_engineer], start=NOON + 24 * HOUR)
    assert "outage" in checked(site, [row], [engineer])
    assert "outage" not in checked(site, [row, off], [engineer])


def test_nobody_tests_live_while_another_works_dead_on_the_same_board(engineer, other_engineer) -> None:
    site, main, row = lock_site()
    row.power_off = True  # it takes the power away, and ends with a live test
    row.save()
    off = make_remedial(make_observation(site, board=main), stage="booked", power_off=True)
    other = make_visit(site, off, engineers=[other_engineer], start=NOON + 24 * HOUR)
    assert f"visit {other.number}" in checked(site, [row], [engineer])["outage"]
    assert "outage" not in checked(site, [row], [engineer], start=NOON + 48 * HOUR, end=NOON + 49 * HOUR)


def test_an_emergency_says_what_must_be_seen_to_first_and_is_not_kept_away_by_it(engineer) -> None:
    site = make_site()
    row = work_at(site)
    make_see_to(site, remedial=row)
    when = {"start": NOON + 24 * HOUR, "end": NOON + 25 * HOUR, "now": NOON}
    for taken in ("refuse", "silent"):
        DiaryTerms.objects.update_or_create(holds_from=TODAY, defaults={"severities": {"see-to": taken}})
        found = findings(site=site, remedials=[row], engineers=[engineer], emergency=True, **when)
        assert [(one.check, one.severity) for one in found] == [(Check.SEE_TO, Severity.WARN)]


def test_as_strictly_as_the_firm_takes_it(engineer) -> None:
    site = make_site()
    row = work_at(site, parts_ready_on=TODAY + timedelta(3))
    DiaryTerms.objects.create(holds_from=TODAY, severities={"parts": "warn"})
    DiaryTerms.objects.create(holds_from=TODAY + timedelta(9), severities={"parts": "silent"})
    assert diary_terms(TODAY - timedelta(1)).pk not in set(DiaryTerms.objects.values_list("pk", flat=True))

    def severity(day: int) -> list[Severity]:
        start = NOON + day * 24 * HOUR
        row.parts_ready_on = (start + timedelta(3)).date()
        found = findings(site=site, remedials=[row], engineers=[engineer], start=start, end=start + HOUR, now=NOON)
        return [one.severity for one in found if one.check == Check.PARTS]

    assert severity(1) == [Severity.WARN]
    assert severity(9) == []


def test_many_are_looked_over_in_as_many_statements_as_one(
    engineer, other_engineer, django_assert_max_num_queries
) -> None:
    site = make_site(latitude="52.00000", longitude="-1.00000")
    work = [work_at(site, skill="x") for _ in range(3)]
    far = make_site("Far Barn", latitude="52.50000", longitude="-1.00000")
    for who in (engineer, other_engineer):
        make_visit(far, engineers=[who], start=NOON + 22 * HOUR, hours=1.5)
    for some, people in ((work[:1], [engineer]), (work, [engineer, other_engineer])):
        with django_assert_max_num_queries(20):
            checked(site, some, people)
