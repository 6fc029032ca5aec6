"""Two meters kept with a defect: the operation, its refusals, and the page."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from inspections import operations
from inspections.models import MeterComparison
from inspections.operations import Counted
from jobsite.firm.models import Policy
from jobsite.ids import new_id
from jobsite.refused import NotAllowed, Refused
from tests import factories as make
from tests.factories import TODAY, Told, recorded
from tests.remedials.desk import read, statements, text_of

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture
def seen(site):
    return make.make_observation(site, "The bill is twice what it was", code="FI")


@pytest.fixture
def compare(seen, engineer, now):
    def one(relied="10.00", doubt="20.00", **fields):
        usual = {"id": new_id(), "three_phase": True, "by": engineer, "now": now}
        usual |= {"began_at": now - timedelta(hours=2), "ended_at": now - timedelta(hours=1)}
        usual |= {"relied_on": Counted("supplier's meter", "kWh", energy=D(relied))}
        usual |= {"in_doubt": Counted("clamps at the intake", "kWh", energy=D(doubt))}
        return operations.compare_meters(fields.pop("observation", seen), **usual | fields)

    return one


def test_it_is_kept_once_with_its_verdict(compare, seen, now) -> None:
    key = new_id()
    with recorded() as told:
        made = compare(id=key, note="both at once")
        assert compare(id=key) == made
    assert (made.found, made.ratio, made.points_to, made.tolerance_percent) == ("points", D(2), ["twice"], D(5))
    facts = {"observation": str(seen.pk), "began_at": (now - timedelta(hours=2)).isoformat()}
    facts |= {"ended_at": (now - timedelta(hours=1)).isoformat(), "relied_on_wh": "10000.00", "in_doubt_wh": "20000.00"}
    facts |= {"three_phase": True, "tolerance_percent": "5", "found": "points", "points_to": ["twice"]}
    words = {"relied_on": "supplier's meter", "in_doubt": "clamps at the intake", "note": "both at once"}
    assert told == [Told("meters.compared", key, facts, words)]
    assert [(f.relied_on, f.wh) for f in made.figures.order_by("-relied_on")] == [(True, D(10_000)), (False, D(20_000))]


def test_registers_are_kept_as_read(compare) -> None:
    made = compare(relied_on=Counted("meter", "MWh", start=D("1.200"), end=D("1.230")))
    figure = made.figures.get(relied_on=True)
    assert (figure.start, figure.end, figure.wh) == (D("1.2"), D("1.23"), D(30_000))


def test_the_firms_tolerance_of_the_day_is_kept_with_it(compare) -> None:
    assert compare(doubt="10.80").found == "unexplained"
    Policy.objects.create(holds_from=TODAY, meter_tolerance_percent=D(10))
    assert compare(doubt="10.80").found == "agree"
    assert list(MeterComparison.objects.order_by("pk").values_list("tolerance_percent", flat=True)) == [D(5), D(10)]


def test_a_wrong_one_is_answered_once_by_another(compare, site) -> None:
    first = compare(doubt="2.00")
    second = compare(answers=first)
    assert second.answers == first
    with pytest.raises(Refused, match="answered already"):
        compare(answers=first)
    elsewhere = make.make_observation(site, code="FI")
    with pytest.raises(Refused, match="another observation"):
        compare(observation=elsewhere, answers=second)


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"began_at": 1, "ended_at": 1}, "ended_at"),
        ({"began_at": 2, "ended_at": -1}, "ended_at"),
        ({"relied_on": Counted(" ", "kWh", energy=D(1))}, "relied_what"),
        ({"in_doubt": Counted("m", "kWh", start=D(2), end=D(1))}, "doubt_end"),
        ({"in_doubt": Counted("m", "kWh", start=D(2))}, "doubt_energy"),
        ({"in_doubt": Counted("m", "kWh", energy=D("1e30"))}, "doubt_energy"),
        ({"relied_on": Counted("m", "hours", energy=D(1))}, "relied_energy"),
    ],
)
def test_what_cannot_be_is_refused(compare, now, fields, field) -> None:
    hours = {name: now - timedelta(hours=h) for name, h in fields.items() if name.endswith("_at")}
    with recorded() as told, pytest.raises(Refused) as refused:
        compare(**fields | hours)
    assert (refused.value.field, told) == (field, [])


def test_a_closed_observation_takes_none(compare, site) -> None:
    closed = make.make_observation(site, ended="remedied", ended_on=TODAY)
    with pytest.raises(Refused, match="nothing to investigate"):
        compare(observation=closed)


def test_nothing_is_compared_at_an_archived_site(compare, site, now) -> None:
    type(site).objects.filter(pk=site.pk).update(archived_at=now)
    with pytest.raises(Refused, match="is archived"):
        compare()
    assert not MeterComparison.objects.exists()


def test_a_draft_with_meters_compared_for_it_stays(compare, start, note, qualified, now) -> None:
    draft = start()
    compare(observation=note(draft, "FI"))
    with pytest.raises(Refused, match="Meters were compared"):
        operations.delete_draft(draft, reason="Twice", by=qualified, now=now)


def test_a_link_compares_nothing(compare, site) -> None:
    with pytest.raises(NotAllowed):
        compare(by=make.make_link(site)[0])


# --- the page ---------------------------------------------------------------------------------------------------------


def typed(**fields):
    usual = {"id": str(new_id()), "began_at": "2026-02-03T09:00", "ended_at": "2026-02-03T11:00", "three_phase": "on"}
    usual |= {"relied_what": "supplier's meter", "relied_unit": "kWh", "relied_start": "100.00", "relied_end": "109.00"}
    usual |= {"doubt_what": "monitor", "doubt_unit": "Wh", "doubt_energy": "6000"}
    return {name: value for name, value in (usual | fields).items() if value is not None}


@pytest.fixture
def page(as_, engineer, seen, at_noon):
    client = as_(engineer)
    return client, reverse("inspections:meters", args=[seen.pk])


def test_what_is_typed_is_compared_and_shown(page, seen) -> None:
    client, address = page
    assert "competent people only" in read(client, address)
    said = text_of(client.post(address, typed(), follow=True))
    assert "one of three phases is missing" in said
    assert "9 kWh , on average 4.5 kW: supplier's meter from 100 to 109 kWh" in said
    assert "6 kWh , on average 3 kW: monitor" in said
    about = read(client, reverse("desk:observation", args=[seen.pk]))
    assert "Two meters compared The figures Points to a common fault. They do not agree: 0.67 to 1." in about


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"relied_start": None}, "Enter start and end of the register, or the energy that it shows."),
        ({"relied_energy": "9"}, "Not both."),
        ({"doubt_energy": None}, "Enter start and end of the register"),
        ({"doubt_energy": "many"}, "Write a number"),
        ({"relied_end": "99"}, "The end is below the start."),
        ({"ended_at": "2026-02-03T18:00"}, "This time is still to come"),
        ({"relied_unit": ""}, "Choose one."),
    ],
)
def test_a_wrong_figure_is_told_and_nothing_lost(page, fields, sentence) -> None:
    client, address = page
    answer = client.post(address, typed(**fields))
    assert answer.status_code == 422
    assert sentence in text_of(answer)
    assert "supplier&#x27;s meter" in answer.content.decode()
    assert MeterComparison.objects.count() == 0


def test_answering_starts_from_what_was_typed(page) -> None:
    client, address = page
    client.post(address, typed(doubt_energy="600"))
    first = MeterComparison.objects.get()
    answer = client.get(address, {"answers": first.pk}).content.decode()
    assert 'name="relied_start" value="100"' in answer
    client.post(address, typed(answers=str(first.pk)))
    words = read(client, address)
    assert words.count("no longer counts") == 1
    assert "Answers the one of 3 Feb 2026, 12:00" in words


def test_a_closed_one_shows_what_was_compared(page, compare, seen) -> None:
    client, address = page
    compare()
    type(seen).objects.filter(pk=seen.pk).update(ended="remedied", ended_on=TODAY)
    words = read(client, address)
    assert "is closed: what was compared stays on record." in words
    assert "counted twice" in words
    assert "Compare and keep" not in words


@pytest.mark.parametrize("size", [1, 6])
def test_the_page_costs_the_same_at_any_size(page, compare, size) -> None:
    client, address = page
    for _ in range(size):
        compare()
    with statements() as sql:
        client.get(address)
    assert len(sql) == 9
