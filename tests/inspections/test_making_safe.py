"""Made safe for now, looked at again, reconnected; and danger notices."""

from datetime import date, timedelta

import pytest

from inspections import operations
from inspections.models import DangerNotice, MadeSafe
from inspections.policy import competence_caution
from jobsite.ids import new_id
from jobsite.refused import NotAllowed, Refused
from tests import factories as make
from tests.factories import Told, picture, recorded

pytestmark = pytest.mark.django_db
TODAY = date(2026, 2, 3)
AGAIN = date(2026, 2, 10)


@pytest.fixture
def safe(engineer, now):
    def record_it(observation, **fields):
        usual = {"id": new_id(), "how": "locked", "what": "MCB 4 off", "agreed_with": "the owner", "lock": "red 12"}
        usual |= {"key_holder": "Edwin", "look_again_on": AGAIN, "by": engineer, "now": now, "no_photo": "too dark"}
        return operations.make_safe(observation, **usual | fields)

    return record_it


def test_made_safe_is_recorded_once_and_stays_open(site, safe, engineer) -> None:
    seen, key = make.make_observation(site, code="C1"), new_id()
    with recorded() as told:
        made = safe(seen, id=key)
        assert safe(seen, id=key) == made
    seen.refresh_from_db()
    assert (seen.made_safe, seen.ended, seen.code, made.looker) == (True, "", "C1", engineer)
    facts = {"made_safe": str(key), "how": "locked", "look_again_on": "2026-02-10", "looker": str(engineer.pk)}
    words = {"what": "MCB 4 off", "agreed_with": "the owner", "lock": "red 12", "key_holder": "Edwin"}
    words |= {"no_photo": "too dark"}
    assert told == [Told("made-safe.done", seen.pk, facts, words)]


def test_made_safe_keeps_a_photo_as_proof(site, safe) -> None:
    made = safe(make.make_observation(site, code="C1"), photo=picture())
    assert made.photo is not None
    assert made.photo.media_type == "image/jpeg"


def test_made_safe_has_its_proof_or_a_reason_why_not(site, safe) -> None:
    seen = make.make_observation(site, code="C1")
    with recorded() as told, pytest.raises(Refused, match="Add a photograph of it, or say below why") as refused:
        safe(seen, no_photo=" ")
    assert (refused.value.field, told, MadeSafe.objects.count()) == ("photo", [], 0)
    assert safe(seen, no_photo="wasps").no_photo == "wasps"


def test_key_that_went_to_somebody_else_is_told_when_it_is_looked_at(site, safe, engineer, now) -> None:
    made = safe(make.make_observation(site, code="C1"))
    look = {"look_again_on": date(2026, 2, 17), "by": engineer, "now": now}
    with recorded() as told:
        operations.look_again(made, id=new_id(), key_holder="", **look)
        operations.look_again(made, id=new_id(), key_holder="Otto", **look)
    made.refresh_from_db()
    assert made.key_holder == "Otto"
    assert [one.words for one in told] == [{}, {"key_holder": "Otto"}]


def test_the_office_records_who_made_it_safe_and_when(site, safe, office, engineer, now) -> None:
    seen, key = make.make_observation(site, code="C1"), new_id()
    before = now - timedelta(hours=3)
    with recorded() as told:
        made = safe(seen, id=key, by=office, done_by=engineer, done_at=before)
    assert (made.by, made.at, made.looker) == (engineer, before, engineer)
    facts = {"made_safe": str(key), "how": "locked", "look_again_on": "2026-02-10", "looker": str(engineer.pk)}
    facts |= {"done_by": str(engineer.pk), "done_at": "2026-02-03T09:00:00+00:00"}
    assert [one.facts for one in told] == [facts]


def test_it_is_not_made_safe_at_a_time_to_come(site, safe, now) -> None:
    seen = make.make_observation(site, code="C1")
    with pytest.raises(Refused, match="still to come") as refused:
        safe(seen, done_at=now + timedelta(minutes=1))
    assert (refused.value.field, MadeSafe.objects.count()) == ("done_at", 0)


def test_whoever_has_no_competence_on_record_is_named(site, safe, qualified, engineer) -> None:
    one, two = make.make_observation(site, code="C1"), make.make_observation(site, code="C1")
    assert competence_caution(safe(one, done_by=qualified)) == ""
    sentence = (
        "The firm has no competence on record for Edwin Wireman on 3 Feb 2026: have a qualified person look at it."
    )
    assert competence_caution(safe(two, done_by=engineer)) == sentence


def test_a_draft_can_be_made_safe(start, note, safe) -> None:
    seen = note(start(), "C1")
    assert safe(seen).observation == seen


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"how": "prayed"}, "how"),
        ({"key_holder": " "}, "key_holder"),
        ({"how": "covered", "lock": "red 12", "key_holder": ""}, "key_holder"),
        ({"what": ""}, "what"),
        ({"agreed_with": ""}, "agreed_with"),
        ({"look_again_on": date(2026, 2, 2)}, "look_again_on"),
        ({"photo": b"no picture"}, "photo"),
    ],
)
def test_make_safe_refuses(site, safe, fields, field) -> None:
    seen = make.make_observation(site, code="C1")
    with recorded() as told, pytest.raises(Refused) as refused:
        safe(seen, **fields)
    seen.refresh_from_db()
    assert (refused.value.field, told, seen.made_safe) == (field, [], False)


def test_make_safe_refuses_what_is_closed_and_what_is_safe(site, safe) -> None:
    seen = make.make_observation(site, code="C1")
    safe(seen)
    with pytest.raises(Refused, match="made safe already"):
        safe(seen)
    with pytest.raises(Refused, match="is closed"):
        safe(make.make_observation(site, ended="remedied", ended_on=TODAY))


def test_a_form_used_for_another_observation(site, safe) -> None:
    key = safe(make.make_observation(site)).pk
    with pytest.raises(Refused, match="already used for something else"):
        safe(make.make_observation(site), id=key)


@pytest.fixture
def look(office, now):
    def look_at(made, day: date = date(2026, 2, 17), note: str = "", **fields):
        usual = {"id": new_id(), "look_again_on": day, "note": note, "by": office, "now": now}
        return operations.look_again(made, **usual | fields)

    return look_at


def test_look_again_moves_the_day_and_the_same_form_counts_once(site, safe, look) -> None:
    seen = make.make_observation(site, code="C1")
    made, form = safe(seen), new_id()
    with recorded() as told:
        for _ in range(2):
            held = look(made, note="lock on", id=form)
    assert held.look_again_on == date(2026, 2, 17)
    facts = {"made_safe": str(made.pk), "look_again_on_before": "2026-02-10", "look_again_on": "2026-02-17"}
    assert told == [Told("made-safe.looked-again", seen.pk, facts | {"form": str(form)}, {"note": "lock on"})]


def test_another_look_on_the_same_day_keeps_its_note(site, safe, look) -> None:
    made = safe(make.make_observation(site, code="C1"))
    with recorded() as told:
        look(made, note="lock on")
        look(made, note="the lock was cut: a new one is on")
        look(made)
    assert [entry.words for entry in told] == [{"note": "lock on"}, {"note": "the lock was cut: a new one is on"}, {}]


def test_the_form_sent_again_after_the_end_is_still_the_same_look(site, safe, look, engineer, now) -> None:
    made, form = safe(make.make_observation(site, code="C1")), new_id()
    look(made, id=form)
    operations.reconnect(made, reason="tenant", by=engineer, now=now)
    with recorded() as told:
        assert look(made, id=form) == made
    assert told == []


def test_look_again_refuses_today_and_what_does_not_stand(site, safe, look, engineer, now) -> None:
    made = safe(make.make_observation(site, code="C1"))
    with pytest.raises(Refused, match="after today"):
        look(made, TODAY)
    operations.reconnect(made, reason="tenant", by=engineer, now=now)
    with pytest.raises(Refused, match="does not stand any more"):
        look(made, AGAIN)


@pytest.mark.parametrize("code", ["C1", "C2", "FI", ""])
def test_reconnected_is_a_c1_again_from_today(site, safe, engineer, now, code) -> None:
    seen = make.make_observation(site, code=code, on=date(2026, 1, 20), owner=None, step_by=None)
    made, later = safe(seen), now + timedelta(days=3)
    with recorded() as told:
        for _ in range(2):
            again = operations.reconnect(made, reason="The tenant refitted the fuse", by=engineer, now=later)
    assert (again.code, again.made_safe, again.reviewed) == ("C1", False, False)
    assert (again.make_safe_by, again.step_by, again.owner) == (date(2026, 2, 6), date(2026, 2, 6), engineer)
    made.refresh_from_db()
    assert (made.ended, made.ended_at) == ("reconnected", later)
    facts = {"made_safe": str(made.pk), "code_before": code, "code": "C1", "make_safe_by": "2026-02-06"}
    facts |= {"remedy_by": "2026-01-26", "step_by": "2026-02-06"}
    assert told == [Told("made-safe.reconnected", seen.pk, facts, {"reason": "The tenant refitted the fuse"})]


def test_reconnecting_never_moves_the_remedy_by_date_later(site, safe, engineer, now) -> None:
    seen = make.make_observation(
        site, on=date(2026, 1, 31), remedy_by=date(2026, 2, 5), remedy_basis="The report's limit", remedy_by_law=True
    )
    again = operations.reconnect(safe(seen), reason="x", by=engineer, now=now)
    assert (again.remedy_by, again.remedy_basis, again.remedy_by_law) == (
        date(2026, 2, 5),
        "The report's limit",
        True,
    )


def test_it_can_be_made_safe_once_more(site, safe, engineer, now) -> None:
    seen = make.make_observation(site, code="C1")
    operations.reconnect(safe(seen), reason="x", by=engineer, now=now)
    safe(seen)
    assert sorted(MadeSafe.objects.values_list("ended", flat=True)) == ["", "reconnected"]


# --- danger notices ---------------------------------------------------------------------------------------------------


@pytest.fixture
def notify(engineer, now):
    def give(*observations, **fields):
        usual = {"id": new_id(), "why": "Live parts", "advised": "Leave it off", "given_to": "the owner", "how": "hand"}
        return operations.give_danger_notice(observations, **usual | {"by": engineer, "now": now} | fields)

    return give


def test_a_notice_is_given_once_with_its_number(site, notify, engineer, now) -> None:
    one, two, key = make.make_observation(site, code="C1"), make.make_observation(site, code="C2"), new_id()
    with recorded() as told:
        notice = notify(two, one, id=key)
        assert notify(two, one, id=key) == notice
    assert (notice.given_by, notice.given_at, set(notice.observations.all())) == (engineer, now, {one, two})
    facts = {"number": notice.number, "observations": [str(one.pk), str(two.pk)], "how": "hand"}
    facts["codes"] = ["C1", "C2"]
    words = {"why": "Live parts", "advised": "Leave it off", "given_to": "the owner"}
    assert told == [Told("notice.given", key, facts, words)]


def test_a_notice_for_a_draft_since_it_is_left_when_found(start, note, notify) -> None:
    assert notify(note(start(), "C1")).number > 0


@pytest.mark.parametrize(
    ("fields", "field"),
    [({"why": ""}, "why"), ({"advised": " "}, "advised"), ({"given_to": ""}, "given_to"), ({"how": "loudly"}, "how")],
)
def test_a_notice_is_complete(site, notify, fields, field) -> None:
    with recorded() as told, pytest.raises(Refused) as refused:
        notify(make.make_observation(site, code="C1"), **fields)
    assert (refused.value.field, told, DangerNotice.objects.count()) == (field, [], 0)


def test_a_notice_is_about_open_dangers_of_one_site(site, notify) -> None:
    c1, c3 = make.make_observation(site, code="C1"), make.make_observation(site, code="C3")
    closed = make.make_observation(site, ended="remedied", ended_on=TODAY)
    elsewhere = make.make_observation(make.make_site("Elsewhere"), code="C1")
    for observations, sentence in (
        ((), "at least one"),
        ((c1, elsewhere), "one site"),
        ((c1, c3), "is a C3"),
        ((closed,), "is closed"),
    ):
        with pytest.raises(Refused, match=sentence):
            notify(*observations)


def test_a_notice_is_answered_once(site, notify, office, now) -> None:
    notice = notify(make.make_observation(site, code="C1"))
    with recorded() as told:
        for _ in range(2):
            operations.answer_notice(notice, answer="refused", by=office, now=now)
        with pytest.raises(Refused, match="Its answer is on record: refused"):
            operations.answer_notice(notice, answer="acknowledged", by=office, now=now)
    assert told == [Told("notice.answered", notice.pk, {"answer": "refused"})]


def test_an_answer_is_one_of_two(site, notify, office, now) -> None:
    with pytest.raises(Refused, match="acknowledged or refused"):
        operations.answer_notice(notify(make.make_observation(site)), answer="", by=office, now=now)


def test_a_link_makes_nothing_safe(site, safe, notify) -> None:
    link, _ = make.make_link(site)
    seen = make.make_observation(site, code="C1")
    for change in (lambda: safe(seen, by=link), lambda: notify(seen, by=link)):
        with recorded() as told, pytest.raises(NotAllowed):
            change()
        assert told == []
