"""How long personal data are kept: set by a manager, shed when past their time, never what is held."""

from datetime import UTC, date, datetime, timedelta

import pytest
from allauth.usersessions.models import UserSession
from django.contrib.sessions.models import Session
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.ledger.documents import holds_on
from jobsite.ledger.models import Chain, Hold, Words
from jobsite.ledger.operations import operation, record
from jobsite.ledger.queries import faults
from jobsite.messages.models import Message
from jobsite.messages.operations import send_again
from jobsite.messages.verbs import Verb
from jobsite.people.models import PrivateLink, SignIn
from jobsite.people.operations import make_link
from jobsite.premises.models import Site
from jobsite.premises.operations import open_site
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.status.models import Retention
from remedials.status.privacy.operations import shedding
from remedials.status.privacy.operations.retention import set_retention
from remedials.status.privacy.operations.shedding import WITHOUT, shed
from remedials.status.privacy.queries.past import PAST
from remedials.status.privacy.rules import BY_KEY, SHED, STAYS, months_before, period_words
from remedials.visits.models import AlarmCode, Attempt, Confirmation, OccupierNote
from remedials.visits.operations import record_confirmation
from remedials.visits.operations.attempts import log_attempt
from tests import factories as make
from tests.factories import NOON, TODAY, recorded
from tests.jobsite.premises import posted, text_of

pytestmark = pytest.mark.django_db
YEAR = timedelta(days=366)
LONG_AGO = NOON - 9 * YEAR


# --- rules ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "months", "before"),
    [
        (date(2026, 2, 3), 1, date(2026, 1, 3)),
        (date(2026, 3, 31), 1, date(2026, 2, 28)),
        (date(2024, 3, 31), 1, date(2024, 2, 29)),
        (date(2024, 2, 29), 12, date(2023, 2, 28)),
        (date(2026, 1, 15), 1, date(2025, 12, 15)),
        (date(2026, 12, 31), 72, date(2020, 12, 31)),
    ],
)
def test_months_are_counted_by_the_calendar(day, months, before) -> None:
    assert months_before(day, months) == before


def test_months_that_lead_nowhere_are_an_error() -> None:
    with pytest.raises(ValueError, match="is no date"):
        months_before(date(5, 1, 1), 72)


@pytest.mark.parametrize(
    ("months", "words"),
    [(None, "until somebody asks"), (1, "1 month"), (18, "18 months"), (12, "1 year"), (72, "6 years")],
)
def test_a_period_in_words(months, words) -> None:
    assert period_words(months) == words


def test_every_kind_has_its_rows_its_way_of_going_and_a_reason() -> None:
    assert set(PAST) == set(WITHOUT) == set(BY_KEY) == {kind.key for kind in SHED}
    assert all(kind.why and kind.sheds and kind.counts_from and (kind.months or 1) >= 1 for kind in SHED)
    assert all(one.why for one in STAYS)


# --- setting ----------------------------------------------------------------------------------------------------------


def test_a_manager_sets_it_once_and_the_ledger_has_it(manager) -> None:
    with recorded() as told:
        row = set_retention("links", months=6, why="Long enough.", version=0, by=manager, now=NOON)
        set_retention("links", months=6, why="Long enough.", version=0, by=manager, now=NOON)
        set_retention("links", months=None, why="Asked by the insurer", version=1, by=manager, now=NOON)
    assert [(e.verb, e.facts["kind"], e.facts["months"], e.words["why"]) for e in told] == [
        ("retention.set", "links", 6, "Long enough."),
        ("retention.set", "links", None, "Asked by the insurer"),
    ]
    row.refresh_from_db()
    assert (row.months, row.version) == (None, 2)


def test_who_may_not_and_what_makes_no_sense_is_refused(manager, office) -> None:
    with pytest.raises(NotAllowed):
        set_retention("links", months=6, why="x", version=0, by=office, now=NOON)
    for kind, months, why in (("nothing", 6, "x"), ("links", 0, "x"), ("links", 1201, "x"), ("links", 6, "  ")):
        with pytest.raises(Refused):
            set_retention(kind, months=months, why=why, version=0, by=manager, now=NOON)
    set_retention("links", months=6, why="x", version=0, by=manager, now=NOON)
    with pytest.raises(ChangedMeanwhile):
        set_retention("links", months=7, why="y", version=0, by=manager, now=NOON)
    assert Retention.objects.count() == 1


# --- shedding ---------------------------------------------------------------------------------------------------------


@pytest.fixture
def old(db, office, engineer):
    """A row of each kind that is long past its time, at an archived site, by kind."""
    site = make.make_site("Old House", access_notes="key under the third stone", archived_at=LONG_AGO)
    Message.objects.create(
        occasion="old", to_kind="customer", to_id=site.customer_id, address="petra@example.com", subject="Petra's visit",
        body="Dear Petra", state="failed", written_at=LONG_AGO, next_try_at=LONG_AGO, settled_at=LONG_AGO, site=site.pk,
    )  # fmt: skip
    make.make_link(site, sent_to="Petra, by text", made_at=LONG_AGO, expires_at=LONG_AGO + YEAR)
    make.make_attempt(
        site, at=LONG_AGO, whom="Petra", said="asked for Monday", reply="no", replied_on=TODAY - 8 * YEAR, by=engineer
    )
    visit = make.make_visit(site, engineers=[engineer])
    Confirmation.objects.create(
        visit=visit, answered="confirmed", how="phone", whom="Petra", words="my son is in", start=visit.start,
        recorded_by=office, at=LONG_AGO,
    )  # fmt: skip
    OccupierNote.objects.create(
        site=site,
        unit=make.unit_of(site),
        contact="Petra",
        phone="01632 960111",
        mind="asthma",
        loses_power_badly=True,
    )
    AlarmCode.objects.create(site=site, place="hall", sealed=b"sealed")
    return site


WORDS = ("petra", "third stone", "monday", "my son", "asthma", "960111", "sealed")


def words_left() -> set[str]:
    """Those of WORDS that any row still has."""
    rows = [
        row
        for model in (Message, PrivateLink, Attempt, Confirmation, OccupierNote, AlarmCode)
        for row in model.objects.values()
    ]
    rows += list(Site.objects.values("access_notes"))
    text = " ".join(str(bytes(v) if isinstance(v, memoryview) else v) for row in rows for v in row.values()).lower()
    return {word for word in WORDS if word in text}


def test_what_is_past_its_time_goes_once_and_what_happened_stays(old) -> None:
    assert words_left() == set(WORDS)
    with recorded() as told:
        found = shed(now=NOON)
        again = shed(now=NOON)
    assert found == {"messages": 1, "links": 1, "attempts": 1, "times": 1, "contacts": 1, "access": 1, "codes": 1}
    assert again == {}
    assert words_left() == set()
    assert [(e.verb, e.facts["rows"]) for e in told] == [("data.shed", found)]
    attempt, message, link = Attempt.objects.get(), Message.objects.get(), PrivateLink.objects.get()
    assert (attempt.at, attempt.reply, attempt.whom) == (LONG_AGO, "erased", "erased")
    assert (message.settled_at, message.state, message.site) == (LONG_AGO, "failed", old.pk)
    assert link.expires_at == LONG_AGO + YEAR
    assert OccupierNote.objects.get().loses_power_badly is False
    assert list(faults()) == []


def test_the_same_words_beside_the_ledger_go_with_them(office, qualified, manager) -> None:
    """By operations, as people do it: each leaves its words beside the ledger too, from where the history tells them."""
    site = open_site(
        id=new_id(), name="Old House", address="1 Old Lane", access_notes="key under the third stone",
        customer=make.make_party(), by=office, now=LONG_AGO,
    )  # fmt: skip
    make_link(
        id=new_id(), purpose="status", site=site.pk, sent_to="Petra, by text", expires_at=LONG_AGO + YEAR, by=office,
        now=LONG_AGO,
    )  # fmt: skip
    log_attempt(
        site, id=new_id(), how="phone", at=LONG_AGO, whom="Petra", said="asked for Monday", by=office, now=LONG_AGO
    )
    visit = make.make_visit(site, engineers=[qualified], start=LONG_AGO + timedelta(days=9))
    record_confirmation(
        visit,
        id=new_id(),
        answered="confirmed",
        how="phone",
        whom="Petra",
        words="my son is in",
        by=office,
        now=LONG_AGO,
    )
    Site.objects.update(archived_at=LONG_AGO)

    def beside() -> set[str]:
        told = " ".join(Words.objects.values_list("text", flat=True)).lower()
        return {word for word in WORDS if word in told}

    assert beside() == {"petra", "third stone", "monday", "my son"}
    hold = Hold.objects.create(id=new_id(), site=site.pk, reason="A claim", placed_by=manager.pk, placed_at=NOON)
    assert shed(now=NOON) == {}
    assert len(beside()) == 4
    hold.delete()
    assert shed(now=NOON) == {"links": 1, "attempts": 1, "times": 1, "access": 1}
    assert beside() == set()
    assert list(faults()) == []


def test_what_a_customer_wrote_about_offered_times_goes(office) -> None:
    offer = make.make_times_offer(make.make_site(), by=office)
    type(offer).objects.update(state="none-suits", words="I am Petra, at work then", answered_at=LONG_AGO)
    assert shed(now=NOON) == {"times": 1}
    assert shed(now=NOON) == {}
    offer.refresh_from_db()
    assert (offer.words, offer.state) == ("", "none-suits")


def test_what_went_over_to_a_held_site_is_held_with_it(old, manager) -> None:
    into = make.make_site("The same, held")
    Site.objects.filter(pk=old.pk).update(merged_into=into)
    Chain.objects.update_or_create(pk=old.pk, defaults={"closed_into": into.pk, "head": b"0" * 32})
    Hold.objects.create(id=new_id(), site=into.pk, reason="A claim", placed_by=manager.pk, placed_at=NOON)
    assert list(holds_on(old.pk)) == list(Hold.objects.all())
    assert "access" not in shed(now=NOON)
    assert "third stone" in words_left()


def test_what_a_held_chain_tells_stays_and_stops_nothing_else(manager) -> None:
    """A message about no site may have its entry in a site's chain; its words cannot go, and all else is shed as ever."""
    held = make.make_site("Held")
    kept, gone = (
        Message.objects.create(
            occasion=body, to_kind="customer", to_id=held.customer_id, address="zoe@example.com", subject="Hello", body=body,
            state="sent", written_at=LONG_AGO, next_try_at=LONG_AGO, settled_at=LONG_AGO,
        )
        for body in ("Kept", "Gone")
    )  # fmt: skip
    written(kept, held)
    make.make_hold(held)
    assert shed(now=NOON) == {"messages": 1}
    assert Message.objects.get(pk=kept.pk).body == "Kept"
    assert Message.objects.get(pk=gone.pk).body != "Gone"
    assert Words.objects.filter(name="to", text="zoe@example.com").count() == 1


@operation
def written(message: Message, site: Site) -> None:
    """An entry about `message` in the chain of `site`, with its address beside it."""
    record(Verb.AGAIN, site=site.pk, subject=message, by=make.anybody(), now=LONG_AGO, words={"to": message.address})


def test_what_is_not_past_its_time_stays(office, engineer) -> None:
    site = make.make_site("New House", access_notes="ring twice")
    make.make_attempt(site, at=NOON - YEAR, whom="Petra", by=engineer)
    make.make_link(site, sent_to="Petra", expires_at=NOON + YEAR)
    AlarmCode.objects.create(site=site, place="hall", sealed=b"sealed")
    assert shed(now=NOON) == {}
    assert Attempt.objects.get().whom == "Petra"


def test_the_day_counts_by_londons_calendar(engineer, manager) -> None:
    site = make.make_site()
    set_retention("attempts", months=1, why="x", version=0, by=manager, now=NOON)
    evening = datetime(2026, 6, 14, 22, 59, tzinfo=UTC)  # a minute before midnight in London
    make.make_attempt(site, at=evening, by=engineer)
    make.make_attempt(site, at=evening + timedelta(minutes=2), by=engineer)
    assert shed(now=datetime(2026, 7, 15, 9, tzinfo=UTC)) == {"attempts": 1}
    assert shed(now=datetime(2026, 7, 16, 9, tzinfo=UTC)) == {"attempts": 1}


@pytest.mark.parametrize("everything", [False, True])
def test_nothing_that_is_held_is_shed(old, manager, everything) -> None:
    hold = Hold.objects.create(
        id=new_id(), site=None if everything else old.pk, reason="A claim", placed_by=manager.pk, placed_at=NOON
    )
    assert shed(now=NOON) == {}
    assert words_left() == set(WORDS)
    hold.lifted_at, hold.lifted_by, hold.lifted_why = NOON, manager.pk, "settled"
    hold.save()
    assert len(shed(now=NOON)) == len(SHED)


def test_a_hold_on_another_site_holds_nothing_here(old, manager) -> None:
    other = make.make_site("Other")
    Hold.objects.create(id=new_id(), site=other.pk, reason="A claim", placed_by=manager.pk, placed_at=NOON)
    assert len(shed(now=NOON)) == len(SHED)


def test_kept_until_asked_is_kept(old, manager) -> None:
    for kind in SHED:
        set_retention(kind.key, months=None, why="x", version=0, by=manager, now=NOON)
    assert shed(now=NOON) == {}


def test_a_run_is_bounded_and_the_next_goes_on(engineer, monkeypatch) -> None:
    site = make.make_site()
    for n in range(5):
        make.make_attempt(site, at=LONG_AGO + timedelta(days=n), by=engineer)
    monkeypatch.setattr(shedding, "AT_ONCE", 2)
    assert [shed(now=NOON), shed(now=NOON), shed(now=NOON), shed(now=NOON)] == [
        {"attempts": 2},
        {"attempts": 2},
        {"attempts": 1},
        {},
    ]


def test_sessions_that_ended_go_with_the_machine_they_were_on_also_while_all_is_held(client, manager, office) -> None:
    Hold.objects.create(id=new_id(), site=None, reason="A claim", placed_by=manager.pk, placed_at=NOON)
    for user in (manager, office):
        client.force_login(user)
        key = client.session.session_key
        UserSession.objects.create(user=user, session_key=key, ip="192.0.2.7", user_agent="Invented 1.0")
        client.cookies.clear()
    Session.objects.filter(session_key=key).update(expire_date=NOON - timedelta(days=1))
    Session.objects.exclude(session_key=key).update(expire_date=NOON + timedelta(days=1))
    shed(now=NOON)
    assert [row.user for row in UserSession.objects.all()] == [manager]
    assert Session.objects.count() == 1


def test_what_happened_at_the_door_goes_after_its_time_also_of_who_left(office) -> None:
    office.is_active = False
    office.save()
    old, young = (
        SignIn.objects.create(user=office, at=NOON - timedelta(days=days), what="in", address="192.0.2.7")
        for days in (401, 399)
    )
    shed(now=NOON)
    assert list(SignIn.objects.values_list("pk", flat=True)) == [young.pk]
    assert old.pk != young.pk


def test_a_message_whose_words_are_gone_is_not_sent_again(old, office) -> None:
    shed(now=NOON)
    with pytest.raises(Refused, match="was erased"):
        send_again(Message.objects.get(), by=office, now=NOON)


# --- pages ------------------------------------------------------------------------------------------------------------


def test_the_page_says_what_is_kept_how_long_why_and_what_is_past(
    client, manager, old, django_assert_num_queries
) -> None:
    client.force_login(manager)
    where = reverse("proof:retention")
    first = text_of(client.get(where))
    for kind in SHED:
        assert kind.label in first
        assert kind.why in first
    assert first.count("1 row") == len(SHED)
    assert "Common practice: check it" in first
    shed(now=NOON)
    assert "E-mails: 1" in text_of(client.get(where))
    Hold.objects.create(id=new_id(), site=old.pk, reason="A claim", placed_by=manager.pk, placed_at=NOON)
    with django_assert_num_queries(17):
        assert "since 3 Feb 2026: A claim" in text_of(client.get(where))


def test_a_period_is_set_on_its_page(client, manager) -> None:
    client.force_login(manager)
    where = reverse("proof:retention_edit", args=["attempts"])
    form = posted(client.get(where)) | {"version": 0}
    assert form["months"] in (72, "72")
    assert client.post(where, form | {"months": "0"}).status_code == 422
    assert client.post(where, form | {"months": "84", "why": ""}).status_code == 422
    assert client.post(where, form | {"months": "84", "why": "Our insurer wants seven"}).status_code == 302
    page = text_of(client.get(reverse("proof:retention")))
    assert "7 years" in page
    assert "(shipped: 6 years)" in page
    assert client.get(reverse("proof:retention_edit", args=["boards"])).status_code == 404


def test_anybody_reads_what_is_kept_without_a_cookie(client, manager, django_assert_num_queries) -> None:
    set_retention("links", months=7, why="Seven is enough.", version=0, by=manager, now=NOON)
    client.force_login(manager)
    kept = text_of(client.get(reverse("proof:retention")))
    client.logout()
    client.cookies.clear()
    with django_assert_num_queries(2):
        got = client.get(reverse("status:privacy"))
    words = text_of(got)
    assert (got.status_code, got.cookies) == (200, {})
    assert "Kept 7 months from the day on which it ended or was withdrawn. Seven is enough." in words
    for one in STAYS:
        assert one.label in words
    own = "Name, telephone number, e-mail address and postal address of customers"
    for page in (words, kept):
        assert own in page
        assert "Kept for as long as somebody has, or had, something to do with a site in our care" in page
    assert manager.name not in words
