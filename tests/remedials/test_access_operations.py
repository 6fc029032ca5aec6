"""Getting in: what is kept of it, who may, what is refused, and that the record says so once."""

from datetime import date, time, timedelta

import pytest

from jobsite.ids import new_id, part_of
from jobsite.ledger.models import Entry, Words
from jobsite.messages.models import Message
from jobsite.messages.operations import send_to, write_messages
from jobsite.people.models import User
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.visits.models import AccessTime, AlarmCode, Attempt, CheckIn, ClosedDays, KeyMove, OccupierNote, SeeTo
from remedials.visits.operations import access, attempts, checking_in, codes, keys, seeing_to
from remedials.visits.queries.access import to_see_to, window_for, windows_of
from remedials.visits.sealing import seal, unseal
from tests.factories import (
    NOON,
    TODAY,
    Told,
    make_observation,
    make_remedial,
    make_see_to,
    make_site,
    make_unit,
    make_user,
    make_visit,
    picture,
    recorded,
)

HOUR = timedelta(hours=1)


@pytest.fixture
def site(db):
    return make_site()


@pytest.fixture
def visit(site, engineer):
    return make_visit(site, engineers=[engineer], start=NOON + HOUR)


# --- times ------------------------------------------------------------------------------------------------------------


def add_time(site, by, **more):
    usual = {"id": new_id(), "weekdays": [0, 1], "start": time(9), "end": time(12)}
    return access.add_access_time(site, by=by, now=NOON, **usual | more)


def test_access_times_are_added_once_and_removed_once(site, office) -> None:
    key = new_id()
    with recorded() as told:
        for _ in range(2):
            row = add_time(site, office, id=key, weekdays=[1, 0, 1], note=" ask at the lodge ")
        for _ in range(2):
            access.remove_access_time(row, by=office, now=NOON)
    facts = {"unit": None, "weekdays": [0, 1], "from": "09:00", "to": "12:00"}
    assert told == [
        Told("access.time-added", key, facts, {"note": "ask at the lodge"}),
        Told("access.time-removed", key, facts),
    ]
    assert not AccessTime.objects.exists()


@pytest.mark.parametrize(
    ("more", "field"),
    [({"weekdays": []}, "weekdays"), ({"end": time(9)}, "end"), ({"start": time(13)}, "end")],
)
def test_access_time_that_makes_no_sense_is_refused(site, office, more, field) -> None:
    with pytest.raises(Refused) as refused:
        add_time(site, office, **more)
    assert refused.value.field == field


def test_a_unit_of_another_site_is_refused(site, office) -> None:
    with pytest.raises(Refused, match="not of this site"):
        add_time(site, office, unit=make_unit(make_site("Elsewhere")))


def test_windows_of_a_unit_are_its_own_and_the_sites_closed_days_bind_it(site, office) -> None:
    flat, monday = make_unit(site, "Flat 7"), date(2026, 11, 30)
    add_time(site, office, weekdays=range(7))
    add_time(site, office, weekdays=[0], start=time(17), end=time(19), unit=flat)
    for _ in range(2):
        access.add_closed_days(
            site, id=part_of(site.pk, "closed"), first=monday + timedelta(7), last=monday + timedelta(9), why="Exams",
            by=office, now=NOON,
        )  # fmt: skip
    elsewhere = make_site("Elsewhere")
    found = windows_of([site, elsewhere], monday, monday + timedelta(13))
    whole = window_for(found, site.pk, None)
    assert len(whole) == 11
    assert window_for(found, site.pk, make_unit(site, "Flat 8").pk) == whole
    assert [(start.hour, end.hour) for start, end in window_for(found, site.pk, flat.pk)] == [(17, 19)]
    assert window_for(found, elsewhere.pk, None) is None


def test_windows_are_read_in_two_statements(site, office, django_assert_num_queries) -> None:
    for name in ("A", "B", "C"):
        add_time(site, office, unit=make_unit(site, name))
    with django_assert_num_queries(2):
        windows_of([site], TODAY, TODAY + timedelta(14))


def test_closed_days_out_of_order_or_without_a_why_are_refused(site, office) -> None:
    usual = {"id": new_id(), "first": TODAY, "last": TODAY, "why": "Exams", "by": office, "now": NOON}
    for more, field in (({"last": TODAY - timedelta(1)}, "last"), ({"why": " "}, "why")):
        with pytest.raises(Refused) as refused:
            access.add_closed_days(site, **usual | more)
        assert refused.value.field == field
    assert not ClosedDays.objects.exists()


# --- whom to ask ------------------------------------------------------------------------------------------------------


def test_what_to_mind_is_kept_but_never_in_the_ledger(site, office) -> None:
    flat = make_unit(site)
    with recorded() as told:
        for _ in range(2):
            row = access.note_occupier(flat, contact="Tina", mind="Oxygen at night", by=office, now=NOON, version=0)
            assert row.version == 1
    assert told == [Told("access.occupier", row.pk, {"unit": str(flat.pk), "of": ["contact", "mind"]})]
    assert not Words.objects.filter(text__contains="Oxygen").exists()
    with pytest.raises(ChangedMeanwhile):
        access.note_occupier(flat, contact="Tom", by=office, now=NOON, version=0)
    assert OccupierNote.objects.get().contact == "Tina"


@pytest.mark.parametrize("who", ["engineer", "nobody"])
def test_only_the_office_keeps_how_to_get_in(site, who) -> None:
    by = make_user("Una", who) if who != "nobody" else make_user("Nora", "office", is_active=False)
    flat = make_unit(site)
    for act in (
        lambda: add_time(site, by),
        lambda: access.note_occupier(flat, contact="Tina", by=by, now=NOON),
        lambda: codes.keep_code(site, id=new_id(), place="Hall", code="1234", by=by, now=NOON),
        lambda: keys.take_key(site, id=new_id(), tag="K9", what="door", by=by, now=NOON),
    ):
        with pytest.raises(NotAllowed):
            act()


# --- attempts ---------------------------------------------------------------------------------------------------------


def attempt(site, by, **more):
    usual = {"id": new_id(), "how": "phone", "at": NOON - HOUR, "whom": "Tina Tenant"}
    return attempts.log_attempt(site, by=by, now=NOON, **usual | more)


def test_an_attempt_is_kept_once_with_its_photograph(site, engineer) -> None:
    key = new_id()
    with recorded() as told:
        for _ in range(2):
            row = attempt(site, engineer, id=key, how="visit", said="Rang twice", photo=picture(), next_on=TODAY)
    facts = {
        "how": "visit", "at": (NOON - HOUR).isoformat(), "unit": None, "visit": None, "got_in": False,
        "next_on": TODAY.isoformat(), "photo": row.photo_id, "letter": None, "replied_on": None,
    }  # fmt: skip
    assert told == [Told("access.attempt", key, facts, {"whom": "Tina Tenant", "said": "Rang twice"})]
    assert row.photo.media_type == "image/jpeg"


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"at": NOON + HOUR}, "at"),
        ({"whom": " "}, "whom"),
        ({"reply": "No", "replied_on": TODAY + timedelta(1)}, "replied_on"),
        ({"reply": "No", "replied_on": TODAY - timedelta(1)}, "replied_on"),
        ({"photo": b"<svg>"}, "photo"),
    ],
)
def test_attempt_that_makes_no_sense_is_refused(site, office, more, field) -> None:
    with pytest.raises(Refused) as refused:
        attempt(site, office, **more)
    assert (refused.value.field, Attempt.objects.count()) == (field, 0)


def test_a_subcontractor_keeps_attempts_where_they_see_the_site_only(site) -> None:
    stranger = make_user("Sub", "engineer", subcontractor=True)
    with pytest.raises(NotAllowed):
        attempt(site, stranger)
    site.access.create(user=stranger, granted_at=NOON)
    assert attempt(site, stranger).by == stranger


def test_one_reply_and_no_second(site, office) -> None:
    row = attempt(site, office, next_on=TODAY)
    with recorded() as told:
        for _ in range(2):
            attempts.note_reply(row, reply=" Come on Friday ", replied_on=TODAY, by=office, now=NOON)
    facts = {"replied_on": TODAY.isoformat(), "next_on": None}
    assert told == [Told("access.reply", row.pk, facts, {"reply": "Come on Friday"})]
    with pytest.raises(Refused, match="kept already"):
        attempts.note_reply(row, reply="Never", replied_on=TODAY, by=office, now=NOON)


# --- keys -------------------------------------------------------------------------------------------------------------


def test_a_key_goes_out_comes_in_and_goes_back(site, office, engineer) -> None:
    key = keys.take_key(site, id=new_id(), tag="K1", what="front door", by=office, now=NOON)
    out, back = new_id(), new_id()
    for _ in range(2):
        keys.give_key_out(key, id=out, to=engineer, back_by=TODAY, by=office, now=NOON)
    with pytest.raises(Refused, match="is out to"):
        keys.give_key_back(key, id=new_id(), by=office, now=NOON)
    keys.bring_key_in(key, id=new_id(), by=engineer, now=NOON)
    for _ in range(2):
        key = keys.give_key_back(key, id=back, by=office, now=NOON)
    assert sorted(KeyMove.objects.values_list("way", "who"), key=str) == sorted(
        [("out", engineer.pk), ("in", None), ("back", None)], key=str
    )
    with pytest.raises(Refused, match="given back"):
        keys.give_key_out(key, id=new_id(), to=engineer, by=office, now=NOON)


def test_a_form_that_gave_a_key_out_before_does_so_no_more(site, office, engineer, other_engineer) -> None:
    """Sent again when the key has come in since (a phone that was away): it stays where it is, and nothing breaks."""
    key = keys.take_key(site, id=new_id(), tag="K1", what="door", by=office, now=NOON)
    out, back_in = new_id(), new_id()
    keys.give_key_out(key, id=out, to=engineer, by=office, now=NOON)
    keys.bring_key_in(key, id=back_in, by=engineer, now=NOON)
    assert keys.give_key_out(key, id=out, to=engineer, by=office, now=NOON).out_to is None
    keys.give_key_out(key, id=new_id(), to=other_engineer, by=office, now=NOON)
    assert keys.bring_key_in(key, id=back_in, by=office, now=NOON).out_to == other_engineer
    assert KeyMove.objects.count() == 3
    another = keys.take_key(site, id=new_id(), tag="K2", what="gate", by=office, now=NOON)
    with pytest.raises(Refused):
        keys.give_key_out(another, id=out, to=engineer, by=office, now=NOON)


def test_a_tag_is_used_once_and_never_tells_the_door(site, office) -> None:
    keys.take_key(site, id=new_id(), tag="K1", what="door", by=office, now=NOON)
    for tag in ("K1", f"{site.name} front", f"x {site.postcode}"):
        with pytest.raises(Refused) as refused:
            keys.take_key(site, id=new_id(), tag=tag, what="door", by=office, now=NOON)
        assert refused.value.field == "tag"


def test_only_who_has_a_key_brings_it_in(site, office, engineer, other_engineer) -> None:
    key = keys.take_key(site, id=new_id(), tag="K1", what="door", by=office, now=NOON)
    keys.give_key_out(key, id=new_id(), to=engineer, by=office, now=NOON)
    with pytest.raises(NotAllowed):
        keys.bring_key_in(key, id=new_id(), by=other_engineer, now=NOON)
    with pytest.raises(Refused, match="is out to"):
        keys.give_key_out(key, id=new_id(), to=other_engineer, by=office, now=NOON)


# --- alarm codes ------------------------------------------------------------------------------------------------------


def test_a_code_is_sealed_and_opens_with_a_former_secret(settings) -> None:
    sealed = seal("4711#")
    assert b"4711" not in sealed
    assert seal("4711#") != sealed
    settings.SECRET_KEY, settings.SECRET_KEY_FALLBACKS = "another" * 10, [settings.SECRET_KEY]
    assert unseal(sealed) == "4711#"
    settings.SECRET_KEY_FALLBACKS = []
    assert unseal(sealed) is None


def test_a_code_is_seen_by_the_booked_engineer_near_the_time_and_each_look_is_told(
    site, office, engineer, visit
) -> None:
    code = codes.keep_code(site, id=new_id(), place="Hall", code="4711#", by=office, now=NOON)
    with recorded() as told:
        seen = [codes.look_at_code(code, by=engineer, now=NOON) for _ in range(2)]
    assert seen == ["4711#"] * 2
    assert told == [Told("code.seen", code.pk, {"visit": str(visit.pk)})] * 2
    assert not Words.objects.filter(text__contains="4711").exists()
    assert not any("4711" in str(entry.facts) for entry in Entry.objects.all())


def test_nobody_else_sees_a_code_and_nobody_early_or_late(site, office, engineer, other_engineer, visit) -> None:
    code = codes.keep_code(site, id=new_id(), place="Hall", code="4711#", by=office, now=NOON)
    for by, now in (
        (office, NOON), (other_engineer, NOON), (engineer, visit.start - 2 * HOUR - timedelta(seconds=1)),
        (engineer, visit.end + 2 * HOUR + timedelta(seconds=1)),
    ):  # fmt: skip
        with pytest.raises(NotAllowed):
            codes.look_at_code(code, by=by, now=now)
    assert codes.look_at_code(code, by=engineer, now=visit.end + 2 * HOUR) == "4711#"
    visit.attendances.update(cancelled=True)
    with pytest.raises(NotAllowed):
        codes.look_at_code(code, by=engineer, now=NOON)


def test_whoever_does_no_work_any_more_sees_no_code(site, office, engineer, visit) -> None:
    code = codes.keep_code(site, id=new_id(), place="Hall", code="4711#", by=office, now=NOON)
    engineer.roles = ["office"]
    engineer.save()
    with pytest.raises(NotAllowed):
        codes.look_at_code(code, by=engineer, now=NOON)


def test_a_retired_code_is_erased(site, office, engineer, visit) -> None:
    code = codes.keep_code(site, id=new_id(), place="Hall", code="4711#", by=office, now=NOON)
    for _ in range(2):
        codes.retire_code(code, by=office, now=NOON)
    assert bytes(AlarmCode.objects.get().sealed) == b""
    with pytest.raises(Refused, match="can no longer be read"):
        codes.look_at_code(code, by=engineer, now=NOON)


# --- seeing to --------------------------------------------------------------------------------------------------------


def test_what_must_be_seen_to_counts_until_it_is_met_and_again_when_it_ran_out(site, office) -> None:
    flat = make_unit(site, "Flat 9")
    remedial = make_remedial(make_observation(site, unit=flat), stage="approved", unit=flat)
    other = make_remedial(make_observation(site), stage="approved")
    whole = make_see_to(site, by=TODAY)
    of_flat = make_see_to(site, unit=flat, by=TODAY + timedelta(1))
    mine = make_see_to(site, remedial=other, by=TODAY + timedelta(2))
    assert to_see_to([remedial, other], TODAY) == {remedial.pk: [whole, of_flat], other.pk: [whole, mine]}
    until = TODAY + timedelta(9)
    with recorded() as told:
        for _ in range(2):
            seeing_to.note_met(whole, met_on=TODAY, met_how="Read", holds_until=until, by=office, now=NOON, version=1)
    facts = {"met_on": TODAY.isoformat(), "holds_until": until.isoformat()}
    assert told == [Told("see-to.met", whole.pk, facts, {"how": "Read"})]
    assert to_see_to([remedial], until) == {remedial.pk: [of_flat]}
    whole.refresh_from_db()
    assert to_see_to([remedial], until + timedelta(1)) == {remedial.pk: [whole, of_flat]}
    for _ in range(2):
        seeing_to.need_not(of_flat, why="It was never let", by=office, now=NOON)
    assert to_see_to([remedial], until) == {}


def test_see_to_is_refused_where_it_makes_no_sense(site, office) -> None:
    row = make_see_to(site)
    for more, field in (
        ({"met_on": TODAY + timedelta(1)}, "met_on"),
        ({"met_how": " "}, "met_how"),
        ({"holds_until": TODAY - timedelta(1)}, "holds_until"),
    ):
        with pytest.raises(Refused) as refused:
            seeing_to.note_met(row, **{"met_on": TODAY, "met_how": "Read", "by": office, "now": NOON} | more)
        assert refused.value.field == field
    with pytest.raises(ChangedMeanwhile):
        seeing_to.note_met(row, met_on=TODAY, met_how="Read", by=office, now=NOON, version=7)
    assert SeeTo.objects.get().met_on is None


# --- working alone ----------------------------------------------------------------------------------------------------


def go_in(visit, engineer, **more):
    usual = {"id": new_id(), "out_by": NOON + 2 * HOUR, "now": NOON}
    return checking_in.check_in(visit, by=engineer, **usual | more)


def test_in_longer_and_out(visit, engineer) -> None:
    key, later = new_id(), NOON + 3 * HOUR
    with recorded() as told:
        for _ in range(2):
            row = go_in(visit, engineer, id=key)
            row = checking_in.stay_longer(row, out_by=later, by=engineer, now=NOON + HOUR)
        for _ in range(2):
            checking_in.check_out(row, by=engineer, now=later)
    assert told == [
        Told("check-in.in", key, {"out_by": (NOON + 2 * HOUR).isoformat()}),
        Told("check-in.stays", key, {"out_by": later.isoformat()}),
        Told("check-in.out", key),
    ]
    assert CheckIn.objects.get().out_at == later


def test_check_in_is_refused_elsewhere_or_without_sense(visit, engineer, other_engineer) -> None:
    with pytest.raises(NotAllowed):
        go_in(visit, other_engineer)
    for out_by in (NOON, NOON + 17 * HOUR):
        with pytest.raises(Refused) as refused:
            go_in(visit, engineer, out_by=out_by)
        assert refused.value.field == "out_by"
    go_in(visit, engineer)
    with pytest.raises(Refused, match="still checked in"):
        go_in(visit, engineer)


def test_the_alarm_goes_to_office_and_managers_once_a_time_said(visit, engineer, office, manager) -> None:
    row = go_in(visit, engineer)
    due = NOON + 2 * HOUR + timedelta(minutes=30)
    assert checking_in.overdue_messages(due - timedelta(seconds=1)) == []
    staff = set(User.objects.filter(is_active=True, roles__overlap=["office", "manager"]).values_list("pk", flat=True))
    written = [write_messages(checking_in.overdue_messages(due)) for _ in range(2)]
    messages = checking_in.overdue_messages(due)
    assert written == [len(staff), 0]
    assert {message.to_id for message in messages} == staff
    assert all(message.danger and engineer.name in message.subject for message in messages)
    assert all(map(checking_in.alarm_stands, messages))
    for _ in range(2):
        checking_in.found_safe(row, how="Spoke to her, she is in the van", by=office, now=due)
    assert (checking_in.overdue(due), [*map(checking_in.alarm_stands, messages)]) == ([], [False] * len(messages))


def test_an_alarm_that_came_back_goes_to_another_address(visit, engineer, office) -> None:
    row = go_in(visit, engineer)
    due = NOON + 2 * HOUR + timedelta(minutes=30)
    write_messages(checking_in.overdue_messages(due))
    Message.objects.update(state="failed", settled_at=due)
    first = Message.objects.get(to_id=office.pk)
    anew = send_to(first, address="office@example.net", by=office, now=due)
    assert checking_in.alarm_stands(anew)
    checking_in.found_safe(row, how="Spoke to her, she is in the van", by=office, now=due)
    assert not checking_in.alarm_stands(anew)


@pytest.mark.parametrize("minutes", [-240, -45, 75, 330])
def test_who_comes_for_a_visit_at_night_checks_in_across_midnight(site, engineer, minutes) -> None:
    """NOON is in winter, when London's clock shows UTC: the visit is from half past midnight to two."""
    start = NOON + 12 * HOUR + timedelta(minutes=30)
    visit = make_visit(site, engineers=[engineer], start=start, hours=1.5)
    at = start + timedelta(minutes=minutes)
    row = go_in(visit, engineer, out_by=at + HOUR, now=at)
    assert row.in_at == at


def test_nobody_checks_in_five_hours_before_a_visit_at_night(site, engineer) -> None:
    start = NOON + 12 * HOUR + timedelta(minutes=30)
    visit, at = make_visit(site, engineers=[engineer], start=start), start - 5 * HOUR
    with pytest.raises(Refused, match="check in when you are there"):
        go_in(visit, engineer, out_by=at + HOUR, now=at)


def test_nobody_checks_in_on_another_day(site, engineer) -> None:
    visit = make_visit(site, engineers=[engineer], start=NOON + 24 * HOUR)
    with pytest.raises(Refused, match="check in when you are there"):
        go_in(visit, engineer)
