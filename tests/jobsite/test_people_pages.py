"""The pages of people, instruments, the firm, private links and messages."""

import re
from datetime import timedelta
from html import unescape

import pytest
from django.core import mail
from django.urls import reverse

from jobsite.firm.queries import policy_on, the_firm
from jobsite.ids import new_id
from jobsite.messages.models import Message
from jobsite.people.models import Instrument, PrivateLink, User
from tests import factories as make
from tests.factories import NOON, TODAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def as_manager(client, manager):
    client.force_login(manager)
    return client


@pytest.fixture
def at_desk(client, office):
    client.force_login(office)
    return client


def text_of(response) -> str:
    """What a person reads: no tags, single spaces."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", response.content.decode())).split())


def posted(response) -> dict[str, object]:
    """What a browser would send from the form on this page, unchanged."""
    form = response.context["form"]
    values = {name: form[name].value() for name in form.fields}
    return {name: value for name, value in values.items() if value not in (None, False)}


def test_the_limit_of_a_c1_is_said_to_be_the_remedys(as_manager) -> None:
    shown = text_of(as_manager.get(reverse("people:policy_new")))
    assert "A C1 is remedied within" in shown
    assert "It is made safe at once." in shown
    assert "made safe within" not in shown


# --- people -----------------------------------------------------------------------------------------------------------


def invitation(as_manager, **changes):
    where = reverse("people:invite")
    form = posted(as_manager.get(where)) | {"name": "Una Newcomer", "email": "una@example.com", "roles": ["office"]}
    return as_manager.post(where, form | changes, follow=True)


def test_invitation_shows_its_link_once_and_mails_it(as_manager) -> None:
    response = invitation(as_manager)
    address = re.search(r"http\S+/accounts/password/reset/key/\S+", text_of(response))[0]
    assert response.status_code == 200
    assert "no-store" in response["Cache-Control"]
    assert [m.to for m in mail.outbox] == [["una@example.com"]]
    assert address in mail.outbox[0].body
    assert address not in text_of(
        as_manager.get(reverse("people:person", args=[User.objects.get(name="Una Newcomer").pk]))
    )


def test_loading_the_page_of_an_invitation_again_sends_nothing_more(as_manager) -> None:
    first = invitation(as_manager)
    where = first.redirect_chain[-1][0]
    person = User.objects.get(name="Una Newcomer")
    assert where == reverse("people:invited", args=[person.pk])
    assert as_manager.get(where)["Location"] == reverse("people:person", args=[person.pk])
    assert len(mail.outbox) == 1
    again = as_manager.post(reverse("people:invite_again", args=[person.pk]))
    assert (again.status_code, again["Location"]) == (302, where)
    assert len(mail.outbox) == 2
    assert text_of(as_manager.get(where)).count("password/reset/key") == 1


def test_the_link_of_an_invitation_waits_for_its_page_sealed(as_manager) -> None:
    where = reverse("people:invite")
    form = posted(as_manager.get(where)) | {"name": "Una Newcomer", "email": "una@example.com", "roles": ["office"]}
    as_manager.post(where, form)
    link = re.search(r"/accounts/password/reset/key/\S+", mail.outbox[0].body)[0]
    assert link not in str(dict(as_manager.session))
    as_manager.get(reverse("people:invited", args=[User.objects.get(name="Una Newcomer").pk]))
    assert "invited" not in as_manager.session


def test_invitation_that_cannot_be_mailed_says_so(as_manager, settings, tmp_path) -> None:
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9  # discard: nobody listens there
    response = invitation(as_manager)
    assert "It could not be sent to una@example.com" in text_of(response)
    assert User.objects.filter(email="una@example.com").exists()


def test_invitation_is_not_kept_as_a_message(as_manager) -> None:
    """Whoever read it later could take over the account."""
    invitation(as_manager)
    assert Message.objects.count() == 0


def test_refused_invitation_keeps_what_was_typed(as_manager, engineer) -> None:
    response = invitation(as_manager, email=engineer.email)
    assert response.status_code == 422
    assert response.context["form"]["name"].value() == "Una Newcomer"
    assert "has an account already" in text_of(response)


def test_list_of_people_names_competence_and_who_left(as_manager, qualified, engineer) -> None:
    User.objects.filter(pk=engineer.pk).update(is_active=False)
    rows = {row["name"]: row for row in as_manager.get(reverse("people:people")).context["rows"]}
    assert rows["Quentin Prover"]["qualified"] == "qualified person"
    assert rows["Edwin Wireman"]["state"] == "has left"
    assert list(rows)[-1] == "Edwin Wireman"


def test_second_of_two_managers_sees_both_versions(as_manager, engineer) -> None:
    where = reverse("people:person_edit", args=[engineer.pk])
    mine = posted(as_manager.get(where)) | {"roles": ["engineer", "office"]}
    as_manager.post(where, mine | {"roles": ["manager"]})
    refused = as_manager.post(where, mine)
    assert refused.status_code == 422
    assert "Saved by somebody else: manager" in text_of(refused)
    assert as_manager.post(where, posted(refused)).status_code == 302
    engineer.refresh_from_db()
    assert engineer.roles == ["engineer", "office"]


def test_leaving_sent_twice_does_not_undo_itself(as_manager, engineer) -> None:
    for sent, active in (({}, False), ({}, False), ({"back": "yes"}, True), ({"back": "yes"}, True)):
        as_manager.post(reverse("people:person_left", args=[engineer.pk]), sent)
        engineer.refresh_from_db()
        assert engineer.is_active is active


def test_only_manager_is_told_why_they_cannot_leave(as_manager, manager) -> None:
    response = as_manager.post(reverse("people:person_left", args=[manager.pk]))
    assert response.status_code == 422
    assert "This is the firm's only manager" in text_of(response)


def test_competence_is_recorded_and_ended(as_manager, engineer) -> None:
    where = reverse("people:competence_new", args=[engineer.pk])
    form = posted(as_manager.get(where)) | {"since": "3 Feb 2026", "evidence": "Certificate 7"}
    as_manager.post(where, form)
    row = engineer.competences.get()
    as_manager.post(reverse("people:competence_end", args=[row.pk]), {"until": "2026-03-31"})
    shown = text_of(as_manager.get(reverse("people:person", args=[engineer.pk])))
    assert "since 3 Feb 2026 until 31 Mar 2026" in shown
    assert "Certificate 7 · recorded by Mabel Ledgerton" in shown


@pytest.mark.parametrize("count", [1, 20])
def test_statements_of_people(as_manager, django_assert_num_queries, count) -> None:
    for number in range(count):
        make.make_qualified(f"Person{number} Surname")
    with django_assert_num_queries(5):
        as_manager.get(reverse("people:people"))


# --- instruments ------------------------------------------------------------------------------------------------------


def test_instrument_is_entered_checked_and_taken_out_of_use(as_manager) -> None:
    where = reverse("people:instrument_new")
    form = posted(as_manager.get(where)) | {"name": "Loop tester", "serial_number": "T-7"}
    check = as_manager.post(where, form)["Location"]
    row = Instrument.objects.get()
    listed = reverse("people:instruments")
    assert as_manager.get(listed).context["rows"][0]["state"] == "out of its check"
    said = {"kind": "calibration", "result": "passed", "by_whom": "Sampleton Calibration"}
    as_manager.post(check, posted(as_manager.get(check)) | said | {"checked_on": "2026-01-01", "due": "2190-01-01"})
    assert as_manager.get(listed).context["rows"][0]["state"] == "in check"
    as_manager.post(reverse("people:instrument_archive", args=[row.pk]))
    assert as_manager.get(listed).context["rows"][0]["state"] == "out of use"


# --- the firm ---------------------------------------------------------------------------------------------------------


def test_the_firm_leads_to_the_terms_of_its_diary(as_manager) -> None:
    assert f'href="{reverse("visits:terms")}"' in as_manager.get(reverse("people:firm")).content.decode()


def test_firm_is_described(as_manager) -> None:
    where = reverse("people:firm_edit")
    form = posted(as_manager.get(where)) | {"name": "Spark & Sons", "phone": "01632 960001"}
    assert as_manager.post(where, form).status_code == 302
    assert (the_firm().name, the_firm().phone) == ("Spark & Sons", "01632 960001")
    assert as_manager.post(where, posted(as_manager.get(where)) | {"name": ""}).status_code == 422


def test_limits_hold_from_their_day(as_manager) -> None:
    where = reverse("people:policy_new")
    form = posted(as_manager.get(where)) | {"holds_from": "2026-03-01", "c2_days": "14", "reason": "insurer"}
    assert as_manager.post(where, form).status_code == 302
    assert (policy_on(TODAY).c2_days, policy_on(TODAY.replace(month=3)).c2_days) == (28, 14)


@pytest.mark.parametrize(
    ("field", "value"), [("c1_days", "0"), ("c1_days", "-3"), ("loop_factor", "0"), ("loop_factor", "1.1")]
)
def test_limit_that_makes_no_sense_is_refused(as_manager, field, value) -> None:
    where = reverse("people:policy_new")
    form = posted(as_manager.get(where)) | {"reason": "x", field: value}
    response = as_manager.post(where, form)
    assert response.status_code == 422
    assert list(response.context["form"].errors) == [field]


# --- private links ----------------------------------------------------------------------------------------------------


def test_private_link_is_shown_once_and_opens_the_customers_page(at_desk, client, site) -> None:
    where = reverse("premises:link_make", args=[site.pk])
    form = posted(at_desk.get(where)) | {"sent_to": "Ada, by e-mail", "expires_at": "2190-01-01 09:00"}
    made = at_desk.post(where, form)
    address = re.search(r"http\S+/s/(\S+)/", text_of(made))
    assert made.status_code == 200
    assert "no-store" in made["Cache-Control"]
    again = at_desk.post(where, form)
    assert address[0] not in text_of(again)
    assert "This link was made before" in text_of(again)
    assert PrivateLink.objects.count() == 1
    client.logout()
    assert client.get(reverse("status:site", args=[address[1]])).status_code == 200


def test_list_of_links_says_to_whom_until_when_and_how_often(at_desk, site) -> None:
    make.make_link(site, sent_to="Ada", expires_at=NOON + timedelta(days=99999), uses=3, last_used_at=NOON)
    make.make_link(site, sent_to="Bob", withdrawn_at=NOON)
    make.make_link(make.make_site("Elsewhere"), sent_to="Cleo")
    rows = at_desk.get(reverse("premises:links", args=[site.pk])).context["rows"]
    assert [(row["to"], row["used"]) for row in rows] == [
        ("Ada", "3 times, last 3 Feb 2026, 12:00"),
        ("Bob", "not yet"),
    ]
    assert rows[1]["state"] == "withdrawn 3 Feb 2026, 12:00"


def test_link_is_withdrawn_by_a_button(at_desk, site) -> None:
    """Its address is kept nowhere: it asks first, and a look at the question ends nothing."""
    link, _ = make.make_link(site, sent_to="Ada")
    where = reverse("premises:link_withdraw", args=[link.pk])
    assert f'href="{where}"' in at_desk.get(reverse("premises:links", args=[site.pk])).content.decode()
    asked = text_of(at_desk.get(where))
    assert "Withdraw this private link? Given to: Ada." in asked
    assert "cannot be got back" in asked
    link.refresh_from_db()
    assert link.withdrawn_at is None
    assert at_desk.post(where)["Location"] == reverse("premises:links", args=[site.pk])
    link.refresh_from_db()
    assert link.withdrawn_at is not None


def test_link_of_a_plain_house_does_not_ask_for_a_unit(at_desk, site) -> None:
    where = reverse("premises:link_make", args=[site.pk])
    assert "unit" not in at_desk.get(where).context["form"].fields
    make.make_unit(site)
    site.units.update(whole_site=False)
    assert "unit" in at_desk.get(where).context["form"].fields


# --- messages ---------------------------------------------------------------------------------------------------------


def make_message(state: str = "sent", **fields) -> Message:
    settled = None if state in {"waiting", "sending"} else NOON
    usual = {"occasion": str(new_id()), "to_kind": "customer", "to_id": new_id(), "address": "ada@example.com"}
    usual |= {"subject": "About your site", "body": "Words.", "written_at": NOON, "next_try_at": NOON}
    return Message.objects.create(state=state, settled_at=settled, **usual | fields)


def test_messages_say_to_whom_about_what_and_how_it_ended(at_desk, site) -> None:
    make_message(to_id=site.customer.pk, site=site.pk, danger=True)
    row = at_desk.get(reverse("messages:messages")).context["rows"][0]
    assert (row["to"], row["site"], row["state"], row["danger"]) == ("Petra Landlady", "Sample House", "sent", True)
    assert row["again"] == ""


def test_messages_of_a_state(at_desk) -> None:
    for state in ("sent", "failed", "unknown"):
        make_message(state, subject=state)
    rows = at_desk.get(reverse("messages:messages"), {"state": "unknown"}).context["rows"]
    assert [row["subject"] for row in rows] == ["unknown"]


def test_messages_of_a_site(at_desk, site) -> None:
    make_message(subject="elsewhere")
    make_message(subject="here", site=site.pk)
    rows = at_desk.get(reverse("messages:messages"), {"site": str(site.pk)}).context["rows"]
    assert [row["subject"] for row in rows] == ["here"]


@pytest.mark.parametrize("query", [{"state": "nonsense"}, {"site": "nonsense"}, {"state": "x" * 5000}])
def test_odd_filter_shows_the_list(at_desk, query) -> None:
    make_message()
    assert len(at_desk.get(reverse("messages:messages"), query).context["rows"]) == 1


@pytest.mark.parametrize("state", ["failed", "unknown"])
def test_message_is_sent_again_by_a_persons_decision(at_desk, state) -> None:
    message = make_message(state)
    shown = text_of(at_desk.get(reverse("messages:message", args=[message.pk])))
    assert "never sends it a second time by itself" in shown
    at_desk.post(reverse("messages:again", args=[message.pk]))
    message.refresh_from_db()
    assert message.state == "waiting"


def test_message_that_was_sent_is_not_sent_again(at_desk) -> None:
    message = make_message("sent")
    response = at_desk.post(reverse("messages:again", args=[message.pk]))
    assert response.status_code == 422
    message.refresh_from_db()
    assert message.state == "sent"


@pytest.mark.parametrize("count", [1, 30])
def test_statements_of_messages(at_desk, site, office, django_assert_num_queries, count) -> None:
    for _ in range(count):
        make_message(site=site.pk, to_id=site.customer.pk)
        make_message(site=site.pk, to_id=office.pk)
    with django_assert_num_queries(8):
        at_desk.get(reverse("messages:messages"))


# --- the entries of the navigation ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("who", "hidden"),
    [
        ("office", {"My day", "People"}),
        ("engineer", {"Customers", "Messages", "People", "Quotes"}),
        ("manager", {"My day"}),
    ],
)
def test_people_see_only_the_entries_that_they_may_use(client, request, who, hidden) -> None:
    from jobsite.shell import ENTRIES

    client.force_login(request.getfixturevalue(who))
    nav = client.get(reverse("premises:site_page", args=[new_id()])).context["shell"].nav
    assert {entry.label for entry in ENTRIES} - {entry["label"] for entry in nav} == hidden
    assert {client.get(entry["address"]).status_code for entry in nav} == {200}
