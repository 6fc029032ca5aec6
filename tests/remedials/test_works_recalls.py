"""Recall: of each reading that an instrument found wrong had shown it is decided whether it is read again or kept."""

import csv
import io
from datetime import timedelta

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

from inspections.models import Reading
from jobsite.ids import new_id
from jobsite.people.operations import check_instrument
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.works.models import Proof, RecallDecision
from remedials.works.operations import close_remedial, decide_recall, reopen_remedial, review_proof
from remedials.works.queries import fresh_readings
from remedials.works.queries.recalls import counts, faults
from tests import factories as make
from tests.at_once import at_once, behind
from tests.factories import NOON, TODAY, Told, make_qualified, recorded
from tests.remedials.desk import read, statements, text_of
from tests.remedials.work import ask_reading, close, on_the_way, take

pytestmark = pytest.mark.django_db
WHY = "Read beside a second tester: both 0.9 Ω"
LATER = NOON + timedelta(days=1)


@pytest.fixture
def tester(db):
    return make.make_instrument("T-9")


@pytest.fixture
def proved(tester, engineer):
    """A closed remedial whose proof is one reading of the tester, and that reading; made before the fault is known."""

    def made(*codes: str, by=engineer):
        remedial = on_the_way(*codes or ("C3",))
        reading = take(ask_reading(remedial), "0.9", by=by, instrument=tester)
        return remedial, reading, close(remedial, by=by, readings=[reading])

    return made


def decide(fault, reading, by, decision: str = "again", **fields):
    usual = {"id": new_id(), "reason": WHY, "by": by, "now": NOON}
    return decide_recall(fault, reading, decision=decision, **usual | fields)


def signed_in(user) -> Client:
    client = Client()
    client.force_login(user)
    return client


# --- deciding -----------------------------------------------------------------------------------------------------------


def test_read_again_opens_what_it_proved_and_rewrites_nothing(proved, tester, qualified) -> None:
    remedial, reading, proof = proved()
    fault, key = make.make_fault(tester, TODAY), new_id()
    before = Reading.objects.filter(pk=reading.pk).values().get()
    with recorded() as told:
        for _ in range(2):
            made = decide(fault, reading, qualified, id=key)
    remedial.refresh_from_db()
    proof.refresh_from_db()
    assert (made.pk, made.decision, remedial.stage, proof.state) == (key, "again", "approved", "reopened")
    assert Reading.objects.filter(pk=reading.pk).values().get() == before
    assert list(proof.readings.all()) == [reading]
    observation = remedial.observations.get()
    why = f"Loop tester, T-9 was found wrong, its reading is taken again: {WHY}"
    opened = {"from": "done", "to": "approved", "proofs": [str(proof.pk)], "observations": [str(observation.pk)]}
    assert told[0] == Told("remedial.reopened", remedial.pk, opened, {"reason": why})
    assert told[1].verb == "observation.reopened"
    facts = {"fault": str(fault.pk), "decision": str(key), "reopened": [str(remedial.pk)]}
    assert told[2:] == [Told("reading.to-read-again", reading.pk, facts, {"reason": WHY})]


def test_kept_leaves_everything_and_says_why(proved, tester, qualified) -> None:
    remedial, reading, _ = proved()
    fault = make.make_fault(tester, TODAY)
    key = new_id()
    with recorded() as told:
        decide(fault, reading, qualified, "kept", id=key)
    remedial.refresh_from_db()
    assert remedial.stage == "done"
    facts = {"fault": str(fault.pk), "decision": str(key), "reopened": []}
    assert told == [Told("reading.kept", reading.pk, facts, {"reason": WHY})]


@pytest.mark.parametrize(
    ("decision", "reason"), [("again", " "), ("kept", " "), ("kept", "fine"), ("kept", "it is so")]
)
def test_a_reason_is_given(proved, tester, qualified, decision, reason) -> None:
    _, reading, _ = proved()
    fault = make.make_fault(tester, TODAY)
    with recorded() as told, pytest.raises(Refused) as refused:
        decide(fault, reading, qualified, decision, reason=reason)
    assert (refused.value.field, told, RecallDecision.objects.count()) == ("reason", [], 0)


def test_who_may_decide(proved, tester, engineer, office, qualified) -> None:
    _, reading, _ = proved()
    fault = make.make_fault(tester, TODAY)
    for by, decision in ((engineer, "again"), (engineer, "kept"), (office, "kept")):
        with pytest.raises(NotAllowed):
            decide(fault, reading, by, decision)
    decide(fault, reading, office)


def test_your_own_reading_is_kept_by_another_qualified_person(proved, tester, qualified) -> None:
    second = make_qualified("Anna Able")
    _, reading, _ = proved(by=qualified)
    fault = make.make_fault(tester, TODAY)
    with pytest.raises(NotAllowed, match="another qualified person must decide"):
        decide(fault, reading, qualified, "kept", now=LATER)
    second.is_active = False
    second.save()
    with pytest.raises(NotAllowed, match="on a later day"):
        decide(fault, reading, qualified, "kept")
    assert decide(fault, reading, qualified, "kept", now=LATER).by == qualified


def test_what_does_not_rest_on_it_is_not_decided(proved, tester, engineer, qualified) -> None:
    _, reading, _ = proved()
    fault = make.make_fault(tester, TODAY, last_good_on=TODAY)
    before = take(reading.circuit, "0.9", by=engineer, instrument=tester, now=NOON - timedelta(days=1))
    other = take(reading.circuit, "0.9", by=engineer, instrument=make.make_instrument("T-2"))
    for one in (before, other):
        with pytest.raises(Refused, match="does not rest on what was found wrong"):
            decide(fault, one, qualified)


def test_a_change_of_mind_is_another_row(proved, tester, qualified) -> None:
    remedial, reading, _ = proved()
    fault = make.make_fault(tester, TODAY)
    kept = decide(fault, reading, qualified, "kept")
    with recorded() as told, pytest.raises(ChangedMeanwhile):
        decide(fault, reading, qualified, "again")
    assert told == []
    decide(fault, reading, qualified, "again", seen=kept.pk, now=LATER)
    remedial.refresh_from_db()
    kept.refresh_from_db()
    assert (remedial.stage, kept.replaced_at, RecallDecision.objects.count()) == ("approved", LATER, 2)


def test_an_archived_site_opens_nothing_but_keeps(proved, tester, qualified) -> None:
    remedial, reading, _ = proved()
    fault = make.make_fault(tester, TODAY)
    remedial.site.archived_at = NOON
    remedial.site.save()
    with pytest.raises(Refused, match="is archived"):
        decide(fault, reading, qualified)
    assert decide(fault, reading, qualified, "kept").decision == "kept"


# --- what follows -------------------------------------------------------------------------------------------------------


def test_a_reading_to_be_read_again_proves_nothing_more(tester, engineer, qualified) -> None:
    remedial = on_the_way("C3")
    reading = take(ask_reading(remedial), "0.9", by=engineer, instrument=tester)
    fault = make.make_fault(tester, TODAY)
    assert fresh_readings(remedial) == [reading]
    decide(fault, reading, qualified)
    assert fresh_readings(remedial) == []
    besides = take(make.make_circuit(reading.board, way=9), "0.9", by=engineer, instrument=tester)
    good = take(reading.circuit, "0.9", by=engineer, instrument=make.make_instrument("T-2"), now=LATER)
    decide(fault, besides, qualified)
    with pytest.raises(Refused, match="decided to be read again"):
        close(remedial, by=engineer, readings=[good, besides], exception_reason="Put up all the same", now=LATER)
    assert close(remedial, by=engineer, readings=[good], now=LATER).state == "stands"


def test_the_list_shrinks_until_nothing_is_left(tester, engineer, qualified, office) -> None:
    circuit = ask_reading(on_the_way("C3"))
    at_report = [take(circuit, value, by=engineer, instrument=tester) for value in ("0.8", "0.9")]
    fault = make.make_fault(tester, TODAY)
    left = lambda: [faults(office)[0][name] for name in ("count", "undecided", "unread")]  # noqa: E731
    assert left() == ["2 readings", 2, 0]
    decide(fault, at_report[0], qualified)
    decide(fault, at_report[1], qualified, "kept")
    assert left() == ["2 readings", 0, 1]
    take(circuit, "0.9", by=engineer, instrument=tester, now=LATER)  # the same wrong instrument answers nothing
    assert left() == ["3 readings", 1, 1]
    take(circuit, "0.9", by=engineer, instrument=make.make_instrument("T-2"), now=LATER)
    assert left() == ["3 readings", 1, 0]
    assert counts(fault, office) == {"all": 3, "undecided": 1, "again": 0}


def test_after_a_calibration_it_answers_by_itself(tester, engineer, qualified, manager, office) -> None:
    circuit = ask_reading(on_the_way("C3"))
    reading = take(circuit, "0.9", by=engineer, instrument=tester)
    fault = make.make_fault(tester, TODAY)
    decide(fault, reading, qualified)
    day = TODAY + timedelta(days=2)
    check_instrument(
        tester, id=new_id(), checked_on=day, due=day + timedelta(days=365), by_whom="Lab", by=manager,
        now=NOON + timedelta(days=2),
    )  # fmt: skip
    tester.refresh_from_db()
    take(circuit, "0.9", by=engineer, instrument=tester, now=NOON + timedelta(days=2, hours=1))
    assert [faults(office)[0][name] for name in ("undecided", "unread")] == [0, 0]


# --- pages --------------------------------------------------------------------------------------------------------------


def test_pages_lead_from_one_to_the_next(proved, tester, qualified, at_noon) -> None:
    first, second = proved()[1], proved("C2")[1]
    fault, client = make.make_fault(tester, TODAY), signed_in(qualified)
    listed = reverse("works:recall", args=[fault.pk])
    assert "2 to decide" in read(client, listed)
    where = [reverse("works:recall_decide", args=[fault.pk, one.pk]) for one in (second, first)]
    shown = client.get(where[0])
    assert "0.9 Ω" in text_of(shown)
    sent = {"id": str(new_id()), "decision": "again", "reason": WHY}
    assert client.post(where[0], sent | {"reason": ""}).status_code == 422
    assert client.post(where[0], sent)["Location"] == where[1]
    kept = {"id": str(new_id()), "decision": "kept", "reason": WHY}
    assert client.post(where[1], kept)["Location"] == listed
    after = read(client, listed)
    assert "Nothing is left to decide, 1 to read again" in after
    waits = read(client, listed, state="again")
    assert f"To be read again: Quentin Prover, 3 Feb 2026, 12:00 {WHY} Not read again yet" in waits
    assert "Kept: Quentin Prover" in read(client, listed, state="settled")


def test_the_page_offers_what_this_person_may(proved, tester, office, engineer) -> None:
    _, reading, _ = proved()
    fault = make.make_fault(tester, TODAY)
    where = reverse("works:recall_decide", args=[fault.pk, reading.pk])
    choices = signed_in(office).get(where).context["form"].fields["decision"].choices
    assert [value for value, _ in choices] == ["again"]
    assert "Only the office or a qualified person decides this." in read(signed_in(engineer), where)
    lent = make.make_user("Sid Lent", "engineer", subcontractor=True)
    assert signed_in(lent).get(where).status_code == 404
    assert "0.9" not in read(signed_in(lent), reverse("works:recall", args=[fault.pk]), state="")


def test_what_was_decided_meanwhile_is_shown_before_it_is_replaced(proved, tester, qualified, office, at_noon) -> None:
    _, reading, _ = proved()
    fault = make.make_fault(tester, TODAY)
    client, where = signed_in(office), reverse("works:recall_decide", args=[fault.pk, reading.pk])
    decide(fault, reading, qualified, "kept")
    sent = {"id": str(new_id()), "decision": "again", "reason": "Not convinced by that"}
    answer = client.post(where, sent)
    assert answer.status_code == 422
    assert "Somebody decided this meanwhile" in text_of(answer)
    assert "Kept: Quentin Prover" in text_of(answer)
    seen = str(RecallDecision.objects.get().pk)
    assert client.post(where, sent | {"seen": seen}).status_code == 302


def test_the_list_as_a_file(proved, tester, qualified) -> None:
    remedial, reading, _ = proved()
    fault = make.make_fault(tester, TODAY)
    decide(fault, reading, qualified, "kept")
    file = signed_in(qualified).get(reverse("works:recall", args=[fault.pk]), {"state": "", "as": "csv"})
    rows = list(csv.reader(io.StringIO(file.content.decode("utf-8-sig"))))
    assert len(rows) == 2
    assert rows[1][5:] == [
        "0.9 Ω", "pass", "Loop tester, T-9", f"{remedial.number}: Fit a cover (done)",
        "Kept: Quentin Prover, 3 Feb 2026, 12:00", WHY, "",
    ]  # fmt: skip


@pytest.mark.parametrize("size", [1, 6])
def test_pages_cost_the_same_at_any_size(proved, tester, qualified, size) -> None:
    rows = [proved() for _ in range(size)]
    found = [make.make_fault(tester, TODAY) for _ in range(size)]
    decide(found[0], rows[0][1], qualified)
    client = signed_in(qualified)
    with statements() as sql:
        client.get(reverse("works:recall", args=[found[0].pk]), {"state": ""})
    assert len(sql) == 7
    with statements() as sql:
        client.get(reverse("works:recalls"))
    assert len(sql) == 3


# --- at once ------------------------------------------------------------------------------------------------------------


@pytest.mark.django_db(transaction=True)
def test_two_who_decide_at_once(transactional_db) -> None:
    tester, remedial = make.make_instrument("T-9"), on_the_way("C3")
    reading = take(ask_reading(remedial), "0.9", by=make.anybody("engineer"), instrument=tester)
    close(remedial, readings=[reading])
    fault = make.make_fault(tester, TODAY)
    people = [make_qualified("Quentin Prover"), make_qualified("Quilla Tester")]
    answers = at_once(*(lambda by=by: decide(fault, reading, by) for by in people))
    assert sorted(type(a).__name__ for a in answers) == ["ChangedMeanwhile", "RecallDecision"]
    remedial.refresh_from_db()
    assert (remedial.stage, RecallDecision.objects.count()) == ("approved", 1)


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("closes_first", [True, False])
def test_a_closing_and_the_decision_come_one_after_the_other(transactional_db, closes_first) -> None:
    """Whichever is first: never a remedial that stands closed by a reading that is to be read again."""
    tester, remedial = make.make_instrument("T-9"), on_the_way("C3")
    engineer, by = make.anybody("engineer"), make_qualified("Quentin Prover")
    reading = take(ask_reading(remedial), "0.9", by=engineer, instrument=tester)
    fault = make.make_fault(tester, TODAY)

    def shut():
        why = {"exception_reason": "Only this tester was there"}
        return close_remedial(remedial, id=new_id(), by=engineer, now=NOON, readings=[reading], **why)

    one, other = (shut, lambda: decide(fault, reading, by))[:: 1 if closes_first else -1]
    with transaction.atomic():
        one()
        waits = behind(other)
    answer = waits.exception(timeout=20) or waits.result()
    remedial.refresh_from_db()
    assert isinstance(answer, Refused)
    if closes_first:
        assert (remedial.stage, RecallDecision.objects.count()) == ("done", 0)
        decide(fault, reading, by)
        remedial.refresh_from_db()
    assert (remedial.stage, Proof.objects.filter(state="stands").count()) == ("approved", 0)


@pytest.mark.django_db(transaction=True)
def test_a_review_and_a_reopening_come_one_after_the_other(transactional_db) -> None:
    remedial = on_the_way("C2")
    proof, by, office = close(remedial), make_qualified("Quentin Prover"), make.anybody("office")
    answers = at_once(
        lambda: review_proof(proof, decision="accepted", by=by, now=NOON),
        lambda: reopen_remedial(remedial, reason="It came loose again", by=office, now=NOON),
    )
    remedial.refresh_from_db()
    proof.refresh_from_db()
    assert (remedial.stage, proof.state) == ("approved", "reopened")
    refused = [type(a).__name__ for a in answers if isinstance(a, Exception)]
    assert refused in ([], ["Refused"])
