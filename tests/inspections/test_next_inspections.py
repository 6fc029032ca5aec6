"""When the next inspection is due: by the report, by law where none is on record, counted again when reasons change."""

from datetime import date, timedelta

import pytest

from inspections import operations
from inspections.models import InspectionDue
from inspections.standards.first_inspection import first_inspection
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind
from jobsite.ids import new_id
from jobsite.premises import operations as premises
from tests import factories as make
from tests.factories import TODAY, besides_papers, recorded

pytestmark = pytest.mark.django_db


@pytest.fixture
def who(office, now):
    return {"by": office, "now": now}


@pytest.fixture
def site(db):
    """Nobody lets it yet."""
    return make.make_site("Own House")


def due_of(unit):
    return InspectionDue.objects.get(unit=unit)


# --- the rule ---------------------------------------------------------------------------------------------------------

HOUSE = {"premises_kind": PremisesKind.HOUSE}


@pytest.mark.parametrize(
    ("nation", "tenure", "noticed", "granted", "last"),
    [
        # A let home in England, long after the rule began: at once.
        (Nation.ENGLAND, Tenure.PRIVATE_RENTED, date(2026, 2, 3), None, date(2026, 2, 3)),
        # An old social tenancy in England: not bound before 1 May 2026, then until 31 October (SI 2025/1043 reg 1).
        (Nation.ENGLAND, Tenure.SOCIAL_RENTED, date(2026, 4, 30), date(2020, 1, 1), None),
        (Nation.ENGLAND, Tenure.SOCIAL_RENTED, date(2026, 5, 1), date(2020, 1, 1), date(2026, 10, 31)),
        (Nation.ENGLAND, Tenure.OWNER_OCCUPIED, date(2026, 2, 3), None, None),
        (Nation.NORTHERN_IRELAND, Tenure.SOCIAL_RENTED, date(2026, 2, 3), None, None),
    ],
)
def test_first_inspection_by_law(nation, tenure, noticed, granted, last) -> None:
    found = first_inspection(noticed, nation=nation, tenure=tenure, tenancy_granted_on=granted, **HOUSE)
    assert (found and found.on) == last
    if found:
        assert found.legal
        assert "No inspection is on record." in found.basis
        assert "Check the current law." in found.caution


# --- without a report -------------------------------------------------------------------------------------------------


def test_a_let_home_without_a_report_is_due_at_once(who) -> None:
    site = premises.open_site(
        id=new_id(), name="Kiln Row", address="3 Kiln Row", customer=make.make_party(), tenure="private-rented", **who
    )
    due = due_of(make.unit_of(site))
    assert (due.due_on, due.by_law, due.after, due.owner) == (TODAY, True, None, who["by"])
    assert due.basis.startswith("No inspection is on record. SI 2020/312")


def test_an_own_home_without_a_report_has_no_date(who) -> None:
    site = premises.open_site(id=new_id(), name="Kiln Row", address="3 Kiln Row", customer=make.make_party(), **who)
    assert not InspectionDue.objects.filter(unit__site=site).exists()


def test_no_longer_let_the_laws_date_goes(who, site) -> None:
    flat = premises.add_unit(site, id=new_id(), name="Flat", tenure="private-rented", **who)
    assert due_of(flat).due_on == TODAY
    premises.edit_unit(flat, version=1, tenure="owner-occupied", **who)
    assert not InspectionDue.objects.filter(unit=flat).exists()


def test_the_day_it_was_noticed_stays(who, site) -> None:
    flat = premises.add_unit(site, id=new_id(), name="Flat", tenure="private-rented", **who)
    later = who | {"now": who["now"] + timedelta(days=40)}
    premises.edit_unit(flat, version=1, kind="hmo", **later)
    assert due_of(flat).due_on == TODAY


def test_of_another_nation_its_own_law_is_named(who, site) -> None:
    flat = premises.add_unit(site, id=new_id(), name="Flat", tenure="private-rented", **who)
    site.refresh_from_db()
    type(site).objects.filter(pk=site.pk).update(nation="scotland")
    flat.refresh_from_db()
    operations.count_units_again([type(flat).objects.get(pk=flat.pk)], **who)
    assert due_of(flat).basis.startswith("No inspection is on record. Housing (Scotland) Act 2006")


def test_a_first_day_of_the_law_that_was_put_right_counts(who, site, now) -> None:
    operations.correct_fact(
        "law.northern-ireland.private.2025.existing-first-by", id=new_id(), value="2026-09-01", by=make.make_qualified(),
        source="SR 2024/201, as looked up", reason="Read anew", holds_from=date(2026, 1, 1), now=now,
    )  # fmt: skip
    type(site).objects.filter(pk=site.pk).update(nation="northern-ireland")
    flat = premises.add_unit(
        site, id=new_id(), name="Flat", tenure="private-rented", tenancy_granted_on=date(2015, 1, 1), **who
    )
    assert due_of(flat).due_on == date(2026, 9, 1)


def test_an_old_tenancy_told_later_moves_the_laws_first_day(site, who) -> None:
    """An old social tenancy in England: by 31 October 2026 (SI 2025/1043 reg 1), whatever day it was noticed."""
    may = who | {"now": who["now"].replace(month=5, day=4)}
    flat = premises.add_unit(site, id=new_id(), name="Flat", tenure="social-rented", **may)
    assert due_of(flat).due_on == date(2026, 5, 4)
    premises.edit_unit(flat, version=1, tenancy_granted_on=date(2020, 1, 1), **may)
    assert (due_of(flat).due_on, due_of(flat).noticed_on) == (date(2026, 10, 31), date(2026, 5, 4))


# --- counted again ----------------------------------------------------------------------------------------------------


@pytest.fixture
def own_home(site, who):
    """An own home inspected today, ten years recommended, with an open C2."""
    qualified = make.make_qualified()
    report = make.make_inspection(site, issued=False, next_due_on=date(2036, 2, 3), by=qualified)
    make.make_observation(site, code="C2", inspection=report, draft=True, by=qualified)
    operations.issue_inspection(report, by=qualified, now=who["now"])
    return make.unit_of(site)


def test_let_from_now_on_the_law_caps_the_inspectors_date(own_home, who) -> None:
    assert due_of(own_home).due_on == date(2036, 2, 3)
    observation = own_home.observations.get()
    assert (observation.remedy_by, observation.remedy_by_law) == (date(2026, 3, 2), False)
    with recorded() as told:
        premises.edit_unit(own_home, version=own_home.version, tenure="private-rented", **who)
    due, observation = due_of(own_home), own_home.observations.get()
    assert (due.due_on, due.by_law) == (date(2031, 2, 3), True)
    assert (observation.remedy_by, observation.remedy_by_law) == (date(2026, 3, 2), True)
    assert [(t.verb, t.facts.get("next_due"), t.facts.get("remedy_by")) for t in besides_papers(told)] == [
        ("unit.changed", None, None),
        ("observation.recounted", "2031-02-03", None),
        ("observation.recounted", None, "2026-03-02"),
    ]


def test_another_nation_is_another_law(own_home, who) -> None:
    site = own_home.site
    premises.edit_unit(own_home, version=own_home.version, tenure="private-rented", **who)
    premises.edit_site(site, version=site.version, nation="wales", **who)
    assert due_of(own_home).basis.startswith("WSI 2022/6")
    # In Wales five years begin with the day of the inspection (regulation 6, read in the source).
    assert due_of(own_home).due_on == date(2031, 2, 2)


def test_what_the_law_does_not_rest_on_counts_nothing(own_home, who) -> None:
    with recorded() as told:
        premises.edit_unit(own_home, version=own_home.version, name="Barn", **who)
    assert [t.verb for t in told] == ["unit.changed"]


def test_a_later_report_of_an_earlier_day_is_not_taken_for_the_last(own_home, who) -> None:
    older = make.make_inspection(own_home.site, inspected_on=date(2020, 1, 1), next_due_on=date(2025, 1, 1))
    older.units.add(own_home)
    premises.edit_unit(own_home, version=own_home.version, kind="hmo", **who)
    assert due_of(own_home).after.inspected_on == TODAY
