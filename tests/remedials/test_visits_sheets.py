"""The job sheet of a visit and what to bring: words, sums, rights, length, statements; never a price."""

from decimal import Decimal

import pytest

from jobsite.downloads import as_pdf
from remedials.visits.models import AlarmCode, Attendance, OccupierNote, SeeTo, SiteKey, VisitLine
from remedials.visits.queries.bring import materials
from tests.factories import (
    NOON,
    TODAY,
    grant_access,
    make_board,
    make_circuit,
    make_item,
    make_observation,
    make_remedial,
    make_second_source,
    make_site,
    make_user,
    unit_of,
)
from tests.jobsite.papers import reader, tags_of, words_of
from tests.remedials.desk import read, statements
from tests.remedials.test_visits_feeds import HOUR, MORNING, book
from tests.remedials.work import ask_reading, on_the_way

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def clock_at_noon(at_noon):
    """The pages' clock stands."""


def visit_with(count: int, office, engineer, **more):
    """A visit for `count` remedials of one board, each with a reading to pass and things to bring."""
    site = make_site("Quay Store", earthing="TN-C-S", access_notes="By the yard gate")
    board = make_board(site)
    make_second_source(board)
    work = []
    for n in range(count):
        circuit = make_circuit(board, designation=f"Sockets {n}")
        found = make_observation(site, f"No earth at socket {n}", code="C2", board=board, circuit=circuit)
        remedial = make_remedial(
            found, stage="approved", work=f"Renew the earth of socket {n}", power_off=True, minutes=45, crew=2,
            certificate_kind="minor works", see_to_first="Asbestos register of the ceiling" if n == 0 else "",
        )  # fmt: skip
        ask_reading(remedial, designation=f"Ring {n}")
        make_item(remedial, "Earth cable", quantity=Decimal("2.5"), unit="m", supplier="Able Wires", cost_each="83.19")
        make_item(remedial, " earth  CABLE", quantity=Decimal(1), unit="m", cost_each="83.19")
        make_item(remedial, "Step ladder", kind="access", quantity=Decimal(1 + n % 2), cost_each="83.19")
        work.append(remedial)
    usual = {"access": "Ask for the porter", "outage": "Ring of the store", "remedials": work, "by": office}
    return book(work[0], engineer, **usual | more)


def sheet_of(client, visit) -> bytes:
    answer = client.get(f"/visits/{visit.pk}/job-sheet/")
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    return answer.content


def test_materials_are_added_up_by_thing_and_unit() -> None:
    one, other = on_the_way("C2"), on_the_way("C3")
    make_item(one, "Cable", quantity=Decimal("2.500"), unit="m", supplier="Able", reference="C-1")
    make_item(other, "cable ", quantity=Decimal("7.5"), unit="M", supplier="Able", reference="C-1")
    make_item(other, "Cable", quantity=Decimal(1), unit="drum", supplier="Zed")
    make_item(one, "Tower", kind="access", quantity=Decimal(1))
    make_item(other, "Tower", kind="access", quantity=Decimal(2))
    both = f"{one.number}, {other.number}"
    assert [
        (row["what"], row["quantity"], row["kind"], row["from"], row["for"]) for row in materials([one, other])
    ] == [
        ("Cable", "10\u202fm", "", "Able, C-1", both),
        ("Cable", "1\u202fdrum", "", "Zed", str(other.number)),
        ("Tower", "2", "access equipment", "", both),  # lent, not used up: the most that one of them needs
    ]
    assert materials([]) == []


def test_what_the_sheet_says(on_site, office, engineer) -> None:
    visit = visit_with(1, office, engineer, outage_with="Petra")
    site = visit.site
    SiteKey.objects.create(site=site, tag="K-17", what="front door", place="key board")
    AlarmCode.objects.create(site=site, place="hall", sealed=b"4711")
    OccupierNote.objects.create(site=site, unit=unit_of(site), mind="hard of hearing", contact="Tess")
    SeeTo.objects.create(site=site, kind="permit", what="Permit of the harbour", owner=office, by=TODAY)
    pdf = sheet_of(on_site, visit)
    said = words_of(pdf).replace("\u202f", " ").replace("\xa0", " ")
    for words in (
        "Job sheet, visit", "Quay Store", "4 Feb 2026", engineer.name, "Petra Landlady, 01632 960111", "Ask for the porter",
        "By the yard gate", "Tag K-17: front door, at key board", "Ring of the store", "agreed with Petra",
        "Permit to work: Permit of the harbour", "Asbestos register of the ceiling", "Earth cable", "Step ladder",
        "2 people at once; only 1 goes", "C2", "No earth at socket 0", "Where to switch off and lock, by the record",
        "Should go dead, by the record: prove it", "May stay live", "only your test says that it is", "Roof panels",
        "Ring 0", "at most 1.09 Ω", "minor works", "a photograph after the work",
    ):  # fmt: skip
        assert words in said, words
    assert "3.5 m" in said.replace("\u202f", " ")
    for secret in ("4711", "hard of hearing", "83.19", "£", "petra@example.com"):
        assert secret not in said
    assert len(reader(pdf).pages) <= 2
    assert {"H1", "Table", "TH"} <= set(tags_of(pdf))
    assert b"<pdfuaid:part>1</pdfuaid:part>" in reader(pdf).trailer["/Root"]["/Metadata"].get_data()  # ISO 14289-1, 5
    assert sheet_of(on_site, visit) == pdf  # the same facts, the same bytes


def test_twelve_remedials_stay_readable(on_site, office, engineer) -> None:
    pdf = sheet_of(on_site, visit_with(12, office, engineer))
    said = words_of(pdf)
    assert all(f"Renew the earth of socket {n}" in said for n in range(12))
    assert len(reader(pdf).pages) <= 9


def test_a_remedial_that_names_no_board_and_other_lines(on_site, office, engineer) -> None:
    remedial = on_the_way("C3")
    visit = book(remedial, engineer, by=office)
    VisitLine.objects.create(visit=visit, kind="inspection", unit=unit_of(remedial.site))
    said = words_of(sheet_of(on_site, visit))
    assert "no board is named" in said
    assert "Inspection: Sample House" in said
    assert "Nothing to bring is on record" in said
    assert "nothing agreed" in said


def test_paper_tells_what_to_switch_off_even_where_power_may_stay_on_and_what_it_cannot_tell(
    on_site, office, engineer
) -> None:
    site = make_site("Quay Store", earthing="TN-C-S")
    board, old = make_board(site), make_board(site, "Old")
    stays = make_remedial(make_observation(site, board=board), stage="approved", power_off=False)
    partly = make_remedial(make_observation(site, board=board), make_observation(site, board=old), stage="approved")
    gone = make_remedial(make_observation(site, board=old), stage="approved")
    type(old).objects.filter(pk=old.pk).update(retired_at=NOON)
    said = words_of(sheet_of(on_site, book(stays, engineer, by=office, remedials=[stays, partly, gone])))
    assert "no board is named" not in said
    assert said.count("By the record, which can be wrong: prove dead at the point of work") == 2
    assert said.count("cannot be told for all of it: something that this is about was taken out of the record") == 1
    assert said.count("cannot be told: something that this is about was taken out of the record") == 1


def test_the_statements_do_not_grow_with_the_work(on_site, office, engineer) -> None:
    counts = []
    for count, later in ((1, 0), (6, 3)):
        start = MORNING + later * HOUR
        visit = visit_with(count, office, engineer, start=start, end=start + HOUR)
        for address in ("job-sheet", "bring"):
            with statements() as sql:
                on_site.get(f"/visits/{visit.pk}/{address}/")
            counts.append(len(sql))
    assert counts[:2] == counts[2:]
    assert counts[0] <= 34
    assert counts[1] <= 8


def test_a_subcontractor_gets_own_visits_only_and_no_parties(client, office, engineer) -> None:
    visit = visit_with(1, office, engineer)
    sub = make_user("Sub Contractor", "engineer", subcontractor=True)
    grant_access(visit.site, sub)
    client.force_login(sub)
    for address in ("job-sheet", "bring"):
        assert client.get(f"/visits/{visit.pk}/{address}/").status_code == 404
    Attendance.objects.create(visit=visit, engineer=sub, start=visit.start, end=visit.end)
    assert "01632" not in words_of(sheet_of(client, visit))
    assert client.get(f"/visits/{visit.pk}/bring/").status_code == 200


def test_what_to_bring_to_a_visit_and_on_a_day(on_site, office, engineer) -> None:
    first = visit_with(2, office, engineer)
    second = visit_with(1, office, engineer, start=MORNING + 3 * HOUR, end=MORNING + 4 * HOUR)
    assert f"/visits/{first.pk}/bring/" in on_site.get(f"/visits/{first.pk}/").content.decode()
    assert f"/visits/{first.pk}/job-sheet/" in on_site.get(f"/visits/{first.pk}/").content.decode()
    shown = read(on_site, f"/visits/{first.pk}/bring/")
    assert "7 m Earth cable" in shown
    assert "2 Step ladder access equipment" in shown
    assert "83.19" not in shown
    whole = read(on_site, "/my-day/bring/", day="2026-02-04")
    assert "10.5 m Earth cable" in whole
    assert f"Visit {first.number}" in whole
    assert f"Visit {second.number}" in whole
    assert "Nothing to bring is on record" in read(on_site, "/my-day/bring/")
    assert "/my-day/bring/" in on_site.get("/my-day/").content.decode()


def test_parts_that_come_too_late_are_told(on_site, office, engineer) -> None:
    visit = visit_with(1, office, engineer)
    remedial = visit.remedials.get()
    type(remedial).objects.filter(pk=remedial.pk).update(parts_ready_on=MORNING.date().replace(day=20))
    words = f"The parts of remedial {remedial.number} are there only from 20 Feb 2026."
    assert words in read(on_site, f"/visits/{visit.pk}/bring/")
    assert words in words_of(sheet_of(on_site, visit))


def test_the_file_is_kept_by_no_cache() -> None:
    assert as_pdf(b"", "job sheet 1")["Cache-Control"] == "private, no-store"
