"""Whom a private link can be given to: those who are something there now, and of whoever only lives in a flat it is asked."""

from datetime import date, timedelta

import pytest
import time_machine
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.people.models import PrivateLink
from remedials.status.copies.forms import CopyLinkForm
from tests import factories as make
from tests.factories import NOON, TODAY
from tests.remedials.desk import text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def customer(site):
    site.customer.name = "Ada Owner"
    site.customer.save()
    return site.customer


def choices_of(answer) -> set[str]:
    return {str(party) for party in answer.context["form"].fields["party"].queryset}


def test_a_link_is_offered_to_those_who_are_something_there_today(client, site, customer, office):
    unit, day = make.unit_of(site), timedelta(days=1)
    for name, role, since, until in (
        ("Tom Today", "occupier", TODAY, TODAY), ("Olga Owner", "owner", date(2020, 1, 1), None),
        ("Yves Yesterday", "occupier", date(2020, 1, 1), TODAY - day), ("Tess Tomorrow", "occupier", TODAY + day, None),
    ):  # fmt: skip
        unit.parties.create(party=make.make_party(name), role=role, since=since, until=until)
    for name, gone in (("Erased customer 1001", {"erased_at": NOON}), ("Ari Archived", {"archived_at": NOON})):
        unit.parties.create(party=make.make_party(name, **gone), role="payer", since=date(2020, 1, 1))
    retired = make.make_unit(make.make_site("Elsewhere", customer=customer), "Flat 9", retired_at=NOON)
    retired.parties.create(party=make.make_party("Rita Retired"), role="owner", since=date(2020, 1, 1))
    client.force_login(office)
    where = reverse("premises:link_make", args=[site.pk])
    assert choices_of(client.get(where)) == {"Ada Owner", "Tom Today", "Olga Owner"}
    assert choices_of(client.get(reverse("premises:link_make", args=[retired.site_id]))) == {"Ada Owner"}
    gone = unit.parties.get(party__name="Yves Yesterday").party
    form = {"id": new_id(), "party": gone.pk, "how": "show", "sent_to": "Yves", "expires_at": "2027-02-03T12:00"}
    assert client.post(where, form).status_code == 422
    assert PrivateLink.objects.count() == 0


def test_whoever_only_lives_in_a_flat_is_not_shown_the_house_unasked(client, office):
    house = make.make_site("Four Flats")
    house.units.update(whole_site=False)
    flats = [make.make_unit(house, f"Flat {n}") for n in (1, 2)]
    tom, agnes = make.make_party("Tom Tenant"), make.make_party("Agnes Agent")
    flats[1].parties.create(party=tom, role="occupier", since=date(2020, 1, 1))
    flats[1].parties.create(party=agnes, role="agent", since=date(2020, 1, 1))
    client.force_login(office)
    where = reverse("premises:link_make", args=[house.pk])

    def asked(party, **more):
        form = {
            "id": new_id(),
            "how": "show",
            "sent_to": "By hand",
            "expires_at": "2027-02-03T12:00",
            "party": party.pk,
        }
        return client.post(where, form | more)

    no = asked(tom)
    assert no.status_code == 422
    assert "Tom Tenant is on record only as living in Flat 2; this link shows every unit." in text_of(no)
    assert '<input type="checkbox" name="all_units"' in no.content.decode()
    assert PrivateLink.objects.count() == 0
    for answer in (asked(tom, unit=flats[1].pk), asked(tom, all_units="on"), asked(agnes), asked(house.customer)):
        assert answer.status_code == 200
    assert [link.unit for link in PrivateLink.objects.order_by("made_at", "pk")].count(None) == 3


def test_a_copy_of_a_report_is_for_a_tenant_before_they_move_in(site, customer):
    unit, day = make.unit_of(site), timedelta(days=1)
    unit.parties.create(party=make.make_party("Tess Tomorrow"), role="occupier", since=TODAY + day)
    unit.parties.create(
        party=make.make_party("Yves Yesterday"), role="occupier", since=TODAY - 2 * day, until=TODAY - day
    )
    offered = CopyLinkForm(site=site, today=TODAY).fields["party"].queryset
    assert [party.name for party in offered] == ["Ada Owner", "Tess Tomorrow"]
