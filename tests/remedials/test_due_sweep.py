"""The sweep: each message once for its occasion, danger at once and daily, and a banner when the clockwork stops."""

import threading
from datetime import timedelta

import pytest
from django.core import mail
from django.db import connection, connections, transaction
from django.urls import reverse

from inspections.models import InspectionDue, MadeSafe, Observation
from inspections.operations import review
from jobsite.celery import app
from jobsite.firm.models import Heartbeat
from jobsite.firm.operations import beat, describe_firm
from jobsite.ledger.queries import heads
from jobsite.ledger.rules import read_heads
from jobsite.messages.models import Message
from jobsite.premises.operations.merging import merge_sites
from remedials.due.operations import SWEEP_LOCK, send, stands, sweep
from remedials.due.queries import SENDING, SWEEP
from remedials.works.models import Remedies, Waiting
from tests.factories import (
    NOON,
    TODAY,
    make_observation,
    make_remedial,
    make_site,
    make_visit,
    make_visit_line,
    unit_of,
)

pytestmark = pytest.mark.django_db
NIGHT = NOON.replace(hour=3)
SEVEN = NOON.replace(hour=7)


def occasions():
    return sorted(Message.objects.values_list("occasion", flat=True))


def dangers():
    return sorted(Message.objects.filter(danger=True).values_list("occasion", flat=True))


def test_nothing_due_writes_nothing_but_the_heartbeat(office):
    assert sweep(now=NOON) is True
    assert occasions() == []
    assert Heartbeat.objects.get(name=SWEEP).at == NOON


def test_danger_goes_to_its_owner_and_the_manager_at_once_and_then_every_morning(site, engineer, manager):
    seen = make_observation(site, code="C1", owner=engineer, by=engineer)
    told = sorted(f"danger {seen.pk} {TODAY} {person.pk}" for person in (engineer, manager))
    sweep(now=NIGHT)
    sweep(now=NIGHT + timedelta(minutes=5))
    assert occasions() == told
    for tomorrow in (NIGHT + timedelta(days=1), SEVEN + timedelta(days=1, minutes=-1)):
        sweep(now=tomorrow)
        assert occasions() == told
    for _ in range(2):
        sweep(now=SEVEN + timedelta(days=1))
        assert len(dangers()) == 4
    assert set(Message.objects.filter(danger=True).values_list("site", flat=True)) == {site.pk}


def test_in_summer_the_morning_is_by_the_clock_on_the_wall(site, manager):
    make_observation(site, code="C1", owner=manager, by=manager)
    june = NIGHT.replace(month=6)
    for at, written in ((june, 1), (june + timedelta(days=1, hours=2, minutes=59), 1), (june + timedelta(hours=27), 2)):
        sweep(now=at)
        assert len(dangers()) == written


def test_a_danger_new_to_somebody_does_not_wait_for_the_morning(site, engineer, manager):
    seen = make_observation(site, code="C1", owner=manager, by=manager)
    sweep(now=NIGHT)
    seen.owner = engineer
    seen.save()
    sweep(now=NIGHT + timedelta(days=1))
    tomorrow = TODAY + timedelta(days=1)
    assert occasions() == [f"danger {seen.pk} {TODAY} {manager.pk}", f"danger {seen.pk} {tomorrow} {engineer.pk}"]


def made_safe_once(seen, by):
    """That `seen` was made safe and is dangerous again."""
    MadeSafe.objects.create(
        observation=seen, how="locked", what="Locked off", agreed_with="The owner", key_holder="The owner", at=NOON, by=by,
        look_again_on=TODAY, ended="reconnected", ended_at=NOON,
    )  # fmt: skip


def test_a_danger_that_is_back_at_night_does_not_wait_for_the_morning(site, manager):
    seen = make_observation(site, code="C1", owner=manager, by=manager)
    sweep(now=NIGHT)
    made_safe_once(seen, manager)
    sweep(now=NIGHT + timedelta(days=1))
    assert len(occasions()) == 2


def test_a_danger_that_is_back_on_the_same_day_is_told_again(site, manager):
    seen = make_observation(site, code="C1", owner=manager, by=manager)
    sweep(now=NOON)
    made_safe_once(seen, manager)
    for minutes in (5, 10):
        sweep(now=NOON + timedelta(minutes=minutes))
    told = f"danger {seen.pk} {TODAY} {manager.pk}"
    assert dangers() == [told, f"{told} 1"]


def test_the_clockwork_reads_files_apart_from_the_sweep():
    beats = {entry["task"]: entry["schedule"] for entry in app.conf.beat_schedule.values()}
    assert beats == {
        "remedials.due.tasks.sweep": 300.0,
        "inspections.intake.tasks.read_waiting": 300.0,
        "remedials.due.tasks.send": 60.0,
        "remedials.visits.tasks.work_out_waiting": 300.0,
        "remedials.status.tasks.draw_waiting": 300.0,
        "remedials.desk.bulk.tasks.make_waiting": 300.0,
        "remedials.status.privacy.tasks.shed_past": 21_600.0,
    }
    app.loader.import_default_modules()
    assert set(beats) <= set(app.tasks)


def test_danger_made_safe_meanwhile_is_not_sent(site, engineer, manager):
    seen = make_observation(site, code="C1", owner=engineer, by=engineer)
    sweep(now=NIGHT)
    seen.made_safe = True
    seen.save()
    send(now=NIGHT)
    assert mail.outbox == []
    assert set(Message.objects.values_list("state", flat=True)) == {"dropped"}


def test_of_two_dangers_put_right_by_one_work_each_that_is_not_safe_stands(site, manager):
    """What was told of one is not dropped because the work is led by the other."""
    first, second = (make_observation(site, text, code="C1", owner=manager, by=manager) for text in ("Live", "Bare"))
    sweep(now=NIGHT)
    make_remedial(first, second, owner=manager, by=manager)
    send(now=NIGHT)
    assert set(Message.objects.values_list("state", flat=True)) == {"sent"}
    first.made_safe = True
    first.save()
    sweep(now=SEVEN + timedelta(days=1))
    tomorrow = TODAY + timedelta(days=1)
    assert f"danger {second.pk} {tomorrow} {manager.pk}" in dangers()
    assert f"danger {first.pk} {tomorrow} {manager.pk}" not in dangers()


def test_each_danger_that_one_work_is_to_put_right_is_told_by_itself(site, manager):
    """In its own words; one that is added to work that was told of already, at once and not only the next morning."""
    first, second, safe, later = (
        make_observation(site, text, code="C1", made_safe=text == "Locked off", owner=manager, by=manager)
        for text in ("Live", "Bare", "Locked off", "Broken")
    )
    make_remedial(first, second, safe, work="Renew the board", owner=manager, by=manager)
    remedial = make_remedial(later, work="Renew the cover", owner=manager, by=manager)
    sweep(now=NOON)
    told = {message.reason_ref: message for message in Message.objects.filter(reason_kind="danger")}
    assert set(told) == {first.pk, second.pk, later.pk}
    assert told[second.pk].body.startswith("Bare\nSample House\n\nCode C1")
    assert "To be put right by: Renew the board\nNext step: Price the work" in told[second.pk].body
    added = make_observation(site, "Open", code="C1", owner=None, by=manager)
    Remedies.objects.create(remedial=remedial, observation=added)
    sweep(now=NOON + timedelta(minutes=5))
    sweep(now=NOON + timedelta(minutes=10))
    assert f"danger {added.pk} {TODAY} {manager.pk}" in dangers()
    assert len(dangers()) == 4


def test_every_danger_is_told_whichever_row_carries_it(site, manager):
    """Two works share one of them; one waits by itself, before its work is due; one was declined and is in new work."""

    def seen(text):
        return make_observation(site, text, code="C1", owner=manager, by=manager)

    shared, only_in_second, waits, beside, declined, in_new_work = map(
        seen, ("One", "Two", "Three", "Four", "Five", "Six")
    )
    make_remedial(shared, owner=manager, by=manager, step_by=TODAY - timedelta(days=9))
    make_remedial(shared, only_in_second, owner=manager, by=manager)
    waiting_on(manager, observation=waits, chase_on=TODAY - timedelta(days=9))
    make_remedial(waits, beside, work="Renew the intake", owner=manager, by=manager)
    make_remedial(declined, stage="declined", owner=manager, by=manager)
    work = make_remedial(declined, in_new_work, work="Renew the tails", owner=manager, by=manager)
    waiting_on(manager, remedial=work, chase_on=TODAY - timedelta(days=9))
    sweep(now=NOON)
    told = {message.reason_ref: message.body for message in Message.objects.filter(reason_kind="danger")}
    assert set(told) == set(Observation.objects.bare().values_list("pk", flat=True))
    assert "To be put right by: Renew the intake\nNext step: Price" in told[beside.pk]
    assert "Waits on the landlord: permission\n" in told[waits.pk]
    assert "To be put right by: Renew the tails\nWaits on the landlord: permission\n" in told[in_new_work.pk]


def waiting_on(owner, **fields):
    (of,) = {"observation", "remedial"} & set(fields)
    facts = {"site": fields[of].site, "on_whom": "the landlord", "for_what": "permission", "owner": owner}
    Waiting.objects.create(**facts, recorded_by=owner, asked_on=TODAY - timedelta(days=20), **fields)


def test_one_digest_a_person_and_day_in_the_morning(site, office, engineer):
    make_observation(site, text="Blank missing", owner=engineer, on=TODAY - timedelta(days=4), by=office)
    sweep(now=NIGHT)
    assert occasions() == []
    for minutes in (0, 5, 600):
        sweep(now=NOON + timedelta(minutes=minutes))
    assert occasions() == [f"digest {engineer.pk} {TODAY}"]
    body = Message.objects.get().body
    assert body.startswith("Late (1)\n- C2 Decide what it needs: Blank missing (Sample House), 4 days late\n")


def test_the_office_hears_of_loose_ends(site, office, engineer):
    make_observation(site, text="Nobody has it", owner=None, by=engineer)
    sweep(now=NOON)
    digest = Message.objects.get(occasion=f"digest {office.pk} {TODAY}")
    assert digest.body.startswith("Loose ends (1)\n- C2 Decide what it needs: Nobody has it")
    assert not Message.objects.filter(to_id=engineer.pk).exists()


def test_a_managers_digest_carries_the_heads_of_the_ledger(site, manager):
    describe_firm(name="Bright & Sons", by=manager, now=NOON)
    make_observation(site, owner=manager, by=manager)
    sweep(now=NOON)
    assert read_heads([Message.objects.get(to_id=manager.pk).body]) == heads()


@pytest.mark.parametrize(("days", "marks"), [(91, []), (90, [90]), (31, [90]), (30, [30]), (7, [7]), (0, [7])])
def test_customers_hear_of_an_inspection_once_a_mark(site, office, days, marks):
    unit, due_on = unit_of(site), TODAY + timedelta(days=days)
    InspectionDue.objects.create(unit=unit, due_on=due_on, basis="as recommended", shows_from=TODAY, owner=None)
    sweep(now=NIGHT)
    sweep(now=NIGHT)
    assert occasions() == [f"inspection {unit.pk} {due_on} {site.customer.pk} {mark}" for mark in marks]


def test_an_inspection_done_meanwhile_is_not_announced(site):
    due = InspectionDue.objects.create(
        unit=unit_of(site), due_on=TODAY + timedelta(days=7), basis="as recommended", shows_from=TODAY
    )
    sweep(now=NIGHT)
    due.delete()
    send(now=NIGHT)
    assert mail.outbox == []


def test_nobody_is_asked_to_arrange_an_inspection_that_is_booked(site, engineer):
    InspectionDue.objects.create(
        unit=unit_of(site), due_on=TODAY + timedelta(days=7), basis="as recommended", shows_from=TODAY
    )
    sweep(now=NIGHT)
    visit = make_visit(site, engineers=[engineer], start=NOON + timedelta(days=1))
    line = make_visit_line(visit, unit=unit_of(site))
    send(now=NIGHT)  # booked meanwhile
    assert (mail.outbox, len(occasions())) == ([], 1)
    Message.objects.all().delete()
    sweep(now=NIGHT)
    assert occasions() == []
    line.active = False
    line.save()
    sweep(now=NIGHT)
    assert len(occasions()) == 1


@pytest.mark.django_db(transaction=True)
def test_two_sweeps_at_once_write_each_message_once(manager):
    site = make_site()
    for _ in range(5):
        make_observation(site, code="C1", owner=manager, by=manager)
    start, ran = threading.Barrier(3), []

    def work():
        try:
            start.wait()
            ran.append(sweep(now=NOON))
        finally:
            connections.close_all()

    threads = [threading.Thread(target=work) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert any(ran)
    assert len(occasions()) == 6  # five dangers and one digest, all to the one manager


@pytest.mark.django_db(transaction=True)
def test_a_sweep_leaves_while_another_holds_the_lock(office):
    def hold():
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [SWEEP_LOCK])
            held.set()
            done.wait(10)
        connections.close_all()

    held, done = threading.Event(), threading.Event()
    holder = threading.Thread(target=hold)
    holder.start()
    held.wait(10)
    try:
        assert sweep(now=NOON) is False
    finally:
        done.set()
        holder.join()
    assert not Heartbeat.objects.exists()


BANNER = "The reminders have stopped: they last ran on"


@pytest.mark.parametrize(("minutes", "shown"), [(29, False), (31, True)])
def test_banner_after_thirty_minutes(client, office, time_machine, minutes, shown):
    time_machine.move_to(NOON, tick=False)
    beat(SWEEP, now=NOON - timedelta(minutes=minutes))
    client.force_login(office)
    assert (BANNER in client.get(reverse("desk:due")).content.decode()) is shown


def test_banner_before_the_first_sweep(client, office):
    client.force_login(office)
    assert "The reminders have not run yet." in client.get(reverse("desk:due")).content.decode()


@pytest.mark.parametrize(
    ("swept", "sent", "code", "words"),
    [
        (29, 29, 200, ("running", "running")),
        (31, 0, 503, ("stopped", "running")),
        (0, 31, 503, ("running", "stopped")),
        (-9, -9, 200, ("running", "running")),  # two computers' clocks are a little apart
        (-11, 0, 503, ("stopped", "running")),  # of a clock that was ahead: nothing says that it runs now
    ],
)
def test_health_tells_whether_the_clockwork_runs(client, time_machine, swept, sent, code, words):
    time_machine.move_to(NOON, tick=False)
    beat(SWEEP, now=NOON - timedelta(minutes=swept))
    beat(SENDING, now=NOON - timedelta(minutes=sent))
    answer = client.get(reverse("due:health"))
    said = {"database": "up", "clockwork": words[0], "sending": words[1], "messages": "moving"}
    assert (answer.status_code, answer.json()) == (code, said)


# --- what may be dangerous and nobody has coded ------------------------------------------------------------------------


def alarming(site, **fields):
    return make_observation(site, code="", may_be_dangerous=True, reviewed=False, **fields)


def test_what_may_be_dangerous_is_told_to_its_owner_and_every_qualified_person_once(site, office, qualified, manager):
    seen = alarming(site, owner=office, by=office)
    told = sorted(f"alarm {seen.pk} {person.pk}" for person in (office, qualified))
    for at in (NIGHT, NIGHT + timedelta(minutes=5), SEVEN + timedelta(days=1)):
        sweep(now=at)
        assert dangers() == told
    message = Message.objects.filter(danger=True).first()
    assert message.subject == f"May be dangerous now: {site.name}"


def test_without_a_qualified_person_the_managers_hear_of_it(site, engineer, manager):
    seen = alarming(site, owner=engineer, by=engineer)
    sweep(now=NIGHT)
    assert dangers() == sorted(f"alarm {seen.pk} {person.pk}" for person in (engineer, manager))


def test_coded_meanwhile_nothing_is_sent(site, engineer, qualified):
    seen = alarming(site, owner=engineer, by=engineer)
    sweep(now=NIGHT)
    review(seen, decision="recode", code="C3", reason="looked at it", by=qualified, now=NIGHT)
    assert [stands(message, today=TODAY) for message in Message.objects.filter(danger=True)] == [False, False]


# --- sites recorded twice ---------------------------------------------------------------------------------------------


def test_a_message_about_a_site_that_was_recorded_twice_follows_it(site, manager):
    twice = make_site("Sample House, again", customer=site.customer)
    seen = make_observation(twice, code="C1", owner=manager, by=manager)
    sweep(now=NOON)
    merge_sites(twice, into=site, names={}, reason="recorded twice", by=manager, now=NOON)
    assert set(Message.objects.filter(danger=True).values_list("site", flat=True)) == {site.pk}
    send(now=NOON)
    danger = Message.objects.get(danger=True)
    assert (danger.state, danger.site, danger.reason_ref) == ("sent", site.pk, seen.pk)
    sweep(now=NOON + timedelta(minutes=5))
    assert len(dangers()) == 1  # it is the same danger, told already
