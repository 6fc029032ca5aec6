"""The pages of visits: booking, the visit, the engineer's day."""

import re
from datetime import date, timedelta

import pytest
import time_machine
from django.urls import reverse

from jobsite.ids import new_id
from remedials.visits.models import Visit
from remedials.visits.operations import book_visit
from remedials.works.operations import leave_remedial
from tests import factories as make
from tests.remedials.desk import text_of
from tests.remedials.work import close, on_the_way

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
HOUR = timedelta(hours=1)
TOMORROW = make.NOON + timedelta(days=1)


def booked(remedial, *engineers, start=TOMORROW, hours=1, **more) -> Visit:
    end = start + hours * HOUR
    usual = {"id": new_id(), "remedials": [remedial], "start": start, "end": end, "now": make.NOON}
    return book_visit(remedial.site, **usual | {"engineers": engineers, "by": make.anybody("office")} | more)


def at(name: str, row) -> str:
    return reverse(f"visits:{name}", args=[row.pk])


# --- booking ----------------------------------------------------------------------------------------------------------


def data_for(remedial, *engineers, **more) -> dict:
    typed = {"start": "2026-02-04T09:00", "end": "2026-02-04T11:00"}
    return {"id": str(new_id()), "remedials": [remedial.pk], "engineers": [e.pk for e in engineers]} | typed | more


def test_book_page(at_desk, engineer) -> None:
    remedial = on_the_way("C2", site=make.make_site("Old Pottery", access_notes="Ring twice"), work="Fit a cover")
    make.make_remedial(make.make_observation(remedial.site), stage="approved", work="Also approved")
    make.make_remedial(make.make_observation(remedial.site), stage="to-price", work="Not approved")
    address = f"/visits/new/?remedial={remedial.pk}"
    shown = text_of(at_desk.get(address))
    assert ("Also approved" in shown, "Not approved" in shown, "Ring twice" in shown) == (True, False, True)
    done = at_desk.post(address, data_for(remedial, engineer, outage="Ring 1, 9 to 10"))
    visit = Visit.objects.get()
    assert (done.status_code, done["Location"]) == (302, f"/visits/{visit.pk}/")
    assert (visit.start.isoformat(), visit.outage) == ("2026-02-04T09:00:00+00:00", "Ring 1, 9 to 10")


def test_book_page_in_summer_takes_londons_clock(at_desk, engineer) -> None:
    remedial = on_the_way("C2")
    typed = {"start": "2026-07-01T09:00", "end": "2026-07-01T11:00"}
    at_desk.post(f"/visits/new/?remedial={remedial.pk}", data_for(remedial, engineer, **typed))
    assert Visit.objects.get().start.isoformat() == "2026-07-01T08:00:00+00:00"


def test_book_page_names_the_clash_in_place(at_desk, engineer) -> None:
    booked(on_the_way("C2", site=make.make_site("New Mill")), engineer, start=TOMORROW - 2 * HOUR)
    remedial = on_the_way("C2")
    answer = at_desk.post(f"/visits/new/?remedial={remedial.pk}", data_for(remedial, engineer, access="Typed before"))
    assert answer.status_code == 422
    assert "Edwin Wireman is at New Mill then: 4 Feb 2026, 10:00–11:00" in text_of(answer)
    assert "Typed before" in text_of(answer)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"end": "2026-02-04T09:00"}, "The visit must end after it begins."),
        ({"start": "2026-02-01T09:00"}, "This visit would begin in the past."),
        ({"engineers": []}, "Choose who goes."),
        ({"remedials": []}, "Choose at least one."),
        ({"start": "soon"}, "Write the day and the time as"),
    ],
)
def test_book_page_refuses_in_place(at_desk, engineer, change, sentence) -> None:
    remedial = on_the_way("C2")
    answer = at_desk.post(f"/visits/new/?remedial={remedial.pk}", data_for(remedial, engineer) | change)
    assert (answer.status_code, sentence in text_of(answer), Visit.objects.count()) == (422, True, 0)


def test_book_page_moves_what_is_booked_when_ticked(at_desk, engineer, other_engineer) -> None:
    remedial = on_the_way("C2")
    booked(remedial, engineer)
    address = f"/visits/new/?remedial={remedial.pk}"
    assert "is booked already for 4 Feb 2026, 12:00" in text_of(
        at_desk.post(address, data_for(remedial, other_engineer))
    )
    assert at_desk.post(address, data_for(remedial, other_engineer, move="on")).status_code == 302


@pytest.mark.parametrize("query", ["", "?remedial=nonsense", "?remedial=01938f7e-0000-7000-8000-000000000000"])
def test_book_page_without_a_remedial_leads_to_the_list(at_desk, query) -> None:
    shown = at_desk.get(f"/visits/new/{query}")
    assert (shown.status_code, "choose one first" in text_of(shown)) == (200, True)


def test_book_page_for_two_sites_says_so(at_desk) -> None:
    one, two = on_the_way("C2"), on_the_way("C2", site=make.make_site("Other"))
    assert "these remedials are of several" in text_of(at_desk.get(f"/visits/new/?remedial={one.pk}&remedial={two.pk}"))


# --- the visit --------------------------------------------------------------------------------------------------------


def test_visit_page_for_the_engineer(on_site, engineer) -> None:
    site = make.make_site("Old Pottery", access_notes="Ring twice")
    make.make_second_source(
        make.make_board(site, "Kiln board"), isolate_source_side="isolator in the loft", wait_minutes=5
    )
    remedial = on_the_way("C2", site=site, work="Fit a cover", power_off=True, minutes=45)
    visit = booked(remedial, engineer, outage="Ring 1", access="Key at the lodge")
    shown = on_site.get(at("visit", visit))
    said = text_of(shown)
    assert "only your test says that it is" in said
    assert "Roof panels, solar (PV) at Kiln board; on the source side: isolator in the loft; then wait 5 min" in said
    assert ("Ring twice" in said, "Key at the lodge" in said, "4 Feb 2026, 12:00–13:00" in said) == (True, True, True)
    assert f"{remedial.number} Fit a cover 45 minutes Power must go off" in said
    assert reverse("works:close", args=[remedial.pk]) in shown.content.decode()
    assert "Cancel the visit" not in said


def test_visit_page_rings_and_shows_the_way(on_site, engineer) -> None:
    customer = make.make_party("Petra Landlady", phone="01632 960111")
    site = make.make_site("Old Pottery", customer=customer, latitude="50.12345", longitude="-4.5")
    occupiers = {"Tess Tenant": {}, "Gone Already": {"until": make.date(2026, 1, 31)}, "No Phone": {"phone": ""}}
    for name, more in occupiers.items():
        phone = more.pop("phone", "+44 7700 900123")
        make.unit_of(site).parties.create(
            party=make.make_party(name, phone=phone), role="occupier", since=make.date(2026, 1, 1), **more
        )
    shown = on_site.get(at("visit", booked(on_the_way("C2", site=site), engineer)))
    addresses = re.findall(r'href="((?:tel|geo):[^"]+)"', shown.content.decode())
    assert addresses == ["tel:01632960111", "tel:+447700900123", "geo:50.12345,-4.50000"]
    assert "Ring Tess Tenant Occupier, +44 7700 900123" in text_of(shown)


def test_visit_page_gives_a_subcontractor_no_telephone_numbers(client, subcontractor) -> None:
    visit = booked(on_the_way("C2"), subcontractor)
    client.force_login(subcontractor)
    shown = client.get(at("visit", visit))
    assert (shown.status_code, b"tel:" in shown.content) == (200, False)


def test_visit_page_without_outage_or_second_source_claims_nothing(on_site, engineer) -> None:
    said = text_of(on_site.get(at("visit", booked(on_the_way("C2"), engineer))))
    assert "Nothing agreed: ask before switching off." in said
    assert "No second source is on record here; look for one all the same." in said


def test_visit_page_shows_what_is_closed(on_site, engineer) -> None:
    remedial = on_the_way("C3", work="Fit a cover")
    visit = booked(remedial, engineer)
    close(remedial, by=engineer)
    shown = on_site.get(at("visit", visit))
    assert "Fit a cover done" in text_of(shown)
    assert reverse("works:close", args=[remedial.pk]) not in shown.content.decode()


def test_a_past_visit_goes_on_showing_what_it_was_for(on_site, engineer) -> None:
    remedial, now = on_the_way("C2", work="Fit a cover"), make.NOON - timedelta(days=3)
    past = booked(remedial, engineer, start=now + HOUR, now=now, despite="Agreed")
    leave_remedial(remedial, id=new_id(), because="Second fix", by=engineer, now=now + 2 * HOUR)
    assert text_of(on_site.get(at("visit", past))).count("Fit a cover") == 1
    again = booked(remedial, engineer)
    shown = on_site.get(at("visit", past))
    assert f"Was on this visit: done, or moved on C2 {remedial.number} Fit a cover" in text_of(shown)
    assert reverse("works:close", args=[remedial.pk]) not in shown.content.decode()
    assert "Was on this visit" not in text_of(on_site.get(at("visit", again)))
    close(remedial, by=engineer)
    assert f"{remedial.number} Fit a cover done" in text_of(on_site.get(at("visit", past)))


def test_the_office_cancels(at_desk, engineer) -> None:
    remedial = on_the_way("C2", work="Fit a cover", power_off=False)
    visit = booked(remedial, engineer)
    assert at("cancel", visit) in at_desk.get(at("visit", visit)).content.decode()
    assert at_desk.post(at("cancel", visit), {"reason": ""}).status_code == 422
    assert at_desk.post(at("cancel", visit), {"reason": "Customer away"})["Location"] == at("visit", visit)
    shown = at_desk.get(at("visit", visit))
    assert ("Cancelled: Customer away" in text_of(shown), "Fit a cover approved" in text_of(shown)) == (True, True)
    assert at("cancel", visit) not in shown.content.decode()


def test_who_may(on_site, client, engineer, subcontractor) -> None:
    visit = booked(on_the_way("C2"), engineer)
    assert [on_site.get(a).status_code for a in ("/visits/new/", at("cancel", visit), "/my-day/")] == [403, 403, 200]
    client.force_login(subcontractor)
    assert client.get(at("visit", visit)).status_code == 404
    client.logout()
    assert client.get(at("visit", visit)).status_code == 302


@pytest.mark.parametrize("count", [1, 3])
def test_statements_of_a_visit(on_site, engineer, django_assert_num_queries, count) -> None:
    site = make.make_site()
    board = make.make_board(site)
    for number in range(count):
        make.make_second_source(board, f"Source {number}")
    remedials = [on_the_way("C2", "C3", site=site) for _ in range(count)]
    visit = booked(remedials[0], engineer, remedials=remedials)
    on_site.get(at("visit", visit))
    # Session, person, visit; who goes, lines, observations, boards, sources, occupiers; of getting in: is it theirs, may
    # they see people, notes, units, to see to, keys, codes, who is in there; may they say what came of it; all lines, nobody
    # let in, confirmations, moves; what else was found there, what must be read, pictures.
    with django_assert_num_queries(26):
        assert on_site.get(at("visit", visit)).status_code == 200


# --- my day -------------------------------------------------------------------------------------------------------------


def test_my_day_has_today_the_week_and_what_is_left(on_site, engineer, other_engineer) -> None:
    works = {"Left": -1, "Now": 0, "Soon": 7, "Later": 8}
    for work, days in works.items():
        start = make.NOON + timedelta(days=days)
        booked(on_the_way("C2", site=make.make_site(f"Site {work}")), engineer, start=start, now=start)
    booked(on_the_way("C2", site=make.make_site("Site Other")), other_engineer)
    closed = on_the_way("C3", site=make.make_site("Site Closed"))
    yesterday = make.NOON - timedelta(days=1)
    booked(closed, engineer, start=yesterday + 2 * HOUR, now=yesterday)
    close(closed, by=engineer)
    found = re.findall("Not closed yet|Today|Coming|Site [A-Z][a-z]+", text_of(on_site.get("/my-day/")))
    assert found == ["Not closed yet", "Site Left", "Today", "Site Now", "Coming", "Site Soon"]


@pytest.mark.parametrize(
    ("code", "by", "shown"),
    [
        ("C2", date(2026, 2, 1), "2 days late to be remedied by 1 Feb 2026"),  # past already, as the office counts it
        ("C2", date(2026, 2, 3), "late to be remedied by 3 Feb 2026"),  # past by the time of the visit
        ("C2", date(2026, 2, 4), ""),
        ("C3", date(2026, 2, 1), ""),  # an improvement has no limit
        ("C1", None, ""),
    ],
)
def test_what_is_booked_after_its_day_says_so_on_the_phone(on_site, engineer, code, by, shown) -> None:
    remedial = make.make_remedial(
        make.make_observation(make.make_site("Site Mill"), code=code, remedy_by=by), stage="approved"
    )
    visit = booked(remedial, engineer, despite="Agreed")  # on 4 February
    for page in ("/my-day/", reverse("visits:visit", args=[visit.pk])):
        said = text_of(on_site.get(page))
        assert ("to be remedied by" in said) == bool(shown), page
        assert shown in said, page


def test_my_day_says_when_there_is_nothing(on_site) -> None:
    assert "No visit today" in text_of(on_site.get("/my-day/"))


def test_my_day_is_londons_day(client, engineer) -> None:
    """Half past midnight in London on 2 July is still 1 July in UTC."""
    remedial = on_the_way("C2", site=make.make_site("Night shift"))
    start = make.datetime(2026, 7, 1, 23, 30, tzinfo=make.UTC)
    booked(remedial, engineer, start=start, despite="Agreed")
    with time_machine.travel(start - 3 * HOUR, tick=False):
        client.force_login(engineer)
        assert re.findall("No visit today|Coming|Night shift", text_of(client.get("/my-day/"))) == [
            "No visit today",
            "Coming",
            "Night shift",
        ]
    with time_machine.travel(start + HOUR, tick=False):
        client.force_login(engineer)
        assert re.findall("No visit today|Today|Night shift", text_of(client.get("/my-day/"))) == [
            "Today",
            "Night shift",
        ]


@pytest.mark.parametrize("count", [1, 3])
def test_statements_of_my_day(on_site, engineer, django_assert_num_queries, count) -> None:
    for number in range(count):
        booked(on_the_way("C2", "C3"), engineer, start=make.NOON + number * HOUR)
    on_site.get("/my-day/")
    with django_assert_num_queries(
        10
    ):  # session, person; visits, lines, observations, boards, notes, keys, others, occupiers
        assert on_site.get("/my-day/").status_code == 200


def test_a_finished_visit_offers_nothing_more(at_desk, engineer) -> None:
    remedial = on_the_way("C3")
    visit = booked(remedial, engineer, start=make.NOON + HOUR)
    said = text_of(at_desk.get(at("visit", visit)))
    assert ("Cancel the visit" in said, "to be confirmed by" in said) == (True, True)
    close(remedial, by=engineer)
    said = text_of(at_desk.get(at("visit", visit)))
    assert "finished" in said
    assert ("Cancel the visit" in said, "Nobody let us in" in said) == (False, False)
