"""Letters that ask to be let in, and the evidence: read as a person reads them."""

from datetime import timedelta

import pypdfium2
import pytest
from django.core import mail
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.ledger.files import read_file, store_file
from jobsite.ledger.photographs import clean_photograph
from jobsite.messages.models import Message
from jobsite.refused import NotAllowed, Refused
from remedials.due.operations import send
from remedials.visits.models import Attempt
from remedials.visits.operations.letters import write_letter
from remedials.visits.queries.evidence import evidence
from tests import factories as make
from tests.factories import NOON, TODAY, recorded

pytestmark = pytest.mark.django_db


def words_of(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(pdf)
    return " ".join(" ".join(page.get_textpage().get_text_range() for page in document).split())


def letter(site, by, **more):
    usual = {
        "id": new_id(), "which": "first-letter", "to": "Tina Tenant", "to_address": "Flat 1\nSample Court",
        "answer_by": TODAY + timedelta(days=7), "sent": "post", "by": by, "now": NOON,
    }  # fmt: skip
    return write_letter(site, **usual | more)


def test_first_letter_says_why_when_and_whom_to_ring(site, office) -> None:
    work = make.make_remedial(make.make_observation(site, "Live parts can be touched", code="C1"), stage="approved")
    with recorded() as told:
        row = letter(site, office, remedials=[work], times=["Mon 9 Feb 2026, 09:00 to 12:00", " "])
    said = words_of(read_file(row.letter))
    for words in (
        "Dear Tina Tenant", "Danger present: Live parts can be touched", "Mon 9 Feb 2026, 09:00 to 12:00",
        "by 10 Feb 2026", "Flat 1", "keep away", "3 Feb 2026",
    ):  # fmt: skip
        assert words in said
    assert "landlord" not in said
    assert [entry.verb for entry in told] == ["access.attempt", "document.made"]
    assert told[0].facts["letter"] == row.letter_id
    assert (row.how, row.next_on) == ("first-letter", TODAY + timedelta(days=14))
    assert "posted" in row.said


def test_the_same_form_twice_is_one_letter(site, office) -> None:
    key = new_id()
    assert letter(site, office, id=key) == letter(site, office, id=key)
    assert Attempt.objects.count() == 1


def test_second_follows_the_first_and_the_final_the_second(site, office) -> None:
    with pytest.raises(Refused, match="first letter first"):
        letter(site, office, which="second-letter")
    letter(site, office)
    with pytest.raises(Refused, match="second letter first"):
        letter(site, office, which="final-letter")
    letter(site, office, which="second-letter", now=NOON + timedelta(days=14), answer_by=TODAY + timedelta(days=20))
    last = letter(
        site, office, which="final-letter", now=NOON + timedelta(days=28), answer_by=TODAY + timedelta(days=40)
    )
    said = words_of(read_file(last.letter))
    assert "We wrote to you about this on 3 Feb 2026 and 17 Feb 2026." in said
    assert "we must tell the landlord that we could not get in" in said
    assert last.next_on is None


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"to": " "}, "to whom"),
        ({"sent": "email"}, "no e-mail address"),
        ({"answer_by": TODAY}, "time to answer"),
    ],
)
def test_what_is_missing_is_said(site, office, more, sentence) -> None:
    with pytest.raises(Refused, match=sentence):
        letter(site, office, **more)
    assert not Attempt.objects.exists()


def test_engineers_write_no_letters(site, engineer) -> None:
    with pytest.raises(NotAllowed):
        letter(site, engineer)


def test_letter_by_email_goes_with_the_file_that_was_kept(site, office) -> None:
    row = letter(site, office, sent="email", email="tina@example.com")
    assert Message.objects.get().address == "tina@example.com"
    send(now=NOON)
    ((name, data, kind),) = mail.outbox[0].attachments
    assert (name, kind) == ("first-letter.pdf", "application/pdf")
    assert data == read_file(row.letter)


def test_evidence_lists_every_attempt_with_reply_hash_and_photo(site, office) -> None:
    row = letter(site, office)
    clean = clean_photograph(make.picture())
    photo = store_file(clean.data, media_type="image/jpeg", now=NOON)
    make.make_attempt(
        site, at=NOON + timedelta(days=1), said="Knocked twice", reply="Come on Monday", replied_on=TODAY, photo=photo
    )
    make.make_attempt(site, at=NOON - timedelta(days=90), said="Too early to be listed")
    made = evidence(site, None, TODAY, TODAY + timedelta(days=30), now=NOON)
    said = words_of(made.pdf)
    for words in ("Knocked twice", "3 Feb 2026: Come on Monday", "we did not get in", "check the current law"):
        assert words in said
    assert row.letter_id in said.replace(" ", "")
    assert "Too early" not in said
    document = pypdfium2.PdfDocument(made.pdf)
    kinds = [item.type for page in document for item in page.get_objects()]
    assert pypdfium2.raw.FPDF_PAGEOBJ_IMAGE in kinds


def test_evidence_of_a_unit_leaves_out_other_units(office) -> None:
    block = make.make_site("Sample Court")
    one, two = make.make_unit(block, "Flat 1"), make.make_unit(block, "Flat 2")
    make.make_attempt(block, unit=one, said="At the first door")
    make.make_attempt(block, unit=two, said="At the second door")
    make.make_attempt(block, said="At the gate")
    said = words_of(evidence(block, one, TODAY, TODAY, now=NOON).pdf)
    assert "At the first door" in said
    assert "At the gate" in said
    assert "second door" not in said


@pytest.mark.usefixtures("at_noon")
def test_pages_write_a_letter_and_print_the_evidence(at_desk, site) -> None:
    where = reverse("visits:letter_new", args=[site.pk])
    typed = {
        "id": new_id(), "which": "first-letter", "to": "Tina", "to_address": "", "times": "", "answer_by": "12 Feb 2026",
        "sent": "hand", "email": "",
    }  # fmt: skip
    assert at_desk.get(where).status_code == 200
    assert at_desk.post(where, typed | {"to": ""}).status_code == 422
    assert at_desk.post(where, typed).status_code == 302
    row = Attempt.objects.get()
    kept = at_desk.get(reverse("visits:attempt_letter", args=[row.pk]))
    assert kept.content == read_file(row.letter)
    days = {"unit": "", "first": "1 Feb 2026", "last": "3 Feb 2026"}
    printed = at_desk.post(reverse("visits:evidence", args=[site.pk]), days)
    assert printed["Content-Type"] == "application/pdf"
    assert "Tina" in words_of(printed.content)
