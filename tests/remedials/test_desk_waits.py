"""Everything open by whom it waits on, and the chase that is ready to send."""

import csv
import io
import re
from datetime import date, timedelta

import pytest

from jobsite.ids import new_id
from jobsite.messages.models import Message
from jobsite.refused import NotAllowed, Refused
from remedials.desk.operations.waits import send_chase
from remedials.visits.models import Confirmation
from remedials.works.models import Waiting
from tests import factories as make
from tests.remedials.desk import text_of
from tests.remedials.work import on_the_way

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
TODAY = make.TODAY


def waits(by, on_whom: str = "The Sample Wholesaler", for_what: str = "an isolator", *, site=None, **fields) -> Waiting:
    remedial = on_the_way("C2", site=site or make.make_site("Old Pottery"), stage="approved")
    days = {"asked_on": TODAY - timedelta(days=20), "chase_on": TODAY + timedelta(days=2)}
    who = {"owner": by, "recorded_by": by}
    return Waiting.objects.create(
        site=remedial.site, remedial=remedial, on_whom=on_whom, for_what=for_what, **days | who | fields
    )


def heads(answer) -> list[str]:
    return re.findall(r'<h2 id="group\d+">([^<]+)</h2>', answer.content.decode())


def test_grouped_by_who_holds_it_up_the_latest_first(at_desk, office) -> None:
    waits(office, "The Network", "a new cut-out", chase_on=TODAY - timedelta(days=1), reference="N-77")
    waits(office)
    late = {"promised_for": TODAY - timedelta(days=9)}
    waits(office, "the sample WHOLESALER", "a spare key", **late)
    waits(office, "Gone", "what came", ended_at=make.NOON, ended_how="came")
    answer = at_desk.get("/waits/")
    assert heads(answer) == ["the sample WHOLESALER", "The Network"]
    shown = text_of(answer)
    assert "an isolator" in shown
    assert "Gone" not in shown
    assert "the sample WHOLESALER 9 days late" in shown
    assert "a new cut-out N-77, Remedial" in shown
    row = "Old Pottery 14 Jan 2026 25 Jan 2026 Thu 5 Feb 9 days late Olive Deskworth"
    assert row in shown


def test_customers_who_are_asked_and_quotes_that_are_out(at_desk, engineer, office) -> None:
    site = make.make_site("Old Pottery")
    visit = make.make_visit(
        site, engineers=[engineer], start=make.NOON + timedelta(days=3), answered="asked", confirm_by=TODAY
    )
    asked = {"answered": "asked", "how": "phone", "whom": "Petra", "start": visit.start, "recorded_by": office}
    Confirmation.objects.create(visit=visit, at=make.NOON - timedelta(days=2), **asked)
    make.make_visit(site, engineers=[engineer], start=make.NOON + timedelta(days=4), answered="confirmed")
    make.make_times_offer(site, on_the_way("C2", site=site, stage="approved"))
    quoted = make.make_sent_offer(on_the_way("C2", site=site, stage="quoted"))
    shown = text_of(at_desk.get("/waits/"))
    assert "whether 6 Feb 2026, 12:00–14:00 suits Visit 1 Old Pottery Sun 1 Feb" in shown
    assert "7 Feb 2026" not in shown
    assert "which of the times offered suits" in shown
    assert f"an answer to “{quoted.quote.name}” Quote {quoted.quote.number}" in shown
    assert "£" not in shown


def test_what_is_over_or_settled_otherwise_waits_on_nobody(at_desk, engineer) -> None:
    site = make.make_site("Old Pottery")
    make.make_visit(site, engineers=[engineer], start=make.NOON - timedelta(days=3), answered="asked")
    make.make_visit(site, engineers=[engineer], start=make.NOON - timedelta(hours=2), answered="cannot")
    make.make_times_offer(site, on_the_way("C2", site=site, stage="booked"))
    shown = text_of(at_desk.get("/waits/"))
    assert "whether 31 Jan 2026" not in shown
    assert "they cannot 3 Feb 2026" in shown  # until its day is over
    assert "which of the times offered suits" not in shown


def test_narrowed_and_taken_away(at_desk, office, manager) -> None:
    waits(office, "The Network", "a new cut-out")
    waits(manager, "The Shop", "an isolator", promised_for=TODAY - timedelta(days=1))
    assert heads(at_desk.get("/waits/", {"q": "CUT-out"})) == ["The Network"]
    assert heads(at_desk.get("/waits/", {"owner": manager.pk})) == ["The Shop"]
    assert heads(at_desk.get("/waits/", {"kind": "quote"})) == []
    rows = list(
        csv.DictReader(io.StringIO(at_desk.get("/waits/", {"as": "csv", "q": "isolator"}).content.decode("utf-8-sig")))
    )
    assert [(row["Waits on"], row["Promised for"], row["Late"]) for row in rows] == [
        ("The Shop", "2026-02-02", "1 day late")
    ]
    assert at_desk.get("/waits/", {"as": "xlsx"})["Content-Type"].startswith("application/vnd.openxml")


def test_nothing_waits(at_desk) -> None:
    assert "Nothing here waits on anybody" in text_of(at_desk.get("/waits/"))


def chase_address(client) -> str:
    return re.search(r'href="(/waits/chase/[^"]*)"', client.get("/waits/").content.decode())[1].replace("&amp;", "&")


def form_of(client, where: str, **more) -> dict:
    form = client.get(where).context["form"]
    return {name: form[name].value() for name in form.fields} | more


def test_the_chase_is_written_already(at_desk, office) -> None:
    make.make_party("The Sample Wholesaler", email="counter@example.com")
    waits(office, reference="Order 12", promised_for=date(2026, 1, 30))
    form = form_of(at_desk, chase_address(at_desk))
    assert form["address"] == "counter@example.com"
    assert form["chase_on"] == TODAY + timedelta(days=7)
    line = "- an isolator (Order 12, Remedial 1001, at Old Pottery), asked on 14 Jan 2026, promised for 30 Jan 2026"
    assert re.sub(r"Remedial \d+", "Remedial 1001", form["words"]).splitlines()[4] == line


def test_sent_as_edited_once_and_the_days_move(at_desk, office) -> None:
    one, other = waits(office), waits(office, for_what="a spare key")
    quoted = make.make_sent_offer(
        on_the_way("C2", site=make.make_site("Mill", customer=make.make_party("The Sample Wholesaler")), stage="quoted")
    )
    where = chase_address(at_desk)
    things = [f"waiting:{one.pk}", f"quote:{quoted.quote.pk}"]
    form = form_of(
        at_desk, where, things=things, address="counter@example.com", words="Where is it?", chase_on="2026-02-12"
    )
    for _ in range(2):
        answer = at_desk.post(where, form, follow=True)
    assert "Chased: a message to The Sample Wholesaler is on its way." in text_of(answer)
    message = Message.objects.get()
    assert (message.address, message.body, message.state, message.to_kind) == (
        "counter@example.com",
        "Where is it?",
        "waiting",
        "customer",
    )
    one.refresh_from_db(), other.refresh_from_db(), quoted.quote.refresh_from_db()
    assert (one.chase_on, other.chase_on) == (date(2026, 2, 12), TODAY + timedelta(days=2))
    assert quoted.quote.chase_on == date(2026, 2, 12)


def test_the_ledger_has_one_entry_for_each(office) -> None:
    one, other = waits(office), waits(office)
    given = {
        "id": new_id(),
        "waitings": [one, other],
        "quotes": [],
        "address": "counter@example.com",
        "subject": "Parts",
        "words": "When?",
    }
    with make.recorded() as told:
        for _ in range(2):
            send_chase(**given, chase_on=TODAY, by=office, now=make.NOON)
    assert sorted(entry.verb for entry in told) == ["waiting.chased", "waiting.chased"]


def test_refusals(office, engineer) -> None:
    ended = waits(office, ended_at=make.NOON, ended_how="came")
    given = {
        "id": new_id(),
        "quotes": [],
        "address": "counter@example.com",
        "subject": "Parts",
        "words": "When?",
        "now": make.NOON,
    }
    for more, sentence in (
        ({"waitings": [], "chase_on": TODAY}, "Choose what is chased."),
        ({"waitings": [ended], "chase_on": TODAY}, "This waiting has ended."),
        ({"waitings": [waits(office)], "chase_on": TODAY - timedelta(days=1)}, "past"),
        ({"waitings": [waits(office)], "chase_on": TODAY, "words": " "}, "Say what is asked."),
    ):
        with pytest.raises(Refused, match=sentence):
            send_chase(**given | more, by=office)
    with pytest.raises(NotAllowed):
        send_chase(**given, waitings=[waits(office)], chase_on=TODAY, by=engineer)
    assert not Message.objects.exists()


def test_bad_input_is_kept(at_desk, office) -> None:
    waits(office)
    where = chase_address(at_desk)
    answer = at_desk.post(where, form_of(at_desk, where, address="nowhere", words="Kept words"))
    assert (answer.status_code, "Kept words" in answer.content.decode()) == (422, True)


def test_what_waits_no_more_leads_back_to_the_list(at_desk) -> None:
    answer = at_desk.get("/waits/chase/", {"on": "nobody"})
    assert (answer.status_code, answer["Location"]) == (302, "/waits/")


@pytest.mark.parametrize("count", [1, 4])
def test_statements(at_desk, office, engineer, django_assert_num_queries, count) -> None:
    for n in range(count):
        waiting = waits(office, f"Shop {n}")
        make.make_visit(waiting.site, engineers=[engineer], start=make.NOON + timedelta(days=n), answered="asked")
        make.make_times_offer(waiting.site)
        make.make_sent_offer(on_the_way("C2", stage="quoted"))
    at_desk.get("/waits/")
    with django_assert_num_queries(7):  # session, person, banner; waitings, visits, times, quotes
        assert at_desk.get("/waits/").status_code == 200
