"""Accuracy checks of instruments: rows that stay, the days that follow from them, what a failed one leads to.

How often, by whom, and that a quick comparison is no calibration: common practice, no published source is at hand.
"""

from datetime import date, timedelta

import pytest
import time_machine
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.ledger.files import read_file, store_file
from jobsite.people import operations
from jobsite.people.models import Instrument, InstrumentCheck, InstrumentFault
from jobsite.people.queries.instruments import last_good
from jobsite.refused import NotAllowed, Refused
from tests import factories as make
from tests.factories import NOON, TODAY, Told, recorded
from tests.remedials.desk import read, statements, text_of

pytestmark = pytest.mark.django_db
LATER = date(2027, 2, 3)
PDF = b"%PDF-1.7\n% a certificate, plainly invented\n%%EOF\n"


@pytest.fixture
def tester(db):
    return make.make_instrument("T-9", check_due=None)


@pytest.fixture
def check(tester, manager):
    """Record a check of the tester: by the manager, today, passed, a year long, unless told otherwise."""

    def record(**fields):
        usual = {"id": new_id(), "checked_on": TODAY, "by_whom": "Sampleton Calibration", "by": manager, "now": NOON}
        due = {} if fields.get("result") == "failed" or fields.get("kind") == "comparison" else {"due": LATER}
        return operations.check_instrument(tester, **usual | due | fields)

    return record


@pytest.fixture
def at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


def days(tester) -> tuple[date | None, date | None]:
    tester.refresh_from_db()
    return tester.checked_on, tester.check_due


def test_a_check_is_a_row_and_the_instrument_follows(check, tester) -> None:
    paper, key = store_file(PDF, media_type="application/pdf", now=NOON), new_id()
    with recorded() as told:
        made = check(id=key, certificate=" SC-1 ", file=paper, note="0.02 Ω low at 1 Ω")
        assert check(id=key, certificate=" SC-1 ", file=paper) == made
    facts = {
        "check": str(key), "kind": "calibration", "result": "passed", "checked_on": "2026-02-03", "due": "2027-02-03",
        "file": paper.hash,
    }  # fmt: skip
    words = {"by_whom": "Sampleton Calibration", "certificate": "SC-1", "note": "0.02 Ω low at 1 Ω"}
    assert told == [Told("instrument.checked", tester.pk, facts, words)]
    assert days(tester) == (TODAY, LATER)
    assert read_file(InstrumentCheck.objects.get().file) == PDF
    on = [date(2026, 2, 2), TODAY, LATER, date(2027, 2, 4)]
    assert [tester.in_check_on(day) for day in on] == [False, True, True, False]


def test_a_check_that_finds_it_wrong_has_no_key_of_another_finding(check, tester, manager) -> None:
    key = new_id()
    wrong = {"last_good_on": TODAY, "found_on": TODAY, "what": "Reads low", "by": manager, "now": NOON}
    operations.find_instrument_wrong(tester, id=key, **wrong)
    with pytest.raises(Refused, match="already used for something else"):
        check(id=key, result="failed", note="low", last_good_on=TODAY)
    assert not InstrumentCheck.objects.exists()
    check(id=(other := new_id()), result="failed", note="low", last_good_on=TODAY)
    with pytest.raises(Refused, match="already used for something else"):
        operations.find_instrument_wrong(tester, id=other, **wrong)


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"checked_on": TODAY + timedelta(days=1)}, "checked_on"),
        ({"due": TODAY}, "due"),
        ({"due": None}, "due"),
        ({"by_whom": " "}, "by_whom"),
        ({"result": "failed", "note": "low"}, "last_good_on"),
        ({"result": "failed", "note": " ", "last_good_on": TODAY}, "note"),
        ({"result": "failed", "note": "low", "last_good_on": TODAY + timedelta(days=1)}, "last_good_on"),
        ({"result": "failed", "note": "low", "last_good_on": TODAY, "due": LATER}, "due"),
        ({"last_good_on": TODAY}, "last_good_on"),
        ({"kind": "comparison", "result": "adjusted"}, "result"),
        ({"kind": "comparison", "due": LATER}, "due"),
    ],
)
def test_what_cannot_be_is_refused(check, fields, field) -> None:
    with recorded() as told, pytest.raises(Refused) as refused:
        check(**fields)
    assert (refused.value.field, told) == (field, [])
    assert (InstrumentCheck.objects.count(), InstrumentFault.objects.count()) == (0, 0)


@pytest.mark.parametrize(
    "fields",
    [
        {"result": "failed"},
        {"due": None},
        {"kind": "comparison"},
        {"kind": "comparison", "result": "adjusted", "due": None},
        {"by_whom": ""},
        {"due": date(2025, 12, 31)},
        {"kind": "guess"},
    ],
)
def test_the_database_holds_what_a_check_is(tester, fields) -> None:
    with pytest.raises(IntegrityError), transaction.atomic():
        make.make_check(tester, **fields)


def test_an_older_check_stands_beside_and_replaces_nothing(check, tester) -> None:
    check()
    check(checked_on=TODAY - timedelta(days=400), due=TODAY - timedelta(days=35))
    assert days(tester) == (TODAY, LATER)
    assert tester.in_check_on(TODAY - timedelta(days=400))  # what was read then and arrives now counts as it did
    assert not tester.in_check_on(TODAY - timedelta(days=34))
    check(due=LATER + timedelta(days=1))  # the same day again: put right
    assert days(tester) == (TODAY, LATER + timedelta(days=1))
    assert InstrumentCheck.objects.count() == 3


def test_a_failed_check_finds_it_wrong(check, tester) -> None:
    check(checked_on=TODAY - timedelta(days=100))
    key = new_id()
    with recorded() as told:
        for _ in range(2):
            check(id=key, result="failed", last_good_on=TODAY - timedelta(days=100), note="0.3 Ω too low")
    failed = {"check": str(key), "kind": "calibration", "result": "failed", "checked_on": "2026-02-03"}
    wrong = {"last_good_on": "2025-10-26", "found_on": "2026-02-03", "check_due_before": "2027-02-03"}
    said = "Sampleton Calibration: 0.3 Ω too low"
    assert told == [
        Told("instrument.checked", tester.pk, failed, {"by_whom": "Sampleton Calibration", "note": "0.3 Ω too low"}),
        Told("instrument.found-wrong", tester.pk, wrong, {"what": said}),
    ]
    assert days(tester) == (TODAY - timedelta(days=100), None)
    assert InstrumentFault.objects.get().pk == key
    assert not tester.in_check_on(TODAY)


def test_what_came_in_wrong_and_was_adjusted_counts_again_from_that_day(check, tester) -> None:
    check(checked_on=TODAY - timedelta(days=100))
    check(result="adjusted", last_good_on=TODAY - timedelta(days=100), note="As found 0.3 Ω low")
    assert days(tester) == (TODAY, LATER)
    assert tester.in_check_on(TODAY)
    assert InstrumentFault.objects.unanswered(TODAY).count() == 0
    assert InstrumentFault.objects.unanswered(TODAY - timedelta(days=1)).count() == 1


def test_only_a_calibration_after_it_answers_what_was_found(check, tester) -> None:
    make.make_fault(tester, TODAY - timedelta(days=1))
    check(kind="comparison", by_whom="Compared with the check box")
    assert InstrumentFault.objects.unanswered(TODAY).exists()
    with pytest.raises(Refused, match="found wrong on 2 Feb 2026: only a check after that day"):
        check(checked_on=TODAY - timedelta(days=1))
    check()
    assert not InstrumentFault.objects.unanswered(TODAY).exists()
    assert tester.in_check_on(TODAY) is False  # this copy was read before
    assert Instrument.objects.get().in_check_on(TODAY) is True


def test_found_out_late_before_the_last_calibration_takes_nothing_away(check, tester, manager) -> None:
    check(checked_on=TODAY - timedelta(days=300), due=LATER)
    check(checked_on=TODAY - timedelta(days=2))
    operations.find_instrument_wrong(
        tester, id=new_id(), last_good_on=TODAY - timedelta(days=300), found_on=TODAY - timedelta(days=5), what="Low",
        by=manager, now=NOON,
    )  # fmt: skip
    assert days(tester) == (TODAY - timedelta(days=2), LATER)
    between = [TODAY - timedelta(days=6), TODAY - timedelta(days=5), TODAY - timedelta(days=3), TODAY]
    assert [tester.in_check_on(day) for day in between] == [True, False, False, True]


def test_the_last_good_day_is_proposed_from_the_checks(check, tester, manager) -> None:
    assert last_good(tester) is None
    check(checked_on=TODAY - timedelta(days=100))
    check(kind="comparison", checked_on=TODAY - timedelta(days=20))
    tester.refresh_from_db()
    assert last_good(tester) == TODAY - timedelta(days=20)
    check(kind="comparison", result="failed", last_good_on=TODAY - timedelta(days=20), note="1 Ω shows 0.7 Ω")
    check(kind="comparison")
    assert last_good(tester) == TODAY - timedelta(days=20)  # a comparison after that proves nothing by itself
    assert last_good(make.make_instrument("T-10", check_due=LATER)) == date(2026, 1, 1)  # before checks were rows


# --- who ----------------------------------------------------------------------------------------------------------------


def test_an_engineer_compares_but_does_not_calibrate(check, engineer, tester) -> None:
    with recorded() as told, pytest.raises(NotAllowed):
        check(by=engineer)
    assert told == []
    check(by=engineer, kind="comparison", result="failed", last_good_on=TODAY, note="1 Ω shows 0.7 Ω")
    assert not Instrument.objects.get(pk=tester.pk).in_check_on(TODAY)
    lent = make.make_user("Sid Lent", "engineer", subcontractor=True)
    with pytest.raises(NotAllowed):
        check(by=lent, kind="comparison")


# --- pages --------------------------------------------------------------------------------------------------------------


def signed_in(user) -> Client:
    client = Client()
    client.force_login(user)
    return client


def test_pages_lead_from_the_list_to_a_check_with_its_certificate(tester, manager, at_noon) -> None:
    from django.core.files.uploadedfile import SimpleUploadedFile

    client, where = signed_in(manager), reverse("people:instrument_check", args=[tester.pk])
    assert reverse("works:instrument", args=[tester.pk]) in client.get(reverse("people:instruments")).content.decode()
    said = {"id": str(new_id()), "kind": "calibration", "result": "passed", "by_whom": "Lab", "certificate": "SC-7"}
    sent = said | {"checked_on": "2026-02-01", "due": "2027-02-01"}
    paper = SimpleUploadedFile("c.pdf", PDF)
    assert client.post(where, sent | {"by_whom": ""}).status_code == 422
    shown = text_of(client.post(where, sent | {"file": paper}, follow=True))
    assert "State in check" in shown
    assert "1 Feb 2026 calibration within its accuracy Lab recorded by Mabel Ledgerton" in shown
    row = InstrumentCheck.objects.get()
    file = client.get(reverse("people:check_file", args=[row.pk]))
    assert (file.content, file["Content-Disposition"]) == (PDF, 'attachment; filename="check-of-2026-02-01.pdf"')
    assert signed_in(manager).get(reverse("people:check_file", args=[new_id()])).status_code == 404


def test_no_check_is_made_up_for_what_was_recorded_before(manager) -> None:
    old = make.make_instrument("T-1")
    shown = read(signed_in(manager), reverse("works:instrument", args=[old.pk]))
    assert "Checked on 1 Jan 2026: recorded before checks were kept one by one." in shown
    make.make_check(old)
    assert "recorded before" not in read(signed_in(manager), reverse("works:instrument", args=[old.pk]))


def test_the_engineers_form_asks_for_a_comparison_only(tester, engineer, at_noon) -> None:
    client, where = signed_in(engineer), reverse("people:instrument_check", args=[tester.pk])
    names = set(client.get(where).context["form"].fields)
    assert names == {"id", "checked_on", "result", "by_whom", "last_good_on", "note"}
    sent = {"id": str(new_id()), "kind": "calibration", "due": "2030-01-01", "checked_on": "2026-02-03"}
    sent |= {"result": "passed", "by_whom": "The check box"}
    shown = text_of(client.post(where, sent, follow=True))
    assert "comparison between calibrations within its accuracy" in shown
    assert days(tester) == (None, None)
    assert "Take out of use" not in shown


@pytest.mark.parametrize("size", [1, 6])
def test_the_page_costs_the_same_at_any_size(tester, manager, size) -> None:
    for number in range(size):
        make.make_check(tester, date(2025, 1, 1) + timedelta(days=number))
        make.make_fault(tester, TODAY - timedelta(days=number))
    client = signed_in(manager)
    with statements() as sql:
        client.get(reverse("works:instrument", args=[tester.pk]))
    assert len(sql) == 8
    with statements() as sql:
        client.get(reverse("people:instruments"))
    assert len(sql) == 4
