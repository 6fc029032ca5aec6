"""A party that was archived gets no site and no part at a unit, even where it is archived at that very moment."""

from datetime import date

import pytest
from django.db import transaction

from jobsite.ids import new_id
from jobsite.premises import operations
from jobsite.premises.models import PartyAtUnit, Site
from jobsite.refused import Refused
from tests import factories as make
from tests.at_once import behind
from tests.factories import NOON, recorded

GONE = "Ada Invented is archived: bring it back first."


def give(unit, party, by):
    return operations.give_role(
        unit, id=new_id(), party=party, role="approver", since=date(2026, 1, 1), by=by, now=NOON
    )


def open_for(party, by):
    return operations.open_site(id=new_id(), name="Kiln Row", address="3 Kiln Row", customer=party, by=by, now=NOON)


@pytest.mark.django_db
def test_an_archived_party_gets_nothing_new(site, office) -> None:
    party = make.make_party("Ada Invented")
    operations.archive_party(party, by=office, now=NOON)

    def change_hands():
        return operations.edit_site(site, version=1, customer=party, by=office, now=NOON)

    given = {"party": lambda: give(make.unit_of(site), party, office), "customer": lambda: open_for(party, office)}
    for field, act in [*given.items(), ("customer", change_hands)]:
        with recorded() as told, pytest.raises(Refused) as refused:
            act()
        assert (refused.value.sentence, refused.value.field, told) == (GONE, field, [])


@pytest.mark.django_db
def test_a_site_whose_customer_was_archived_is_changed_all_the_same(site, office) -> None:
    operations.archive_site(site, by=office, now=NOON)
    operations.archive_party(site.customer, by=office, now=NOON)
    operations.bring_back_site(site, by=office, now=NOON)
    given = {"customer": site.customer, "access_notes": "Key at the lodge"}
    assert operations.edit_site(site, version=1, by=office, now=NOON, **given).access_notes == "Key at the lodge"


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("doing", ["role", "site"])
def test_what_is_given_to_a_party_while_it_is_archived_is_refused(doing) -> None:
    site, office, party = make.make_site(), make.anybody("office"), make.make_party("Ada Invented")
    unit = make.unit_of(site)
    with transaction.atomic():
        operations.archive_party(party, by=office, now=NOON)
        late = behind((lambda: give(unit, party, office)) if doing == "role" else (lambda: open_for(party, office)))
    assert late.exception().sentence == GONE
    assert (PartyAtUnit.objects.count(), Site.objects.count()) == (0, 1)


@pytest.mark.django_db(transaction=True)
def test_a_party_archived_while_it_is_given_a_part_stays() -> None:
    site, office, party = make.make_site(), make.anybody("office"), make.make_party("Ada Invented")
    with transaction.atomic():
        give(make.unit_of(site), party, office)
        late = behind(lambda: operations.archive_party(party, by=office, now=NOON))
    assert "still has a site or a part" in late.exception().sentence
