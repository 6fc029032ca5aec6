"""The assessor's pack: what proves jobs picked by number; and the office's pages of archives."""

import json
from datetime import date
from io import BytesIO
from zipfile import ZipFile

import pytest
import time_machine
from django.urls import reverse
from pypdf import PdfReader

from inspections.models import Reading
from jobsite.ids import new_id
from jobsite.ledger.models import Document
from jobsite.people import operations as people
from jobsite.people.models import Competence
from jobsite.refused import NotAllowed, Refused
from remedials.status.bundles import assessor, operations
from remedials.status.models import Bundle
from remedials.works.models import ProofReview, Remedial
from tests.factories import NOON, make_bundle, make_paper, make_remedial, make_site, make_user
from tests.remedials.desk import statements
from tests.remedials.played import HOUR, Played, stranger, unpacked
from tests.remedials.proven import whole_site

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON + HOUR, tick=False):
        yield


@pytest.fixture
def site(db):
    return whole_site()


def ask(numbers, *, by, **fields) -> Bundle:
    return operations.ask_for_pack(
        numbers, **{"id": new_id(), "reason": "The yearly assessment", "by": by, "now": NOON + HOUR} | fields
    )


def numbers_of(site) -> list[int]:
    return list(Remedial.objects.filter(site=site).order_by("number").values_list("number", flat=True))


def text_of(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages).split())


def test_it_tells_what_proves_each_job(site, office, tmp_path) -> None:
    proven = Remedial.objects.filter(site=site, proofs__isnull=False).order_by("number").first()
    assert proven is not None
    paper = make_paper(site, "the notice to building control", work=proven.pk)
    data, fingerprint = assessor.archive(ask(numbers_of(site), by=office))
    files = unpacked(data, tmp_path)
    done = stranger(tmp_path, fingerprint)
    assert done.returncode == 0, done.stdout
    text = files["record.txt"].decode()
    reading = Reading.objects.get()
    for words in (
        f"REMEDIAL {proven.number}: ", "Socket cracked", "0.62 Ω: pass, judged by at most 1.09 Ω", "B32, 0.4 s, at 80 %",
        str(reading.instrument), "Done 3 Feb 2026, 12:00 by Dorrit Wirepull.", "Proof reviewed by Quill Overlook",
        "Minor works certificate: number MW-17, no file of it is kept.", f"Notification: {paper.what}", "Not answered yet.",
        "As found: 1 picture", "After the work: 1 picture",
    ):  # fmt: skip
        assert words in text, words


def test_the_pdf_says_the_same_as_the_text_and_is_one_that_can_be_read_aloud(site, office, tmp_path) -> None:
    files = unpacked(assessor.archive(ask(numbers_of(site), by=office))[0], tmp_path)
    pdf = PdfReader(BytesIO(files["record.pdf"]))
    root = pdf.trailer["/Root"]
    assert (root["/Lang"], root["/MarkInfo"]["/Marked"]) == ("en-GB", True)
    assert b"<pdfuaid:part>1</pdfuaid:part>" in root["/Metadata"].get_data()
    assert root["/StructTreeRoot"]["/K"]
    assert len([image for page in pdf.pages for image in page.images]) >= 2
    said = text_of(files["record.pdf"]).replace(" ", "")
    for line in json.loads(files["record.json"])["sections"]:
        for row in line["rows"]:
            assert row["head"].replace(" ", "") in said, row["head"]


def test_pictures_and_certificates_go_with_it_byte_for_byte(site, office) -> None:
    data, _ = assessor.archive(ask(numbers_of(site), by=office))
    with ZipFile(BytesIO(data)) as archive:
        names = [name for name in archive.namelist() if name.startswith("files/")]
        told = archive.read("files.txt").decode()
    assert len(names) == len(set(names)) >= 2
    assert all(name in told for name in names)


def test_a_job_that_nothing_proves_says_so(site, office, tmp_path) -> None:
    bare = make_remedial(
        *site.observations.filter(ended="")[:1], stage="approved", work="Still to do", certificate_kind="EIC"
    )
    bare.notifiable = True
    bare.save()
    text = unpacked(assessor.archive(ask([bare.number], by=office))[0], tmp_path)["record.txt"].decode()
    for words in (
        "It was not closed with proof: nothing of ours shows it.", "EIC: NO NUMBER ON RECORD.",
        "It is notifiable by the record, but no notification is kept of it.",
    ):  # fmt: skip
        assert words in text, words


def test_what_is_done_and_not_reviewed_counts_apart(site, office, tmp_path) -> None:
    proven = Remedial.objects.filter(site=site, proofs__isnull=False).order_by("number")
    one, two = proven[:2]
    ProofReview.objects.filter(proof__remedial=two).delete()
    bare = make_remedial(*site.observations.filter(ended="")[:1], stage="approved", work="Still to do")
    bundle = ask([one.number, two.number, bare.number], by=office)
    text = " ".join(unpacked(assessor.archive(bundle)[0], tmp_path)["record.txt"].decode().split())
    assert (
        "3 remedials picked by number: 1 closed with proof that was reviewed and accepted, "
        "1 done with proof that is NOT REVIEWED, 1 without proof."
    ) in text


def test_a_reading_that_is_missing_from_the_proof_is_named(site, office, tmp_path) -> None:
    proven = Remedial.objects.filter(proofs__readings__isnull=False).get()
    other = proven.required_readings.create(circuit=Reading.objects.get().circuit, quantity="insulation-resistance")
    text = unpacked(assessor.archive(ask([proven.number], by=office))[0], tmp_path)["record.txt"].decode()
    assert f"way {other.circuit.way_name}: insulation resistance: NOT AMONG THE PROOF" in text


def test_other_jobs_and_their_customers_are_not_in_it(site, office, tmp_path) -> None:
    elsewhere = make_site("Rook Mansions")
    one, *others = numbers_of(site)
    files = unpacked(assessor.archive(ask([one], by=office))[0], tmp_path)
    for content in files.values():
        said = content.decode(errors="replace")
        assert elsewhere.name not in said
        assert not any(f"emedial {number}" in said for number in others)


def test_more_jobs_cost_no_more_statements(site, office) -> None:
    few, many = ask(numbers_of(site)[:1], by=office), ask(numbers_of(site), by=office)
    costs = []
    for bundle in (few, many):
        with statements() as sql:
            assessor.archive(bundle)
        costs.append(len(sql))
    assert max(costs) <= 22
    assert costs[1] - costs[0] <= 3  # only what the few have none of: readings, reviews


@pytest.mark.parametrize(
    ("numbers", "sentence"),
    [([], "Write the number"), ([999_999], "There is no remedial 999999"), (list(range(1, 60)), "At most 40 at once")],
)
def test_what_cannot_be_put_together_is_said(site, office, numbers, sentence) -> None:
    with pytest.raises(Refused, match=sentence) as no:
        ask(numbers, by=office)
    assert no.value.field == "jobs"


def test_only_who_may_draw_asks_for_it(site) -> None:
    with pytest.raises(NotAllowed):
        ask(numbers_of(site), by=make_user("Edwin Wire", "engineer"))


def test_competence_is_that_of_the_day_of_each_act(tmp_path) -> None:
    """A pack is of now, the works are of their day: somebody whose competence ended since was competent then."""
    played = Played()
    number = played_job(played)
    row = Competence.objects.get(user=played.qualified, evidence="Certificate 7")
    people.end_competence(row, until=date(2026, 3, 1), by=played.manager, now=NOON + 24 * 90 * HOUR)
    bundle = ask([number], by=played.office, now=NOON + 24 * 200 * HOUR)
    text = unpacked(assessor.archive(bundle)[0], tmp_path)["record.txt"].decode()
    assert "WHO WAS COMPETENT" in text
    assert "Quentin Prover" in text
    assert "Qualified person from 1 Jan 2025 until 1 Mar 2026" in text
    assert "3 Feb 2026: code decided" in text
    assert "On record for that day: qualified person." in text


def played_job(played: Played) -> int:
    """The remedial for the item whose code Quentin Prover decided."""
    from remedials.works import operations as work

    job = work.make_remedial([played.items[2]], id=new_id(), work="Put right", by=played.office, now=NOON + 30 * HOUR)
    number: int = job.number
    return number


# --- pages ------------------------------------------------------------------------------------------------------------


def test_the_page_of_a_site_s_record(client, office) -> None:
    site = make_site("Sample House")
    client.force_login(office)
    where = reverse("proof:site_record", args=[site.pk])
    empty = client.get(where).content.decode()
    assert "No record of this site has been drawn out yet." in empty
    assert "Nothing is held" in empty
    refused = client.post(where, {"id": new_id(), "instant": "2199-01-01T10:00", "reason": "The insurer"})
    assert refused.status_code == 422
    said = refused.content.decode()
    assert "This moment is still to come" in said
    assert "The insurer" in said  # nothing typed is lost
    answer = client.post(where, {"id": new_id(), "instant": "2026-02-03T12:30", "reason": "The insurer"})
    bundle = Bundle.objects.get()
    assert answer["Location"] == reverse("proof:archive", args=[bundle.pk])


def test_one_is_waited_for_then_taken_away(client, office) -> None:
    site = make_site("Sample House")
    client.force_login(office)
    bundle = make_bundle(site, made=False, by=office)
    where = reverse("proof:archive", args=[bundle.pk])
    assert "You can leave this page" in client.get(where).content.decode()
    assert client.get(reverse("proof:archive_file", args=[bundle.pk])).status_code == 404
    with time_machine.travel(NOON + 2 * HOUR, tick=False):
        assert "Draw it now" in client.get(where).content.decode()  # nobody came to it
        client.post(reverse("proof:archive_here", args=[bundle.pk]))
    made = client.get(where)
    assert made["Cache-Control"].find("no-store") >= 0
    document = Document.objects.get()
    assert document.fingerprint in made.content.decode()
    file = client.get(reverse("proof:archive_file", args=[bundle.pk]))
    assert (file["Content-Type"], file["Cache-Control"]) == ("application/zip", "private, no-store")
    assert file["Content-Disposition"].startswith('attachment; filename="record-site-')
    assert ZipFile(BytesIO(file.content)).testzip() is None


def test_the_waiting_page_leads_on_by_itself(client, office) -> None:
    bundle = make_bundle(make_site("Sample House"), by=office)
    client.force_login(office)
    answer = client.get(reverse("proof:archive", args=[bundle.pk]), headers={"HX-Request": "true"})
    assert answer["HX-Redirect"] == reverse("proof:archive", args=[bundle.pk])


def test_one_that_failed_says_why_and_offers_another_try(client, office) -> None:
    bundle = make_bundle(make_site("Sample House"), made=False, by=office)
    bundle.progress.state, bundle.progress.sentence = "failed", "Too much."
    bundle.progress.save()
    client.force_login(office)
    said = client.get(reverse("proof:archive", args=[bundle.pk])).content.decode()
    assert "Too much." in said
    client.post(reverse("proof:archive_again", args=[bundle.pk]))
    bundle.progress.refresh_from_db()
    assert bundle.progress.state == "waiting"


def test_a_pack_is_asked_for_by_numbers_as_people_write_them(client, office, site) -> None:
    client.force_login(office)
    where = reverse("proof:assessor")
    one, two = numbers_of(site)[:2]
    wrong = client.post(where, {"id": new_id(), "jobs": "the last two", "reason": "r"})
    assert "Write the numbers of remedials" in wrong.content.decode()
    some = client.post(
        where, {"id": new_id(), "jobs": f"{one}, abc;{two}-{two + 2} abc", "reason": "r"}
    ).content.decode()
    assert f"“abc”, “{two}-{two + 2}” are no numbers." in some
    gone = client.post(where, {"id": new_id(), "jobs": f"{one}, 99999", "reason": "r"}).content.decode()
    assert "There is no remedial 99999." in gone
    client.post(where, {"id": new_id(), "jobs": f" {two},{one}; {one} ", "reason": "r"})
    assert Bundle.objects.get().jobs == sorted([one, two])
    assert f"Remedials {one}, {two}" in client.get(where).content.decode()


def test_a_subcontractor_with_the_right_finds_no_archive(client, site) -> None:
    lent = make_user("Sid Lent", "office", subcontractor=True)
    client.force_login(lent)
    for bundle in (make_bundle(site), make_bundle(None, kind="assessor", jobs=[1])):
        assert client.get(reverse("proof:archive", args=[bundle.pk])).status_code == 404
        assert client.get(reverse("proof:archive_file", args=[bundle.pk])).status_code == 404


@pytest.mark.parametrize("count", [1, 12])
def test_lists_cost_the_same_at_any_length(client, office, count) -> None:
    site = make_site("Sample House")
    for _ in range(count):
        make_bundle(site, by=office)
    client.force_login(office)
    with statements() as sql:
        client.get(reverse("proof:site_record", args=[site.pk]))
    assert len(sql) == 7, [one["sql"][:90] for one in sql]
