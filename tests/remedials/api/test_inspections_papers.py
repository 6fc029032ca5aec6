"""Who moves in, who asks for a report, what is owed in writing: handed over, sent, answered, taken back by the API."""

from datetime import date

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile

from inspections import operations
from inspections.models import OccupancyChange, Paper, PaperRequest, PaperSupply
from jobsite.ids import new_id
from jobsite.ledger.files import read_file, store_file
from jobsite.messages.models import Message
from tests import factories as make
from tests.factories import NOON, unit_of
from tests.remedials.api.sending import entries, form, sent
from tests.remedials.test_api_verbs import post, refusal

pytestmark = pytest.mark.django_db
REPORT = b"%PDF-1.7 the report as it came"


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def let():
    """The unit of a let home with an owner, and a tenant who has an e-mail address."""
    site = make.make_site("Kiln Row", nation="england", tenure="private-rented")
    unit = unit_of(site)
    for party, role in ((make.make_party("Ann Archer", email="ann@example.com"), "occupier"), (site.customer, "owner")):
        unit.parties.create(party=party, role=role, since=date(2020, 1, 1))
    unit.parties.create(party=make.make_party("Ada Agent", email=""), role="agent", since=date(2020, 1, 1))
    return unit


@pytest.fixture
def report(let, office):
    """Another firm's report with its file, taken into the record; the law asks for a copy of it."""
    site, key = let.site, new_id()
    file = store_file(REPORT, media_type="application/pdf", now=NOON)
    begun = operations.start_inspection(
        site, id=key, units=[let], kind="periodic", other_firm=True, inspected_on=date(2026, 1, 20),
        edition="2018+A2:2022", firm_name="Invented Sparks", file=file, file_name="r.pdf", by=office, now=NOON,
    )  # fmt: skip
    operations.note_observation(begun, id=new_id(), unit=let, text="Cover missing", code="C2", by=office, now=NOON)
    return operations.issue_inspection(begun, by=office, now=NOON)


@pytest.fixture
def copy(report) -> Paper:
    return Paper.objects.get(inspection=report)


# --- who moves in, who asks -------------------------------------------------------------------------------------------


def test_somebody_moves_in_once(client, office, engineer, let):
    who = make.make_party("Cy Cole")
    body = {"id": str(new_id()), "since": "2026-02-10", "occupier": str(who.pk)}
    address = f"units/{let.pk}/change-occupancy"
    with entries() as left:
        shown = [sent(client, office, address, 201, **body) for _ in range(2)]
    row = OccupancyChange.objects.get()
    assert (shown[0], row.occupier, row.since) == (shown[1], who, date(2026, 2, 10))
    assert [verb for verb, _ in left] == ["role.ended", "role.given", "occupancy.changed"]
    assert sorted(row.papers.values_list("what", flat=True)) == [
        "a copy of the report",
        "an inspection and test by a qualified person, whose report is still valid",
    ]
    refusal(post(client, engineer, address, **body), 403)
    unknown = refusal(post(client, office, address, id=str(new_id()), since="2026-02-10", occupier=str(let.pk)), 400)
    assert unknown["errors"] == {"occupier": ["There is no such row."]}


def test_somebody_asks_for_the_report(client, office, let, report):
    body = {"id": str(new_id()), "asked_by": "authority-asks", "who": "Sample Council", "asked_on": "2026-02-02"}
    address = f"inspections/{report.pk}/record-request"
    with entries() as left:
        shown = [sent(client, office, address, 201, **body) for _ in range(2)]
    row = PaperRequest.objects.get()
    assert (shown[0], row.who, row.unit) == (shown[1], "Sample Council", let)
    assert [verb for verb, _ in left] == ["paper.requested", "paper.opened"]
    future = refusal(post(client, office, address, **body | {"id": str(new_id()), "asked_on": "2026-02-04"}), 409)
    assert future["field"] == "asked_on"
    draft = make.make_inspection(let.site, issued=False)
    told = refusal(post(client, office, f"inspections/{draft.pk}/record-request", **body | {"id": str(new_id())}), 409)
    assert told["detail"]


# --- one paper --------------------------------------------------------------------------------------------------------


def test_its_document_is_made_and_fetched(client, office, copy):
    body = {"id": str(new_id())}
    with entries() as left:
        shown = [sent(client, office, f"papers/{copy.pk}/make-document", 201, **body) for _ in range(2)]
    assert (shown[0], [verb for verb, _ in left]) == (shown[1], ["paper.made"])
    made = client.get(f"/api/v1/paper-documents/{shown[0]['id']}/file/")
    assert (made["Content-Type"], made.content[:5]) == ("application/pdf", b"%PDF-")
    other = make.make_paper(copy.site, what="something that has no document")
    told = refusal(post(client, office, f"papers/{other.pk}/make-document", id=str(new_id())), 409)
    assert told["detail"]


def test_handed_over_with_a_receipt(client, office, engineer, copy):
    tenant = next(one for one in sent_candidates(client, office, copy) if one["name"] == "Ann Archer")
    fields = {"id": str(new_id()), "to": [tenant["key"]], "how": "hand", "on": "2026-02-03", "settles": "true"}
    address = f"papers/{copy.pk}/record-supply"
    in_json = fields | {"settles": True}
    refusal(post(client, engineer, address, **in_json), 403)
    stale = refusal(post(client, office, address, 7, **in_json), 412)
    assert stale["version"] == copy.version
    with entries() as left:
        shown = form(client, office, address, 200, receipt=SimpleUploadedFile("signed.pdf", REPORT), **fields)
    row = PaperSupply.objects.get()
    assert (row.to, row.came, row.how, row.file_name, read_file(row.file)) == (
        "Ann Archer", "given", "hand", "signed.pdf", REPORT,
    )  # fmt: skip
    assert (shown["answer"], shown["supplies"][0]["has_file"]) == ("done", True)
    assert left == [("paper.supplied", str(copy.pk))]
    with entries() as left:
        back = sent(client, office, f"paper-supplies/{row.pk}/take-back", why="The wrong flat")
    assert (back["answer"], back["supplies"][0]["taken_back_why"]) == ("", "The wrong flat")
    assert left == [("paper.supply-taken-back", str(copy.pk))]


def sent_candidates(client, user, paper):
    client.force_login(user)
    return client.get(f"/api/v1/papers/{paper.pk}/").json()["candidates"]


def test_what_cannot_be_handed_over(client, office, copy):
    address = f"papers/{copy.pk}/record-supply"
    body = {"id": str(new_id()), "somebody": "Tina", "how": "hand", "on": "2026-02-03"}
    future = refusal(post(client, office, address, **body | {"on": "2026-02-04"}), 409)
    assert future["field"] == "on"
    unsaid = refusal(post(client, office, address, **body | {"came": "refused"}), 409)
    assert unsaid["field"] == "note"
    unknown = refusal(post(client, office, address, **body | {"to": ["nobody"]}), 400)
    assert unknown["errors"] == {"to": ["nobody is none of the candidates."]}
    strange = refusal(post(client, office, address, **body | {"document": str(new_id())}), 400)
    assert strange["errors"] == {"document": ["There is no such document of this paper."]}
    assert PaperSupply.objects.count() == 0


def test_a_copy_without_personal_data_meets_a_paper(client, office, copy):
    given = make.make_report_copy(make.make_inspection(copy.site))
    address = f"papers/{copy.pk}/record-supply"
    tenant = next(one for one in sent_candidates(client, office, copy) if one["name"] == "Ann Archer")
    body = {"id": str(new_id()), "to": [tenant["key"]], "how": "hand", "on": "2026-02-03", "settles": True}
    strange = refusal(post(client, office, address, **body | {"copy": str(new_id())}), 400)
    assert strange["errors"] == {"copy": ["There is no such copy."]}
    both = form(
        client, office, address, 409, receipt=SimpleUploadedFile("signed.pdf", REPORT), copy=str(given.pk), **body
    )
    assert both["field"] == "copy"
    assert sent(client, office, address, copy=str(given.pk), **body)["answer"] == "done"
    row = PaperSupply.objects.get()
    assert (row.file, row.file_name) == (given.document.file, given.document.name)


def test_sent_by_e_mail_it_stays_open(client, office, copy):
    there = {one["name"]: one for one in sent_candidates(client, office, copy)}
    body = {"id": str(new_id()), "to": [there["Ann Archer"]["key"]], "name": "Bo Brook", "email": "bo@example.com"}
    with entries() as left:
        shown = [sent(client, office, f"papers/{copy.pk}/mail", **body) for _ in range(2)]
    assert (shown[0]["answer"], sorted(one["to"] for one in shown[1]["supplies"])) == ("", ["Ann Archer", "Bo Brook"])
    assert [verb for verb, _ in left if verb in ("paper.mailed", "paper.made")] == ["paper.made", "paper.mailed"]
    assert sorted(Message.objects.values_list("address", flat=True)) == ["ann@example.com", "bo@example.com"]
    half = refusal(post(client, office, f"papers/{copy.pk}/mail", id=str(new_id()), name="Bo"), 409)
    assert (half["field"], half["detail"]) == ("email", "Give the name and the address.")
    owner = body | {"id": str(new_id()), "to": [there["Ada Agent"]["key"]]}
    told = refusal(post(client, office, f"papers/{copy.pk}/mail", **owner), 409)
    assert (told["field"], told["detail"]) == ("to", "Ada Agent has no e-mail address.")


def test_otherwise_answered_and_open_again(client, office, copy):
    address = f"papers/{copy.pk}/answer"
    with entries() as left:
        shown = sent(
            client,
            office,
            address,
            version=copy.version,
            answer="not-needed",
            answered_on="2026-02-03",
            how="It stays empty",
        )
        again = sent(client, office, address, answer="")
    assert ((shown["answer"], shown["how"]), again["answer"]) == (("not-needed", "It stays empty"), "")
    assert left == [("paper.answered", str(copy.pk))] * 2
    told = refusal(post(client, office, address, answer="done", answered_on="2026-02-03"), 409)
    assert told["field"] == "how"
    assert refusal(post(client, office, address, answer="lapsed"), 400)["errors"].keys() == {"answer"}
