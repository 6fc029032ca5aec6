"""The completion record: what it says, what it keeps to itself, what it costs."""

from io import BytesIO

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from pypdf import PdfReader

from jobsite.ledger.files import path_of, read_file
from jobsite.ledger.models import Document, Entry
from jobsite.refused import Refused
from remedials.status.facts import scope_at
from remedials.status.proof.done import completion
from remedials.status.proof.making import document_for
from remedials.works.models import Proof
from tests.factories import NOON, anybody, make_circuit, make_inspection, make_observation, make_remedial, make_unit
from tests.remedials.proven import photo_after, photo_before, put_right, text_of, whole_site

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon", "firm")]


def made_of(site, unit=None) -> tuple[Document, bytes]:
    document = document_for("completion", scope_at(site.pk, unit.pk if unit else None), by=anybody(), now=NOON)
    return document, read_file(document.file)


def test_it_says_what_was_done_by_whom_when_and_what_shows_it():
    _, pdf = made_of(whole_site())
    said = text_of(pdf)
    assert "Completion record Heron Wharf, 1 Sample Street, Sampleton, QX1 2AB As recorded on 3 Feb 2026" in said
    assert "Report Periodic inspection of 5 Jan 2026, reference R-9 Outcome that day unsatisfactory" in said
    assert "Works since All 3 items of code C1, C2 or FI in it are recorded as complete." in said
    assert "Still open Code What, and where C3 Blank missing (no. 1004)" in said
    assert (
        "C2 Hall board, way 5L1, no. 1001 (item 4.2) Socket cracked C2: potentially dangerous. First recorded 5 Jan 2026. "
        "3 Feb 2026: Put right on 3 February 2026. A qualified person has reviewed the proof. Fit a new socket "
        "Done by Dorrit, Sample Sparks Done on 3 Feb 2026 Certificate Minor works certificate MW-17 "
        "Proof reviewed by Quill, 3 Feb 2026 Reading Value Limit Basis Result "
        "earth fault loop impedance Hall board, way 5L1 (Circuit 5) 0.62 Ω at most 1.09 Ω B32, 0.4 s, at 80 % pass "
        "Before behind the door After"
    ) in said
    assert (
        "25 Jan 2026: Danger notice 31 given. 25 Jan 2026: Made safe for the time being: isolated and locked." in said
    )
    assert "Recorded as C3. 3 Feb 2026: Recoded from C3 to C2 by Quill, a qualified person of ours." in said
    assert "Bond the gas pipe Done by Tern Electrical Done on 3 Feb 2026 Their paper T-5" in said
    assert "It is neither a certificate nor a condition report" in said


def test_what_is_open_and_made_safe_says_so():
    site = whole_site()
    make_observation(site, "Live parts", code="C1", made_safe=True)
    assert "Still open Code What, and where C1 made safe Live parts" in text_of(made_of(site)[1])


def test_it_keeps_to_itself_what_is_nobody_elses():
    _, pdf = made_of(whole_site())
    said = text_of(pdf)
    for word in ("Wirepull", "Overlook", "secret", "Deskworth", "L7", "£", "Petra"):
        assert word not in said


def test_the_firm_may_choose_full_names(firm):
    firm.surnames = True
    firm.save()
    assert "Done by Dorrit Wirepull, Sample Sparks" in text_of(made_of(whole_site())[1])


def test_its_pictures_have_words_and_it_is_tagged():
    pdf = made_of(whole_site())[1]
    reader = PdfReader(BytesIO(pdf))
    root = reader.trailer["/Root"]
    assert root["/Lang"] == "en-GB"
    assert b"<pdfuaid:part>1</pdfuaid:part>" in root["/Metadata"].get_data()
    tags = [element for element in tagged(root["/StructTreeRoot"]) if element.get("/Alt")]
    assert sorted({element["/Alt"] for element in tags}) == [
        "Observation 1001 after the work",
        "Observation 1001 as found: behind the door",
        "Observation 1002 after the work",
        "Observation 1002 as found: behind the door",
    ]
    kinds = {element.get("/S") for element in tagged(root["/StructTreeRoot"])}
    assert {"/H1", "/H2", "/H3", "/Table", "/TH", "/TD", "/Figure"} <= kinds


def tagged(element):
    """Every element of the tree of tags."""
    yield element
    kids = element.get("/K", [])
    found = (
        kid.get_object() if hasattr(kid, "get_object") else kid for kid in (kids if isinstance(kids, list) else [kids])
    )
    for kid in found:
        if isinstance(kid, dict) and "/S" in kid:
            yield from tagged(kid)


def test_the_same_day_and_facts_are_the_same_file_and_one_entry():
    site = whole_site()
    first, _ = made_of(site)
    assert made_of(site)[0] == first
    assert Entry.objects.filter(verb="document.made").count() == 1
    assert Entry.objects.get(verb="document.made").facts["file"] == first.file_id
    put_right(site, "Another")
    later, pdf = made_of(site)
    assert later.pk != first.pk
    assert "Another" in text_of(pdf)


def test_of_a_unit_it_says_nothing_of_another():
    site = whole_site()
    flat, other = make_unit(site, "Flat 1"), make_unit(site, "Flat 2")
    one = make_observation(site, "In flat one", unit=flat, ended="remedied", ended_on=NOON.date())
    two = make_observation(site, "In flat two", unit=other, ended="remedied", ended_on=NOON.date())
    shared = make_remedial(one, two, stage="reviewed", work="Both flats at once")
    proof = Proof.objects.create(remedial=shared, done_by=anybody("engineer"), done_at=NOON)
    photo_after(proof, two)
    make_inspection(site, units=[other])
    said = text_of(made_of(site, flat)[1])
    assert "Completion record Flat 1, Heron Wharf" in said
    assert "In flat one" in said
    for word in ("flat two", "Flat 2", "Both flats", "Socket", "Report Periodic"):
        assert word not in said


def test_of_a_report_on_several_homes_only_the_units_own_items_are_counted():
    site = whole_site()
    flat, other = make_unit(site, "Flat 1"), make_unit(site, "Flat 2")
    report = make_inspection(site, units=[flat, other])
    put_right(site, "In flat one", unit=flat, inspection=report)
    make_observation(site, "In flat two", unit=other, inspection=report)
    said = text_of(made_of(site, flat)[1])
    assert "The one item of code C1, C2 or FI in it for Flat 1 is recorded as complete." in said


def test_a_picture_that_was_lost_is_said_to_be_missing():
    from django.core.files.storage import default_storage

    site = whole_site()
    after = Proof.objects.filter(photos__isnull=False).first().photos.first()
    default_storage.delete(path_of(after.file_id))
    assert "A photograph is on record that could not be read." in text_of(made_of(site)[1])


def test_nothing_done_is_no_record(site):
    with pytest.raises(Refused, match="Nothing is recorded as put right here yet"):
        made_of(site)


@pytest.mark.parametrize("more", [0, 6])
def test_it_takes_the_same_statements_at_any_size(more):
    site = whole_site()
    for at in range(more):
        circuit = make_circuit(site.boards.get(), 20 + at)
        put_right(site, f"Item {at}", circuit=circuit, pictures=False)
    scope = scope_at(site.pk)
    with CaptureQueriesContext(connection) as told:
        completion(scope, now=NOON)
    assert len(told) == 18


def test_pictures_that_are_too_heavy_together_are_made_smaller(site, monkeypatch):
    from remedials.status.proof import pictures
    from tests.benchmarks.documents import photograph

    observation, proof = put_right(site, pictures=False)
    found = [
        photo_before(observation, photograph(1, (1024, 768))),
        photo_after(proof, None, photograph(2, (1024, 768))),
    ]
    wanted = {f"{at}.jpg": row.file_id for at, row in enumerate(found)}
    usual = pictures.read_pictures(wanted)
    monkeypatch.setattr(pictures, "MOST_BYTES", sum(map(len, usual.values())) - 1)
    smaller = pictures.read_pictures(wanted)
    assert list(smaller) == list(usual)
    assert sum(map(len, smaller.values())) < sum(map(len, usual.values())) * 0.8
