"""Changes to people, competence, instruments and private links; and an empty firm's first manager."""

from datetime import date, timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from jobsite.firm.queries import the_firm
from jobsite.ids import new_id
from jobsite.ledger.actor import CLOCK
from jobsite.people import operations
from jobsite.people.links import find_link, token_hash
from jobsite.people.models import Instrument, PrivateLink, User
from jobsite.people.policy import is_qualified, qualified_count
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from tests import factories as make
from tests.at_once import at_once
from tests.factories import NOON, PASSWORD, TODAY, Told, recorded

pytestmark = pytest.mark.django_db


LATER = date(2027, 2, 3)


@pytest.fixture
def who(manager, now):
    return {"by": manager, "now": now}


def refusal(raised) -> tuple[str, str | None]:
    return raised.value.sentence, raised.value.field


# --- people -----------------------------------------------------------------------------------------------------------


def invite(who, **fields):
    usual = {"id": new_id(), "email": "Una@Example.com ", "name": "Una Newcomer", "roles": ["office", "engineer"]}
    return operations.invite_person(**usual | fields, **who)


def test_invite_person_makes_an_account_without_a_password(who) -> None:
    with recorded() as told:
        user, path = invite(who)
    assert (user.email, user.roles, user.has_usable_password()) == ("una@example.com", ["engineer", "office"], False)
    assert path.startswith("/accounts/password/reset/key/")
    facts = {"roles": ["engineer", "office"], "subcontractor": False}
    assert told == [Told("person.invited", user.pk, facts, {"name": "Una Newcomer", "email": "una@example.com"})]


def test_link_of_an_invitation_sets_the_password_once(who, client) -> None:
    user, path = invite(who)
    form = client.get(path, follow=True)
    done = client.post(
        form.request["PATH_INFO"], {"password1": "a better passphrase", "password2": "a better passphrase"}
    )
    user.refresh_from_db()
    assert (done.status_code, user.check_password("a better passphrase")) == (302, True)
    client.logout()
    assert "token_fail" in client.get(path, follow=True).context


def test_invite_person_twice_makes_one(who) -> None:
    key = new_id()
    first, _ = invite(who, id=key)
    with recorded() as told:
        again, path = invite(who, id=key)
    assert (again, told, bool(path)) == (first, [], True)


def test_invitation_is_no_way_into_an_account_in_use(who, engineer) -> None:
    with pytest.raises(Refused, match="has an account and a password already"):
        invite(who, id=engineer.pk)
    with pytest.raises(Refused, match="has a password already"):
        operations.invite_again(engineer, **who)


def test_an_invitation_sent_again_is_no_way_back_for_who_left(who) -> None:
    user, _ = invite(who)
    operations.person_left(user, **who)
    for again in (lambda: invite(who, id=user.pk), lambda: operations.invite_again(user, **who)):
        with pytest.raises(Refused) as raised:
            again()
        assert raised.value.sentence == "Una Newcomer has left the firm."


def test_nobody_is_invited_without_a_name(who) -> None:
    with pytest.raises(Refused) as raised:
        invite(who, name="")
    assert refusal(raised) == ("Enter a name.", "name")


def test_invite_again_gives_a_fresh_link(who) -> None:
    user, _ = invite(who)
    with recorded() as told:
        path = operations.invite_again(user, **who)
    assert path.startswith("/accounts/password/reset/key/")
    assert told == [Told("person.invited-again", user.pk)]


def test_one_account_an_address_whatever_its_case(who, engineer) -> None:
    with pytest.raises(Refused) as raised:
        invite(who, email=engineer.email.upper())
    assert refusal(raised) == ("Somebody with this e-mail address has an account already.", "email")


@pytest.mark.parametrize("roles", [[], ["cook"], ["office", "cook"]])
def test_roles_are_known(who, roles) -> None:
    with pytest.raises(Refused) as raised:
        invite(who, roles=roles)
    assert raised.value.field == "roles"


@pytest.mark.parametrize("who_else", ["office", "engineer", "qualified"])
def test_people_are_the_managers(request, who_else, now) -> None:
    with pytest.raises(NotAllowed):
        invite({"by": request.getfixturevalue(who_else), "now": now})


def test_edit_person_changes_roles(who, engineer) -> None:
    with recorded() as told:
        operations.edit_person(engineer, version=1, roles=["office", "engineer"], phone="01632 960003", **who)
    engineer.refresh_from_db()
    assert (engineer.roles, engineer.version) == (["engineer", "office"], 2)
    assert told == [Told("person.edited", engineer.pk, {"roles": ["engineer", "office"]}, {"phone": "01632 960003"})]


def test_edit_person_by_two_people(who, engineer) -> None:
    operations.edit_person(engineer, version=1, name="Edwin One", **who)
    operations.edit_person(engineer, version=1, name="Edwin One", **who)
    with pytest.raises(ChangedMeanwhile) as raised:
        operations.edit_person(engineer, version=1, name="Edwin Two", **who)
    assert raised.value.theirs.name == "Edwin One"


@pytest.mark.parametrize("way", ["roles", "leaving"])
def test_firm_never_loses_its_last_manager(who, manager, way) -> None:
    def lose():
        if way == "roles":
            return operations.edit_person(manager, version=1, roles=["office"], **who)
        return operations.person_left(manager, **who)

    with pytest.raises(Refused, match="only manager"):
        lose()
    make.make_user("Max Second", "manager")
    lose()


@pytest.mark.django_db(transaction=True)
def test_two_managers_who_leave_at_once_leave_one() -> None:
    one, other = make.make_user("Max One", "manager"), make.make_user("Mo Other", "manager")
    results = at_once(
        lambda: operations.person_left(one, by=other, now=NOON),
        lambda: operations.person_left(other, by=one, now=NOON),
    )
    assert sorted(type(result).__name__ for result in results) == ["Refused", "User"]
    assert User.objects.filter(is_active=True).count() == 1


def test_person_left_may_nothing_and_comes_back(who, engineer, client) -> None:
    with recorded() as told:
        operations.person_left(engineer, **who)
        operations.person_left(engineer, **who)
    assert [t.verb for t in told] == ["person.left"]
    assert not client.login(email=engineer.email, password=PASSWORD)
    operations.person_returned(engineer, **who)
    assert client.login(email=engineer.email, password=PASSWORD)


# --- competence -------------------------------------------------------------------------------------------------------


def test_competence_holds_on_its_days_only(who, engineer, now) -> None:
    day = timedelta(days=1)
    with recorded() as told:
        row = operations.record_competence(
            engineer, id=new_id(), since=TODAY, until=TODAY + day, evidence="Certificate 7", **who
        )
    holds = [is_qualified(engineer, now=now + n * day) for n in (-1, 0, 1, 2)]
    assert holds == [False, True, True, False]
    facts = {"person": str(engineer.pk), "since": "2026-02-03", "until": "2026-02-04"}
    assert told == [Told("competence.recorded", row.pk, facts, {"evidence": "Certificate 7"})]


def test_competence_day_is_londons_not_utcs(who, engineer) -> None:
    """At 23:30 UTC on 30 June it is already 1 July in London."""
    operations.record_competence(engineer, id=new_id(), since=date(2026, 7, 1), evidence="x", **who)
    assert is_qualified(engineer, now=NOON.replace(month=6, day=30, hour=23, minute=30))


@pytest.mark.parametrize(
    ("fields", "sentence", "field"),
    [
        ({"until": date(2026, 2, 2)}, "It cannot end before it begins.", "until"),
        ({"evidence": "  "}, "Say what shows it: a certificate, an assessment.", "evidence"),
    ],
)
def test_competence_is_refused_in_words(who, engineer, fields, sentence, field) -> None:
    usual = {"id": new_id(), "since": TODAY, "evidence": "Certificate 7"}
    with pytest.raises(Refused) as raised:
        operations.record_competence(engineer, **usual | fields, **who)
    assert refusal(raised) == (sentence, field)


def test_end_competence(who, qualified, now) -> None:
    row = qualified.competences.get()
    with recorded() as told:
        operations.end_competence(row, until=date(2026, 2, 2), **who)
        operations.end_competence(row, until=date(2026, 2, 2), **who)
    assert told == [Told("competence.ended", row.pk, {"until": "2026-02-02"})]
    assert not is_qualified(qualified, now=now)
    assert qualified_count(now=now) == 0


def test_clock_is_never_a_qualified_person(now) -> None:
    assert not is_qualified(CLOCK, now=now)


# --- instruments ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("number", "sentence"),
    [("T-7", "An instrument with this serial number is recorded already."), (" ", "Enter its serial number.")],
)
def test_serial_number_stands_once(who, number, sentence) -> None:
    make.make_instrument("T-7")
    with pytest.raises(Refused) as raised:
        operations.add_instrument(id=new_id(), name="Another", serial_number=number, **who)
    assert refusal(raised) == (sentence, "serial_number")


def test_archive_instrument_twice_is_recorded_once(who) -> None:
    row = make.make_instrument()
    with recorded() as told:
        operations.archive_instrument(row, **who)
        operations.archive_instrument(row, **who)
    assert [t.verb for t in told] == ["instrument.archived"]
    assert Instrument.objects.get().archived_at == NOON


# --- private links ----------------------------------------------------------------------------------------------------


def make_link(site, office, **fields):
    usual = {"id": new_id(), "purpose": "status", "site": site.pk, "sent_to": "Ada", "expires_at": NOON + timedelta(9)}
    return operations.make_link(**usual | fields, by=office, now=NOON)


def test_only_the_hash_of_a_token_is_kept(site, office) -> None:
    with recorded() as told:
        link, token = make_link(site, office)
    assert len(token) == 43  # 256 bits in base64 without padding (RFC 4648)
    kept = PrivateLink.objects.values().get()
    assert bytes(kept["token_hash"]) == token_hash(token)
    assert token.encode() not in bytes(kept["token_hash"])
    assert len(kept["token_hash"]) == 32
    assert token not in str(kept)
    facts = {"purpose": "status", "unit": None, "expires_at": "2026-02-12T12:00:00+00:00"}
    assert told == [Told("link.made", link.pk, facts, {"sent_to": "Ada"})]


def test_tokens_differ(site, office) -> None:
    assert len({make_link(site, office)[1] for _ in range(20)}) == 20


def test_link_made_twice_shows_no_second_token(site, office) -> None:
    key = new_id()
    first, _ = make_link(site, office, id=key)
    assert make_link(site, office, id=key) == (first, "")


@pytest.mark.django_db(transaction=True)
def test_same_form_sent_twice_at_once_makes_one_link() -> None:
    site, office, key = make.make_site(), make.make_user("Olive Office", "office"), new_id()
    results = at_once(lambda: make_link(site, office, id=key), lambda: make_link(site, office, id=key))
    assert sorted(bool(token) for _, token in results) == [False, True]


def test_find_link_by_token_until_it_ends(site, office) -> None:
    link, token = make_link(site, office)
    found = [find_link(token, purpose="status", now=NOON + timedelta(days=n)) for n in (0, 8, 9, 10)]
    assert found == [link, link, None, None]
    assert find_link(token[:-1] + "?", purpose="status", now=NOON) is None
    assert find_link(token, purpose="another", now=NOON) is None


def test_withdrawn_link_opens_nothing(site, office) -> None:
    link, token = make_link(site, office)
    with recorded() as told:
        operations.withdraw_link(link, by=office, now=NOON)
        operations.withdraw_link(link, by=office, now=NOON)
    assert told == [Told("link.withdrawn", link.pk)]
    assert find_link(token, purpose="status", now=NOON) is None


def test_link_ends_in_the_future(site, office) -> None:
    with pytest.raises(Refused) as raised:
        make_link(site, office, expires_at=NOON)
    assert raised.value.field == "expires_at"


def test_links_are_the_offices(site, engineer, office) -> None:
    with pytest.raises(NotAllowed):
        make_link(site, engineer)
    link, _ = make_link(site, office)
    with pytest.raises(NotAllowed):
        operations.withdraw_link(link, by=engineer, now=NOON)


def test_uses_are_counted(site, office) -> None:
    link, _ = make_link(site, office)
    for _ in range(3):
        operations.count_use(link, now=NOON)
    link.refresh_from_db()
    assert (link.uses, link.last_used_at) == (3, NOON)


# --- an empty firm ----------------------------------------------------------------------------------------------------


def test_start_firm_prints_the_first_managers_link(client) -> None:
    out = StringIO()
    call_command(
        "start_firm", "--name", "Spark Ltd", "--email", "max@example.com", "--manager", "Max First", stdout=out
    )
    user = User.objects.get()
    assert (the_firm().name, user.name, user.roles) == ("Spark Ltd", "Max First", ["manager"])
    path = "/accounts/" + out.getvalue().strip().partition("/accounts/")[2]
    assert b"password1" in client.get(path, follow=True).content


def test_start_firm_is_for_an_empty_database(office) -> None:
    with pytest.raises(CommandError, match="has people already"):
        call_command("start_firm", "--name", "Spark Ltd", "--email", "max@example.com")
    assert User.objects.count() == 1
