"""What a customer's portfolio hands out: the summary on one page, and what is on record of getting in to a flat."""

import hashlib
import re
from datetime import date, timedelta
from io import BytesIO

import pytest
import time_machine
from pypdf import PdfReader

from inspections.models import InspectionDue
from jobsite.firm.models import Firm
from jobsite.ledger.files import store_file
from jobsite.ledger.models import Document, Entry
from jobsite.ledger.photographs import clean_photograph
from jobsite.premises.models import PartyAtUnit
from remedials.status.portfolio import summary
from remedials.visits.models import VisitLine
from tests.factories import (
    NOON,
    TODAY,
    anybody,
    make_attempt,
    make_code,
    make_inspection,
    make_observation,
    make_party,
    make_portfolio_link,
    make_remedial,
    make_site,
    make_unit,
    make_user,
    make_visit,
    picture,
    unit_of,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture(autouse=True)
def firm(db):
    return Firm.objects.create(
        name="Sample Sparks", phone="01632 960123", email="office@example.com", address="2 Ropewalk\nSampleton"
    )


@pytest.fixture
def agent(db):
    return make_party("Tern & Plover Lettings", organisation=True)


def read(response) -> tuple[PdfReader, str]:
    reader = PdfReader(BytesIO(response.content))
    return reader, " ".join(" ".join(page.extract_text() for page in reader.pages).split())


def under(party):
    _, token = make_portfolio_link(party)
    return f"/p/{token}/"


def block_with(agent, *flats: str):
    """A block of which `agent` is the customer, and its flats."""
    block = make_site("Mill Court", customer=agent)
    block.units.filter(whole_site=True).delete()
    return block, [make_unit(block, flat) for flat in flats]


# --- the summary ------------------------------------------------------------------------------------------------------


def test_the_summary_says_what_its_page_says(client, agent) -> None:
    block, (one, two, three) = block_with(agent, "Flat 1", "Flat 2", "Flat 3")
    make_inspection(block, units=[one, two], outcome="satisfactory")
    make_remedial(
        make_observation(block, "Bare conductor", unit=one, code="C1", remedy_by=date(2026, 2, 1)), stage="quoted"
    )
    make_observation(block, unit=two, code="C2", ended="remedied", ended_on=TODAY)
    InspectionDue.objects.create(unit=three, due_on=date(2026, 1, 1), basis="A sample rule.", shows_from=TODAY)
    response = client.get(f"{under(agent)}summary/document/")
    assert response["Content-Type"] == "application/pdf"
    assert response["Content-Disposition"].startswith("attachment; filename=")
    reader, said = read(response)
    assert len(reader.pages) == 1
    for sentence in summary.summary(agent, now=NOON).first_words:
        assert sentence in said
    for words in (
        "Electrical installations: how they stand", "Tern & Plover Lettings", "As recorded on 3 February 2026",
        "units 3", "with a danger now: a C1 that is not made safe 1", "with a C1 or C2 that is not made safe", "without an inspection on record 1",
        "with their next inspection overdue 1", "waiting for your answer to a quote 1", "C1 danger present 1 0 1 0",
        "C2 potentially dangerous 0 0 0 1", "1 inspection took place since 3 February 2025.",
        "Flat 1, Mill Court Danger now: Bare conductor, not recorded as made safe. Keep away from it. 1 Feb 2026 2 days late",
        "is neither a certificate nor a condition report", "Check the current law", "Sample Sparks 2 Ropewalk Sampleton",
    ):  # fmt: skip
        assert words in said, words


def test_the_summary_is_tagged_in_english_and_says_which_standard_it_meets(client, agent) -> None:
    make_observation(make_site("A", customer=agent), code="C1")
    reader, _ = read(client.get(f"{under(agent)}summary/document/"))
    root = reader.trailer["/Root"]
    assert root["/Lang"] == "en-GB"
    assert root["/MarkInfo"]["/Marked"]
    assert root["/StructTreeRoot"]
    assert "pdfuaid" in root["/Metadata"].get_data().decode()
    assert reader.metadata.title == "Electrical installations: how they stand"


def test_the_summary_stays_on_one_page_however_much_there_is(client, agent) -> None:
    """Long names, long defects and every figure filled: the list has the rest."""
    block, flats = block_with(agent, *(f"Flat {n} on the upper landing beside the old laundry" for n in range(1, 41)))
    codes = ("C1", "C2", "FI", "C3", "")
    stages = ("done", "booked", "approved", "quoted", "to-price", "declined")
    for n, flat in enumerate(flats):
        for code in codes:
            item = make_observation(
                block, "Insulation of the cable behind the kitchen units damaged by heat over a length " * 3, unit=flat, code=code,
                remedy_by=date(2026, 1, 1), place="behind the kitchen units",
            )  # fmt: skip
            make_remedial(item, stage=stages[n % 6], unit=flat)
        make_attempt(block, unit=flat)
    reader, said = read(client.get(f"{under(agent)}summary/document/"))
    assert len(reader.pages) == 1
    assert "32 more stand in the list of all units." in said
    assert "where nobody let us in when we last came 40" in said


def test_without_a_unit_the_summary_says_so(client, agent) -> None:
    reader, said = read(client.get(f"{under(agent)}summary/document/"))
    assert len(reader.pages) == 1
    assert "No unit is on record here now" in said


def test_the_same_day_and_facts_give_the_same_file_and_one_entry(client, agent) -> None:
    site = make_site("A", customer=agent)
    at = f"{under(agent)}summary/document/"
    with time_machine.travel(NOON, tick=False):
        first = client.get(at).content
    with time_machine.travel(NOON + timedelta(hours=3), tick=False):
        assert client.get(at).content == first
    document = Document.objects.get()
    assert (document.kind, document.party, document.site, document.as_of) == (
        "portfolio-summary",
        agent.pk,
        None,
        TODAY,
    )
    assert (document.file.hash, document.actor_kind) == (hashlib.sha256(first).hexdigest(), "link")
    told = Entry.objects.get(verb="document.made")
    assert (told.chain.int, told.facts["file"], told.actor_kind) == (0, document.file.hash, "link")
    make_observation(site, code="C1")
    assert client.get(at).content != first
    assert Document.objects.count() == 2


def test_asking_only_whether_it_is_there_makes_nothing(client, agent) -> None:
    site = make_site("A", customer=agent)
    at = under(agent)
    for path in ("summary/document/", f"units/{unit_of(site).pk}/no-access/"):
        answer = client.head(at + path)
        assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    assert not Document.objects.exists()


# --- getting in -------------------------------------------------------------------------------------------------------


def test_the_attempts_at_a_flat_come_in_one_file_without_what_is_private(client, agent) -> None:
    block, (one, two) = block_with(agent, "Flat 1", "Flat 2")
    egon = make_user("Egon Plugwright", "engineer", email="egon@example.com", phone="07700 900999")
    photo = store_file(clean_photograph(picture()).data, media_type="image/jpeg", now=NOON)
    make_attempt(
        block, unit=one, at=NOON - timedelta(days=400), said="Knocked twice, waited ten minutes. Egon Plugwright", by=egon,
        photo=photo,
    )  # fmt: skip
    make_attempt(block, unit=one, how="first-letter", reply="Come on Monday", replied_on=TODAY)
    make_attempt(block, unit=two, said="At the second door")
    make_attempt(block, said="At the gate", whom="the caretaker")
    block.access_notes = "alarm 4711"
    block.save(update_fields=["access_notes"])
    make_code(block, "9876")
    response = client.get(f"{under(agent)}units/{one.pk}/no-access/")
    reader, said = read(response)
    for words in (
        "Attempts to get in", "Flat 1, Mill Court", "Attempts 3", "Knocked twice, waited ten minutes. Egon", "By Egon",
        "3 Feb 2026: Come on Monday", "we did not get in", "At the gate", "without an opinion",
    ):  # fmt: skip
        assert words in said, words
    assert said.index("Knocked twice") < said.index("Come on Monday")
    for secret in ("Plugwright", "4711", "9876", "second door", "07700", "egon@"):
        assert secret not in said
    assert sum(len(page.images) for page in reader.pages) == 1
    document = Document.objects.get()
    assert (document.kind, document.site, document.unit, document.party) == ("no-access", block.pk, one.pk, agent.pk)
    assert 'filename="attempts-to-get-in-flat-1-mill-court-2026-02-03.pdf"' in response["Content-Disposition"]
    assert "SHA-256" not in said  # no letter is among them
    assert Entry.objects.get(verb="document.made").chain == block.pk


def test_the_firm_may_choose_to_be_named_in_full(client, agent, firm) -> None:
    firm.surnames = True
    firm.save(update_fields=["surnames"])
    site = make_site("A", customer=agent)
    make_attempt(site, by=make_user("Egon Plugwright", "engineer"))
    assert "By Egon Plugwright" in read(client.get(f"{under(agent)}units/{unit_of(site).pk}/no-access/"))[1]


def test_what_was_tried_for_others_is_not_told(client, agent) -> None:
    """The agent of one flat reads what was tried there: not the visits to others, nor what was noted for the whole house."""
    block, (one, two) = block_with(make_party("Freeholder"), "Flat 1", "Flat 2")
    PartyAtUnit.objects.create(unit=one, party=agent, role="agent", since=TODAY)
    alone, both, other = make_visit(block), make_visit(block), make_visit(block)
    for visit, units in ((alone, [one]), (both, [one, two]), (other, [two])):
        for unit in units:
            VisitLine.objects.create(visit=visit, kind="inspection", unit=unit, active=False)
    make_attempt(block, visit=alone, said="Only the first flat")
    make_attempt(block, visit=both, said="Flat 2 asked for Tuesday")
    make_attempt(block, visit=other, said="Of the second flat")
    make_attempt(block, said="The caretaker of Flat 2")
    at = under(agent)
    _, said = read(client.get(f"{at}units/{one.pk}/no-access/"))
    assert "Only the first flat" in said
    assert "Attempts 1" in said
    assert "1 attempt on record" in client.get(at).content.decode()
    _, whole = read(client.get(f"{under(block.customer)}units/{one.pk}/no-access/"))
    assert "Attempts 3" in whole
    assert "Of the second flat" not in whole


def test_a_unit_without_attempts_has_a_file_that_says_so(client, agent) -> None:
    site = make_site("A", customer=agent)
    assert (
        "No attempt is on record for these days."
        in read(client.get(f"{under(agent)}units/{unit_of(site).pk}/no-access/"))[1]
    )


def test_the_years_in_summary_are_taken_away_from_the_same_page(client, agent) -> None:
    make_inspection(make_site("A", customer=agent), inspected_on=date(2025, 7, 1))
    at = f"{under(agent)}summary/"
    links = re.findall(r'href="(\.\./years/\d+/)">([^<]+)</a>', client.get(at).content.decode())
    assert links == [("../years/2026/", "2026, so far"), ("../years/2025/", "2025")]
    _, said = read(client.get(f"{at.removesuffix('summary/')}years/2025/"))
    assert "2025" in said
    client.force_login(anybody("office"))
    assert b"../years/2025/" in client.get(f"/customers/{agent.pk}/portfolio/summary/").content


def test_the_office_hands_out_the_same_file(client, agent) -> None:
    site = make_site("A", customer=agent)
    make_attempt(site)
    path = f"units/{unit_of(site).pk}/no-access/"
    theirs = client.get(under(agent) + path).content
    client.force_login(anybody("office"))
    ours = client.get(f"/customers/{agent.pk}/portfolio/{path}")
    assert ours.content == theirs
    assert "no-store" in ours["Cache-Control"]
