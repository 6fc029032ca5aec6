"""A paper is made, sent, handed over, refused, taken back: operations, documents, pages."""

from datetime import date, timedelta
from types import SimpleNamespace

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from inspections import operations
from inspections.models import Paper, PaperDocument, PaperSupply
from inspections.operations import Recipient
from inspections.operations import papers as made_of_papers
from inspections.queries import papers as papers_shown
from jobsite.ids import new_id
from jobsite.ledger.files import store_file
from jobsite.messages.models import Message
from jobsite.messages.operations import send_to
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.due.models import DueRow
from remedials.due.operations import completed, stands
from tests import factories as make
from tests.factories import NOON, TODAY, recorded
from tests.jobsite.papers import reader, tags_of, words_of
from tests.jobsite.premises import posted, refusal, text_of
from tests.remedials.desk import statements

pytestmark = pytest.mark.django_db
REPORT = b"%PDF-1.7 the report as it came"


@pytest.fixture
def who(office, now):
    return {"by": office, "now": now}


@pytest.fixture
def at_desk(client, office):
    client.force_login(office)
    return client


@pytest.fixture
def let(site):
    """A home with two tenants, one of whom has an e-mail address, and its owner."""
    unit = make.unit_of(site)
    ann, bo = make.make_party("Ann Archer", email="ann@example.com"), make.make_party("Bo Brook")
    for party, role in ((ann, "occupier"), (bo, "occupier"), (site.customer, "owner")):
        unit.parties.create(party=party, role=role, since=date(2020, 1, 1))
    return SimpleNamespace(site=site, unit=unit, ann=ann, bo=bo)


@pytest.fixture
def copy(let, issued) -> Paper:
    """The copy that the law asks for, of another firm's report whose file is kept."""
    file = store_file(REPORT, media_type="application/pdf", now=NOON)
    issued("C2", other_firm=True, file=file, file_name="their report.pdf", reference="ISP-77")
    return Paper.objects.get()


def give(paper, *to, **more):
    usual = {"id": new_id(), "came": "given", "how": "hand", "on": TODAY, "settles": True, "version": paper.version}
    return operations.record_supply(paper, to=list(to), **usual | more)


# --- handed over ------------------------------------------------------------------------------------------------------


def test_given_to_one_of_two_tenants_it_stays_open_for_the_other(copy, let, who) -> None:
    ann, bo = Recipient("Ann Archer", let.ann), Recipient("Bo Brook", let.bo)
    with pytest.raises(Refused, match=r"Not recorded for Bo Brook: record it for them too, or leave the paper open\."):
        give(copy, ann, **who)
    key = new_id()
    with recorded() as told:
        for _ in range(2):
            paper = give(copy, ann, settles=False, id=key, **who)
    row = PaperSupply.objects.get()
    assert (row.to, row.party, row.came, row.how, row.on, row.recorded_by) == (
        "Ann Archer", let.ann, "given", "hand", TODAY, who["by"],
    )  # fmt: skip
    facts = {"supplies": [str(row.pk)], "came": "given", "how": "hand", "on": TODAY.isoformat(), "met": False}
    facts |= {"parties": [str(let.ann.pk)], "document": None, "file": None}
    assert [(t.verb, t.facts, t.words) for t in told] == [("paper.supplied", facts, {"to": "Ann Archer"})]
    assert DueRow.objects.filter(kind="paper", ref=paper.pk).exists()
    paper = give(paper, bo, on=TODAY - timedelta(days=1), how="post", **who)
    assert (paper.answer, paper.answered_on) == ("done", TODAY)
    assert paper.how == "given: Bo Brook, by post; given: Ann Archer, by hand"
    assert not DueRow.objects.filter(kind="paper", ref=paper.pk).exists()


def test_a_refusal_to_take_it_is_kept_with_what_was_said(copy, let, who) -> None:
    with pytest.raises(Refused, match="Say how it was offered") as no:
        give(copy, Recipient("Bo Brook", let.bo), came="refused", settles=False, **who)
    assert refusal(no)[1] == "note"
    paper = give(
        copy, Recipient("Bo Brook", let.bo), came="refused", note="At the door; he shut it", settles=False, **who
    )
    assert paper.answer == ""
    paper = give(paper, Recipient("Ann Archer", let.ann), **who)
    assert paper.how == "refused to take it: Bo Brook, by hand; given: Ann Archer, by hand"


@pytest.mark.parametrize(
    ("told", "field"),
    [
        ({"on": TODAY + timedelta(days=1)}, "on"),
        ({"on": date(2026, 1, 19)}, "on"),  # the day before the inspection
        ({"how": "pigeon"}, "how"),
        ({"came": "emailed"}, "came"),
    ],
)
def test_what_cannot_be(copy, who, told, field) -> None:
    with recorded() as entries, pytest.raises(Refused) as no:
        give(copy, Recipient("Ann Archer"), **told, **who)
    assert (refusal(no)[1], entries) == (field, [])


def test_it_goes_to_somebody_once_a_form(copy, let, who) -> None:
    with pytest.raises(Refused, match="Say who has it now"):
        give(copy, **who)
    with pytest.raises(Refused, match="One name stands there twice"):
        give(copy, Recipient("Ann Archer", let.ann), Recipient("Ann Archer"), settles=False, **who)


def test_of_two_at_once_the_second_sees_the_first(copy, let, who) -> None:
    give(copy, Recipient("Ann Archer", let.ann), settles=False, **who)
    with pytest.raises(ChangedMeanwhile):
        give(copy, Recipient("Bo Brook", let.bo), **who)


def test_an_engineer_hands_nothing_over(copy, engineer, now) -> None:
    for refused in (
        lambda: give(copy, Recipient("Ann Archer"), by=engineer, now=now),
        lambda: operations.make_paper_document(copy, id=new_id(), by=engineer, now=now),
        lambda: operations.mail_paper(copy, id=new_id(), to=[], by=engineer, now=now),
    ):
        with pytest.raises(NotAllowed):
            refused()


def test_an_entry_taken_back_opens_the_paper_and_stays(copy, let, who) -> None:
    paper = give(copy, Recipient("Ann Archer", let.ann), Recipient("Bo Brook", let.bo), **who)
    row = paper.supplies.get(to="Bo Brook")
    with pytest.raises(Refused, match="Say why the entry is taken back"):
        operations.take_back_supply(row, why=" ", **who)
    with recorded() as told:
        for _ in range(2):
            paper = operations.take_back_supply(row, why="It was his neighbour", **who)
    assert [(t.verb, t.facts) for t in told] == [
        ("paper.supply-taken-back", {"supply": str(row.pk), "opened": True})
    ]  # fmt: skip
    assert (paper.answer, paper.answered_on) == ("", None)
    assert paper.supplies.count() == 2
    paper = give(paper, Recipient("Bo Brook", let.bo), **who)
    assert paper.answer == "done"


# --- its document -----------------------------------------------------------------------------------------------------


def test_the_covering_letter_says_which_report_by_which_rule_to_whom(copy, who) -> None:
    key = new_id()
    with recorded() as told:
        made = operations.make_paper_document(copy, id=key, **who)
        assert operations.make_paper_document(copy, id=key, **who) == made
        assert operations.make_paper_document(copy, id=new_id(), **who) == made  # the same facts at the same instant
    assert [(t.verb, t.facts) for t in told] == [("paper.made", {"document": str(key), "file": made.file.hash})]
    words = words_of(made)
    for said in (
        "Ann Archer and Bo Brook",
        "A copy of the report on the electrical installation",
        "its own reference ISP-77",
        "20 Jan 2026",
        "unsatisfactory",
        "goes with this: report-1000.pdf, 30 bytes, SHA-256",
        "SI 2020/312 regulation 3 (England), as amended by SI 2025/1043",
        "within 28 days of the inspection on 20 Jan 2026",
        "The duty is the landlord's",
        "Check the current law.",
    ):
        assert said in words.replace(f"report-{copy.inspection.number}.pdf", "report-1000.pdf"), said


def test_the_letter_is_read_by_a_screen_reader_and_bears_the_record(copy, who) -> None:
    made = operations.make_paper_document(copy, id=new_id(), **who)
    tags = tags_of(made)
    assert [tag for tag in tags if tag.startswith("H")] == ["H1", "H2", "H2"]
    assert reader(made).metadata.title == "A copy of the report on the electrical installation"
    assert "On record up to" in words_of(made)


def test_a_report_that_is_not_kept_is_named_all_the_same(let, issued, who) -> None:
    report, _ = issued("C2")
    words = words_of(operations.make_paper_document(Paper.objects.get(), id=new_id(), **who))
    assert f"Periodic inspection {report.number} of 20 Jan 2026 goes with this. It is not kept here as a file" in words


def test_what_has_no_document_says_so(site, who) -> None:
    paper = make.make_paper(site, "an inspection", duty="england.inspection.new-tenancy", to="")
    with pytest.raises(Refused, match="makes no document"):
        operations.make_paper_document(paper, id=new_id(), **who)
    other = make.make_paper(site)
    with pytest.raises(Refused, match="No report is on record for this unit"):
        operations.make_paper_document(other, id=new_id(), **who)


# --- by e-mail --------------------------------------------------------------------------------------------------------


def mailed(paper, *to, **more):
    return operations.mail_paper(paper, id=more.pop("id", None) or new_id(), to=list(to), **more)


def test_what_is_emailed_was_not_given_yet(copy, let, who) -> None:
    key = new_id()
    with recorded() as told:
        for _ in range(2):
            rows = mailed(copy, Recipient("Ann Archer", let.ann, "ann@example.com"), id=key, **who)
    message = Message.objects.get()
    assert (message.address, message.to_id, message.reminder, message.site) == (
        "ann@example.com", let.ann.pk, False, copy.site_id,
    )  # fmt: skip
    assert message.why == copy.basis
    assert [t.verb for t in told] == ["paper.made", "paper.mailed"]
    copy.refresh_from_db()
    assert (rows[0].came, rows[0].message, copy.answer) == ("emailed", message.pk, "")
    whole = completed(message, now=NOON)
    assert [(name, content[:5], kind) for name, content, kind in whole.files] == [
        ("covering-letter.pdf", b"%PDF-", "application/pdf"),
        (f"report-{copy.inspection.number}.pdf", b"%PDF-", "application/pdf"),
    ]
    assert whole.files[1][1] == REPORT
    assert "They are attached." in whole.body
    ann = Recipient("Ann Archer", let.ann)
    with pytest.raises(
        Refused, match=r"It did not reach them by e-mail, message \d+ to Ann Archer: waiting to be sent"
    ):
        give(copy, ann, how="email", settles=False, **who)
    Message.objects.update(state="sent", settled_at=NOON)
    paper = give(copy, ann, how="email", settles=False, **who)
    assert paper.supplies.get(came="given").message == message.pk


def test_the_landlord_is_asked_to_pass_it_on(copy, let, who) -> None:
    owner = let.site.customer
    mailed(copy, Recipient(owner.name, owner, "owner@example.com"), **who)
    body = Message.objects.get().body
    assert "Please pass it on, and tell us when and to whom" in body
    assert "The last day is 17 Feb 2026." in body
    assert "Check the current law." in body


def test_nothing_is_sent_without_an_address(copy, let, who) -> None:
    for to, sentence in (([], "Choose to whom"), ([Recipient("Bo Brook", let.bo)], "no e-mail address for Bo Brook")):
        with recorded() as told, pytest.raises(Refused, match=sentence):
            mailed(copy, *to, **who)
        assert told == []
    assert not Message.objects.exists()


def test_a_message_about_what_is_no_longer_so_is_not_sent(copy, let, issued, who) -> None:
    mailed(copy, Recipient("Ann Archer", let.ann, "ann@example.com"), **who)
    message = Message.objects.get()
    assert stands(message, today=TODAY)
    Paper.objects.filter(pk=copy.pk).update(answer="lapsed", answered_on=TODAY, how="Not let any more")
    assert not stands(message, today=TODAY)
    assert not made_of_papers.still_stands(message)


def test_sent_anew_to_another_address_it_brings_the_same_and_counts_as_having_reached_them(copy, let, who) -> None:
    mailed(copy, Recipient("Ann Archer", let.ann, "ann@example.com"), **who)
    first = Message.objects.get()
    Message.objects.update(state="failed", settled_at=NOON)
    second = send_to(first, address="ann@example.net", **who)
    Message.objects.filter(pk=second.pk).update(state="failed", settled_at=NOON)
    third = send_to(second, address="ann@example.org", **who)
    assert stands(third, today=TODAY)
    assert completed(third, now=NOON).files == completed(first, now=NOON).files
    [row] = papers_shown.supply_rows(PaperSupply.objects.all())
    assert row["sent"] == f"message {third.number}: waiting to be sent, ann@example.org"
    Message.objects.filter(pk=third.pk).update(state="sent", settled_at=NOON)
    paper = give(copy, Recipient("Ann Archer", let.ann), how="email", settles=False, **who)
    assert paper.supplies.get(came="given").message == third.pk


# --- pages ------------------------------------------------------------------------------------------------------------


def test_the_page_of_a_paper_from_making_to_met(at_desk, copy, let, at_noon) -> None:
    where = reverse("inspections:paper", args=[copy.pk])
    shown = text_of(at_desk.get(where))
    assert "Ann Archer, occupier" in shown
    assert "Nobody yet, by what is on record." in shown
    assert "check the current law" in shown
    at_desk.post(reverse("inspections:paper_make", args=[copy.pk]))
    document = PaperDocument.objects.get()
    fetched = at_desk.get(reverse("inspections:paper_document", args=[document.pk]))
    assert (fetched["Content-Type"], fetched.content[:5]) == ("application/pdf", b"%PDF-")
    form = posted(at_desk.get(where)) | {"to": [str(let.ann.pk)], "how": "hand", "on": TODAY.isoformat()}
    no = at_desk.post(where, form)
    assert (no.status_code, PaperSupply.objects.count()) == (422, 0)
    assert "Not recorded for Bo Brook" in text_of(no)
    form = {name: value for name, value in form.items() if name != "settles"}
    receipt = SimpleUploadedFile("receipt.pdf", b"%PDF-1.7 signed", content_type="application/pdf")
    assert at_desk.post(where, form | {"receipt": receipt})["Location"] == where
    row = PaperSupply.objects.get()
    assert (row.file_name, row.document, row.note) == ("receipt.pdf", document, "")
    fetched = at_desk.get(reverse("inspections:supply_file", args=[row.pk]))
    assert (fetched.content, fetched["Content-Type"]) == (b"%PDF-1.7 signed", "application/octet-stream")
    assert fetched["Content-Disposition"] == 'attachment; filename="receipt.pdf"'
    assert reverse("inspections:supply_file", args=[row.pk]) in at_desk.get(where).content.decode()
    form = posted(at_desk.get(where)) | {"to": [str(let.bo.pk)], "how": "post", "on": TODAY.isoformat()}
    form |= {"settles": "on", "somebody": "Cy Cole"}
    at_desk.post(where, form)
    shown = text_of(at_desk.get(where))
    assert "Ann Archer : given by hand, 3 Feb 2026" in shown
    assert "Record that it was handed over" not in shown
    assert set(PaperSupply.objects.values_list("to", flat=True)) == {"Ann Archer", "Bo Brook", "Cy Cole"}


def test_a_message_that_came_back_is_said_so_beside_whom_it_went_to(at_desk, copy, let, who, at_noon) -> None:
    mail = reverse("inspections:paper_mail", args=[copy.pk])
    form = posted(at_desk.get(mail))
    assert at_desk.post(mail, form | {"to": [], "name": "Ebbsford Council"}).status_code == 422
    at_desk.post(mail, form | {"to": [str(let.ann.pk)], "name": "Ebbsford Council", "email": "c@example.com"})
    assert set(Message.objects.values_list("address", flat=True)) == {"ann@example.com", "c@example.com"}
    Message.objects.filter(address="c@example.com").update(state="failed", settled_at=NOON, error="no such address")
    shown = text_of(at_desk.get(reverse("inspections:paper", args=[copy.pk])))
    assert "could not be sent, c@example.com" in shown
    assert "It did not reach them by this message." in shown
    assert "waiting to be sent, ann@example.com" in shown


def test_an_entry_is_taken_back_on_a_page(at_desk, copy, let, who) -> None:
    paper = give(copy, Recipient("Ann Archer", let.ann), settles=False, **who)
    where = reverse("inspections:supply_back", args=[paper.supplies.get().pk])
    assert at_desk.post(where, posted(at_desk.get(where)) | {"why": ""}).status_code == 422
    at_desk.post(where, posted(at_desk.get(where)) | {"why": "The wrong flat"})
    assert "The wrong flat" in text_of(at_desk.get(reverse("inspections:paper", args=[paper.pk])))


def test_the_report_lists_its_papers_and_takes_requests(at_desk, copy, office) -> None:
    page = reverse("inspections:inspection", args=[copy.inspection_id])
    shown = text_of(at_desk.get(page))
    assert "a copy of the report to each existing tenant (Ann Archer and Bo Brook): by 17 Feb 2026" in shown
    where = reverse("inspections:asked_for", args=[copy.inspection_id])
    form = posted(at_desk.get(where)) | {"asked_by": "authority-asks", "who": "", "asked_on": TODAY.isoformat()}
    assert at_desk.post(where, form).status_code == 422
    assert at_desk.post(where, form | {"who": "Ebbsford Council"})["Location"] == page
    shown = text_of(at_desk.get(page))
    assert "a copy of the report to the local housing authority (Ebbsford Council): by" in shown
    site_page = text_of(at_desk.get(reverse("desk:site", args=[copy.site_id])))
    assert "a copy of the report to the local housing authority (Ebbsford Council) by" in site_page


def test_what_is_done_and_not_handed_over_asks_only_what_became_of_it(at_desk, site) -> None:
    paper = make.make_paper(site, "an inspection and test", duty="england.inspection.new-tenancy", to="")
    shown = text_of(at_desk.get(reverse("inspections:paper", args=[paper.pk])))
    assert "Say what became of it" in shown
    assert "Record that it was handed over" not in shown
    assert "Who has it" not in shown


def test_a_paper_that_was_superseded_is_read_only(at_desk, copy, let, who) -> None:
    paper = give(copy, Recipient("Ann Archer", let.ann), Recipient("Bo Brook", let.bo), **who)
    report = paper.inspection
    draft = operations.reissue_inspection(report, id=new_id(), reason="A slip", **who)
    operations.issue_inspection(draft, **who)
    paper.refresh_from_db()
    for refused in (
        lambda: operations.answer_paper(paper, answer="", answered_on=None, how="", version=paper.version, **who),
        lambda: give(paper, Recipient("Cy Cole"), **who),
        lambda: operations.make_paper_document(paper, id=new_id(), **who),
    ):
        with pytest.raises(Refused, match="was given and is owed anew"):
            refused()
    shown = at_desk.get(reverse("inspections:paper", args=[paper.pk]))
    anew = Paper.objects.get(inspection=draft)
    assert reverse("inspections:paper", args=[anew.pk]) in shown.content.decode()
    assert "The paper that is owed now" in text_of(shown)


def test_all_papers_of_a_site_under_their_heads(at_desk, copy, let, who, client, engineer) -> None:
    give(copy, Recipient("Ann Archer", let.ann), Recipient("Bo Brook", let.bo), **who)
    make.make_paper(let.site)
    where = reverse("inspections:papers", args=[let.site.pk])
    shown = text_of(at_desk.get(where))
    assert "Still to be given · 1" in shown
    assert "Given, or not needed · 1" in shown
    client.force_login(engineer)
    assert reverse("inspections:paper", args=[copy.pk]) not in client.get(where).content.decode()
    other = make.make_site("Bare")
    assert "Nothing is owed in writing here" in text_of(client.get(reverse("inspections:papers", args=[other.pk])))


@pytest.mark.parametrize("size", [1, 6])
def test_the_page_of_a_papers_cost(at_desk, copy, let, who, size) -> None:
    paper = copy
    for number in range(size):
        paper = give(paper, Recipient(f"Tenant {number}"), settles=False, **who)
    with statements() as sql:
        at_desk.get(reverse("inspections:paper", args=[copy.pk]))
    assert len(sql) == 10
    with statements() as sql:
        at_desk.get(reverse("inspections:papers", args=[let.site.pk]))
    assert len(sql) == 5
