"""An instrument found to measure wrongly: recorded, its readings since listed with the closed work they proved."""

from datetime import date, timedelta

import pytest
from django.test import Client
from django.urls import reverse

from inspections.models import Reading
from jobsite.ids import new_id
from jobsite.people.models import InstrumentFault
from jobsite.people.operations import check_instrument, find_instrument_wrong
from jobsite.refused import NotAllowed, Refused
from tests import factories as make
from tests.factories import NOON, TODAY, Told, recorded
from tests.remedials.desk import read, text_of
from tests.remedials.work import ask_reading, close, on_the_way, take

pytestmark = pytest.mark.django_db


@pytest.fixture
def tester(db):
    return make.make_instrument("T-9")


@pytest.fixture
def find(tester, manager):
    def wrong(**fields):
        usual = {"id": new_id(), "last_good_on": date(2026, 1, 20), "found_on": TODAY, "what": "0.3 Ω too low"}
        return find_instrument_wrong(tester, **usual | {"by": manager, "now": NOON} | fields)

    return wrong


def page(tester) -> str:
    return reverse("works:found_wrong", args=[tester.pk])


def test_it_is_recorded_once_and_the_instrument_is_out_of_its_check(find, tester) -> None:
    key, due = new_id(), tester.check_due
    with recorded() as told:
        made = find(id=key)
        assert find(id=key) == made
    facts = {"last_good_on": "2026-01-20", "found_on": "2026-02-03", "check_due_before": due.isoformat()}
    assert told == [Told("instrument.found-wrong", tester.pk, facts, {"what": "0.3 Ω too low"})]
    tester.refresh_from_db()
    assert not tester.in_check_on(TODAY)


def test_a_reading_put_up_besides_by_it_asks_for_a_reason_too(find, tester, engineer) -> None:
    remedial = on_the_way("C3", photo_required=False)
    asked = ask_reading(remedial)
    besides = make.make_circuit(asked.board, way=8)
    good, doubtful = take(asked, "0.5", by=engineer), take(besides, "0.5", by=engineer, instrument=tester)
    find()
    with pytest.raises(Refused, match="way 8"):
        close(remedial, by=engineer, readings=[good, doubtful])
    proof = close(remedial, by=engineer, readings=[good, doubtful], exception_reason="Read again with a second tester")
    assert set(proof.readings.all()) == {good, doubtful}


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"found_on": TODAY + timedelta(days=1)}, "found_on"),
        ({"last_good_on": TODAY, "found_on": TODAY - timedelta(days=1)}, "last_good_on"),
        ({"what": " "}, "what"),
    ],
)
def test_what_cannot_be_is_refused(find, fields, field) -> None:
    with recorded() as told, pytest.raises(Refused) as refused:
        find(**fields)
    assert (refused.value.field, told, InstrumentFault.objects.count()) == (field, [], 0)


def test_only_who_keeps_the_instruments_records_it(find, engineer) -> None:
    with pytest.raises(NotAllowed):
        find(by=engineer)


def test_a_reading_of_it_blocks_a_closing_until_a_reason_is_given(find, tester, engineer) -> None:
    remedial = on_the_way("C2")
    reading = take(ask_reading(remedial), "0.9", by=engineer, instrument=tester)
    find()
    stale = Reading.objects.get(pk=reading.pk)
    with pytest.raises(Refused, match="is from an instrument out of its check"):
        close(remedial, by=engineer, readings=[stale])
    assert close(
        remedial, by=engineer, readings=[stale], exception_reason="Read again by another: 0.91 Ω"
    ).exception_reason


def test_the_manager_records_it_on_its_page(client, tester, manager, engineer) -> None:
    sent = {"id": str(new_id()), "last_good_on": "2026-01-20", "found_on": "2026-02-03", "what": "0.3 Ω too low"}
    client.force_login(engineer)
    assert client.post(page(tester), sent).status_code == 403
    client.force_login(manager)
    assert client.get(page(tester)).context["form"].initial["last_good_on"] == date(2026, 1, 1)
    assert text_of(client.post(page(tester), sent | {"what": ""})).count("Needed: fill this in.") == 2
    assert "Recorded. Look through what it has shown since." in text_of(client.post(page(tester), sent, follow=True))


# --- where it is used -------------------------------------------------------------------------------------------------


@pytest.fixture
def as_():
    def signed_in(user) -> Client:
        client = Client()
        client.force_login(user)
        return client

    return signed_in


@pytest.fixture
def sheet(as_, engineer, at_noon):
    """A circuit, its page of readings, and somebody who reads."""
    circuit = ask_reading(on_the_way("C2"))
    return circuit, reverse("inspections:reading", args=[circuit.pk]), as_(engineer)


def test_an_instrument_found_wrong_says_so_where_it_is_chosen_and_beside_what_it_shows(find, tester, sheet) -> None:
    circuit, at, reader = sheet
    name = f"{circuit.pk.hex}-loop-impedance-1"
    sent = {"id": str(new_id()), "instrument": str(tester.pk), name: "0.40"}
    assert "found wrong" not in text_of(reader.get(f"{at}judge/", sent)) + text_of(reader.get(at))
    find()
    assert f"{tester} (found wrong on 3 Feb 2026)" in read(reader, at)
    beside = "Instrument found wrong on 3 Feb 2026: this proves nothing."
    assert beside in text_of(reader.get(f"{at}judge/", sent))
    said = text_of(reader.post(at, sent, follow=True))
    assert beside in said
    assert f"{tester}: instrument found wrong" in said


def test_found_wrong_later_is_said_only_of_what_was_read_before(find, tester, sheet, engineer) -> None:
    circuit, at, reader = sheet
    take(circuit, "0.9", by=engineer, instrument=tester, now=NOON - timedelta(days=1))
    find(found_on=TODAY - timedelta(days=5))  # told five days late: what it showed meanwhile is doubtful too
    assert f"{tester}: found wrong later" in read(reader, at)
    take(circuit, "0.8", by=engineer, instrument=tester, now=NOON + timedelta(hours=1))
    assert f"{tester}: instrument found wrong" in read(reader, at)


def test_only_a_check_after_that_day_ends_it(find, tester, sheet, engineer, manager, as_) -> None:
    circuit, at, reader = sheet
    take(circuit, "0.9", by=engineer, instrument=tester, now=NOON - timedelta(days=1))
    find(found_on=TODAY - timedelta(days=1))
    assert "found wrong on 2 Feb 2026, not checked since" in read(as_(manager), reverse("people:instruments"))
    due = {"due": TODAY + timedelta(days=365), "by_whom": "Lab", "by": manager, "now": NOON}
    with recorded() as told, pytest.raises(Refused, match="found wrong on 2 Feb 2026: only a check after that day"):
        check_instrument(tester, id=new_id(), checked_on=TODAY - timedelta(days=1), **due)
    assert told == []
    check_instrument(tester, id=new_id(), checked_on=TODAY, **due)
    tester.refresh_from_db()
    take(circuit, "0.8", by=engineer, instrument=tester, now=NOON + timedelta(hours=1))
    shown = read(reader, at)
    assert "(found wrong on" not in shown
    assert (shown.count("found wrong later"), shown.count("instrument found wrong")) == (1, 0)
    listed = read(as_(manager), reverse("works:recall", args=[tester.faults.get().pk]))
    assert ("0.9 Ω" in listed, "0.8 Ω" in listed) == (True, False)
    assert "not checked since" not in read(as_(manager), reverse("people:instruments"))
