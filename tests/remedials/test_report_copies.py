"""Copies of a report with personal data left out: what is marked, looked over, made, handed out, and met by it."""

from datetime import date, timedelta

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from inspections.models import Limitation, Paper, PaperSupply
from inspections.operations import issue_inspection, take_back_supply
from inspections.operations.papers import record_request
from jobsite.ids import new_id
from jobsite.ledger.models import Document
from jobsite.messages.models import Message
from jobsite.people.models import PrivateLink
from jobsite.refused import NotAllowed, Refused
from remedials.due.operations.sending import send
from remedials.status.copies.operations import CHANGED, make_copy, state_of
from remedials.status.copies.queries import said_of, texts_in, with_texts
from remedials.status.copies.rules import EMAIL, LEFT_OUT, MAY_BE, NAME, PHONE, pieces, suspects, telling_names, without
from remedials.status.models import ReportCopy
from tests import factories as make
from tests.factories import NOON, TODAY, recorded
from tests.jobsite.papers import reader, tags_of, words_of
from tests.jobsite.premises import posted, text_of
from tests.remedials.work import close

NAMES = telling_names(["Petra Landlady", "Edwin Wireman", "Bo Li"])


# --- what is marked ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Cover missing at way 3, measured 0.64 Ω in 2026-02-03", []),
        ("BS 7671:2018, Regulation 411.3.3, 1668 Ω, 230 V", []),
        ("ring petra.l+x@example.co.uk for the key", [("petra.l+x@example.co.uk", EMAIL)]),
        ("ring 01632 960 111 first", [("01632 960 111", PHONE)]),
        ("ring (01632) 960111", [("(01632) 960111", PHONE)]),
        ("ring +44 7700 900123.", [("+44 7700 900123", PHONE)]),
        ("07700900123", [("07700900123", PHONE)]),
        ("Landlady says the board hums", [("Landlady", NAME)]),
        ("PETRA LANDLADY was told", [("PETRA LANDLADY", NAME)]),
        ("Wiremans are not Wireman", [("Wireman", NAME)]),
        ("told Mr Archer of it", [("Mr Archer", MAY_BE)]),
        ("Dr. A Stone was out", [("Dr. A Stone", MAY_BE)]),
        ("tenant Ann Archer has asthma", [("Ann Archer", MAY_BE)]),
        ("Near the Main Switch, in the Meter Room", []),
        ("the socket of Ann Archer", [("Ann Archer", MAY_BE)]),
        ("", []),
    ],
)
def test_what_may_be_personal_is_found(text, found) -> None:
    assert [(text[one.start : one.end], one.what) for one in suspects(text, NAMES)] == found


def test_what_is_sure_is_left_out_and_what_may_be_is_left_to_a_person() -> None:
    text = "Edwin Wireman told Mr Archer (01632 960111, a@example.com)"
    assert without(text, NAMES) == f"{LEFT_OUT} told Mr Archer ({LEFT_OUT}, {LEFT_OUT})"


@given(st.text(alphabet="aA 01632960@.,()Petra Landlady\nMr", max_size=80))
def test_pieces_put_together_are_the_text_and_nothing_sure_stays(text) -> None:
    assert "".join(words for words, _ in pieces(text, NAMES)) == text
    left = without(text, NAMES)
    assert [one for one in suspects(left.replace(LEFT_OUT, " \n "), NAMES) if one.what in (EMAIL, NAME)] == []


def test_short_names_and_words_of_the_trade_are_not_looked_for_alone() -> None:
    assert telling_names(["Bo Li", "Ann Board", "Al"]) == ("Ann Board", "Bo Li")


# --- what it says -----------------------------------------------------------------------------------------------------


@pytest.fixture
def let(db):
    site = make.make_site(
        "Kiln Row",
        tenure="private-rented",
        address="4 Kiln Row, Ebbsford",
        postcode="QX4 9ZA",
        access_notes="Key7 under the pot",
    )
    tenant = make.make_party("Ann Archer", email="ann@example.com", phone="01632 960777")
    make.unit_of(site).parties.create(party=tenant, role="occupier", since=date(2020, 1, 1))
    return site


@pytest.fixture
def report(let, engineer, qualified):
    row = make.make_inspection(
        let, issued=False, inspected_on=date(2026, 1, 20), reference="R-7", by=engineer, inspector_name="Edwin Wireman",
        extent="All but the loft; agreed with Ann Archer",
    )  # fmt: skip
    Limitation.objects.create(inspection=row, what="The loft", why="Mr Archer's dog", agreed_with="Ann Archer")
    board = make.make_board(let, "Hall board")
    for n, code, text in ((1, "C1", "Cover missing, told Ann Archer on 01632 960777"), (2, "C3", "No label")):
        make.make_observation(let, text, code=code, inspection=row, draft=True, item=f"4.{n}", board=board)
    issue_inspection(row, by=qualified, now=NOON)
    row.refresh_from_db()
    return row


def copied(report, by, **texts) -> Document:
    return make_copy(report, id=new_id(), unit=None, texts=texts, seen=state_of(said_of(report, None)), by=by, now=NOON)


def numbers(report) -> list[int]:
    return list(report.observations.order_by("number").values_list("number", flat=True))


pytestmark = pytest.mark.django_db


def test_it_says_what_was_found_and_done_and_names_nobody(let, report, engineer, qualified, office) -> None:
    seen = report.observations.get(code="C1")
    work = make.make_remedial(seen, work="Fit the cover. Rang Petra first.", stage="approved", photo_required=False)
    close(work, by=engineer, now=NOON)
    said = said_of(report, None)
    one = numbers(report)[0]
    texts = {key: without(words, telling_names(["Ann Archer"])) for key, _, words in texts_in(said)}
    texts |= {f"work-{one}-{work.number}": "Fit the cover.", f"why-{Limitation.objects.get().pk}": "a dog"}
    with recorded() as told:
        document = make_copy(report, id=new_id(), unit=None, texts=texts, seen=state_of(said), by=office, now=NOON)
    assert [(e.verb, e.facts["kind"], e.facts["file"]) for e in told] == [("document.made", "copy", document.file_id)]
    from jobsite.ledger.files import read_file

    pdf = read_file(document.file)
    words = words_of(pdf)
    for part in (
        "Copy of a report, personal data left out", "Kiln Row, 4 Kiln Row, Ebbsford, QX4 9ZA", "It is not the report itself",
        "R-7", "20 Jan 2026", f"All but the loft; agreed with {LEFT_OUT}", f"Cover missing, told {LEFT_OUT} on {LEFT_OUT}",
        "danger present", "Fit the cover.", "Done on 3 Feb 2026.", "No label", "The loft (a dog)",
    ):  # fmt: skip
        assert part in words, part
    for name in ("Archer", "Edwin", "Wireman", "Quentin", "Petra", "960777", "Key7", "£"):
        assert name not in words, name
    assert {"H1", "H2", "Table", "TH"} <= set(tags_of(pdf))
    assert reader(pdf).trailer["/Root"]["/Lang"] == "en-GB"
    row = ReportCopy.objects.get()
    assert (row.document_id, row.changed) == (document.pk, 4)
    assert report.observations.get(code="C1").text == "Cover missing, told Ann Archer on 01632 960777"


def test_the_same_words_make_the_same_copy_and_the_same_form_one(report, office) -> None:
    first = copied(report, office, place="Kiln Row")
    assert copied(report, office, place="Kiln Row") == first
    assert copied(report, office, place="Elsewhere") != first
    key = new_id()
    seen = state_of(said_of(report, None))
    made = [
        make_copy(report, id=key, unit=None, texts={"place": n}, seen=seen, by=office, now=NOON) for n in ("a", "b")
    ]
    assert made[0] == made[1]
    assert ReportCopy.objects.count() == Document.objects.count() == 3


def test_of_one_unit_nothing_of_another_goes_in(engineer, qualified, office) -> None:
    site = make.make_site("Two Flats")
    flats = [make.make_unit(site, "Flat 1"), make.make_unit(site, "Flat 2")]
    row = make.make_inspection(site, issued=False, by=engineer)
    row.units.set(flats)
    found = [
        make.make_observation(site, f"Seen in {flat.name}", code="C2", inspection=row, draft=True, unit=flat)
        for flat in flats
    ]
    Limitation.objects.create(inspection=row, what="Loft of Flat 2", unit=flats[1])
    issue_inspection(row, by=qualified, now=NOON)
    row.refresh_from_db()
    for one in found:
        one.refresh_from_db()
    work = make.make_remedial(*found, work="Rewire Flat 2 and Flat 1", stage="approved", photo_required=False)
    close(work, by=engineer, now=NOON)
    said = said_of(row, flats[0])
    assert [item["text"] for item in said["items"]] == ["Seen in Flat 1"]
    assert said["items"][0]["works"][0]["work"] == ""
    assert said["limits"] == []
    assert "Flat 2" not in str(said)
    other = make.make_unit(site, "Flat 3")
    with pytest.raises(Refused, match="does not cover"):
        make_copy(row, id=new_id(), unit=other, texts={}, seen="", by=office, now=NOON)


def test_who_may_not_a_report_not_in_force_and_a_changed_record_are_refused(report, let, engineer, office) -> None:
    with pytest.raises(NotAllowed):
        copied(report, engineer)
    with pytest.raises(Refused, match="in force"):
        make_copy(
            make.make_inspection(let, issued=False), id=new_id(), unit=None, texts={}, seen="", by=office, now=NOON
        )
    with pytest.raises(Refused) as refused:
        make_copy(report, id=new_id(), unit=None, texts={}, seen="of yesterday", by=office, now=NOON)
    assert refused.value.sentence == CHANGED


def test_texts_are_put_where_they_belong(report) -> None:
    said = said_of(report, None)
    texts = {key: f"<{key}>" for key, _, _ in texts_in(said)}
    again = with_texts(said, texts)
    assert again["items"][0]["text"] == f"<text-{numbers(report)[0]}>"
    assert again["items"][0]["where"] == f"<where-{numbers(report)[0]}>"
    assert (again["place"], again["extent"]) == ("<place>", "<extent>")
    assert "Ann" not in str(again)


# --- the pages --------------------------------------------------------------------------------------------------------


def made_on_page(client, report, **changes):
    where = reverse("proof:copy_new", args=[report.pk])
    form = posted(client.get(where)) | {"looked": "on"} | changes
    return client.post(where, form)


def test_the_office_looks_each_text_over_with_what_may_be_personal_marked(client, office, report) -> None:
    client.force_login(office)
    where = reverse("proof:copy_new", args=[report.pk])
    got = client.get(where)
    html = got.content.decode()
    assert '<mark title="a name on record">Ann Archer<span class="vh"> (a name on record)</span></mark>' in html
    assert '<mark title="a telephone number">01632 960777' in html
    form = posted(got)
    assert form[f"text-{numbers(report)[0]}"] == f"Cover missing, told {LEFT_OUT} on {LEFT_OUT}"
    assert "the law may ask for the report itself" in text_of(got)
    wrong = client.post(where, form | {"place": "My own words"})
    assert wrong.status_code == 422
    assert "My own words" in wrong.content.decode()
    assert made_on_page(client, report).status_code == 302
    assert "the whole report" in text_of(client.get(where))


def test_what_the_office_types_is_marked_again_and_asked_for_once_more(client, office, report) -> None:
    client.force_login(office)
    where = reverse("proof:copy_new", args=[report.pk])
    key = f"text-{numbers(report)[0]}"
    form = posted(client.get(where)) | {"looked": "on", key: "Cover missing. Ann Archer, 01632 960173, told Mr Stone"}
    assert 'name="stays"' not in client.get(where).content.decode()
    got = client.post(where, form)
    assert (got.status_code, ReportCopy.objects.count()) == (422, 0)
    html, said = got.content.decode(), text_of(got)
    assert "Leave this out: Ann Archer (a name on record), 01632 960173 (a telephone number)." in said
    assert '<mark title="a telephone number">01632 960173' in html
    assert '<mark title="may be a name">Mr Stone' in html
    assert "Mr Stone</textarea>" in html  # nothing typed is lost
    assert client.post(where, form | {key: "ann@example.com says so"}).status_code == 422
    assert client.post(where, form | {"stays": "on"}).status_code == 302
    assert ReportCopy.objects.count() == 1


def test_a_record_that_changed_meanwhile_is_looked_over_again_with_all_that_was_typed(
    client, office, report, engineer
) -> None:
    client.force_login(office)
    where = reverse("proof:copy_new", args=[report.pk])
    form = posted(client.get(where)) | {"looked": "on", "place": "Mine"}
    seen = report.observations.get(code="C1")
    close(make.make_remedial(seen, work="Fit it", stage="approved", photo_required=False), by=engineer, now=NOON)
    got = client.post(where, form)
    assert got.status_code == 422
    assert CHANGED in text_of(got)
    again = {name: got.context["form"][name].value() for name in got.context["form"].fields}
    assert again["place"] == "Mine"
    assert client.post(where, {k: v for k, v in again.items() if v is not None}).status_code == 302


def test_a_link_to_it_is_read_without_an_account_and_counted(
    client, office, report, django_assert_max_num_queries
) -> None:
    client.force_login(office)
    page = made_on_page(client, report)["Location"]
    form = posted(client.get(f"{page}link/")) | {"sent_to": "The council, by e-mail", "expires_at": "2190-01-01 09:00"}
    made = client.post(f"{page}link/", form)
    address = made.context["address"]
    address = address[address.index("/copy/") :]
    client.logout()
    with django_assert_max_num_queries(6):
        got = client.get(address)
    words = text_of(got)
    assert (got.status_code, got.cookies, got["Cache-Control"]) == (200, {}, "no-store")
    assert "Cover missing" in words
    for name in ("Archer", "Wireman", "960777", office.name.split()[1]):
        assert name not in words, name
    file = client.get(f"{address}file/")
    assert file["Content-Disposition"].startswith("attachment")
    assert file.content.startswith(b"%PDF")
    client.head(address)
    link = PrivateLink.objects.get()
    assert (link.uses, link.purpose, link.thing) == (1, "copy", Document.objects.get().pk)
    PrivateLink.objects.update(withdrawn_at=NOON)
    assert client.get(address).status_code == 404
    assert client.get(f"{address}file/").status_code == 404


def test_it_is_sent_to_somebody_on_record(client, office, report, mailoutbox, time_machine) -> None:
    time_machine.move_to(NOON, tick=False)
    client.force_login(office)
    page = made_on_page(client, report)["Location"]
    ann = report.site.units.get().parties.get().party
    form = posted(client.get(f"{page}link/")) | {"how": "mail", "party": str(ann.pk), "expires_at": "2026-05-01 09:00"}
    assert client.post(f"{page}link/", form).status_code == 302
    message = Message.objects.get()
    assert (message.address, message.why) == (
        "ann@example.com",
        "The office sent a copy of a report with personal data left out.",
    )
    send(now=NOON)
    assert "/copy/" in mailoutbox[0].body
    assert "opened 0 times" in text_of(client.get(page))


def test_the_paper_that_asks_for_it_is_recorded_as_met_and_taken_back(client, office, report) -> None:
    record_request(
        report, make.unit_of(report.site), id=new_id(), asked_by="authority-asks", who="Ebbsford Council", asked_on=TODAY,
        by=office, now=NOON,
    )  # fmt: skip
    client.force_login(office)
    page = made_on_page(client, report)["Location"]
    paper = Paper.objects.get(request__isnull=False)
    assert f"{page}papers/{paper.pk}/" in client.get(page).content.decode()
    form = posted(client.get(f"{page}papers/{paper.pk}/"))
    sent = {
        **form,
        "somebody": "Ebbsford Council",
        "how": "post",
        "to": [],
        "settles": "on",
        "version": paper.version,
        "on": "2026-02-03",
    }
    assert client.post(f"{page}papers/{paper.pk}/", sent).status_code == 302
    paper.refresh_from_db()
    supply = PaperSupply.objects.get()
    assert (paper.answer, supply.file_id, supply.to) == ("done", Document.objects.get().file_id, "Ebbsford Council")
    take_back_supply(supply, why="the wrong one", by=office, now=NOON + timedelta(minutes=1))
    paper.refresh_from_db()
    assert paper.answer == ""


def test_the_page_behind_the_link_says_that_the_report_was_replaced(client, office, report) -> None:
    document = copied(report, office)
    _, token = make.make_link(report.site, purpose="copy", thing=document.pk, expires_at=NOON.replace(year=2999))
    where = reverse("status:copy", args=[token])
    assert "was replaced since" not in text_of(client.get(where))
    type(report).objects.filter(pk=report.pk).update(state="replaced")
    assert "was replaced since" in text_of(client.get(where))


@pytest.mark.parametrize("count", [1, 12])
def test_statements_do_not_grow(let, engineer, qualified, django_assert_num_queries, count) -> None:
    row = make.make_inspection(let, issued=False, by=engineer)
    for n in range(count):
        make.make_observation(let, f"Seen {n}", code="C2", inspection=row, draft=True)
    issue_inspection(row, by=qualified, now=NOON)
    row.refresh_from_db()
    with django_assert_num_queries(7):
        said_of(row, None)
