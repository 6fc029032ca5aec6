"""Digests: who is told of what, under which heading, in the words of the page; nothing is lost when one never went out."""

from datetime import date, timedelta
from random import Random

import pytest
from django.core import mail

from inspections.models import InspectionDue
from jobsite.firm.operations import beat
from jobsite.messages.models import Message
from remedials.due.models import DueRow, ReminderRule, Reminding, Undertaking
from remedials.due.operations import send, sweep
from remedials.due.operations.undertaking import have_it
from remedials.due.queries import active_staff
from remedials.due.queries.digesting import DANGER, HEADINGS, LOOSE, MOST_LINES, PASSED_ON, said_to
from remedials.due.queries.explaining import hearers_in_time
from remedials.due.queries.rows import NO_DATE, group_of
from remedials.due.queries.settings import rules_in_force
from remedials.due.rules.hearers import hearers
from remedials.due.rules.levels import Level, heard_by, said_on
from remedials.due.rules.sorts import sort_of
from tests.factories import (
    NOON,
    TODAY,
    make_competence,
    make_inspection,
    make_instrument,
    make_key,
    make_observation,
    make_qualified,
    make_remedial,
    make_sent_offer,
    make_site,
    make_terms,
    make_user,
    unit_of,
)

pytestmark = pytest.mark.django_db
A_DAY = timedelta(days=1)  # TODAY is a Tuesday


def digest_of(person, day=TODAY):
    """The digest of `person` for `day` by its headings: the lines below each, without their links."""
    body = Message.objects.get(occasion=f"digest {person.pk} {day}").body.partition("\n\nThe whole list")[0]
    found = {}
    for part in body.split("\n\n"):
        heading, *lines = part.splitlines()
        found[heading] = [line.removeprefix("- ") for line in lines if not line.startswith("  ")]
    return found


def told(day=TODAY):
    """Who has a digest for `day`."""
    rows = Message.objects.filter(reason_kind="digest", occasion__endswith=f" {day}")
    return set(rows.values_list("to_id", flat=True))


# --- what is said to whom ---------------------------------------------------------------------------------------------


def test_danger_stands_apart_at_the_top_for_all_who_hear_of_it(site, engineer, qualified, manager, office):
    make_observation(site, text="Blank missing", owner=engineer, by=engineer)
    make_observation(site, text="Live parts", code="C1", owner=engineer, by=engineer, step_by=TODAY + 9 * A_DAY)
    sweep(now=NOON)
    line = "C1 Make it safe, then decide what it needs: Live parts (Sample House), by 12 Feb 2026"
    assert digest_of(engineer) == {
        "Danger present, not made safe (1)": [line],
        "Today (1)": ["C2 Decide what it needs: Blank missing (Sample House), by today"],
    }
    for person in (qualified, manager):
        assert digest_of(person) == {"Danger present, not made safe (1)": [f"{line}, with {engineer.name}"]}
    assert told() == {engineer.pk, qualified.pk, manager.pk}


def test_what_nobody_acts_on_is_passed_on_until_somebody_does(site, engineer, qualified, manager):
    seen = make_observation(site, owner=engineer, by=engineer)
    days = [TODAY + n * A_DAY for n in (0, 1, 2, 3, 6)]
    for n, day in enumerate(days):
        sweep(now=NOON + (day - TODAY))
        assert told(day) == {0: {engineer.pk}, 1: {engineer.pk}}.get(
            n, {engineer.pk, qualified.pk} if n < 4 else {engineer.pk, qualified.pk, manager.pk}
        )
    line = f"C2 Decide what it needs: Cover missing (Sample House), 6 days late, with {engineer.name}"
    assert digest_of(manager, days[-1]) == {"Passed on to you: nobody has acted (1)": [line]}
    seen.step_by = days[-1] + 2 * A_DAY  # whoever moves its day has acted
    seen.save()
    sweep(now=NOON + (days[-1] - TODAY) + A_DAY)
    assert told(days[-1] + A_DAY) == {engineer.pk}


def test_a_row_in_hand_is_quiet_until_the_day_after(site, engineer, office):
    seen = make_observation(site, owner=engineer, by=engineer)
    have_it("decide", seen.pk, until=TODAY + 2 * A_DAY, reason="the part is on its way", by=office, now=NOON)
    for n in range(4):
        sweep(now=NOON + n * A_DAY)
    assert [told(TODAY + n * A_DAY) for n in range(4)] == [set(), set(), set(), {office.pk}]
    line = "C2 Decide what it needs: Cover missing (Sample House), 3 days late"
    assert digest_of(office, TODAY + 3 * A_DAY)["Late (1)"][0].startswith(line)


def test_a_danger_in_hand_is_still_said_and_says_who_has_it(site, engineer, manager):
    seen = make_observation(site, code="C1", owner=None, by=engineer)
    have_it("decide", seen.pk, until=TODAY + 2 * A_DAY, reason="on my way", by=engineer, now=NOON)
    sweep(now=NOON)
    has = f"{engineer.name} has it until Thu 5 Feb: on my way"
    [line] = digest_of(manager)["Danger present, not made safe (1)"]
    assert line.endswith(has)
    body = Message.objects.get(occasion=f"danger {seen.pk} {TODAY} {manager.pk}").body
    assert f"{has}." in body


def test_loose_ends_reach_the_office_under_their_own_heading(site, office, manager, engineer):
    make_observation(site, owner=None, step_by=None, by=engineer)
    sweep(now=NOON)
    line = "C2 Decide what it needs: Cover missing (Sample House), loose end, no date, nobody has it"
    assert digest_of(office) == digest_of(manager) == {"Loose ends (1)": [line]}
    assert told() == {office.pk, manager.pk}


def test_a_person_who_has_left_is_told_nothing_and_the_office_stands_in(site, office, engineer):
    make_observation(site, code="C3", owner=engineer, by=engineer)
    engineer.is_active = False
    engineer.save()
    sweep(now=NOON)
    assert told() == {office.pk}
    assert f"with {engineer.name} (has left)" in digest_of(office)["Today (1)"][0]


def test_prices_are_told_to_those_only_who_see_them(site, engineer, office, qualified, manager):
    make_terms()
    offer = make_sent_offer(sites=[site], prices=[{}], by=office)
    offer.quote.chase_on = TODAY - 30 * A_DAY
    offer.quote.owner = engineer
    offer.quote.save()
    sweep(now=NOON)
    assert told() == {office.pk, manager.pk}  # the owner may not see it: the office stands in, the managers hear of it


def test_many_rows_of_one_sort_are_counted_and_the_first_of_them_listed(site, office):
    for n in range(MOST_LINES + 3):
        make_observation(site, text=f"Defect {n}", owner=office, by=office, on=TODAY - (n + 1) * A_DAY)
    sweep(now=NOON)
    [(heading, lines)] = digest_of(office).items()
    assert heading == f"Late ({MOST_LINES + 3})"
    assert (len(lines), lines[-1]) == (MOST_LINES + 1, "and 3 more: http://localhost:8000/")
    assert f"Defect {MOST_LINES + 2} " in lines[0]  # the longest late comes first


def test_each_line_leads_to_the_very_step(site, office):
    seen = make_observation(site, owner=office, by=office)
    sweep(now=NOON)
    assert f"\n  http://localhost:8000/due/decide/{seen.pk}/\n" in Message.objects.get().body


def test_a_digest_costs_the_same_however_many_rows_and_people(
    site, engineer, office, manager, django_assert_num_queries
):
    costs = []
    for name in ("digests", "sweep"):
        beat(name, now=NOON - A_DAY)
    for _ in range(2):
        for n in range(5):
            make_observation(site, owner=engineer, by=office, text=f"Defect {n}", on=TODAY - 9 * A_DAY)
        make_user(f"Another{len(costs)}", "engineer")
        Message.objects.all().delete()
        with django_assert_num_queries(sweep_cost := 67, exact=False) as found:
            sweep(now=NOON + len(costs) * A_DAY)
        costs.append(len(found))
    assert costs[0] == costs[1] <= sweep_cost


# --- on which days ----------------------------------------------------------------------------------------------------


def test_digests_come_on_working_days_from_the_firms_time_on(site, office):
    Reminding.objects.create(working_days=[2, 4], inspection_days=[30], digest_at="09:30")
    make_observation(site, owner=office, by=office)
    ten = NOON.replace(hour=10)
    sweep(now=NOON.replace(hour=9, minute=29))
    assert told() == set()
    for n in range(6):
        sweep(now=ten + n * A_DAY)
    assert [bool(told(TODAY + n * A_DAY)) for n in range(6)] == [True, False, True, False, False, False]


def test_a_bank_holiday_has_no_digest_but_danger_is_still_told(site, manager):
    seen = make_observation(site, code="C1", owner=manager, by=manager, on=date(2026, 4, 2))
    friday = NOON.replace(month=4, day=3)  # Good Friday 2026, a bank holiday in each nation (gov.uk/bank-holidays)
    sweep(now=friday)
    assert [m.occasion for m in Message.objects.all()] == [f"danger {seen.pk} 2026-04-03 {manager.pk}"]


def test_nothing_more_is_said_on_the_same_day(site, office):
    make_observation(site, owner=office, by=office)
    sweep(now=NOON)
    make_observation(site, owner=make_user("Nina Newcome", "engineer"), by=office)
    sweep(now=NOON + timedelta(hours=4))
    assert told() == {office.pk}


def weekly(site, office):
    """A C3 that is late, and is said on the 7th, 14th … day after its own."""
    return make_observation(site, code="C3", owner=office, by=office, on=TODAY - 7 * A_DAY)


def test_what_fell_on_days_without_a_sweep_is_made_good(site, office):
    weekly(site, office)
    make_competence(office)  # anything, so that the digest before has nothing to do with it
    beat("digests", now=NOON - 3 * A_DAY)
    sweep(now=NOON + A_DAY)  # the clockwork stood still on the seventh day
    assert told(TODAY + A_DAY) == {office.pk}
    assert "8 days late" in digest_of(office, TODAY + A_DAY)["Late (1)"][0]


def test_what_a_digest_said_that_never_went_out_is_said_again(site, office):
    weekly(site, office)
    sweep(now=NOON)
    sweep(now=NOON + A_DAY)  # the mail server was down all day
    send(now=NOON + A_DAY)
    assert [m.subject for m in mail.outbox] == ["Due on 4 Feb 2026: 1"]
    states = dict(Message.objects.values_list("occasion", "state"))
    assert states == {f"digest {office.pk} {TODAY}": "dropped", f"digest {office.pk} {TODAY + A_DAY}": "sent"}
    assert Message.objects.get(state="dropped").error == "A newer digest has what it said."
    sweep(now=NOON + 2 * A_DAY)
    assert told(TODAY + 2 * A_DAY) == set()  # it was said on the 4th, and is again on the 10th


def test_a_digest_is_dropped_also_where_the_next_day_has_nothing_to_say(site, office):
    seen = make_observation(site, owner=office, by=office)
    sweep(now=NOON)
    seen.ended, seen.ended_on = "remedied", TODAY
    seen.save()
    sweep(now=NOON + A_DAY)
    send(now=NOON + A_DAY)
    assert mail.outbox == []


def test_whoever_left_before_it_was_sent_gets_nothing(site, engineer, office):
    make_observation(site, code="C1", owner=engineer, by=office)
    sweep(now=NOON)
    engineer.is_active = False
    engineer.save()
    send(now=NOON)
    assert mail.outbox == []
    errors = set(Message.objects.filter(to_id=engineer.pk).values_list("state", "error"))
    assert errors == {("dropped", "Whoever it was for no longer works here.")}


# --- the statement and the rules say the same -------------------------------------------------------------------------


def world(random):
    """A firm with people of every sort, and rows of many kinds, owners and days."""
    manager, office, engineer = make_user("M", "manager"), make_user("O", "office"), make_user("E", "engineer")
    lent = make_user("L", "engineer", subcontractor=True, insured_until=TODAY + 3 * A_DAY)
    left = make_user("Gone", "engineer")
    left.is_active = False
    left.save()
    make_qualified("Q"), make_competence(office, since=TODAY - 400 * A_DAY, until=TODAY + 5 * A_DAY)
    owners = [manager, office, engineer, lent, left, None]
    sites = [make_site(f"Place {n}") for n in range(3)]
    for _ in range(40):
        day = TODAY + random.randint(-40, 40) * A_DAY
        seen = make_observation(
            random.choice(sites), code=random.choice(["", "C1", "C2", "FI", "C3"]), by=office, owner=random.choice(owners),
            made_safe=random.random() < 0.5, step_by=random.choice([day, day, day, None]),
        )  # fmt: skip
        if random.random() < 0.3:
            seen.step_by = day
            seen.save()
            make_remedial(seen, owner=random.choice(owners), step_by=day, by=office)
    make_terms()
    for owner in (office, engineer):
        offer = make_sent_offer(sites=[sites[0]], prices=[{}], by=office)
        offer.quote.owner, offer.quote.chase_on = owner, TODAY + random.randint(-9, 9) * A_DAY
        offer.quote.save()
    make_instrument(check_due=TODAY + 4 * A_DAY)
    make_inspection(sites[1], issued=False, by=engineer)
    make_key(sites[2], out_to=lent, back_by=TODAY - A_DAY)
    InspectionDue.objects.create(
        unit=unit_of(sites[0]),
        due_on=TODAY + 20 * A_DAY,
        basis="as recommended",
        shows_from=TODAY - A_DAY,
        owner=office,
    )
    for row in random.sample(list(DueRow.objects.order_by("kind", "ref")), 15):
        Undertaking.objects.create(
            kind=row.kind, ref=row.ref, site=row.site, by=office, reason="a test's own", at=NOON, due_was=row.due,
            instead_of=row.owner, until=TODAY + random.randint(-3, 3) * A_DAY,
        )  # fmt: skip


def by_the_rules(people, since, days, today):
    """What each is told by heading, each row looked at by itself with the pure rules."""
    found = {}
    lent = {person.key for person in people if person.subcontractor}
    for row in DueRow.objects.filter(shows_from__lte=today, shows_until__gte=today):
        danger = row.code == "C1" and not row.made_safe
        due = None if row.due == NO_DATE else row.due
        facts = {
            "due": due, "loose": row.loose, "in_hand_until": row.in_hand_until,
            "days": days[sort_of(row.kind, row.code, made_safe=row.made_safe)], "today": today,
        }  # fmt: skip
        levels = frozenset(Level) if danger else heard_by(**facts)
        undated = due is None or row.loose
        owner = (
            None if row.owner_id in lent and row.site_id else row.owner_id
        )  # who sees no site is shown none of its rows
        case = {
            "kind": row.kind,
            "owner": owner,
            "no_date_or_loose": undated,
            "today": today,
            "of_firm": row.site_id is None,
        }
        own = hearers(people, levels=levels & {Level.OWNER}, **case)
        for person in hearers(people, levels=levels, **case):
            if not danger and not said_on(since=since[person], **facts):
                continue
            heading = LOOSE if row.loose else group_of(row.due, today)
            heading = DANGER if danger else heading if person in own else PASSED_ON
            found.setdefault((person, heading), set()).add((row.kind, row.ref))
    return found


@pytest.mark.parametrize("seed", range(3))
def test_the_statement_says_what_the_rules_say(db, seed):
    random = Random(seed)
    world(random)
    people = hearers_in_time(active_staff())
    for n in range(12):
        if n == 6:
            ReminderRule.objects.create(sort="c2", before=2, every=3, qualified_after=None, manager_after=4)
            ReminderRule.objects.create(sort="quote", before=1, every=2, qualified_after=1, manager_after=None)
        today = TODAY + random.randint(-20, 20) * A_DAY
        since = {person.key: today - random.randint(1, 12) * A_DAY for person in people}
        days = rules_in_force()
        said = said_to(people, since=since, days=days, today=today)
        listed = {
            (person, heading): set(heap.keys) for person, heaps in said.items() for heading, heap in heaps.items()
        }
        assert listed == by_the_rules(people, since, days, today)
        assert all(heap.count == len(heap.keys) for heaps in said.values() for heap in heaps.values())
        assert {heading for _, heading in listed} <= set(HEADINGS)


def test_only_those_asked_for_are_told_but_the_others_still_count_as_owners(site, engineer, office):
    make_observation(site, owner=engineer, by=office)
    people = hearers_in_time(active_staff())
    assert said_to(people, since={office.pk: TODAY - A_DAY}, days=rules_in_force(), today=TODAY) == {}
