"""The page that books: what goes together, what does not fit, an emergency, other things to do there."""

from datetime import date, timedelta

import pytest

from jobsite.ids import new_id
from jobsite.people.models import Skill
from remedials.visits.models import Visit
from tests import factories as make
from tests.remedials.desk import text_of
from tests.remedials.work import on_the_way

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
TOMORROW = make.NOON + timedelta(days=1)


def data_for(remedials, *engineers, **more) -> dict:
    typed = {"start": "2026-02-04T09:00", "end": "2026-02-04T11:00"}
    return (
        {"id": str(new_id()), "remedials": [r.pk for r in remedials], "engineers": [e.pk for e in engineers]}
        | typed
        | more
    )


def test_a_warning_is_shown_and_asks_why_all_the_same(at_desk, engineer) -> None:
    remedial = on_the_way("C2", minutes=600)
    address = f"/visits/new/?remedial={remedial.pk}"
    data = data_for([remedial], engineer, access="Typed before")
    warned = at_desk.post(address, data)
    said = text_of(warned)
    assert (warned.status_code, Visit.objects.count()) == (422, 0)
    for words in ("Does not fit", "the visit has 120", "Book it all the same, because", "Typed before"):
        assert words in said
    assert at_desk.post(address, data | {"despite": "They begin"}).status_code == 302
    assert Visit.objects.get().despite == "They begin"


def test_the_form_asks_for_no_reason_before_there_is_one(at_desk, engineer) -> None:
    remedial = on_the_way("C2")
    shown = at_desk.get(f"/visits/new/?remedial={remedial.pk}")
    assert "Book it all the same" not in text_of(shown)


def test_an_emergency_names_what_it_would_displace_and_displaces_when_told(at_desk, engineer) -> None:
    planned = on_the_way("C3", site=make.make_site("Old Pottery"))
    at_desk.post(f"/visits/new/?remedial={planned.pk}", data_for([planned], engineer))
    urgent = on_the_way("C1")
    address, data = f"/visits/new/?remedial={urgent.pk}", data_for([urgent], engineer, emergency="on")
    asked = at_desk.post(address, data)
    assert asked.status_code == 422
    first = Visit.objects.get()
    assert f"Visit {first.number} to Old Pottery" in text_of(asked)
    assert list(asked.context["form"].errors) == ["displace"]
    other = at_desk.post(address, data | {"displace": [new_id()]})
    assert (other.status_code, Visit.objects.count()) == (422, 1)
    for _ in range(2):
        assert at_desk.post(address, data | {"displace": [first.pk]}).status_code == 302
    assert set(Visit.objects.values_list("state", flat=True)) == {"booked", "cancelled"}


def test_work_under_one_outage_is_ticked_together(at_desk) -> None:
    site = make.make_site()
    main, sub, far = (
        make.make_board(site, "Main"),
        make.make_board(site, "Sub", fed=False),
        make.make_board(site, "Far"),
    )
    make.make_feed(sub, make.make_circuit(main, 1))
    one, below, apart, live = (
        make.make_remedial(make.make_observation(site, board=board), stage="approved", power_off=off, work=work)
        for board, off, work in ((main, True, "One"), (sub, True, "Below"), (far, True, "Apart"), (main, False, "Live"))
    )
    both = [make.make_observation(site, board=board) for board in (sub, far)]
    half = make.make_remedial(*both, stage="approved", power_off=True, work="Half of it elsewhere")
    shown = at_desk.get(f"/visits/new/?remedial={one.pk}")
    assert f"under the same outage as remedial {one.number}" in text_of(shown)
    ticked = set(shown.context["form"].initial["remedials"])
    assert ticked == {one.pk, below.pk}
    assert {apart.pk, live.pk, half.pk} & ticked == set()


def test_a_site_is_booked_without_a_remedial(at_desk, engineer) -> None:
    site = make.make_site("Old Pottery")
    unit = make.unit_of(site)
    address = f"/visits/new/?site={site.pk}&also=inspection:{unit.pk}"
    assert "Also to do there" in text_of(at_desk.get(address))
    nothing = at_desk.post(address, data_for([], engineer))
    assert (nothing.status_code, "Choose at least one" in text_of(nothing)) == (422, True)
    done = at_desk.post(address, data_for([], engineer, others=[f"inspection:{unit.pk}"]))
    assert done.status_code == 302
    assert list(Visit.objects.get().lines.values_list("kind", "unit")) == [("inspection", unit.pk)]


def test_the_address_fills_in_when_and_who_and_the_page_says_who_can(at_desk, engineer, other_engineer) -> None:
    Skill.objects.create(user=engineer, name="Fire alarms", sort="fire alarms", since=date(2026, 1, 1))
    remedial = on_the_way("C2", skill="Fire alarms", minutes=90)
    shown = at_desk.get(
        f"/visits/new/?remedial={remedial.pk}&engineers={engineer.pk}&start=2026-02-05T10:00&end=nonsense"
    )
    said, form = text_of(shown), shown.context["form"]
    assert f"{engineer.name} (free on 5 Feb 2026)" in said
    assert f"{other_engineer.name} (lacks Fire alarms; free on 5 Feb 2026)" in said
    assert "about 90 minutes for one person" in said
    assert (form.initial["engineers"], form.initial["end"]) == ([engineer.pk], None)


def test_statements_are_the_same_for_one_and_for_many(at_desk, engineer, django_assert_max_num_queries) -> None:
    site = make.make_site()
    main = make.make_board(site, "Main")
    first = make.make_remedial(make.make_observation(site, board=main), stage="approved", power_off=True)
    second = make.make_remedial(make.make_observation(site, board=main), stage="approved", power_off=True)
    assert second.site == site
    address = f"/visits/new/?remedial={first.pk}"
    at_desk.get(address)
    with django_assert_max_num_queries(40) as few:
        at_desk.get(address)
    for _ in range(6):
        make.make_remedial(make.make_observation(site, board=main), stage="approved", power_off=True)
    with django_assert_max_num_queries(len(few.captured_queries)):
        at_desk.get(address)


def test_before_power_goes_off_the_units_that_must_not_lose_it_are_named_without_why(at_desk) -> None:
    from remedials.visits.models import OccupierNote

    remedial = on_the_way("C2")
    flat = make.make_unit(remedial.site, "Flat 3")
    OccupierNote.objects.create(
        site=remedial.site,
        unit=flat,
        contact="Tina Tenant",
        phone="07700 900000",
        mind="Oxygen",
        loses_power_badly=True,
    )
    said = text_of(at_desk.get(f"/visits/new/?remedial={remedial.pk}"))
    assert "Flat 3: agree it beforehand with Tina Tenant, 07700 900000" in said
    assert "Oxygen" not in said
    assert "No load that must not lose power is on record here" not in said


def test_what_is_late_already_is_booked_without_a_word(at_desk, engineer) -> None:
    remedial = on_the_way("C2")
    remedial.observations.update(remedy_by=date(2026, 1, 2))
    assert at_desk.post(f"/visits/new/?remedial={remedial.pk}", data_for([remedial], engineer)).status_code == 302
