"""The API's verbs on archives, holds, personal data and copies of reports; what is read of them; figures."""

from uuid import UUID

import pytest

from jobsite.ids import new_id
from jobsite.ledger.models import Hold
from jobsite.messages.models import Message
from remedials.status.models import Bundle, Erasure, ReportCopy, Retention
from tests.factories import (
    NOON,
    make_bundle,
    make_hold,
    make_inspection,
    make_observation,
    make_party,
    make_remedial,
    make_report_copy,
    make_site,
    recorded,
)
from tests.remedials.api.sending import sent as sent_off
from tests.remedials.api.verbs import done, said_why_not
from tests.remedials.desk import statements
from tests.remedials.quoted import answered, remedial_at, sent

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


def get(client, user, noun: str, **query) -> list[UUID]:
    client.force_login(user)
    answer = client.get(f"/api/v1/{noun}/", query)
    assert answer.status_code == 200, answer.content
    return [UUID(row["id"]) for row in answer.json()["results"]]


# --- archives ---------------------------------------------------------------------------------------------------------


def test_ask_for_the_record_of_a_site(client, office, engineer, site):
    where = f"sites/{site.pk}/ask-for-record"
    body = {"id": str(new_id()), "instant": "2026-02-01T12:00:00Z", "reason": "For the insurer"}
    said_why_not(client, engineer, where, 403, **body)
    shown = done(client, office, where, "bundle.asked", status=201, **body)
    assert (shown["kind"], shown["site"], shown["state"], shown["name"]) == ("as-of", str(site.pk), "waiting", "")
    done(client, office, where, status=201, **body)
    ahead = said_why_not(client, office, where, **body | {"id": str(new_id()), "instant": "2026-03-01T12:00:00Z"})
    assert ahead == "This moment is still to come: nobody knows yet what the record will say. Choose one that is past."
    assert Bundle.objects.count() == 1


def test_ask_for_a_pack_and_again_where_it_failed(client, office, site):
    remedial = make_remedial(make_observation(site))
    body = {"id": str(new_id()), "jobs": [remedial.number], "reason": "The assessment"}
    shown = done(client, office, "archives/ask-for-pack", "bundle.asked", status=201, **body)
    assert (shown["kind"], shown["jobs"], shown["site"]) == ("assessor", [remedial.number], None)
    unknown = said_why_not(client, office, "archives/ask-for-pack", **body | {"id": str(new_id()), "jobs": [7]})
    assert unknown == "There is no remedial 7."
    bundle = Bundle.objects.get()
    done(client, office, f"archives/{bundle.pk}/ask-again")
    bundle.progress.state = "failed"
    bundle.progress.save()
    assert done(client, office, f"archives/{bundle.pk}/ask-again", "bundle.asked")["state"] == "waiting"


def test_archives_to_read_and_to_take_away(client, office, site):
    made, waiting = make_bundle(site), make_bundle(make_site("Elsewhere"), made=False)
    assert get(client, office, "archives") == [made.pk, waiting.pk]
    assert get(client, office, "archives", site=site.pk) == [made.pk]
    assert get(client, office, "archives", state="waiting") == [waiting.pk]
    answer = client.get(f"/api/v1/archives/{made.pk}/file/")
    assert (answer.content, answer["Content-Disposition"]) == (b"PK not really", 'attachment; filename="record.zip"')
    assert client.get(f"/api/v1/archives/{made.pk}/").json()["sha256"] == made.document.file_id
    assert client.get(f"/api/v1/archives/{waiting.pk}/file/").json()["title"] == "Not found"


# --- holds ------------------------------------------------------------------------------------------------------------


def test_hold_a_site_and_the_firm_and_lift(client, manager, office, site):
    body = {"id": str(new_id()), "reason": "Claim 17"}
    said_why_not(client, office, f"sites/{site.pk}/hold", 403, **body)
    shown = done(client, manager, f"sites/{site.pk}/hold", "hold.placed", status=201, **body)
    assert (shown["site"], shown["reason"], shown["lifted_at"]) == (str(site.pk), "Claim 17", None)
    same = said_why_not(client, manager, f"sites/{site.pk}/hold", **body | {"id": str(new_id())})
    assert same == "It is held for just this reason already."
    firm = done(client, manager, "holds/place", "hold.placed", status=201, **body | {"id": str(new_id())})
    assert firm["site"] is None
    lifted = done(client, manager, f"holds/{shown['id']}/lift", "hold.lifted", why="Settled")
    assert (lifted["lifted_by"], lifted["lifted_why"]) == (str(manager.pk), "Settled")
    done(client, manager, f"holds/{shown['id']}/lift", why="Settled")
    assert get(client, manager, "holds", standing="true") == [UUID(firm["id"])]
    assert get(client, manager, "holds", site=site.pk) == [UUID(shown["id"])]


# --- how long what is kept --------------------------------------------------------------------------------------------


def test_how_long_one_kind_is_kept(client, manager, office):
    client.force_login(manager)
    before = client.get("/api/v1/kept/messages/")
    assert (before["ETag"], before.json()["version"]) == ('"0"', 0)
    assert before.json()["months"] == before.json()["shipped_months"]
    body = {"months": 30, "why": "So long a complaint may come"}
    said_why_not(client, office, "kept/messages/set", 403, **body)
    shown = done(client, manager, "kept/messages/set", "retention.set", version=0, **body)
    assert (shown["months"], shown["why"], shown["version"]) == (30, "So long a complaint may come", 1)
    said_why_not(client, manager, "kept/messages/set", 412, version=0, **body | {"months": 31})
    said_why_not(client, manager, "kept/nothing/set", 404, **body)
    kinds = {kind["kind"]: kind["months"] for kind in client.get("/api/v1/kept/").json()["kinds"]}
    assert kinds["messages"] == 30
    assert Retention.objects.get().months == 30


# --- one customer's data ----------------------------------------------------------------------------------------------


def test_a_customers_data_are_noted_and_then_handed_over(client, manager, office, site):
    where = f"customers/{site.customer_id}"
    body = {"id": str(new_id()), "asked_on": "2026-02-02"}
    said_why_not(client, office, f"{where}/export", 403, **body)
    client.force_login(manager)
    assert client.get(f"/api/v1/{where}/export/{body['id']}/").status_code == 404
    shown = done(client, manager, f"{where}/export", "customer.exported", status=201, **body)
    done(client, manager, f"{where}/export", status=201, **body)
    answer = client.get(shown["file"])
    assert answer["Content-Type"] == "application/zip"
    assert answer.content[:2] == b"PK"
    ahead = said_why_not(client, manager, f"{where}/export", id=str(new_id()), asked_on="2026-03-02")
    assert ahead == "That day is still to come."


def test_erase_a_customers_data(client, manager, office):
    party = make_party("Petra Landlady", email="petra@example.com")
    where = f"customers/{party.pk}"
    body = {"id": str(new_id()), "asked_on": "2026-02-02", "why": "asked", "sure": True}
    said_why_not(client, office, f"{where}/erase", 403, **body)
    unsure = said_why_not(client, manager, f"{where}/erase", **body | {"sure": False})
    assert unsure == "Read first what is erased and what stays, then say that you are sure."
    assert client.get(f"/api/v1/{where}/personal-data/").json()["erased_at"] is None
    shown = done(client, manager, f"{where}/erase", "customer.erased", status=201, **body)
    done(client, manager, f"{where}/erase", status=201, **body)
    party.refresh_from_db()
    assert (party.name, party.email) == ("Erased customer 1001", "")
    assert shown["erased"]["why"] == "asked"
    assert get(client, manager, "erasures", party=party.pk) == [Erasure.objects.get().pk]
    again = said_why_not(client, manager, f"{where}/erase", **body | {"id": str(new_id())})
    assert again == "The data of this customer were erased already."


def test_what_is_held_or_still_theirs_is_not_erased(client, manager, site):
    body = {"id": str(new_id()), "asked_on": "2026-02-02", "why": "asked", "sure": True}
    where = f"customers/{site.customer_id}/erase"
    assert said_why_not(client, manager, where, **body).startswith("This must be settled first:")
    make_hold(site, reason="A claim")
    assert said_why_not(client, manager, where, **body).startswith("This is held, and nothing of it may be erased")
    assert (Hold.objects.count(), Erasure.objects.count()) == (1, 0)


# --- documents, copies ------------------------------------------------------------------------------------------------


def test_documents_of_a_site(client, office, site):
    make_observation(site)
    client.force_login(office)
    lines = client.get(f"/api/v1/sites/{site.pk}/documents/").json()["documents"]
    which = [line["which"] for line in lines]
    assert "outstanding" in which
    with recorded() as told:
        answer = client.get(f"/api/v1/sites/{site.pk}/documents/outstanding/")
    assert (answer["Content-Type"], answer.content[:5]) == ("application/pdf", b"%PDF-")
    assert [entry.verb for entry in told] == ["document.made"]
    assert client.get(f"/api/v1/sites/{site.pk}/documents/nothing/").json()["title"] == "Not found"
    unit = client.get(f"/api/v1/sites/{site.pk}/documents/?unit=x").json()
    assert unit["errors"] == {"unit": ["This is no key."]}
    for where in ("documents/", "documents/outstanding/"):
        unsaid = client.get(f"/api/v1/sites/{site.pk}/{where}?unit=").json()
        assert unsaid["errors"] == {"unit": ["Say what to look for, or leave this filter out."]}


def test_a_link_to_a_copy_is_sent_and_found_again(client, office, engineer, site):
    copy = make_report_copy(make_inspection(site))
    where = f"report-copies/{copy.pk}/send-link"
    body = {"id": str(new_id()), "party": str(site.customer_id), "expires_at": "2026-05-03T12:00:00Z"}
    body |= {"email": "owner@example.com"}
    said_why_not(client, engineer, where, 403, **body)
    stranger = said_why_not(client, office, where, **body | {"party": str(make_party("Stranger").pk)})
    assert stranger == "Stranger is neither the customer nor entered at a unit of this site."
    shown = sent_off(client, office, where, status=201, **body)
    assert (shown["purpose"], shown["sent_to"]) == ("copy", "owner@example.com")
    assert get(client, office, "private-links", thing=copy.pk) == [UUID(body["id"])]
    assert get(client, office, "private-links", thing=new_id()) == []
    message = Message.objects.get()
    assert message.subject == f"Copy of a report: {site.name}"
    assert "with personal data left out" in message.body


def test_a_copy_of_a_report_without_personal_data(client, office, engineer, site):
    report = make_inspection(site)
    make_observation(site, "Ring 020 7946 0000 first", inspection=report)
    client.force_login(office)
    read = client.get(f"/api/v1/inspections/{report.pk}/texts/").json()
    offered = {text["key"]: text["offered"] for text in read["texts"]}
    assert not any("020 7946 0000" in words for words in offered.values())
    where = f"inspections/{report.pk}/make-copy"
    body = {"id": str(new_id()), "seen": read["seen"], "looked": True}
    said_why_not(client, engineer, where, 403, **body)
    key = next(text["key"] for text in read["texts"] if "020 7946 0000" in text["words"])
    typed = [{"key": key, "words": "Ring 020 7946 0000"}]
    personal = said_why_not(client, office, where, **body | {"texts": typed})
    assert personal == "Leave this out: 020 7946 0000 (a telephone number). If it may stand, say so."
    assert said_why_not(client, office, where, **body | {"seen": "x"}).startswith("The record changed since")
    shown = done(client, office, where, "document.made", status=201, **body)
    assert (shown["inspection"], shown["site"]) == (str(report.pk), str(site.pk))
    done(client, office, where, status=201, **body)
    copy = ReportCopy.objects.get()
    assert client.get(f"/api/v1/report-copies/{copy.pk}/file/").content[:5] == b"%PDF-"
    assert get(client, office, "report-copies", inspection=report.pk) == [copy.pk]


# --- figures ----------------------------------------------------------------------------------------------------------


def test_figures_as_plain_values(client, office, manager, site):
    answered(offer := sent(remedial_at(site)), yes=offer.lines.all())
    make_observation(site, "Old", code="C1")
    client.force_login(office)
    shown = client.get("/api/v1/figures/ages/").json()
    assert (shown["currency"], shown["counted"]) == ("GBP", "All sites.")
    table = shown["tables"][0]
    assert all(len(row) == len(table["columns"]) for row in table["rows"])
    assert client.get("/api/v1/figures/ages/", {"site": "nowhere"}).json()["counted"] == (
        "No site fits this: all figures are of nothing."
    )
    unknown = client.get("/api/v1/figures/ages/", {"since": "2026-01-01"}).json()
    assert unknown["errors"] == {"since": ["There is no such filter."]}
    empty = client.get("/api/v1/figures/remedy/", {"since": "", "customer": " "}).json()
    assert sorted(empty["errors"]) == ["customer", "since"]
    for name in ("remedy", "in-time", "access", "inspections"):
        assert client.get(f"/api/v1/figures/{name}/").json()["tables"] != []
    assert client.get("/api/v1/figures/quotes/").json()["title"] == "Not allowed"
    client.force_login(manager)
    quotes = client.get("/api/v1/figures/quotes/", {"since": "2026-01-01", "until": "2026-12-31"}).json()
    assert quotes["tables"] != []
    wrong = client.get("/api/v1/figures/remedy/", {"since": "yesterday"}).json()
    assert list(wrong["errors"]) == ["since"]


# --- cost -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [1, 3])
@pytest.mark.parametrize("noun", ["archives", "holds", "erasures", "report-copies"])
def test_a_list_costs_three_statements_and_loses_nothing_between_pages(client, manager, size, noun):
    for number in range(size):
        site = make_site(f"Site {number}")
        make_bundle(site)
        make_hold(site)
        Erasure.objects.create(party=site.customer, asked_on="2026-02-01", erased={}, kept=[], by=manager, at=NOON)
        make_report_copy(make_inspection(site))
    manager.roles = ["manager", "office"]
    manager.save()
    client.force_login(manager)
    with statements() as listed:
        found = client.get(f"/api/v1/{noun}/").json()["results"]
    assert (len(found), len(listed)) == (size, 3)
    address, walked = f"/api/v1/{noun}/?page_size=1", []
    while address:
        answer = client.get(address).json()
        walked += answer["results"]
        address = answer["next"]
    assert walked == found
