"""How a customer stops reminders, and what never stops. Checked against RFC 2369 and RFC 8058 (sections named beside)."""

import re
from datetime import timedelta

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse

from jobsite.logs import without_tokens
from jobsite.messages.models import Message
from jobsite.refused import NotAllowed
from remedials.due.models import NoReminders
from remedials.due.operations import send, sweep
from remedials.due.operations.stopping import Receiver, remind_again, reminder_of, stop_reminders, token_of
from tests import factories as make
from tests.at_once import at_once
from tests.factories import NOON, TODAY, Told, recorded
from tests.remedials.desk import text_of
from tests.remedials.test_due_customers import due_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
ONE_CLICK = {"List-Unsubscribe": "One-Click"}


@pytest.fixture
def stranger() -> Client:
    """Somebody without cookies, of whom every POST is checked as a browser's would be."""
    return Client(enforce_csrf_checks=True)


@pytest.fixture
def reminder(site):
    return make.make_reminder(site)


def at(reminder) -> str:
    return reverse("due:stop", args=[token_of(reminder)])


def is_stopped(site) -> bool:
    return NoReminders.objects.filter(party=site.customer, lifted_at=None).exists()


def sent_about_an_inspection(site, settings, *, https: bool, **fields):
    settings.SITE_ADDRESS = f"{'https' if https else 'http'}://jobs.example.com"
    due_in(site, 7, **fields)
    sweep(now=NOON)
    send(now=NOON)
    return next(m for m in mail.outbox if m.to == ["petra@example.com"])


# --- in the mail ------------------------------------------------------------------------------------------------------


def test_a_reminder_says_in_its_foot_and_headers_how_to_stop_them(site, settings) -> None:
    sent = sent_about_an_inspection(site, settings, https=True)
    address = f"https://jobs.example.com{at(Message.objects.get(reminder=True))}"
    headers = sent.message()
    assert (
        headers["List-Unsubscribe"] == f"<{address}>"
    )  # RFC 2369, sections 2 and 3.2; RFC 8058, 3.1: one https address
    assert headers["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"  # RFC 8058, section 3.1: exactly this
    assert address in sent.body
    assert "Warnings of danger, what the law asks for" in sent.body


def test_without_https_no_one_click_is_promised(site, settings) -> None:
    """RFC 8058, section 3.1: the address must be an https one."""
    headers = sent_about_an_inspection(site, settings, https=False).message()
    assert headers["List-Unsubscribe"].startswith("<http://")
    assert headers["List-Unsubscribe-Post"] is None


def test_what_the_law_asks_for_offers_no_way_to_stop_it(site, settings) -> None:
    sent = sent_about_an_inspection(site, settings, https=True, by_law=True)
    assert sent.message()["List-Unsubscribe"] is None
    assert "/stop/" not in sent.body


def test_a_quote_that_lapses_offers_it_too_and_the_quote_itself_does_not(site, office) -> None:
    make.make_terms()
    make.make_sent_offer(sites=[site], prices=[{}], valid_until=TODAY + timedelta(days=3), by=office)
    sweep(now=NOON + timedelta(days=1))
    row = Message.objects.get(reason_kind="offer-lapses")
    assert (row.reminder, row.about) == (True, f"quote {make_quote_key()}")
    send(now=NOON + timedelta(days=1))
    assert "/stop/" in next(m for m in mail.outbox if "stands until" in m.subject).body


def make_quote_key():
    from remedials.quotes.models import Quote

    return Quote.objects.get().pk


def test_the_address_tells_nothing_of_whom_it_stops(reminder, site) -> None:
    shown = at(reminder)
    assert "@" not in shown
    assert "petra" not in shown
    assert re.fullmatch(r"/stop/[0-9a-f]{32}\.[\w-]{43}/", shown)
    assert without_tokens(f"GET {shown}") == "GET /stop/…/"


# --- the page ---------------------------------------------------------------------------------------------------------


def test_opening_it_changes_nothing(stranger, reminder, site) -> None:
    """Mail scanners open links."""
    for method in (stranger.get, stranger.head):
        assert method(at(reminder)).status_code == 200
    assert not is_stopped(site)
    shown = text_of(stranger.get(at(reminder)))
    for words in ("Stop reminders?", "What never stops", "Warnings of danger", "What the law asks for"):
        assert words in shown


def test_one_click_stops_without_cookie_token_or_redirect(stranger, reminder, site) -> None:
    """RFC 8058, section 3.2: a POST of just this, without cookies, answered without a redirect; again is harmless."""
    for _ in range(2):
        answer = stranger.post(at(reminder), "List-Unsubscribe=One-Click", "application/x-www-form-urlencoded")
        assert answer.status_code == 200
        assert not answer.cookies
    assert NoReminders.objects.get().address == "petra@example.com"
    assert NoReminders.objects.get().noted_by is None


def test_one_click_as_form_data_too(stranger, reminder, site) -> None:
    """RFC 8058, section 3.2: multipart/form-data should be taken too."""
    assert stranger.post(at(reminder), ONE_CLICK).status_code == 200
    assert is_stopped(site)


def test_by_the_button_and_back_again(stranger, reminder, site) -> None:
    assert stranger.post(at(reminder), {}).status_code == 303
    assert "You get no more reminders" in text_of(stranger.get(at(reminder)))
    assert stranger.post(at(reminder), {"back": "yes"}).status_code == 303
    assert not is_stopped(site)
    assert "Stop reminders?" in text_of(stranger.get(at(reminder)))


@pytest.mark.parametrize("how", ["cut", "another", "of what is no reminder"])
def test_a_token_that_is_not_ours_opens_nothing(stranger, reminder, site, how) -> None:
    token = token_of(reminder)
    if how == "cut":
        token = token[:-1]
    elif how == "another":
        token = f"{make.make_reminder(site, at=NOON + timedelta(days=8)).pk.hex}{token[32:]}"
    else:
        Message.objects.update(reminder=False)
    assert stranger.post(reverse("due:stop", args=[token]), ONE_CLICK).status_code == 404
    assert reminder_of(token) is None
    assert not is_stopped(site)


# --- what it does -----------------------------------------------------------------------------------------------------


def test_stopping_and_letting_go_again_are_told_in_the_ledger(site, office) -> None:
    with recorded() as told:
        row = stop_reminders(site.customer, address="petra@example.com", by=office, now=NOON)
        assert stop_reminders(site.customer, address="petra@example.com", by=office, now=NOON) == row
        remind_again(site.customer, by=office, now=NOON)
        remind_again(site.customer, by=office, now=NOON)
    facts = {"party": str(site.customer_id)}
    stopped = Told("reminders.stopped", row.pk, facts, {"address": "petra@example.com"})
    assert told == [stopped, Told("reminders.again", row.pk, facts)]


def test_only_the_office_and_whoever_has_a_reminder_of_theirs_may(site, engineer, reminder) -> None:
    other = make.make_party("Olga Other")
    for by in (engineer, Receiver(make.make_reminder(site, at=NOON + timedelta(days=9), to_id=other.pk))):
        with pytest.raises(NotAllowed):
            stop_reminders(site.customer, address="", by=by, now=NOON)


def test_stopped_once_it_holds_for_quotes_and_inspections_until_lifted(site, office) -> None:
    make.make_terms()
    make.make_sent_offer(sites=[site], prices=[{}], valid_until=TODAY + timedelta(days=3), by=office)
    due_in(site, 7)
    stop_reminders(site.customer, address="petra@example.com", by=office, now=NOON)
    tomorrow = NOON + timedelta(days=1)
    sweep(now=tomorrow)
    assert not Message.objects.filter(to_kind="customer").exists()
    remind_again(site.customer, by=office, now=tomorrow)
    sweep(now=tomorrow)
    assert Message.objects.filter(to_kind="customer", reminder=True).count() == 2


# --- the office -------------------------------------------------------------------------------------------------------


def test_the_customers_page_says_it_and_the_office_changes_it(at_desk, site) -> None:
    page, here = (
        reverse("premises:party", args=[site.customer_id]),
        reverse("due:reminders_to", args=[site.customer_id]),
    )
    assert "Gets reminders" in text_of(at_desk.get(page))
    assert "Stop reminders to them" in text_of(at_desk.get(here))
    assert "gets no more reminders" in text_of(at_desk.post(here, follow=True))
    assert "Gets no reminders since 3 Feb 2026" in text_of(at_desk.get(page))
    assert "Olive Deskworth noted it for them" in text_of(at_desk.get(here))
    at_desk.post(here, {"back": "yes"})
    assert not is_stopped(site)


def test_statements_of_the_customers_page(at_desk, site, django_assert_num_queries) -> None:
    with django_assert_num_queries(10):
        at_desk.get(reverse("premises:party", args=[site.customer_id]))


# --- at the same time -------------------------------------------------------------------------------------------------


@pytest.mark.django_db(transaction=True)
def test_stopped_by_the_customer_and_by_the_office_at_once_it_is_stopped_once(site, office, reminder) -> None:
    party = site.customer
    came = at_once(
        lambda: stop_reminders(party, address="petra@example.com", by=Receiver(reminder), now=NOON),
        lambda: stop_reminders(party, address="petra@example.com", by=office, now=NOON),
    )
    assert [type(row) for row in came] == [NoReminders, NoReminders]
    assert NoReminders.objects.count() == 1
