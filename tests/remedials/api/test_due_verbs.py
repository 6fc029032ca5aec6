"""The API's verbs on the due list, messages, reminders and closing letters, and what is read of them."""

from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from jobsite.ids import new_id
from jobsite.ledger.files import store_file
from jobsite.messages.models import Message
from remedials.due.models import Leaving, NoReminders, Reminding, Undertaking
from remedials.quotes.models import Quote
from tests.factories import (
    NOON,
    TODAY,
    make_leaving,
    make_observation,
    make_remedial,
    make_sent_offer,
    make_site,
    make_user,
    recorded,
)
from tests.remedials.api.verbs import done, said_why_not
from tests.remedials.desk import statements, wait_on
from tests.remedials.test_api_verbs import fresh, refusal

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def get(client, user, noun: str, **query) -> list[dict]:
    client.force_login(user)
    answer = client.get(f"/api/v1/{noun}/", query)
    assert answer.status_code == 200, answer.content
    return answer.json()["results"]


def numbers(client, user, noun: str, **query) -> list[int]:
    return [row["number"] for row in get(client, user, noun, **query)]


# --- in hand ----------------------------------------------------------------------------------------------------------


def test_have_a_row_in_hand_and_give_it_back(client, engineer, site):
    row = make_observation(site, owner=None)
    where = f"due/decide/{row.pk}"
    body = {"until": "2026-02-05", "reason": "I ring them"}
    shown = done(client, engineer, f"{where}/have-it", "due.in-hand", **body)
    assert (shown["by"], shown["until"], shown["reason"]) == (str(engineer.pk), "2026-02-05", "I ring them")
    done(client, engineer, f"{where}/have-it", **body)
    assert done(client, engineer, f"{where}/give-back", "due.given-back")["ended_at"] is not None
    done(client, engineer, f"{where}/give-back")
    assert Undertaking.objects.get().ended_at == NOON


def test_what_is_not_had_in_hand(client, engineer, subcontractor, site):
    row = make_observation(site, owner=None)
    where = f"due/decide/{row.pk}"
    past = said_why_not(client, engineer, f"{where}/have-it", until="2026-02-01", reason="x")
    assert past == "This day is past: choose today or later."
    said_why_not(client, subcontractor, f"{where}/have-it", 404, until="2026-02-05", reason="x")
    said_why_not(client, engineer, f"due/decide/{new_id()}/have-it", 404, until="2026-02-05", reason="x")
    said_why_not(client, engineer, f"{where}/give-back", 404)
    assert Undertaking.objects.count() == 0


def test_chase_what_waits_on_somebody_outside(client, office, engineer, site):
    waiting = wait_on(office, remedial=make_remedial(make_observation(site)))
    offer = make_sent_offer(make_remedial(make_observation(site)))
    body = {
        "id": str(new_id()),
        "waitings": [str(waiting.pk)],
        "quotes": [str(offer.quote_id)],
        "chase_on": "2026-02-10",
    }
    body |= {"address": "net@example.com", "subject": "Your date", "words": "We wait for it."}
    said_why_not(client, engineer, "chases/send", 403, **body)
    shown = done(
        client, office, "chases/send", "quote.chased", "remedial.taken-on", "waiting.chased", status=201, **body
    )
    assert (shown["address"], shown["subject"], shown["state"]) == ("net@example.com", "Your date", "waiting")
    assert Quote.objects.get().chase_on.isoformat() == "2026-02-10"
    nothing = said_why_not(client, office, "chases/send", **body | {"id": str(new_id()), "waitings": [], "quotes": []})
    assert nothing == "Choose what is chased."


# --- messages ---------------------------------------------------------------------------------------------------------


def message(user, occasion: str = "one", state: str = "failed", **fields) -> Message:
    usual = {"to_kind": "staff", "to_id": user.pk, "address": "a@example.com", "subject": "About", "body": "Words"}
    usual |= {"written_at": NOON, "next_try_at": NOON, "settled_at": None if state == "waiting" else NOON}
    made = Message.objects.create(occasion=occasion, state=state, **usual | fields)
    made.refresh_from_db()
    return made


def test_messages_to_read_by_filters(client, office, site):
    one = message(office)
    two = message(office, "two", "sent", danger=True, site=site.pk, address="b@example.com")
    three = message(office, "three", "waiting")
    assert numbers(client, office, "messages") == [one.number, two.number, three.number]
    assert numbers(client, office, "messages", state=["sent", "waiting"]) == [two.number, three.number]
    assert numbers(client, office, "messages", danger="true") == [two.number]
    assert numbers(client, office, "messages", site=site.pk) == [two.number]
    assert numbers(client, office, "messages", address="B@example.com") == [two.number]
    answer = client.get("/api/v1/messages/?page_size=2").json()
    assert [row["number"] for row in client.get(answer["next"]).json()["results"]] == [three.number]
    shown = client.get(f"/api/v1/messages/{two.pk}/").json()
    assert (shown["to"], shown["subject"], shown["state"]) == (str(office.pk), "About", "sent")


def test_subcontractors_of_the_office_see_no_message(client, office, subcontractor):
    row = message(office)
    subcontractor.roles = ["office"]
    subcontractor.save()
    assert get(client, subcontractor, "messages") == []
    said_why_not(client, subcontractor, f"messages/{row.pk}/send-again", 404)


@pytest.mark.parametrize("size", [1, 3])
def test_a_list_of_messages_and_of_letters_costs_three_statements(client, office, size):
    for number in range(size):
        message(office, str(number))
        make_leaving(make_site(f"Site {number}"))
    for noun in ("messages", "closing-letters"):
        client.force_login(office)
        with statements() as listed:
            assert len(client.get(f"/api/v1/{noun}/").json()["results"]) == size
        assert len(listed) == 3


def test_send_again_to_another_address_and_note_what_came_back(client, office):
    failed, sent = message(office), message(office, "two", "sent")
    assert done(client, office, f"messages/{failed.pk}/send-again", "message.again")["state"] == "waiting"
    done(client, office, f"messages/{failed.pk}/send-again")
    assert said_why_not(client, office, f"messages/{sent.pk}/send-again") == (
        "This message is sent; it cannot be sent again."
    )
    where = f"messages/{sent.pk}"
    shown = done(client, office, f"{where}/came-back", "message.returned", why="No such mailbox")
    assert (shown["state"], shown["returned_why"]) == ("returned", "No such mailbox")
    new = done(client, office, f"{where}/send-to", "message.anew", address="other@example.com")
    assert (new["address"], new["instead_of"]) == ("other@example.com", str(sent.pk))
    same = said_why_not(client, office, f"{where}/send-to", address="a@example.com")
    assert same == "It went to this very address: enter another, or send it again as it is."


# --- reminding --------------------------------------------------------------------------------------------------------

FIGURES = {
    "digest_at": "07:30", "working_days": [1, 2, 3, 4, 5], "bank_holidays_off": True, "quiet_from": "20:00",
    "quiet_until": "07:00", "inspection_days": [90, 30, 7], "inspection_overdue_every": 14,
}  # fmt: skip


def test_figures_of_reminding(client, manager, office):
    client.force_login(manager)
    before = client.get("/api/v1/reminding/")
    assert (before["ETag"], before.json()["version"], before.json()["digest_at"]) == ('"0"', 0, "07:00:00")
    assert {"sort": "c2", "before": 7, "every": 1, "qualified_after": 2, "manager_after": 5} in before.json()["rules"]
    shown = done(client, manager, "reminding/set", "reminders.set", version=0, **FIGURES)
    assert (shown["digest_at"], shown["version"], shown["inspection_overdue_every"]) == ("07:30:00", 1, 14)
    said_why_not(client, manager, "reminding/set", 412, version=0, **FIGURES | {"digest_at": "08:00"})
    rule = {"sort": "c2", "before": 1, "every": 9, "qualified_after": 9, "manager_after": 9}
    quieter = said_why_not(client, manager, "reminding/set", **FIGURES | {"rules": [rule]})
    assert quieter.startswith("This makes danger quieter than shipped, so say why.")
    said_why_not(client, office, "reminding/set", 403, **FIGURES)
    assert Reminding.objects.get().version == 1


def test_a_customer_wants_no_reminders_and_wants_them_again(client, office, engineer, site):
    party = site.customer
    where = f"customers/{party.pk}"
    said_why_not(client, engineer, f"{where}/stop-reminders", 403)
    shown = done(client, office, f"{where}/stop-reminders", "reminders.stopped")
    assert (shown["reminders"], shown["noted_by"]) == (False, str(office.pk))
    done(client, office, f"{where}/stop-reminders")
    assert client.get(f"/api/v1/{where}/reminders/").json() == shown
    assert done(client, office, f"{where}/remind-again", "reminders.again")["reminders"] is True
    assert NoReminders.objects.get().lifted_at == NOON


# --- closing letters --------------------------------------------------------------------------------------------------


def asked(office) -> dict:
    body = {"id": str(new_id()), "why": "left", "reason": "She rang", "to_name": "Petra Landlady"}
    return body | {"owner": str(office.pk), "deliver_by": (TODAY + timedelta(days=7)).isoformat()}


def test_a_closing_letter_written_sent_and_taken_back(client, office, engineer, site):
    where, body = f"sites/{site.pk}/write-closing-letter", asked(office)
    said_why_not(client, engineer, where, 403, **body)
    letter = done(client, office, where, "leaving.written", status=201, **body)
    assert (letter["site"], letter["why"], letter["delivered_on"]) == (str(site.pk), "left", None)
    twice = said_why_not(client, office, where, **asked(office))
    assert twice.startswith("A closing letter for this site stands already")
    at = f"closing-letters/{letter['id']}"
    assert client.get(f"/api/v1/{at}/file/").content[:5] == b"%PDF-"
    mail = done(client, office, f"{at}/send", "leaving.mailed", email="petra@example.com")
    assert (mail["address"], mail["attachment"]) == ("petra@example.com", "closing-letter.pdf")
    assert done(client, office, f"{at}/take-back", "leaving.taken-back")["taken_back_at"] is not None
    done(client, office, f"{at}/take-back")
    gone = said_why_not(client, office, f"{at}/send", email="petra@example.com")
    assert gone == "This closing letter was taken back: write another."


def test_nobody_who_left_is_to_deliver_a_closing_letter(client, office, site):
    lee = make_user("Lee Left", "office", is_active=False)
    where = f"sites/{site.pk}/write-closing-letter"
    why = said_why_not(client, office, where, **asked(office) | {"owner": str(lee.pk)})
    assert why == "Lee Left has left the firm: give the step to somebody else."
    assert Leaving.objects.count() == 0


def test_a_delivered_letter_ends_our_part(client, office, site):
    row = Leaving.objects.get(pk=done(
        client, office, f"sites/{site.pk}/write-closing-letter", "leaving.written", status=201, **asked(office)
    )["id"])  # fmt: skip
    where = f"/api/v1/closing-letters/{row.pk}/deliver/"
    body = {"how": "post", "on": TODAY.isoformat(), "to": "Petra Landlady"}
    bare = refusal(client.post(where, body, headers=fresh()), 409)
    assert (bare["detail"], bare["field"]) == ("Add the proof of posting or of delivery.", "proof")
    refusal(client.post(where, body, headers=fresh(7)), 412)
    proof = SimpleUploadedFile("receipt.pdf", b"%PDF-1.7 receipt", content_type="application/pdf")
    with recorded() as told:
        answer = client.post(where, body | {"proof": proof}, headers=fresh(row.version))
    assert (answer.status_code, answer.json()["delivered_how"]) == (200, "post")
    assert sorted(entry.verb for entry in told) == ["leaving.delivered", "site.archived"]
    kept = client.get(f"/api/v1/closing-letters/{row.pk}/proof/")
    assert (kept.content, kept["Content-Type"]) == (b"%PDF-1.7 receipt", "application/pdf")
    site.refresh_from_db()
    assert site.archived_at == NOON


def test_closing_letters_by_filters(client, office, site):
    file = store_file(b"%PDF-1.7 letter", media_type="application/pdf", now=NOON)
    one = make_leaving(site, letter=file)
    two = make_leaving(make_site("Elsewhere"), taken_back_at=NOON)
    assert numbers(client, office, "closing-letters") == [one.number, two.number]
    assert numbers(client, office, "closing-letters", site=site.pk) == [one.number]
    assert numbers(client, office, "closing-letters", standing="false") == [two.number]
    assert numbers(client, office, "closing-letters", delivered="true") == []
