"""What came of a visit: other things done there, nobody let us in, and the outcome that follows."""

from datetime import timedelta

import pytest

from jobsite.ids import new_id
from jobsite.refused import NotAllowed, Refused
from remedials.visits.models import Attempt, Visit
from remedials.visits.operations import book_visit, cancel_visit, no_access, settle_line
from remedials.visits.operations.attempts import log_attempt
from remedials.visits.rules.outcome import outcome
from tests.at_once import at_once
from tests.factories import NOON, Told, anybody, make_site, recorded, unit_of
from tests.remedials.desk import text_of
from tests.remedials.work import close, on_the_way, photo_bytes

pytestmark = pytest.mark.usefixtures("at_noon")
HOUR = timedelta(hours=1)
NOTE = "Rang twice, waited 20 minutes"


def book(site, *engineers, by, **more) -> Visit:
    usual = {"id": new_id(), "start": NOON, "end": NOON + 2 * HOUR, "now": NOON, "by": by}
    return book_visit(site, **usual | {"engineers": engineers} | more)


@pytest.mark.parametrize(
    ("kept", "done", "shut_out", "over", "words"),
    [
        (2, 2, False, False, "finished"),
        (2, 1, False, True, "part done: 1 of 2"),
        (2, 0, True, True, "no access"),
        (2, 0, False, True, "nothing closed yet"),
        (0, 0, False, True, "nothing was left to do"),
        (2, 0, False, False, ""),
    ],
)
def test_outcome(kept, done, shut_out, over, words) -> None:
    assert outcome(kept=kept, done=done, shut_out=shut_out, over=over) == words


def test_no_access_gives_the_work_back_to_the_office(office, engineer) -> None:
    site = make_site("Mill House")
    remedial, closed = on_the_way("C2", site=site), on_the_way("C3", site=site)
    unit = unit_of(site)
    visit = book(site, engineer, by=office, remedials=[remedial, closed], units=[unit])
    close(closed, by=engineer)
    key = new_id()
    with recorded() as told:
        for _ in range(2):
            no_access(visit, id=key, note=NOTE, photo=photo_bytes(), by=engineer, now=NOON + HOUR)
    remedial.refresh_from_db()
    closed.refresh_from_db()
    attempt = Attempt.objects.get()
    assert (remedial.stage, remedial.owner, remedial.step_by) == ("approved", office, NOON.date())
    assert closed.stage != "approved"
    assert (attempt.how, attempt.got_in, attempt.visit_id, attempt.said) == ("visit", False, visit.pk, NOTE)
    assert attempt.photo is not None
    assert [entry.verb for entry in told] == ["access.attempt", "visit.no-access", "remedial.unbooked"]
    facts = {"number": visit.number, "remedials": [str(remedial.pk)]}
    assert told[1] == Told("visit.no-access", visit.pk, facts, {"note": NOTE})
    again = book(
        site, engineer, by=office, remedials=[remedial], units=[unit], start=NOON + 3 * HOUR, end=NOON + 4 * HOUR
    )
    assert again.lines.filter(active=True).count() == 2


def test_an_attempt_that_is_only_logged_keeps_nothing_on_the_visit(at_desk, office, engineer) -> None:
    remedial = on_the_way("C1")
    visit = book(remedial.site, engineer, by=office, remedials=[remedial])
    page = f"/visits/{visit.pk}/"
    for how in ("phone", "visit"):
        log_attempt(
            remedial.site,
            id=new_id(),
            how=how,
            at=NOON,
            whom="Petra",
            said="No reply",
            visit=visit,
            by=engineer,
            now=NOON,
        )
        shown = at_desk.get(page).content.decode()
        assert f"{page}no-access/" in shown
        assert f"{page}cancel/" in shown
    no_access(visit, id=new_id(), note=NOTE, by=engineer, now=NOON)
    remedial.refresh_from_db()
    assert (remedial.stage, remedial.owner) == ("approved", office)
    assert f"{page}no-access/" not in at_desk.get(page).content.decode()


def test_no_access_is_refused(office, engineer, other_engineer) -> None:
    remedial = on_the_way("C2")
    visit = book(remedial.site, engineer, by=office, remedials=[remedial])
    for by, note, now, error in (
        (other_engineer, NOTE, NOON, NotAllowed),
        (engineer, " ", NOON, Refused),
        (engineer, NOTE, NOON - timedelta(days=1), Refused),
    ):
        with pytest.raises(error):
            no_access(visit, id=new_id(), note=note, by=by, now=now)
    cancel_visit(visit, reason="Not needed", by=office, now=NOON)
    with pytest.raises(Refused, match="is cancelled"):
        no_access(visit, id=new_id(), note=NOTE, by=office, now=NOON)
    assert not Attempt.objects.exists()


def test_an_inspection_is_settled_once(office, engineer, other_engineer) -> None:
    site = make_site("Mill House")
    remedial, unit = on_the_way("C2", site=site), unit_of(site)
    visit = book(site, engineer, by=office, remedials=[remedial], units=[unit])
    line, of_work = visit.lines.get(kind="inspection"), visit.lines.get(kind="remedial")
    with pytest.raises(NotAllowed):
        settle_line(line, how="Inspected", by=other_engineer, now=NOON)
    with recorded() as told:
        for _ in range(2):
            settle_line(line, how="Inspected", by=engineer, now=NOON + HOUR)
    line.refresh_from_db()
    assert line.settled_at == NOON + HOUR
    facts = {"number": visit.number, "kind": "inspection", "thing": str(unit.pk)}
    assert told == [Told("visit.settled", visit.pk, facts, {"how": "Inspected"})]
    with pytest.raises(Refused, match="closed with its proof"):
        settle_line(of_work, how="Done", by=engineer, now=NOON)


def test_settling_is_refused_too_early_or_without_words(office, engineer) -> None:
    site = make_site("Mill House")
    visit = book(site, engineer, by=office, units=[unit_of(site)])
    line = visit.lines.get()
    with pytest.raises(Refused, match="not come yet"):
        settle_line(line, how="Inspected", by=engineer, now=NOON - timedelta(days=1))
    with pytest.raises(Refused, match="what came of it"):
        settle_line(line, how=" ", by=engineer, now=NOON)


def test_the_engineers_page_settles_and_tells_that_nobody_let_them_in(office, engineer, on_site) -> None:
    site = make_site("Mill House")
    remedial = on_the_way("C2", site=site)
    visit = book(site, engineer, by=office, remedials=[remedial], units=[unit_of(site)])
    where = f"/visits/{visit.pk}/"
    shown = text_of(on_site.get(where))
    assert "Nobody let us in" in shown
    assert "Cancel the visit" not in shown
    line = visit.lines.get(kind="inspection")
    assert (
        on_site.post(f"{where}settle/", {"id": str(new_id()), "line": line.pk, "how": "Inspected"})["Location"] == where
    )
    assert "part done: 1 of 2" in text_of(on_site.get(where))
    wrong = on_site.post(f"{where}no-access/", {"id": str(new_id()), "whom": "Flat 2", "note": ""})
    assert (wrong.status_code, "Flat 2" in wrong.content.decode()) == (422, True)
    on_site.post(f"{where}no-access/", {"id": str(new_id()), "whom": "Flat 2", "note": NOTE})
    assert "no access" in text_of(on_site.get(where))


def test_a_subcontractor_sees_own_visits_only(office, engineer, subcontractor, client) -> None:
    site = make_site("Mill House")
    one, two = on_the_way("C2", site=site), on_the_way("C3", site=site)
    subcontractor.insured_until = NOON.date() + timedelta(days=90)
    subcontractor.save()
    own = book(site, subcontractor, by=office, remedials=[one])
    other = book(site, engineer, by=office, remedials=[two])
    client.force_login(subcontractor)
    assert [client.get(f"/visits/{visit.pk}/").status_code for visit in (own, other)] == [200, 404]
    assert list(Visit.objects.visible_to(subcontractor)) == [own]


@pytest.mark.django_db(transaction=True)
def test_two_phones_say_at_once_that_nobody_let_them_in() -> None:
    office, engineer = anybody("office"), anybody("engineer")
    remedial = on_the_way("C2")
    visit = book(remedial.site, engineer, by=office, remedials=[remedial])
    acts = [lambda: no_access(visit, id=new_id(), note=NOTE, by=engineer, now=NOON) for _ in range(2)]
    results = at_once(*acts)
    remedial.refresh_from_db()
    assert all(isinstance(one, Visit) for one in results)
    assert (Attempt.objects.count(), remedial.stage) == (1, "approved")


@pytest.mark.django_db(transaction=True)
def test_cancelling_while_nobody_lets_them_in_gives_the_work_back_once() -> None:
    office, engineer = anybody("office"), anybody("engineer")
    remedial = on_the_way("C2")
    visit = book(remedial.site, engineer, by=office, remedials=[remedial])
    at_once(
        lambda: no_access(visit, id=new_id(), note=NOTE, by=engineer, now=NOON),
        lambda: cancel_visit(visit, reason="They rang", by=office, now=NOON),
    )
    remedial.refresh_from_db()
    visit.refresh_from_db()
    assert (remedial.stage, visit.state) == ("approved", "cancelled")


# --- what a phone without signal sends later --------------------------------------------------------------------------


def test_nobody_let_us_in_keeps_the_time_at_the_door(office, engineer) -> None:
    remedial = on_the_way("C2")
    visit = book(remedial.site, engineer, by=office, remedials=[remedial])
    came = NOON + 5 * HOUR
    no_access(visit, id=new_id(), note=NOTE, by=engineer, now=came, made_at=NOON + HOUR)
    attempt = Attempt.objects.get()
    assert (attempt.at, attempt.recorded_at) == (NOON + HOUR, came)


def test_that_nobody_let_us_in_is_kept_though_the_visit_was_cancelled_meanwhile(office, engineer) -> None:
    remedial = on_the_way("C2")
    visit = book(remedial.site, engineer, by=office, remedials=[remedial])
    cancel_visit(visit, reason="Not needed", by=office, now=NOON + 1.5 * HOUR)
    with recorded() as told:
        for _ in range(2):
            no_access(visit, id=visit.pk, note=NOTE, by=engineer, now=NOON + 5 * HOUR, made_at=NOON + HOUR)
    assert [one.verb for one in told] == ["access.attempt"]
    assert Attempt.objects.get().visit == visit


def test_two_who_stood_before_the_door_are_both_on_record(office, engineer, other_engineer) -> None:
    remedial = on_the_way("C2")
    visit = book(remedial.site, engineer, other_engineer, by=office, remedials=[remedial])
    for who, note in ((engineer, NOTE), (other_engineer, "Nobody at the back door"), (engineer, NOTE)):
        no_access(visit, id=new_id(), note=note, by=who, now=NOON + HOUR)
    assert sorted(Attempt.objects.values_list("said", flat=True)) == ["Nobody at the back door", NOTE]
    remedial.refresh_from_db()
    assert remedial.stage == "approved"


def test_a_line_is_settled_when_it_was_done(office, engineer) -> None:
    site = make_site("Mill House")
    visit = book(site, engineer, by=office, units=[unit_of(site)])
    line = settle_line(visit.lines.get(), how="Inspected", by=engineer, now=NOON + 5 * HOUR, made_at=NOON + HOUR)
    assert line.settled_at == NOON + HOUR
