"""A customer's data: handed over on request, erased where the law allows, while the safety record stays."""

import io
import json
import subprocess
import zipfile
from contextlib import suppress
from dataclasses import replace
from datetime import date, timedelta

import pytest
from django.apps import apps
from django.db import models, transaction
from django.db.utils import IntegrityError, ProgrammingError
from django.urls import reverse

from inspections.models import Observation
from inspections.operations import give_danger_notice, make_safe
from inspections.operations.papers import record_request
from jobsite.ids import new_id
from jobsite.ledger.models import Chain, DoneOnce, Entry, Hold, Words
from jobsite.ledger.operations_once import keep_answer
from jobsite.ledger.queries import faults
from jobsite.messages.models import Message
from jobsite.people.models import PrivateLink
from jobsite.premises.models import Party, Site
from jobsite.premises.operations import add_party, bring_back_party, edit_party
from jobsite.refused import NotAllowed, Refused
from remedials.due.models import NoReminders, Undertaking
from remedials.quotes.models import Question, Quote
from remedials.status.models import Erasure
from remedials.status.privacy.naming import GONE, Person
from remedials.status.privacy.operations.erasing import _take_out, erase_customer
from remedials.status.privacy.operations.exporting import export_of, note_export
from remedials.status.privacy.places import PLACES
from remedials.status.privacy.queries.about import blocks_of, erased_of, subject_of
from remedials.visits.models import Attempt, Confirmation, OccupierNote, SiteKey, Visit
from remedials.visits.operations.attempts import log_attempt
from remedials.works.models import Waiting, WayOut
from tests import factories as make
from tests.factories import NOON, TODAY, recorded
from tests.faults.world import everything
from tests.jobsite.premises import posted, text_of

pytestmark = pytest.mark.django_db
NAME, EMAIL, PHONE, STREET = "Zebedee Quillfeather", "zeb@quill.example", "01632 960888", "9 Feather Mews"
INSTEAD = "Erased customer 1001"


# --- taking one person out of words -----------------------------------------------------------------------------------

PERSON = Person(NAME, EMAIL, PHONE, f"{STREET}\nEbbsford", INSTEAD)


@pytest.mark.parametrize(
    ("text", "left"),
    [
        (f"Dear {NAME},", f"Dear {INSTEAD},"),
        ("ZEBEDEE QUILLFEATHER rang", f"{INSTEAD} rang"),
        (f"{NAME}son is somebody else", f"{NAME}son is somebody else"),
        (f"write to {EMAIL.upper()}.", f"write to {GONE}."),
        (f"not to x{EMAIL}", f"not to x{EMAIL}"),
        ("ring 01632960888 or (01632) 960-888", f"ring {GONE} or ({GONE}"),
        ("ring 01632 960889", "ring 01632 960889"),
        (f"lives at {STREET}, Ebbsford", f"lives at {GONE}"),
        ("Ebbsford is a town", "Ebbsford is a town"),
        ("", ""),
    ],
)
def test_one_person_is_taken_out_of_words(text, left) -> None:
    got = PERSON.out_of(text)
    assert got.replace(f"{GONE})", GONE) == left.replace(f"{GONE})", GONE)


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("Odo Fennimore, by text", f"{INSTEAD}, by text"),
        ("Mr. Odo  Fennimore", INSTEAD),
        ("Mr Fennimore is out; so is Mrs Fennimore", f"{INSTEAD} is out; so is {INSTEAD}"),
        ("Dr Fennimores are many", "Dr Fennimores are many"),
        ("Fennimore Street", "Fennimore Street"),
    ],
)
def test_they_are_found_without_their_title_and_by_title_and_surname(text, left) -> None:
    assert Person("Mr Odo Fennimore", "", "", "", INSTEAD).out_of(text) == left


def test_an_organisation_has_no_title() -> None:
    assert Person("Odo Fennimore", "", "", "", INSTEAD, titles=False).out_of("Mr Fennimore") == "Mr Fennimore"


def test_whoever_was_asked_is_forgotten_whole_and_their_link_ends(office, manager) -> None:
    odo = add_party(id=new_id(), name="Mr Odo Fennimore", by=office, now=NOON)
    site = make.make_site("Flats")
    make.unit_of(site).parties.create(party=odo, role="occupier", since=date(2020, 1, 1), until=date(2026, 1, 31))
    asked = make.make_attempt(
        site,
        by=office,
        whom="Odo Fennimore",
        said="he is in hospital",
        reply="his sister has the key",
        replied_on=TODAY,
    )
    link, _ = make.make_link(site, sent_to="Odo Fennimore, by text", expires_at=NOON + timedelta(days=9))
    rang = make.make_observation(
        site, "Mr Fennimore says that it buzzes", code="", inspection=None, reported_by="Odo Fennimore"
    )
    erase(odo, manager)
    for row in (asked, link, rang):
        row.refresh_from_db()
    assert (asked.whom, asked.said, asked.reply) == (INSTEAD, "", GONE)
    assert (link.sent_to, link.withdrawn_at) == (f"{INSTEAD}, by text", NOON)
    assert (rang.text, rang.reported_by) == (f"{INSTEAD} says that it buzzes", INSTEAD)


def test_a_name_too_short_is_not_looked_for() -> None:
    assert Person("Bo", "", "", "", INSTEAD).out_of("Bo and Bob") == "Bo and Bob"


# --- erasing ----------------------------------------------------------------------------------------------------------


@pytest.fixture
def zeb(office):
    return add_party(
        id=new_id(), name=NAME, email=EMAIL, phone=PHONE, address=f"{STREET}\nEbbsford", by=office, now=NOON
    )


@pytest.fixture
def gone(zeb, office, engineer, qualified):
    """A site of theirs at which everything happened that can name them; it is archived by now."""
    site = make.make_site(f"House of {NAME}", customer=zeb, access_notes=f"ask {NAME}", tenure="private-rented")
    unit = make.unit_of(site)
    unit.parties.create(party=zeb, role="owner", since=date(2020, 1, 1), until=date(2026, 1, 31))
    report = make.make_inspection(site, by=engineer)
    seen = make.make_observation(site, f"Live part, {NAME} was told", code="C1", inspection=report)
    make_safe(
        seen, id=new_id(), how="locked", what="way 3 off", lock="L7", key_holder=NAME, look_again_on=TODAY,
        agreed_with=NAME, no_photo="dark", by=engineer, now=NOON,
    )  # fmt: skip
    give_danger_notice([seen], id=new_id(), why="x", advised="y", given_to=NAME, how="hand", by=engineer, now=NOON)
    record_request(
        report, unit, id=new_id(), asked_by="prospective-tenant-asks", who=NAME, asked_on=TODAY, by=office, now=NOON
    )
    work = make.make_remedial(seen, stage="declined")
    WayOut.objects.create(
        remedial=work,
        stage="declined",
        who=NAME,
        reason=f"{NAME} cannot pay",
        on=TODAY,
        recorded_by=office,
        recorded_at=NOON,
    )
    Waiting.objects.create(
        site=site,
        remedial=work,
        on_whom=NAME,
        for_what=f"the key of {NAME}",
        asked_on=TODAY,
        chase_on=TODAY,
        recorded_by=office,
    )
    Attempt.objects.create(
        site=site, unit=unit, how="phone", at=NOON, by=office, whom=NAME, said=f"rang {PHONE}", recorded_at=NOON
    )
    visit = make.make_visit(site, engineers=[engineer], start=NOON - timedelta(days=9))
    Confirmation.objects.create(
        visit=visit,
        answered="confirmed",
        how="phone",
        whom=NAME,
        words=f"{EMAIL}",
        start=visit.start,
        recorded_by=office,
        at=NOON,
    )
    OccupierNote.objects.create(site=site, unit=unit, contact=NAME, phone=PHONE, mind="asthma")
    make.make_key(site, held_for=NAME)
    make.make_leaving(site, by=office, to_name=NAME, to_address=STREET, taken_back_at=NOON)
    for n, (kind, to, state) in enumerate(
        [("customer", zeb.pk, "sent"), ("customer", zeb.pk, "waiting"), ("staff", office.pk, "sent")]
    ):
        Message.objects.create(
            occasion=f"m{n}", to_kind=kind, to_id=to, address=EMAIL if kind == "customer" else "o@example.com",
            subject=f"About {NAME}", body=f"Dear {NAME}, {PHONE}", state=state, written_at=NOON, next_try_at=NOON,
            settled_at=NOON if state == "sent" else None, site=site.pk,
        )  # fmt: skip
    make.make_link(site, party=zeb.pk, sent_to=f"{NAME} by text", expires_at=NOON + timedelta(days=99))
    site.archived_at = NOON
    site.save()
    return site


def where_named(*needles: str) -> dict[str, list[str]]:
    """Every text column of every table in which one of `needles` stands, by model and column."""
    found: dict[str, list[str]] = {}
    for model in apps.get_models():
        names = [
            f.name
            for f in model._meta.concrete_fields
            if isinstance(f, (models.TextField, models.CharField, models.JSONField))
        ]
        for row in model._base_manager.values(*names) if names else []:
            for name, value in row.items():
                if any(needle.lower() in json.dumps(value, ensure_ascii=False).lower() for needle in needles):
                    columns = found.setdefault(model.__name__, [])
                    columns += [] if name in columns else [name]
    return found


def erase(party, by, **fields) -> Erasure:
    return erase_customer(party, **{"id": new_id(), "asked_on": TODAY, "why": "asked", "by": by, "now": NOON} | fields)


def test_nothing_names_them_but_what_is_listed_as_staying(zeb, gone, manager) -> None:
    before = where_named(NAME, EMAIL, PHONE)
    assert len(before) > 14
    with recorded() as told:
        row = erase(zeb, manager)
    zeb.refresh_from_db()
    assert (zeb.name, zeb.email, zeb.phone, zeb.address) == (INSTEAD, "", "", "")
    assert zeb.archived_at == zeb.erased_at == NOON
    # What an issued report says in its own words is frozen, a danger notice shows who was told, a closing letter is kept as it
    # was given: all of it is listed as staying.
    assert where_named(NAME, EMAIL, PHONE) == {
        "DangerNotice": ["given_to", "as_given"],
        "Observation": ["text"],
        "Leaving": ["open_items"],
    }
    assert {line["label"] for line in row.kept} >= {
        "Reports of their sites",
        "Danger notices at their sites",
        "Closing letters, with what they list",
    }
    assert where_named("asthma") == {}
    assert where_named(STREET) == {}
    by_verb = {e.verb: e.facts for e in told}
    assert sorted(by_verb) == ["customer.erased", "link.withdrawn"]
    assert by_verb["customer.erased"]["rows"] == sum(row.erased["rows"].values())
    assert NAME not in json.dumps([row.erased, row.kept])
    assert list(faults()) == []


# Of all columns with free text, those that `places` does not take the customer out of. What stays, with what `about.stays_of`
# calls it:
STAYS = {
    "reports, safety": """
        inspections.Inspection:edition inspector_name firm_name qualified_person_name reference extent outcome_basis
        reissue_reason file_name
        inspections.Limitation:what why agreed_with inspections.Observation:item code_written remedy_basis
        inspections.ObservationPhoto:taken caption inspections.Review:reason inspections.MadeSafe:what lock no_photo
        inspections.NotSeenAgain:seen inspections.FactCorrection:fact value source reason
        inspections.Intake:file_name header found left_out corrections same inspections.Reading:unit edition
        inspections.MeterComparison:points_to sentence note inspections.MeterFigure:what
        works.Proof:supervisor_name note no_photo_reason certificate_number exception_reason works.ProofPhoto:taken
        works.ProofReview:reason works.RecallDecision:reason works.Stint:because works.PowerStep:where""",
    "danger notices": "inspections.DangerNotice:why advised given_to answered_by answer_note as_given",
    "quotes, answers, approvals": """
        quotes.Quote:name variation_why quotes.Offer:customer_vat_number text_before text_after sent_to said fingerprint
        end_reason quotes.Line:words danger code either quotes.LineAnswer:words
        quotes.Answer:name order_number note rights_shown begin_words fingerprint taken_back_why
        works.Approval:given_by reference""",
    "documents and letters as they were given": """
        ledger.Document:kind title name fingerprint said inspections.PaperDocument:name inspections.PaperSupply:file_name
        due.Leaving:open_items delivered_how premises.BoardDocument:words fingerprint said status.ReportCopy:facts""",
    "where an installation is": "premises.Site:address postcode",
    "the record, without words": "ledger.Entry:verb subject_kind facts",
    "what was erased": "status.Erasure:erased kept",
}
# What the firm says of itself, of what is there, or what the program writes: no customer is named in these by their use.
NAMES_NO_CUSTOMER = """
    firm.Firm:name address phone email nation firm.Policy:loop_rounding reason firm.Sequence:name firm.Heartbeat:name
    ledger.StoredFile:hash media_type received_hash ledger.Words:name ledger.DoneOnce:key headers
    post.Message:occasion about why reason_kind filled_by attachment
    people.User:password email name phone home_postcode people.Competence:evidence people.Skill:name evidence people.AccessToken:name
    people.SignIn:means device desk.TakeOut:fingerprint
    people.Instrument:name serial_number people.InstrumentCheck:by_whom certificate note people.InstrumentFault:what
    premises.Supply:name isolator premises.Board:designation label_found place main_switch
    premises.Circuit:label_found designation device_type must_not_lose_power premises.Feed:changeover
    premises.SecondSource:name isolate_supply_side isolate_source_side
    premises.SwitchingTest:together_with note withdrawn_why premises.Verification:designation designation_before
    inspections.Paper:what trigger duty owed_by works.Remedial:skill certificate_kind works.Item:what unit supplier reference
    works.RequiredReading:limit_source works.Used:what unit works.WayOut:reference
    quotes.Terms:vat_number text_before text_after cancellation_text begin_text reverse_charge_text reason
    quotes.Rate:skill quotes.StandardJob:name folded plain skill certificate_kind
    quotes.StandardItem:what unit supplier reference quotes.Costing:plain set_why
    visits.SiteKey:tag visits.AlarmCode:place visits.Plan:asked figures sentence visits.Proposal:reason said
    visits.Unplanned:why visits.DrivingTime:from_district to_district visits.DiaryTerms:severities matrix_address reason
    due.Undertaking:kind due.Trouble:part what error status.Retention:kind why"""
OF_LIBRARIES = {"auth", "contenttypes", "sessions", "account", "mfa", "usersessions", "socialaccount", "running"}


def columns(table: str) -> set[tuple[str, str]]:
    found, label = set(), ""
    for word in table.split():
        label, _, name = word.rpartition(":") if ":" in word else (label, "", word)
        found.add((label, name))
    return found


def test_every_column_with_free_text_is_taken_care_of(zeb) -> None:
    """A new one stands in `places`, or above with why a name in it stays, or that none stands there."""
    who = subject_of(zeb, instead=INSTEAD)
    erased = (
        {
            (place.rows(who).model._meta.label, name)
            for place in PLACES
            for name in (*place.named, *place.whole, *place.cleared)
        }
        | {("premises.Party", name) for name in ("name", "email", "phone", "address")}
        | {("ledger.Words", "text")}
    )
    stays = set().union(*map(columns, STAYS.values())) | columns(NAMES_NO_CUSTOMER)
    free = {
        (model._meta.label, field.name)
        for model in apps.get_models()
        if model._meta.managed and model._meta.app_label not in OF_LIBRARIES
        for field in model._meta.concrete_fields
        if isinstance(field, (models.TextField, models.CharField, models.JSONField))
        and not field.choices
        and field.name not in ("sort", "basis")
    }
    assert free - erased - stays == set(), "say what becomes of a customer's name in these"
    assert stays - free == set(), "these are no columns"
    assert erased & stays == set()


def test_what_happened_stays_without_their_name(zeb, gone, manager) -> None:
    entries = Entry.objects.count()
    erase(zeb, manager)
    gone.refresh_from_db()
    assert (gone.name, gone.customer, gone.access_notes) == (f"House of {INSTEAD}", zeb, "")
    assert gone.sort.startswith("house of erased")
    assert WayOut.objects.get().who == INSTEAD
    assert WayOut.objects.get().reason == f"{INSTEAD} cannot pay"
    assert Waiting.objects.get().for_what == f"the key of {INSTEAD}"
    assert (Attempt.objects.get().whom, Attempt.objects.get().said) == (INSTEAD, "")
    sent, waiting, staff = Message.objects.order_by("occasion")
    assert (sent.state, sent.address, sent.body) == ("sent", "", "")
    assert (waiting.state, waiting.address) == ("dropped", "")
    assert (staff.address, staff.body) == ("o@example.com", f"Dear {INSTEAD}, {GONE}")
    link = PrivateLink.objects.get()
    assert (link.withdrawn_at, link.sent_to) == (NOON, "")
    assert Entry.objects.count() == entries + 2  # the erasure, and the end of the link at its site


def added(client, key: str, body: dict):
    headers = {"Idempotency-Key": f'"{key}"'}
    return client.post("/api/v1/parties/add/", body, content_type="application/json", headers=headers)


def test_answers_kept_for_requests_sent_again_forget_them_and_are_not_done_again(client, zeb, gone, manager) -> None:
    body = {"id": str(new_id()), "name": "Zoe Quillfäther", "email": "zoe@quill.example", "phone": "01632 960777"}
    keep_answer(manager.pk, "note", fingerprint=b"1", status=201, headers={},
                body=json.dumps({"site": str(gone.pk), "contact": "Zoe"}).encode(), now=NOON)  # fmt: skip
    client.force_login(manager)
    first = added(client, "of-zoe", body)
    other = added(client, "of-another", {"id": str(new_id()), "name": "Another"})
    assert (first.status_code, other.status_code) == (201, 201), first.content
    assert "Quillf" in bytes(DoneOnce.objects.get(key="of-zoe").body).decode()
    erase(Party.objects.get(pk=body["id"]), manager)
    erase(zeb, manager)
    kept = {row.key: bytes(row.body) for row in DoneOnce.objects.all()}
    assert kept == {"note": b"{}", "of-zoe": b"{}", "of-another": other.content}
    again = added(client, "of-zoe", body)
    assert (again.status_code, again.content, again["X-Again"]) == (201, b"{}", "yes")


def test_the_same_form_erases_once_and_another_is_refused(zeb, gone, manager) -> None:
    key = new_id()
    first = erase(zeb, manager, id=key)
    assert erase(zeb, manager, id=key) == first
    with pytest.raises(Refused, match="already"):
        erase(zeb, manager)
    assert Erasure.objects.count() == 1


def test_an_erased_customer_is_neither_changed_nor_brought_back(zeb, gone, manager, office) -> None:
    erase(zeb, manager)
    zeb.refresh_from_db()
    for again in (
        lambda: edit_party(zeb, version=zeb.version, name=NAME, by=office, now=NOON),
        lambda: bring_back_party(zeb, by=office, now=NOON),
    ):
        with pytest.raises(Refused, match="were erased"):
            again()


@pytest.mark.parametrize("everything", [False, True])
def test_what_is_held_is_not_erased_not_even_by_hand(zeb, gone, manager, everything) -> None:
    Hold.objects.create(
        id=new_id(), site=None if everything else gone.pk, reason="A claim", placed_by=manager.pk, placed_at=NOON
    )
    with pytest.raises(Refused, match="a claim"):
        erase(zeb, manager)
    assert "Held, and nothing may be erased: A claim" in [
        b["words"] for b in blocks_of(zeb, frozenset([gone.pk]), today=TODAY)
    ]
    held = Words.objects.filter(entry__in=Entry.objects.filter(chain=gone.pk).values("pk")).first()
    with pytest.raises(ProgrammingError, match="words are held"), transaction.atomic():
        held.delete()
    zeb.refresh_from_db()
    assert zeb.name == NAME


def test_nobody_but_a_manager_and_nothing_before_it_is_settled(zeb, office, manager, engineer) -> None:
    with pytest.raises(NotAllowed):
        erase(zeb, office)
    for wrong in ({"asked_on": TODAY + timedelta(days=1)}, {"why": "because"}):
        with pytest.raises(Refused):
            erase(zeb, manager, **wrong)
    site = make.make_site("Their house", customer=zeb)
    role = make.unit_of(make.make_site("Other house")).parties.create(party=zeb, role="payer", since=TODAY)
    offer = make.make_sent_offer(make.make_remedial(make.make_observation(site, code="C2")), by=office)
    offer.quote.party = zeb
    offer.quote.save()
    with pytest.raises(Refused) as refused:
        erase(zeb, manager)
    for words in (
        "Their house is still theirs",
        "at Other house: end that first",
        f"Quote {offer.quote.number} is with them",
    ):
        assert words in refused.value.sentence
    role.delete()
    assert Party.objects.get(pk=zeb.pk).name == NAME


def test_another_customers_data_stay(zeb, gone, manager, office) -> None:
    other = add_party(id=new_id(), name="Petra Landlady", email="petra@example.com", by=office, now=NOON)
    Attempt.objects.create(site=gone, how="phone", at=NOON, by=office, whom="Petra Landlady", recorded_at=NOON)
    erase(zeb, manager)
    other.refresh_from_db()
    assert other.name == "Petra Landlady"
    assert Attempt.objects.filter(whom="Petra Landlady").count() == 1


def test_what_was_told_to_somebody_else_at_the_same_address_stays(zeb, gone, manager, office) -> None:
    """A couple, or an agent and a landlord: what one was told is the other's proof no less."""
    wendy = add_party(id=new_id(), name="Wendy Wren", email=EMAIL, by=office, now=NOON)
    for n, (to, body) in enumerate([(wendy.pk, "Dear Wendy Wren, danger"), (zeb.pk, f"Dear {NAME}")]):
        Message.objects.create(
            occasion=f"w{n}", to_kind="customer", to_id=to, address=EMAIL, subject="Danger", body=body, state="failed",
            error=f"550 <{EMAIL}>: no such mailbox", written_at=NOON, next_try_at=NOON, settled_at=NOON, site=gone.pk,
        )  # fmt: skip
    erase(zeb, manager)
    hers, his = Message.objects.filter(occasion__startswith="w").order_by("occasion")
    assert (hers.address, hers.body) == (EMAIL, "Dear Wendy Wren, danger")
    assert (his.address, his.body, his.error) == ("", "", f"550 <{GONE}>: no such mailbox")


def test_their_number_is_found_with_other_spaces(zeb, gone, manager, office) -> None:
    Attempt.objects.create(
        site=gone, how="phone", at=NOON, by=office, whom="somebody", said="rang 01632960888", recorded_at=NOON
    )
    erase(zeb, manager)
    assert Attempt.objects.get(whom="somebody").said == f"rang {GONE}"


def test_words_beside_the_chain_of_a_site_that_went_over_go_too(zeb, gone, manager, office) -> None:
    """Whoever was something at a site recorded twice is looked for in the chain that was closed too."""
    agent = add_party(id=new_id(), name="Agnes Agent", by=office, now=NOON)
    twice = make.make_site("Recorded twice")
    log_attempt(twice, id=new_id(), how="phone", at=NOON, whom="Agnes Agent", by=office, now=NOON)
    make.unit_of(gone).parties.create(party=agent, role="agent", since=date(2020, 1, 1), until=date(2026, 1, 31))
    type(twice).objects.filter(pk=twice.pk).update(merged_into=gone, archived_at=NOON)
    Chain.objects.filter(pk=twice.pk).update(closed_into=gone.pk)
    erase(agent, manager)
    assert not Words.objects.filter(text__icontains="Agnes").exists()


LABELS = [place.label for place in PLACES]
# From here on the places in which somebody is named by the way; the others have rows in `gone`, or in the test after next.
BY_THE_WAY = PLACES[
    LABELS.index("Other private links that name them; those end too") : LABELS.index("Access notes of their sites")
]
ELSEWHERE = {
    "What they wrote when they chose a time", "Questions they asked about a quote", "Whom papers were handed to",
    "Why a site was handed over", "Replies when they were asked",
}  # fmt: skip
OF_THEM = {"Why their questions about quotes were closed", "That they want no reminders: by which address"}


def test_every_place_is_tried_out(zeb, gone) -> None:
    found = set(erased_of(subject_of(zeb, instead=INSTEAD)))
    assert set(LABELS) - found - {place.label for place in BY_THE_WAY} == ELSEWHERE
    assert len(LABELS) == len(set(LABELS))


@pytest.mark.parametrize("place", [place for place in BY_THE_WAY if place.label not in OF_THEM], ids=lambda p: p.label)
def test_somebody_named_by_the_way_is_taken_out(zeb, office, place) -> None:
    """At a site with a row of each kind, with the name written into whatever field the place is about."""
    everything(office)
    _few(office)
    sites = frozenset(Site.objects.values_list("pk", flat=True))
    who = replace(subject_of(zeb, instead=INSTEAD), sites=sites, own=sites)
    model, written = place.rows(who).model, 0
    for name in place.named:
        with suppress(IntegrityError), transaction.atomic():  # a field that goes with a state that no row here has
            written += model._base_manager.filter(pk__in=_mine(model)).update(**{name: f"ask {NAME}, {PHONE}"})
    assert written >= 1
    assert _take_out(place, who) >= 1
    left = [str(getattr(row, name)) for row in model._base_manager.all() for name in place.named]
    assert not [words for words in left if NAME in words or PHONE in words]


def _mine(model):
    """The rows of `model` that may be written to: what stands in a report is frozen, and one hold is lifted."""
    rows = model._base_manager.all()
    if model is Observation:
        rows = rows.filter(reported_by="x")
    return rows.filter(lifted_at__isnull=False) if model is Hold else rows


def test_what_is_theirs_by_their_key_is_taken_out(zeb, gone, office) -> None:
    NoReminders.objects.create(party=zeb, address=EMAIL, said_at=NOON, noted_by=office)
    make.make_answered(make.make_sent_offer(make.make_remedial(make.make_observation(gone, code="C2")), by=office))
    Quote.objects.update(party=zeb)
    Question.objects.create(quote=Quote.objects.get(), owner=office, reply_by=TODAY, open=False, asked_at=NOON,
                            closed_why=f"{NAME} rang", closed_by=office, closed_at=NOON)  # fmt: skip
    who = subject_of(zeb, instead=INSTEAD)
    assert [_take_out(place, who) for place in PLACES if place.label in OF_THEM] == [1, 1]
    assert (NoReminders.objects.get().address, Question.objects.get(closed_by=office).closed_why) == (
        "",
        f"{INSTEAD} rang",
    )


def _few(by) -> None:
    visit, key = Visit.objects.first(), SiteKey.objects.first()
    times = dict.fromkeys(("from_start", "to_start"), NOON) | dict.fromkeys(("from_end", "to_end"), NOON)
    visit.moves.create(from_engineers=[], to_engineers=[], by=by, at=NOON, **times)
    key.moves.create(way="in", at=NOON, recorded_by=by)
    Undertaking.objects.create(
        kind="quote", ref=new_id(), by=by, due_was=TODAY, until=TODAY + timedelta(days=3), reason="x", at=NOON
    )
    make.make_hold(lifted_at=NOON, lifted_by=by.pk, lifted_why="x")
    make.make_observation(make.make_site("Rung"), reported_by="x", inspection=None)


def test_of_those_too(zeb, gone, manager, office, engineer) -> None:
    gone.former_customers.create(party=zeb, until=TODAY, reason=f"{NAME} sold it", recorded_at=NOON)
    paper = make.make_paper(gone)
    paper.named, paper.how = NAME, ""
    paper.save()
    paper.supplies.create(
        form=new_id(),
        to=NAME,
        party=zeb,
        came="given",
        how="hand",
        on=TODAY,
        note=f"{NAME} signed",
        recorded_by=office,
        recorded_at=NOON,
    )
    offer = make.make_times_offer(gone, by=office, party=zeb)
    type(offer).objects.filter(pk=offer.pk).update(words=f"I am {NAME}")
    quoted = make.make_answered(
        make.make_sent_offer(make.make_remedial(make.make_observation(gone, code="C2")), by=office)
    )
    PrivateLink.objects.filter(purpose="quote").update(party=zeb.pk)
    Quote.objects.update(party=make.make_party("Petra Landlady"))
    assert quoted
    row = erase(zeb, manager)
    for label in ("Why a site was handed over", "Papers that name them", "Whom papers were handed to",
                  "What they wrote when they chose a time", "Questions they asked about a quote"):  # fmt: skip
        assert row.erased["rows"][label] >= 1, label
    assert paper.supplies.get().to == INSTEAD
    assert paper.supplies.get().note == f"{INSTEAD} signed"


# --- handing over -----------------------------------------------------------------------------------------------------


def test_their_data_are_handed_over_and_nobody_elses(zeb, gone, manager, office, engineer, tmp_path) -> None:
    make.make_attempt(make.make_site("Elsewhere"), whom="Somebody else", by=engineer)
    with recorded() as told:
        note_export(zeb, id=(key := new_id()), asked_on=TODAY, by=manager, now=NOON)
        note_export(zeb, id=key, asked_on=TODAY, by=manager, now=NOON)
    assert [(e.verb, e.facts["asked_on"]) for e in told] == [("customer.exported", "2026-02-03")]
    with (
        export_of(zeb, page="https://example.com/privacy/", now=NOON) as one,
        export_of(zeb, page="https://example.com/privacy/", now=NOON) as other,
    ):
        data = one.read()
        assert other.read() == data
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.testzip() is None
        archive.extractall(tmp_path)
        names = archive.namelist()
    kept = json.loads((tmp_path / "data.json").read_text())
    assert kept["who"]["email"] == EMAIL
    assert [one["words"] for one in kept["emails"]] == [f"Dear {NAME}, {PHONE}"] * 2
    assert kept["attempts_to_get_in"][0]["by"] == office.name.split()[0]
    assert kept["whom_to_ask_to_be_let_in"][0]["mind"] == "asthma"
    text = (tmp_path / "data.json").read_text()
    for stranger in ("Somebody else", office.name.split()[1], engineer.email, "o@example.com"):
        assert stranger not in text
    assert names[:2] == ["READ-ME.txt", "data.json"]
    assert NAME in (tmp_path / "READ-ME.txt").read_text()
    subprocess.run(
        ["sha256sum", "-c", "files.sha256"],
        cwd=tmp_path,
        check=bool((tmp_path / "files").exists()),
        capture_output=True,
    )


def test_the_documents_they_were_given_are_in_it(zeb, manager, office, tmp_path) -> None:
    from jobsite.ledger.files import store_file

    site = make.make_site("Their house", customer=zeb)
    file = store_file(b"%PDF-1.7 the quote", media_type="application/pdf", now=NOON)
    make.make_leaving(site, by=office, letter=file, taken_back_at=NOON)
    with export_of(zeb, page="p", now=NOON) as file, zipfile.ZipFile(file) as archive:
        archive.extractall(tmp_path)
    (letter,) = (tmp_path / "files").iterdir()
    assert letter.read_bytes() == b"%PDF-1.7 the quote"
    done = subprocess.run(["sha256sum", "-c", "files.sha256"], cwd=tmp_path, check=True, capture_output=True, text=True)
    assert done.stdout == f"files/{letter.name}: OK\n"


def test_who_may_not_hand_over(zeb, gone, office, manager) -> None:
    with pytest.raises(NotAllowed):
        note_export(zeb, id=new_id(), asked_on=TODAY, by=office, now=NOON)
    with pytest.raises(Refused):
        note_export(zeb, id=new_id(), asked_on=TODAY + timedelta(days=1), by=manager, now=NOON)
    erase(zeb, manager)
    zeb.refresh_from_db()
    with pytest.raises(Refused, match="nothing to hand over"):
        note_export(zeb, id=new_id(), asked_on=TODAY, by=manager, now=NOON)


# --- pages ------------------------------------------------------------------------------------------------------------


def test_the_pages_say_what_goes_and_what_stays_hand_over_and_erase(client, zeb, gone, manager, time_machine) -> None:
    time_machine.move_to(NOON, tick=False)
    client.force_login(manager)
    where = reverse("proof:personal", args=[zeb.pk])
    assert where in client.get(reverse("premises:party", args=[zeb.pk])).content.decode()
    words = text_of(client.get(where))
    for part in ("E-mails to them 2", "Danger notices at their sites: 1", "Words beside the record that name them"):
        assert part in words
    form = posted(client.get(f"{where}export/"))
    got = client.post(f"{where}export/", form)
    assert (got["Content-Type"], got["Content-Disposition"]) == (
        "application/zip",
        'attachment; filename="personal-data.zip"',
    )
    assert zipfile.ZipFile(io.BytesIO(b"".join(got.streaming_content))).namelist()[0] == "READ-ME.txt"
    form = posted(client.get(f"{where}erase/")) | {"why": "asked"}
    assert client.post(f"{where}erase/", form).status_code == 422
    assert client.post(f"{where}erase/", form | {"sure": "on"}).status_code == 302
    after = text_of(client.get(where))
    assert f"What is kept about {INSTEAD}" in after
    assert "asked on 3 Feb 2026: they asked for it" in after
    assert f"Customers whose data were erased {INSTEAD}" in text_of(client.get(reverse("proof:retention")))
    assert "Their personal data were erased" in text_of(client.get(reverse("premises:party", args=[zeb.pk])))


def test_archives_drawn_before_are_listed_under_what_stays(client, zeb, gone, manager) -> None:
    make.make_bundle(gone)
    job = make.make_remedial(make.make_observation(gone, "Seen there", code="C2"), stage="approved")
    make.make_bundle(None, kind="assessor", jobs=[job.number])
    make.make_bundle(gone, made=False)
    make.make_bundle(make.make_site("Somebody else's"))
    client.force_login(manager)
    words = text_of(client.get(reverse("proof:personal", args=[zeb.pk])))
    assert "Archives drawn before, which may name them: 2" in words
    assert "can still take these away: Record, drawn 3 Feb 2026, 12:00; Record, drawn 3 Feb 2026, 12:00." in words


def test_the_page_names_what_must_be_settled(client, zeb, manager) -> None:
    make.make_site("Their house", customer=zeb)
    client.force_login(manager)
    words = text_of(client.get(reverse("proof:erase", args=[zeb.pk])))
    assert "Their house is still theirs: hand it over, or end your part there." in words
    assert "Erase it for good" not in words
