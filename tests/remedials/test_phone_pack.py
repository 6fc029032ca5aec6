"""What goes on an engineer's phone: which visits, pages and pictures; what changes a stamp; how many statements it costs."""

from datetime import timedelta

import pytest

from jobsite import clock
from jobsite.ids import new_id
from remedials.desk.queries import phone_pack
from remedials.desk.queries.phone_pack import pack
from tests import factories as make
from tests.factories import NOON
from tests.remedials.desk import statements
from tests.remedials.work import ask_reading


def visit_with_work(engineer, number: int = 1, *, start=NOON, stage: str = "booked"):
    """A visit with a remedial for something on a circuit, and a photo of it."""
    from inspections.models import ObservationPhoto
    from jobsite.ledger.photographs import store_photograph

    site = make.make_site(f"Site {number}")
    board = make.make_board(site)
    circuit = make.make_circuit(board)
    seen = make.make_observation(site, board=board, circuit=circuit)
    file = store_photograph(make.picture(), now=NOON)[0]
    fields = {"width": 8, "height": 8, "added_by": engineer, "added_at": NOON}
    ObservationPhoto.objects.create(observation=seen, file=file, **fields)
    remedial = make.make_remedial(seen, stage=stage)
    return make.make_visit(site, remedial, engineers=[engineer], start=start)


def group(packed, visit):
    return next(one for one in packed["groups"] if one["name"] == f"visit {visit.number}")


def test_the_visits_of_four_days_and_what_is_left_open(engineer, other_engineer, now) -> None:
    def at(**later):
        return visit_with_work(engineer, start=now + timedelta(**later))

    today, last = at(hours=2), at(days=3)
    left = visit_with_work(engineer, start=now - timedelta(days=9))
    at(days=4)  # comes later
    visit_with_work(engineer, start=now - timedelta(days=8), stage="reviewed")  # past and closed
    visit_with_work(other_engineer)
    make.make_visit(make.make_site("Off"), engineers=[engineer], start=now + timedelta(days=1), state="cancelled", cancelled_reason="x")  # fmt: skip
    packed = pack(engineer, now=now)
    assert [one["name"] for one in packed["groups"]] == ["day", *(f"visit {v.number}" for v in (today, last, left))]
    assert (packed["person"], packed["visits"], packed["until"]) == (str(engineer.pk), 3, "Fri")


def test_pages_and_pictures_of_a_visit(engineer, now) -> None:
    visit = visit_with_work(engineer)
    remedial = visit.remedials.get()
    observation = remedial.observations.get()
    asked = ask_reading(remedial)
    found = group(pack(engineer, now=now), visit)
    pages = set(found["pages"])
    assert {
        f"/visits/{visit.pk}/",
        f"/remedials/{remedial.pk}/close/",
        f"/remedials/{remedial.pk}/part-done/",
        f"/sites/{visit.site_id}/isolation/?circuit={observation.circuit_id}&circuit={asked.pk}",
        f"/boards/{observation.board_id}/at-the-board/",
        f"/boards/{observation.board_id}/readings/",
        f"/circuits/{asked.pk}/readings/new/",
        f"/observations/{observation.pk}/make-safe/",
        f"/sites/{visit.site_id}/tracing/switch/",
    } <= pages
    assert len(pages) == len(found["pages"])
    assert found["pictures"] == [f"/photos/{observation.photos.get().pk}/?small"]


def test_no_page_with_codes_links_or_money_is_named(engineer, now) -> None:
    make.make_code(visit_with_work(engineer).site)
    pages = [page for one in pack(engineer, now=now)["groups"] for page in one["pages"]]
    assert [
        p for p in pages if any(word in p for word in ("alarm-codes", "quotes", "price", "links", "/s/", "/q/"))
    ] == []


def test_a_stamp_changes_with_the_record_the_visit_the_day_and_the_scripts(engineer, now, settings) -> None:
    visit, other = visit_with_work(engineer, 1), visit_with_work(engineer, 2, start=NOON + timedelta(hours=3))
    first = pack(engineer, now=now)
    assert pack(engineer, now=now + timedelta(minutes=5))["groups"] == first["groups"]
    type(visit).objects.filter(pk=visit.pk).update(version=2)
    second = pack(engineer, now=now)
    assert group(second, visit)["stamp"] != group(first, visit)["stamp"]
    assert group(second, other) == group(first, other)
    assert second["groups"][0]["stamp"] != first["groups"][0]["stamp"]
    tomorrow = pack(engineer, now=now + timedelta(days=1))
    assert group(tomorrow, other)["stamp"] != group(second, other)["stamp"]
    settings.STATIC_VERSION = "other"
    assert group(pack(engineer, now=now), other)["stamp"] != group(second, other)["stamp"]


def test_what_is_recorded_at_a_site_changes_the_stamp_of_its_visits_only(engineer, now) -> None:
    from jobsite.premises.operations.verifying import verify

    visit, other = visit_with_work(engineer, 1), visit_with_work(engineer, 2, start=NOON + timedelta(hours=3))
    first = pack(engineer, now=now)
    board = visit.site.boards.get()
    verify(board, id=new_id(), designation="Hall", how="traced", version=board.version, by=engineer, now=now)
    second = pack(engineer, now=now)
    assert group(second, visit)["stamp"] != group(first, visit)["stamp"]
    assert group(second, other) == group(first, other)


@pytest.mark.parametrize("visits", [1, 8])
def test_a_pack_costs_ten_statements_whatever_the_number_of_visits(engineer, now, visits) -> None:
    for number in range(visits):
        ask_reading(visit_with_work(engineer, number, start=NOON + timedelta(hours=3 * number)).remedials.get())
    with statements() as sql:
        packed = pack(engineer, now=now)
    assert packed["visits"] == visits
    assert len(sql) == phone_pack.STATEMENTS == 10


def test_the_pack_is_for_engineers_and_kept_nowhere(client, engineer, office) -> None:
    make.make_visit(make.make_site(), engineers=[engineer], start=clock.now())
    client.force_login(engineer)
    answer = client.get("/phone/pack/")
    assert answer.json()["visits"] == 1
    assert answer["Cache-Control"] == "no-store"
    client.force_login(office)
    assert client.get("/phone/pack/").status_code == 403
