"""Parts: the day on which they are there, and the list of those to come."""

import csv
from datetime import date
from decimal import Decimal
from io import StringIO

import pytest

from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.works.operations import say_when_parts_are_ready
from tests.factories import TODAY, Told, grant_access, make_item, make_site, make_user, recorded
from tests.remedials.desk import read, statements, text_of
from tests.remedials.work import on_the_way

pytestmark = pytest.mark.django_db
LATER = date(2026, 2, 20)


def test_the_day_is_kept_with_its_history_and_once(office, now) -> None:
    remedial = on_the_way()
    with recorded() as told:
        for _ in range(2):
            remedial = say_when_parts_are_ready(remedial, on=LATER, by=office, now=now, version=1)
        remedial = say_when_parts_are_ready(remedial, on=None, by=office, now=now, version=2)
    assert (remedial.parts_ready_on, remedial.version) == (None, 3)
    verb = "remedial.parts-ready"
    assert told == [
        Told(verb, remedial.pk, {"ready_on": "2026-02-20", "before": None}, {}),
        Told(verb, remedial.pk, {"ready_on": None, "before": "2026-02-20"}, {}),
    ]


def test_who_may_not_say_it_and_of_what(office, engineer, now) -> None:
    remedial = on_the_way()
    with pytest.raises(NotAllowed):
        say_when_parts_are_ready(remedial, on=LATER, by=engineer, now=now)
    with pytest.raises(ChangedMeanwhile):
        say_when_parts_are_ready(remedial, on=LATER, by=office, now=now, version=7)
    for stage in ("done", "reviewed", "declined", "cancelled", "by-others"):
        with pytest.raises(Refused, match="needs no parts any more"):
            say_when_parts_are_ready(on_the_way(stage=stage), on=LATER, by=office, now=now)


def test_the_form_from_the_button_of_the_remedial(at_noon, at_desk) -> None:
    remedial = on_the_way("C2")
    href = f"/remedials/{remedial.pk}/parts/"
    assert href in at_desk.get(f"/remedials/{remedial.pk}/").content.decode()
    assert "Nobody is booked for it before that day" in read(at_desk, href)
    wrong = at_desk.post(href, {"on": "some day", "version": 1})
    assert wrong.status_code == 422
    assert "some day" in wrong.content.decode()
    assert at_desk.post(href, {"on": "20/02/2026", "version": 1}).status_code == 302
    remedial.refresh_from_db()
    assert remedial.parts_ready_on == LATER


def test_parts_to_come_by_day_site_remedial_and_supplier(at_noon, at_desk) -> None:
    assert "No parts to come" in read(at_desk, "/remedials/parts/")
    late = on_the_way(site=make_site("Alder"), work="Late work", parts_ready_on=date(2026, 3, 2))
    first = on_the_way(site=make_site("Zinc"), work="First work", parts_ready_on=LATER)
    on_the_way(site=make_site("Here"), work="Parts are there", parts_ready_on=TODAY)
    on_the_way(site=make_site("Over"), work="Over already", stage="done", parts_ready_on=LATER)
    make_item(first, "Switch", supplier="Zed Supplies", cost_each="77.31")
    make_item(first, "Cable", supplier="Able Wires", reference="C-9", quantity=Decimal("2.5"), unit="m")
    shown = text_of(at_desk.get("/remedials/parts/"))
    assert shown.index("First work") < shown.index("Late work")
    assert "20 Feb 2026" in shown
    assert "2.5 m × Cable Able Wires, C-9" in shown
    assert "77.31" not in shown
    assert "Over already" not in shown
    assert "Parts are there" not in shown
    file = at_desk.get("/remedials/parts/?as=csv").content.decode("utf-8-sig")
    rows = list(csv.reader(StringIO(file)))
    assert [(row[0], row[2], row[5]) for row in rows[1:]] == [
        ("2026-02-20", str(first.number), "Cable"),
        ("2026-02-20", str(first.number), "Switch"),
        ("2026-03-02", str(late.number), ""),
    ]


def test_a_subcontractor_sees_the_parts_of_own_sites_only(at_noon, client) -> None:
    mine, _other = (on_the_way(work=f"{name} work", site=make_site(name), parts_ready_on=LATER) for name in "AB")
    sub = make_user("Sub Contractor", "engineer", subcontractor=True)
    grant_access(mine.site, sub)
    client.force_login(sub)
    shown = read(client, "/remedials/parts/")
    assert "A work" in shown
    assert "B work" not in shown


def test_the_statements_of_the_list_do_not_grow(at_noon, at_desk) -> None:
    counts = []
    for more in (2, 9):
        for n in range(more):
            make_item(on_the_way(site=make_site(f"Site {more} {n}"), parts_ready_on=LATER))
        with statements() as sql:
            at_desk.get("/remedials/parts/")
        counts.append(len(sql))
    assert counts[0] == counts[1] <= 6
