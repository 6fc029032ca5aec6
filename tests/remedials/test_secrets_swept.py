"""A planted alarm code, and words on what to mind about people, looked for in everything that anybody can be given.

Every address of the service is fetched as everybody who can be at it, with rows of one site behind them; documents are read
as text; then the messages, the ledger, every table and the log.
"""

import logging
from datetime import timedelta

import pytest
from django.db import connection
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.ledger.models import Entry, Words
from jobsite.messages.models import Message
from jobsite.messages.operations import write_messages
from jobsite.premises.models import Site, Unit
from remedials.visits.models import Attempt, OccupierNote, Visit
from remedials.visits.operations.booking import book_visit
from remedials.visits.operations.checking_in import check_in, overdue_messages
from remedials.visits.operations.codes import keep_code
from remedials.visits.operations.feeds import make_feed
from remedials.visits.operations.letters import write_letter
from remedials.visits.operations.moving import move_visit
from remedials.works.models import Remedial
from tests import factories as make
from tests.factories import NOON, TODAY
from tests.faults.world import all_routes, everything
from tests.jobsite.papers import words_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
HOUR = timedelta(hours=1)
CODE, MIND = "Zq83511Zq", "Breathes by a Zm4417Zm machine"
SECRETS = {CODE: "code", "Zm4417Zm": "mind"}
SITE, VISIT = "sites/<uuid:pk>/", "visits/<uuid:pk>/"
HERE = {f"{SITE}getting-in/", VISIT}  # where whoever goes there in these days, and the office, read what to mind
ASKED = "alarm-codes/<uuid:pk>/"


@pytest.fixture
def told(db, office, engineer, subcontractor, client):
    """One site about which everything is known and done that can be; the keys of its rows by the word of their address."""
    rows = everything(make.make_user("Wilma Elsewhere", "office", "engineer"))  # who goes there on another visit
    site = Site.objects.get(pk=rows["sites"])
    make.grant_access(site, subcontractor)
    client.force_login(office)
    for unit in site.units.all():
        there = OccupierNote.objects.filter(unit=unit).values_list("version", flat=True).first() or 0
        typed = {"contact": "Tina Tenant", "mind": MIND, "loses_power_badly": "on", "version": there}
        assert client.post(reverse("visits:occupier", args=[unit.pk]), typed).status_code == 302
    assert OccupierNote.objects.count() == site.units.count() > 1
    code = keep_code(site, id=new_id(), place="Panel by the door", code=CODE, by=office, now=NOON)
    work = Remedial.objects.get(pk=rows["remedials"])
    visit = book_visit(
        site, id=new_id(), remedials=[work], engineers=[engineer], start=NOON + 3 * HOUR, end=NOON + 5 * HOUR, by=office,
        now=NOON, despite="Agreed by telephone", emergency=True,
    )  # fmt: skip
    move_visit(
        visit, start=NOON + HOUR, end=NOON + 3 * HOUR, engineers=[engineer], by=office, now=NOON, version=visit.version,
        reason="Sooner", despite="Agreed",
    )  # fmt: skip
    letter = write_letter(
        site, id=new_id(), which="first-letter", to="Tina Tenant", to_address="Flat 1", answer_by=TODAY + timedelta(days=7),
        sent="email", email="tina@example.com", remedials=[work], unit=Unit.objects.get(pk=rows["units"]), by=office, now=NOON,
    )  # fmt: skip
    rows |= {"alarm-codes": code.pk, "visits": visit.pk, "attempts": letter.pk}
    return rows | {"calendar": make_feed(user=engineer, id=new_id(), by=engineer, now=NOON)[1]}


def _words(response) -> str:
    if response["Content-Type"] == "application/pdf" and response.content.startswith(b"%PDF-1.7\n%"):
        return words_of(response.content)
    return response.content.decode(errors="replace")


def _swept(client, rows) -> tuple[dict[str, set[str]], set[str]]:
    """By secret the addresses that tell it to whoever `client` is; and all addresses that answered."""
    found: dict[str, set[str]] = {name: set() for name in SECRETS.values()}
    answered = set()
    for route in all_routes(rows, "A" * 43):
        response = client.get(route.path)
        if response.status_code != 200 or response.streaming:
            continue
        answered.add(route.where)
        body = f"{_words(response)} {response.headers}"
        for secret, name in SECRETS.items():
            if secret in body or secret.encode() in response.content:
                found[name].add(route.where)
    return found, answered


MAY_READ = {
    "office": HERE | {"units/<uuid:pk>/occupier/", "api/v1/occupiers/"},
    "manager": HERE | {"units/<uuid:pk>/occupier/", "api/v1/occupiers/"},
    "engineer": HERE | {"api/v1/occupiers/"},
    "other_engineer": set(),
    "subcontractor": set(),
    "nobody": set(),
}


@pytest.mark.parametrize("who", MAY_READ)
def test_no_page_document_feed_or_answer_tells_them(client, request, told, who) -> None:
    client.logout()
    if who != "nobody":
        client.force_login(request.getfixturevalue(who))
    found, answered = _swept(client, told)
    assert found == {"code": set(), "mind": MAY_READ[who]}
    if who == "nobody":
        assert {"calendar/<str:token>.ics", "v/<str:token>/", "t/<str:token>/"} <= answered
        return
    assert {SITE, f"{SITE}getting-in/", f"{SITE}history/", ASKED, "diary/", f"api/v1/{SITE}"} <= answered
    sheet = {VISIT, f"{VISIT}job-sheet/", f"{VISIT}bring/", f"api/v1/{VISIT}"}
    assert sheet & answered == (set() if who == "subcontractor" else sheet)  # who sees their own visits only
    if who == "office":
        assert {f"{SITE}attempts/print/", "attempts/<uuid:pk>/letter/", "messages/<uuid:pk>/", "keys/"} <= answered


def test_evidence_letter_and_job_sheet_are_read_and_say_nothing_of_them(client, told, office) -> None:
    client.force_login(office)
    print_ = reverse("visits:evidence", args=[told["sites"]])
    documents = {
        "evidence": client.post(print_, {"first": TODAY - timedelta(days=9), "last": TODAY}),
        "letter": client.get(reverse("visits:attempt_letter", args=[told["attempts"]])),
        "sheet": client.get(reverse("visits:job_sheet", args=[told["visits"]])),
    }
    said = {name: words_of(response.content) for name, response in documents.items()}
    assert "Tina Tenant" in said["evidence"]
    assert "Dear Tina Tenant" in said["letter"]
    assert "Job sheet" in said["sheet"]
    for words in said.values():
        assert not any(secret in words for secret in SECRETS)


def _text_of_every_table(cursor) -> dict[str, str]:
    cursor.execute("SELECT quote_ident(tablename) FROM pg_tables WHERE schemaname = 'public'")
    texts = {}
    for (table,) in cursor.fetchall():
        cursor.execute(f"SELECT coalesce(string_agg(t::text, ' '), '') FROM {table} t")
        texts[table] = cursor.fetchone()[0]
    return texts


def test_no_message_ledger_entry_table_or_log_keeps_them(
    client, told, office, engineer, other_engineer, caplog
) -> None:
    """After all that is done with them: seen, asked for in vain, changed, refused, an alarm about who is in there alone."""
    where = reverse("visits:code", args=[told["alarm-codes"]])
    with caplog.at_level(logging.DEBUG):
        client.force_login(engineer)
        assert CODE in client.post(where).content.decode()  # to them it is shown: what is planted can be found
        for user in (office, other_engineer):
            client.force_login(user)
            refused = client.post(where)
            assert (refused.status_code, CODE in refused.content.decode()) == (403, False)
        client.force_login(office)
        unit = reverse("visits:occupier", args=[told["units"]])
        assert client.post(unit, {"contact": "Tom", "mind": MIND, "version": 0}).status_code == 422
        assert client.post(unit, {"contact": "Tom", "mind": f"{MIND}, deaf", "version": 1}).status_code == 302
        new = reverse("visits:code_new", args=[told["sites"]])
        assert client.post(new, {"id": new_id(), "place": "", "code": CODE}).status_code == 422
        visit = Visit.objects.get(pk=told["visits"])
        check_in(visit, id=new_id(), out_by=NOON + HOUR, by=engineer, now=NOON)
        assert write_messages(overdue_messages(NOON + 4 * HOUR)) > 0
        for user in (office, engineer, other_engineer):
            client.force_login(user)
            _swept(client, told)
    assert Message.objects.filter(site=told["sites"]).count() >= 3  # booked, moved, the letter, the alarm
    assert Entry.objects.filter(verb="code.seen").count() == 1
    assert Entry.objects.filter(verb="access.occupier").count() >= 3
    with connection.cursor() as cursor:
        texts = _text_of_every_table(cursor)
    for secret, kept in ((CODE, set()), (MIND, {"visits_occupiernote"})):
        shapes = (secret, secret.encode().hex())
        assert {table for table, text in texts.items() if any(shape in text for shape in shapes)} == kept
    for kept_by in (Message, Entry, Words, Attempt):
        assert texts[kept_by._meta.db_table]  # they were looked through
    assert not any(secret in caplog.text for secret in SECRETS)
