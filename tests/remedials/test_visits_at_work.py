"""What the engineer has of each work before touching it: on the page of a visit and on "My day"."""

import re
from datetime import timedelta

import pytest
from django.urls import reverse

from inspections.operations import add_photo, note_found
from jobsite.ids import new_id
from jobsite.premises.isolation import Work
from jobsite.premises.queries.isolation import each_in_short, in_short
from remedials.visits.models import OccupierNote
from remedials.works.models import RequiredReading
from tests import factories as make
from tests.remedials.desk import text_of
from tests.remedials.work import on_the_way, photo_bytes

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
HOUR = timedelta(hours=1)


def work_at(board, engineer, *, way: int, power_off: bool | None = True):
    """A booked remedial about a circuit of `board`, with a picture of what was found and a reading taken there."""
    circuit = make.make_circuit(board, way, designation=f"Load {way}")
    seen = make.make_observation(board.site, f"Item {way}", board=board, circuit=circuit, code="C2")
    add_photo(seen, data=photo_bytes(40 + way), by=engineer, now=make.NOON, caption="scorched")
    make.make_reading(circuit)
    work = f"Renew way {way}"
    return make.make_remedial(seen, stage="booked", work=work, power_off=power_off, photo_required=False)


def a_visit(site, engineer, *, works: int = 1, **more):
    board = site.boards.first() or make.make_board(site, "Board 1")
    remedials = [work_at(board, engineer, way=n) for n in range(1, works + 1)]
    return make.make_visit(site, *remedials, engineers=[engineer], **more), remedials


def page_of(visit) -> str:
    return reverse("visits:visit", args=[visit.pk])


def test_each_work_says_where_to_switch_off_what_may_stay_live_and_what_was_there(on_site, engineer) -> None:
    visit, (remedial,) = a_visit(make.make_site("Old Pottery", earthing="TN-C-S"), engineer)
    shown = on_site.get(page_of(visit))
    said = text_of(shown)
    assert "Before you touch it Switch off, by the record: Board 1, way 1" in said
    assert "May stay live" in said
    assert "Should go dead, by the record" in said
    assert "Prove dead yourself." in said
    seen = remedial.observations.get()
    photo = seen.photos.get()
    assert (
        f'src="/photos/{photo.pk}/?small" alt="Observation {seen.number} as found: scorched"' in shown.content.decode()
    )
    assert re.search(r"Read there before Board 1, way 1L1 \(Load 1\) pass insulation resistance: >200.MΩ", said)


def test_work_with_the_power_on_or_without_a_board_claims_no_isolation(on_site, engineer) -> None:
    site = make.make_site("Old Pottery")
    board = make.make_board(site, "Board 1")
    rows = [
        work_at(board, engineer, way=1, power_off=False),
        on_the_way("C2", site=site, stage="booked", power_off=True),
    ]
    said = text_of(on_site.get(page_of(make.make_visit(site, *rows, engineers=[engineer]))))
    assert "Before you touch it" not in said
    assert "only your test says that it is" in said


def test_a_circuit_that_must_be_read_counts_as_worked_on(on_site, engineer) -> None:
    site = make.make_site("Old Pottery")
    remedial = on_the_way("C2", site=site, stage="booked", power_off=None)
    circuit = make.make_circuit(make.make_board(site, "Board 1"), 7, designation="Cooker")
    RequiredReading.objects.create(remedial=remedial, circuit=circuit, quantity="loop-impedance")
    make.make_reading(circuit)
    said = text_of(on_site.get(page_of(make.make_visit(site, remedial, engineers=[engineer]))))
    assert "Switch off, by the record: Board 1, way 7" in said
    assert "Read there before Board 1, way 7L1 (Cooker)" in said


def test_where_nothing_goes_dead_for_certain_that_is_said(on_site, engineer) -> None:
    visit, _ = a_visit(make.make_site("Old Pottery"), engineer)  # no earthing on record: the neutral counts as live
    said = text_of(on_site.get(page_of(visit)))
    assert "By the record nothing goes dead for certain." in said
    assert "Should go dead" not in said


def test_what_was_found_at_the_visit_stands_there(on_site, engineer, now) -> None:
    site = make.make_site("Old Pottery")
    visit, _ = a_visit(site, engineer)
    page = on_site.get(page_of(visit)).content.decode()
    assert f"/sites/{site.pk}/found/?visit={visit.pk}" in page
    made = note_found(
        site, id=new_id(), unit=make.unit_of(site), text="Earth missing", code="C2", by=engineer, now=now,
        seen_while={"visit": str(visit.pk)},
    )  # fmt: skip
    assert f"Found at this visit C2 {made.number} Earth missing" in text_of(on_site.get(page_of(visit)))


def test_isolation_of_several_works_is_that_of_each_alone(engineer, django_assert_num_queries) -> None:
    site = make.make_site()
    first = make.make_board(site, "Board 1")
    onward = make.make_circuit(first, 1, designation="Board 2")
    second = make.make_board(site, "Board 2", fed=False)
    make.make_feed(second, onward)
    make.make_second_source(second, "Panels")
    ends = [make.make_circuit(board, way) for board in (first, second) for way in (5, 6)]
    ends += [onward, make.make_circuit(second, 7, must_not_lose_power="freezer", unit=make.unit_of(site))]
    asked = {circuit.pk: [Work("circuit", str(circuit.pk))] for circuit in ends} | {
        second.pk: [Work("inside", str(second.pk))]
    }
    with django_assert_num_queries(7):
        found = each_in_short(site, asked)
    assert found == {key: in_short(site, works) for key, works in asked.items()}


@pytest.mark.parametrize("count", [1, 4])
def test_statements_of_a_visit_with_all_that_is_known(on_site, engineer, django_assert_num_queries, count) -> None:
    site = make.make_site()
    make.make_second_source(make.make_board(site, "Board 1"), "Panels")
    visit, _ = a_visit(site, engineer, works=count)
    on_site.get(page_of(visit))
    # As `test_statements_of_a_visit`, and the supply by which isolation is worked out (seven), locks, pictures, readings.
    with django_assert_num_queries(36):
        shown = on_site.get(page_of(visit))
    assert text_of(shown).count("Before you touch it") == count


# --- my day -----------------------------------------------------------------------------------------------------------


def test_my_day_has_what_is_needed_on_the_way_and_at_the_door(on_site, engineer) -> None:
    customer = make.make_party("Petra Landlady", phone="01632 960111")
    site = make.make_site(
        "Old Pottery", customer=customer, latitude="50.12345", longitude="-4.5", access_notes="Ring twice"
    )
    make.make_key(site, "T-7", what="yard door", place="hook 7")
    OccupierNote.objects.create(
        site=site, unit=make.unit_of(site), contact="Tess Tenant", phone="07700 900123", mind="hard of hearing",
        loses_power_badly=True,
    )  # fmt: skip
    visit, _ = a_visit(site, engineer, outage="Ring 1", outage_with="Tess Tenant", access="Gate at the back")
    make.make_visit_line(visit, unit=make.unit_of(site))
    shown = on_site.get("/my-day/")
    said = text_of(shown)
    found = re.findall(r'href="((?:tel|geo):[^"]+)"', shown.content.decode())
    assert found == ["tel:07700900123", "tel:01632960111", "geo:50.12345,-4.50000"]
    for words in ("Today, Tue 3 Feb", "12:00–14:00 Old Pottery", "Gate at the back Ring twice", "Key T-7, yard door: hangs at hook 7",
                  "Ring 1 Agreed with Tess Tenant", "Here: Tess Tenant", "Renew way 1", f"Inspection of {make.unit_of(site).name}"):  # fmt: skip
        assert words in said
    assert "hard of hearing" not in said, "why stands beside whom to ask, at the visit"


def test_my_day_gives_a_subcontractor_no_number_of_the_customer(client, subcontractor) -> None:
    customer = make.make_party("Petra Landlady", phone="01632 960111")
    site = make.make_site("Old Pottery", customer=customer)
    make.make_visit(site, on_the_way("C2", site=site, stage="booked"), engineers=[subcontractor])
    client.force_login(subcontractor)
    shown = client.get("/my-day/")
    assert "Old Pottery" in text_of(shown)
    assert b"tel:" not in shown.content


def test_a_note_about_people_is_read_near_the_day_only(on_site, engineer) -> None:
    site = make.make_site("Old Pottery")
    OccupierNote.objects.create(site=site, unit=make.unit_of(site), contact="Tess", phone="07700 900123")
    visit, _ = a_visit(site, engineer, start=make.NOON + timedelta(days=5))
    shown = on_site.get("/my-day/")
    assert "Old Pottery" in text_of(shown)
    assert b"tel:" not in shown.content, "of a visit to come nothing is rung yet"
    assert visit.number


def test_a_danger_not_made_safe_stands_before_the_work(on_site, engineer) -> None:
    site = make.make_site("Old Pottery")
    a_visit(site, engineer)
    make.make_observation(site, "Busbar bare", code="C1", board=site.boards.get())
    assert "Danger present, not made safe: C1 Busbar bare" in text_of(on_site.get("/my-day/"))


@pytest.mark.parametrize("count", [1, 4])
def test_statements_of_my_day_with_all_that_is_known(on_site, engineer, django_assert_num_queries, count) -> None:
    for number in range(count):
        site = make.make_site(f"Site {number}")
        make.make_key(site, f"K{number}")
        OccupierNote.objects.create(site=site, unit=make.unit_of(site), contact="Tess", phone="07700 900123")
        a_visit(site, engineer, start=make.NOON + number * HOUR, hours=0.5)
    on_site.get("/my-day/")
    with django_assert_num_queries(10):
        assert text_of(on_site.get("/my-day/")).count("Open visit") == count


def test_what_belongs_on_the_phone_may_be_kept_and_codes_may_not(on_site, engineer) -> None:
    site = make.make_site()
    visit, _ = a_visit(site, engineer)
    code = make.make_code(site, "83511")
    pages = ["/my-day/", page_of(visit), reverse("visits:check_in", args=[visit.pk]), reverse("visits:no_access", args=[visit.pk]),
             f"/sites/{site.pk}/found/?visit={visit.pk}"]  # fmt: skip
    for address in pages:
        shown = on_site.get(address, headers={"X-Pack": "yes"})  # as the worker asks
        assert (shown.status_code, "no-store" in shown.get("Cache-Control", "")) == (200, False), address
        assert b"83511" not in shown.content
    assert "It needs signal: no code is kept on a phone." in text_of(on_site.get(page_of(visit)))
    assert "no-store" in on_site.post(reverse("visits:code", args=[code.pk]))["Cache-Control"]
