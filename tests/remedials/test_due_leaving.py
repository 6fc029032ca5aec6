"""Our part at a site ends: the closing letter, its delivery, what ends with it, and coming back."""

from datetime import date, timedelta

import pypdfium2
import pytest
from django.core import mail
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from inspections.models import DangerNotice, InspectionDue, MadeSafe
from inspections.operations import note_found
from jobsite.documents import PDF
from jobsite.ids import new_id
from jobsite.ledger.files import read_file, store_file
from jobsite.ledger.models import Entry
from jobsite.messages.models import Message
from jobsite.people.models import PrivateLink
from jobsite.premises.operations import archive_site, bring_back_site, hand_over_site, merge_sites
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.due.models import DueRow, Leaving
from remedials.due.operations import leaving as leave
from remedials.due.operations import send, sweep
from remedials.due.queries.leaving import on_record, what_blocks
from remedials.quotes.models import Offer
from remedials.works.models import WayOut
from tests import factories as make
from tests.at_once import at_once
from tests.factories import NOON, TODAY, Told, recorded, unit_of
from tests.remedials.desk import text_of

pytestmark = pytest.mark.django_db
WEEK = TODAY + timedelta(days=7)


def words_of(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(pdf)
    return " ".join(" ".join(page.get_textpage().get_text_range() for page in document).split())


def write(site, by, **more) -> Leaving:
    usual = {
        "id": new_id(), "why": "left", "to_name": "Petra Landlady", "to_address": "2 Sample Street\nSampleton",
        "reason": "She rang on Monday", "owner": by, "deliver_by": WEEK, "by": by, "now": NOON,
    }  # fmt: skip
    return leave.write_letter(site, **usual | more)


def deliver(row, by, **more) -> Leaving:
    usual = {"how": "hand", "on": TODAY, "to": "Petra Landlady", "version": row.version, "by": by, "now": NOON}
    return leave.deliver_letter(row, **usual | more)


def notice_for(*observations, **fields) -> DangerNotice:
    usual = {"why": "Live parts can be touched", "advised": "Leave the board locked", "given_to": "Petra Landlady"}
    usual |= {"how": "hand", "given_at": NOON, "given_by": make.anybody(), "site": observations[0].site}
    notice = DangerNotice.objects.create(number=77, **usual | fields)
    notice.observations.set(observations)
    return notice


# --- what the letter says ---------------------------------------------------------------------------------------------


@pytest.fixture
def full(site, office, manager):
    """A site with a bit of everything that a letter lists."""
    worst = make.make_observation(site, "Bare ends behind the cover", code="C1", made_safe=True, by=office)
    MadeSafe.objects.create(
        observation=worst, how="locked", what="way 3 locked off", agreed_with="Petra Landlady", lock="12",
        key_holder="Edwin Wireman", at=NOON, by=office, look_again_on=TODAY + timedelta(days=5),
    )  # fmt: skip
    notice_for(worst)
    make.make_observation(site, "No RCD on the sockets", code="C2", by=office)
    make.make_observation(site, "Signs of heat", code="FI", by=office)
    declined = make.make_remedial(
        make.make_observation(site, "Old labels", code="C3", by=office), stage="declined", work="New labels"
    )
    WayOut.objects.create(
        remedial=declined, stage="declined", who="Petra Landlady", on=TODAY, recorded_by=office, recorded_at=NOON
    )
    make.make_inspection(site).limitations.create(what="the loft", why="no ladder")
    InspectionDue.objects.create(
        unit=unit_of(site), due_on=date(2026, 9, 1), basis="An invented rule.", by_law=True, shows_from=TODAY
    )
    make.make_paper(site, due_on=WEEK, by=office)
    make.make_key(site, tag="S-9", what="back door")
    return site


def test_the_letter_lists_all_that_is_open_dangers_first(full, office) -> None:
    with recorded() as told:
        row = write(full, office)
    said = words_of(read_file(row.letter))
    in_order = [
        "Petra Landlady", "2 Sample Street", "3 Feb 2026", "we are no longer to look after",
        "Keep away from what is named here", "Bare ends behind the cover", "danger present", "way 3 locked off", "lock 12",
        "key with Edwin Wireman", "It stays dangerous until it is put right", "To be looked at again by 8 Feb 2026",
        "Danger notice 77, given to Petra Landlady on 3 Feb 2026", "Leave the board locked",
        "No RCD on the sockets", "put right without delay by a competent person", "Signs of heat", "investigated without delay",
        "Improvements that are recommended", "Old labels", "Work declined on 3 Feb 2026 by Petra Landlady: New labels",
        "The next inspection", "by 1 Sep 2026. An invented rule. Check the current law.",
        "Papers that the law asks for", "a copy of the report to the tenant, by 10 Feb 2026",
        "What was not inspected", "the loft: no ladder", "back door", "What we no longer do", "look again at what was made safe",
        "no report on the installation",
    ]  # fmt: skip
    at = [said.find(words) for words in in_order]
    assert -1 not in at, [words for words, found in zip(in_order, at, strict=True) if found < 0]
    assert at == sorted(at)
    assert "S-9" not in said  # a key's tag never stands beside the address
    assert "She rang on Monday" not in said
    assert (row.number, row.delivered_on) == (1001, None)
    assert [(entry.verb, entry.facts["codes"]) for entry in told] == [("leaving.written", ["C1", "C2", "FI", "C3"])]


def test_same_facts_same_bytes(full) -> None:
    fields = {"why": "died", "to_name": "The estate", "to_address": "", "now": NOON}
    one, other = (leave.letter_document(full, on_record(full), **fields) for _ in range(2))
    assert one.pdf == other.pdf
    assert one.fingerprint == other.fingerprint


@pytest.mark.parametrize(
    ("why", "words"),
    [
        ("left", "no longer to look after"),
        ("sold", "has a new owner"),
        ("died", "Petra Landlady has died"),
        ("silent", "have had no answer"),
    ],
)
def test_each_cause_has_its_opening(site, office, why, words) -> None:
    assert words in words_of(read_file(write(site, office, why=why).letter))


def test_with_nothing_open_it_claims_nothing_more(site, office) -> None:
    said = words_of(read_file(write(site, office).letter))
    assert "No open item is on our record. That says nothing of what was not inspected." in said
    assert "Keep away" not in said


def test_the_same_form_again_is_one_letter_and_a_second_is_refused(site, office) -> None:
    key = new_id()
    assert write(site, office, id=key) == write(site, office, id=key)
    with pytest.raises(Refused, match="stands already"):
        write(site, office)


@pytest.mark.parametrize(
    ("more", "field"),
    [
        ({"to_name": " "}, "to_name"),
        ({"reason": ""}, "reason"),
        ({"deliver_by": TODAY - timedelta(days=1)}, "deliver_by"),
    ],
)
def test_what_is_missing_is_said(site, office, more, field) -> None:
    with pytest.raises(Refused) as refused:
        write(site, office, **more)
    assert refused.value.field == field
    assert not Leaving.objects.exists()


def test_only_office_and_managers_end_our_part(site, engineer, manager) -> None:
    with pytest.raises(NotAllowed):
        write(site, engineer)
    row = write(site, manager)
    with pytest.raises(NotAllowed):
        deliver(row, engineer)
    with pytest.raises(NotAllowed):
        leave.send_letter(row, email="a@example.com", by=engineer, now=NOON)
    leave.take_back(row, by=manager, now=NOON)
    with pytest.raises(NotAllowed):
        leave.take_back(row, by=engineer, now=NOON)


# --- what must be settled first ---------------------------------------------------------------------------------------


def bare_danger(site, office):
    return make.make_observation(site, "Live part in reach", code="C1", by=office)


def nobody_looked(site, office):
    return make.make_observation(site, code="", reviewed=False, by=office)


def visit_booked(site, office):
    return make.make_visit(site, start=NOON + timedelta(days=1))


def visit_not_settled(site, office):
    visit = make.make_visit(site, start=NOON - timedelta(days=1))
    return make.make_visit_line(visit, unit=unit_of(site))


def key_out(site, office):
    return make.make_key(site, out_to=office, back_by=TODAY)


def alone(site, office):
    return make.make_check_in(make.make_visit(site, start=NOON - timedelta(days=2)), office)


def draft(site, office):
    return make.make_inspection(site, issued=False)


def proof_to_review(site, office):
    return make.make_remedial(make.make_observation(site, code="C2", by=office), stage="done")


def notification(site, office):
    return make.make_paper(site, "tell building control", owed_by="firm", by=office)


@pytest.mark.parametrize(
    ("happens", "words"),
    [
        (bare_danger, "make it safe, or leave a danger notice"), (nobody_looked, "Nobody competent has looked"),
        (visit_booked, "is booked: settle or cancel it"), (visit_not_settled, "is booked: settle or cancel it"),
        (key_out, "A key is out"), (alone, "is checked in there alone"), (draft, "is still a draft"),
        (proof_to_review, "waits for its review"), (notification, "We still owe tell building control"),
    ],
)  # fmt: skip
def test_what_must_be_settled_first_is_named_and_holds_both_steps(site, office, happens, words) -> None:
    row = write(site, office)
    happens(site, office)
    (block,) = what_blocks(site, now=NOON)
    assert words in block["words"]
    assert block["href"].startswith("/")
    with pytest.raises(Refused, match="settled first"):
        deliver(row, office)
    leave.take_back(row, by=office, now=NOON)
    with pytest.raises(Refused, match="settled first"):
        write(site, office)
    site.refresh_from_db()
    assert site.archived_at is None


def test_a_c1_of_which_a_danger_notice_was_left_may_be_left(site, office) -> None:
    notice_for(bare_danger(site, office))
    assert what_blocks(site, now=NOON) == []
    deliver(write(site, office), office)
    site.refresh_from_db()
    assert site.archived_at == NOON


@pytest.mark.parametrize("many", [1, 3])
def test_statements_do_not_grow(site, office, django_assert_num_queries, many) -> None:
    for n in range(many):
        seen = make.make_observation(site, f"Cover {n}", code="C2", by=office)
        make.make_remedial(seen, stage="approved")
        make.make_sent_offer(sites=[site], prices=[{}], by=office)
        make.make_visit(site, start=NOON + timedelta(days=1 + n))
    with django_assert_num_queries(11):
        on_record(site)
    with django_assert_num_queries(7):
        what_blocks(site, now=NOON)


# --- until it is delivered nothing ends -------------------------------------------------------------------------------


def test_a_letter_that_is_only_written_ends_nothing(site, office) -> None:
    make.make_observation(site, code="C2", by=office)
    before = set(DueRow.objects.filter(site=site).exclude(kind="letter").values_list("kind", "ref"))
    write(site, office)
    assert set(DueRow.objects.filter(site=site).exclude(kind="letter").values_list("kind", "ref")) == before != set()
    with pytest.raises(Refused, match="is not delivered yet"):
        archive_site(site, by=office, now=NOON)


def test_taken_back_another_can_be_written(site, office) -> None:
    row = write(site, office)
    with recorded() as told:
        leave.take_back(row, by=office, now=NOON)
        leave.take_back(row, by=office, now=NOON)
    assert told == [Told("leaving.taken-back", row.pk, {"number": row.number})]
    assert write(site, office).number == row.number + 1


def test_what_changed_since_must_be_in_another_letter(site, office) -> None:
    row = write(site, office)
    make.make_observation(site, "Found since", code="C3", by=office)
    with pytest.raises(Refused, match="changed since the letter was written"):
        deliver(row, office)


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"how": "pigeon"}, "how it was delivered"), ({"on": TODAY + timedelta(days=1)}, "still to come"),
        ({"on": TODAY - timedelta(days=1)}, "choose no day before"), ({"to": " "}, "who was given it"),
        ({"how": "post"}, "proof of posting"), ({"how": "email"}, "send it first"),
    ],
)  # fmt: skip
def test_a_delivery_says_how_when_and_to_whom(site, office, more, sentence) -> None:
    row = write(site, office)
    with pytest.raises(Refused, match=sentence):
        deliver(row, office, **more)


def test_two_who_deliver_at_once_are_told(site, office) -> None:
    row = write(site, office)
    with pytest.raises(ChangedMeanwhile):
        deliver(row, office, version=row.version + 1)


# --- by e-mail --------------------------------------------------------------------------------------------------------


def test_by_email_it_goes_out_as_kept_and_is_delivered_when_somebody_says_so(site, office) -> None:
    row = write(site, office)
    with recorded() as told:
        message = leave.send_letter(row, email="petra@example.com", by=office, now=NOON)
        assert leave.send_letter(row, email="petra@example.com", by=office, now=NOON) == message
    facts = {"number": row.number, "message": str(message.pk)}
    assert told == [Told("leaving.mailed", row.pk, facts, {"to": "petra@example.com"})]
    with pytest.raises(Refused, match="send it first"):
        deliver(row, office, how="email", to="petra@example.com")
    send(now=NOON)
    (sent,) = mail.outbox
    assert [(name, data) for name, data, _ in sent.attachments] == [("closing-letter.pdf", read_file(row.letter))]
    assert (message.reminder, message.why) == (False, "The closing letter 1001, sent by Olive Deskworth.")
    assert deliver(row, office, how="email", to="petra@example.com").delivered_how == "email"


def test_taken_back_meanwhile_it_goes_to_nobody(site, office) -> None:
    row = write(site, office)
    message = leave.send_letter(row, email="petra@example.com", by=office, now=NOON)
    leave.take_back(row, by=office, now=NOON)
    send(now=NOON)
    message.refresh_from_db()
    assert (mail.outbox, message.state) == ([], "dropped")


# --- what ends with its delivery --------------------------------------------------------------------------------------


def test_with_its_delivery_everything_ends_in_one_operation(full, office) -> None:
    make.make_terms()
    link, _ = make.make_link(full)
    offer = make.make_sent_offer(make.make_remedial(full.observations.get(code="C2")), by=office)
    make.make_reminder(full)
    row = write(full, office)
    assert f"Quotes of ours that were not accepted are withdrawn: {offer.quote.number}." in words_of(
        read_file(row.letter)
    )
    with recorded() as told:
        row = deliver(row, office)
        assert deliver(row, office) == row
    link.refresh_from_db(), offer.refresh_from_db(), full.refresh_from_db()
    assert (link.withdrawn_at, offer.state, full.archived_at) == (NOON, "withdrawn", NOON)
    ended = ("dropped", "Our part at the site ended.")
    assert set(Message.objects.filter(to_kind="customer").values_list("state", "error")) == {ended}
    assert not DueRow.objects.filter(site=full).exists()
    verbs = [entry.verb for entry in told]
    assert verbs[-2:] == ["leaving.delivered", "site.archived"]
    facts = next(entry.facts for entry in told if entry.verb == "leaving.delivered")
    assert facts == {
        "quotes_withdrawn": [offer.quote.number], "messages_dropped": 2, "links_withdrawn": 1, "on": TODAY.isoformat(),
        "how": "hand", "proof": None,
    }  # fmt: skip
    assert Entry.objects.filter(chain=full.pk, verb="leaving.delivered").count() == 1
    assert full.observations.filter(ended="").count() == 4  # out of the list, never out of the record


def test_reminders_stop_and_digests_name_nothing_of_it(full, office) -> None:
    deliver(write(full, office), office)
    sweep(now=NOON + timedelta(days=400))
    assert not Message.objects.exclude(occasion__startswith="digest").exists()
    assert not any(full.name in body for body in Message.objects.values_list("body", flat=True))


def test_whoever_is_to_have_work_elsewhere_by_that_quote_is_told(site, office) -> None:
    make.make_terms()
    other = make.make_site("Other Yard", customer=site.customer)
    make.make_sent_offer(sites=[site, other], prices=[{}], by=office)
    deliver(write(site, office), office)
    told = Message.objects.get(state="waiting")
    assert "is withdrawn" in told.subject
    assert Offer.objects.get().state == "withdrawn"


def test_proof_is_kept(site, office) -> None:
    proof = store_file(b"%PDF-1.7 a receipt", media_type=PDF, now=NOON)
    assert deliver(write(site, office), office, how="post", proof=proof).proof == proof


# --- back again -------------------------------------------------------------------------------------------------------


def test_they_come_back_and_every_row_stands_again(full, office) -> None:
    before = set(DueRow.objects.filter(site=full).values_list("kind", "ref", "due", "owner"))
    row = deliver(write(full, office), office)
    later = NOON + timedelta(days=90)
    with recorded() as told:
        bring_back_site(full, by=office, now=later)
    assert [entry.verb for entry in told] == ["leaving.came-back", "site.brought-back"]
    assert (
        set(DueRow.objects.filter(site=full).exclude(kind="letter").values_list("kind", "ref", "due", "owner"))
        == before
    )
    row.refresh_from_db()
    assert row.taken_back_at == later
    with pytest.raises(Refused, match="still open here"):  # the former letter excuses nothing any more
        archive_site(full, by=office, now=later)
    assert write(full, office, now=later, deliver_by=later.date()).number == row.number + 1


def test_handed_over_after_all_the_letter_is_taken_back(site, office) -> None:
    row = write(site, office, why="sold")
    new = make.make_party("Nora Newowner", email="nora@example.com")
    link, _ = make.make_link(site)
    hand_over_site(site, to=new, on=TODAY, reason="sold to her", version=site.version, by=office, now=NOON)
    row.refresh_from_db()
    assert row.taken_back_at == NOON
    assert PrivateLink.objects.get(pk=link.pk).withdrawn_at == NOON


def test_sites_are_not_merged_while_a_letter_of_one_stands(site, office) -> None:
    other = make.make_site("Twice", customer=site.customer)
    write(other, office)
    with pytest.raises(Refused, match="take it back first"):
        merge_sites(other, into=site, names={}, reason="the same house", by=office, now=NOON)


# --- the pages --------------------------------------------------------------------------------------------------------


def posted(**more):
    usual = {
        "id": str(new_id()),
        "why": "left",
        "reason": "She rang",
        "to_name": "Petra Landlady",
        "deliver_by": WEEK.isoformat(),
    }
    return usual | more


@pytest.mark.usefixtures("at_noon")
def test_the_page_from_first_look_to_coming_back(at_desk, full, office) -> None:
    here = reverse("due:leaving", args=[full.pk])
    page = text_of(at_desk.get(here))
    assert "4 open items, 3 of them dangerous; 1 next inspection; 1 paper; 1 limitation" in page
    assert "Hand the site over" in page
    seen = at_desk.post(here, posted(owner=str(office.pk), look="yes"))
    assert (seen["Content-Type"], Leaving.objects.exists()) == ("application/pdf", False)
    assert at_desk.post(here, posted(owner=str(office.pk), reason="")).status_code == 422
    page = text_of(at_desk.post(here, posted(owner=str(office.pk)), follow=True))
    assert "Closing letter 1001 is not delivered yet: nothing has ended." in page
    row = Leaving.objects.get()
    assert at_desk.get(reverse("due:letter", args=[row.pk])).content == read_file(row.letter)
    assert at_desk.get(reverse("due:closing", args=[row.pk]))["Location"] == here
    at_desk.post(reverse("due:send_letter", args=[row.pk]), {"email": "petra@example.com"})
    assert "petra@example.com waiting to be sent" in text_of(at_desk.get(here))
    form = {"how": "post", "on": TODAY.isoformat(), "to": "her letterbox", "version": row.version}
    refused = at_desk.post(reverse("due:deliver", args=[row.pk]), form)
    assert "Add the proof of posting or of delivery." in text_of(refused)
    photo = SimpleUploadedFile("receipt.png", make.picture(), content_type="image/png")
    page = text_of(at_desk.post(reverse("due:deliver", args=[row.pk]), form | {"proof": photo}, follow=True))
    assert "Our part at Sample House has ended" in page
    assert "Delivered 3 Feb 2026, posted, to her letterbox" in page
    assert at_desk.get(reverse("due:proof", args=[row.pk]))["Content-Type"] == "image/jpeg"
    at_desk.post(reverse("premises:site_archive", args=[full.pk]), {"back": "yes"})
    page = text_of(at_desk.get(here))
    assert "they came back, 3 Feb 2026" in page
    assert "The letter goes to" in page


@pytest.mark.usefixtures("at_noon")
def test_the_page_names_what_blocks_and_shows_no_form_then(at_desk, site, office) -> None:
    bare_danger(site, office)
    page = text_of(at_desk.get(reverse("due:leaving", args=[site.pk])))
    assert "To be settled first" in page
    assert "The letter goes to" not in page


@pytest.mark.usefixtures("at_noon")
def test_taken_back_from_the_page(at_desk, site, office) -> None:
    row = write(site, office)
    assert "is taken back" in text_of(at_desk.post(reverse("due:take_back", args=[row.pk]), follow=True))


@pytest.mark.usefixtures("at_noon")
def test_statements_of_the_page(at_desk, full, office, django_assert_num_queries) -> None:
    here = reverse("due:leaving", args=[full.pk])
    with django_assert_num_queries(25):
        at_desk.get(here)
    write(full, office)
    with django_assert_num_queries(14):
        at_desk.get(here)


@pytest.mark.usefixtures("at_noon")
def test_the_sites_page_says_that_our_part_ends_and_that_it_ended(at_desk, site, office) -> None:
    here = reverse("desk:site", args=[site.pk])
    assert "End our part here" in text_of(at_desk.get(here))
    row = write(site, office)
    assert "closing letter 1001 is to be delivered by 10 Feb 2026. Until then all stays in the lists." in text_of(
        at_desk.get(here)
    )
    deliver(row, office)
    assert "Our part here ended on 3 Feb 2026 (the customer goes elsewhere): closing letter 1001" in text_of(
        at_desk.get(here)
    )
    assert "closing letter delivered: our part here ended" in text_of(
        at_desk.get(reverse("desk:history", args=[site.pk]))
    )


@pytest.mark.django_db(transaction=True)
def test_of_two_who_write_at_once_one_letter_stands(site, office, manager) -> None:
    came = at_once(lambda: write(site, office), lambda: write(site, manager))
    assert sorted(type(row).__name__ for row in came) == ["Leaving", "Refused"]
    assert Leaving.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_delivered_while_something_new_is_found_nothing_drops_out_unsaid(site, office, qualified) -> None:
    """Either the letter is delivered first and the site takes nothing new, or what is new needs another letter."""
    row = write(site, office)
    found = {"id": new_id(), "text": "Bare ends", "code": "C3", "unit": unit_of(site), "by": qualified, "now": NOON}
    deliver_first, note_first = at_once(lambda: deliver(row, office), lambda: note_found(site, **found))
    site.refresh_from_db()
    if isinstance(deliver_first, Leaving):
        assert isinstance(note_first, Refused)
        assert site.archived_at == NOON
    else:
        assert isinstance(deliver_first, Refused)
        assert site.archived_at is None
