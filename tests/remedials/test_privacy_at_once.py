"""A hold and whatever erases, at the same time: once "held from now" was said nothing goes any more."""

from datetime import timedelta

import pytest
from django.db import transaction

from jobsite.ids import new_id
from jobsite.ledger.models import Hold
from jobsite.ledger.operations_documents import no_hold_meanwhile, refuse_if_held
from jobsite.premises.models import Party, Site
from jobsite.premises.operations import merge_sites
from jobsite.refused import Refused
from remedials.status.bundles.operations_holds import place_hold
from remedials.status.privacy.operations.erasing import erase_customer
from remedials.status.privacy.operations.shedding import shed
from tests import factories as make
from tests.at_once import behind
from tests.factories import NOON, TODAY, anybody

pytestmark = pytest.mark.django_db(transaction=True)


def hold(site):
    return place_hold(site, id=new_id(), reason="A claim", by=anybody("manager"), now=NOON)


def erase(party):
    return erase_customer(party, id=new_id(), asked_on=TODAY, why="asked", by=anybody("manager"), now=NOON)


def test_an_erasure_waits_for_a_hold_that_is_being_placed_and_is_refused() -> None:
    party, _ = make.make_party("Zebedee Quillfeather"), anybody("manager")
    with transaction.atomic():
        hold(None)
        erasing = behind(lambda: erase(party))
    with pytest.raises(Refused, match="a claim"):
        erasing.result(20)
    assert Party.objects.get(pk=party.pk).name == "Zebedee Quillfeather"


def test_shedding_sees_a_hold_on_one_site_that_is_being_placed() -> None:
    long_ago = NOON - timedelta(days=9 * 365)
    site, _ = make.make_site("Old House", access_notes="third stone", archived_at=long_ago), anybody("manager")
    with transaction.atomic():
        hold(site)
        shedding = behind(lambda: shed(now=NOON))
    assert shedding.result(20) == {}
    assert Site.objects.get(pk=site.pk).access_notes == "third stone"


def test_a_hold_on_one_site_waits_for_shedding_that_began() -> None:
    long_ago = NOON - timedelta(days=9 * 365)
    site, _ = make.make_site("Old House", access_notes="third stone", archived_at=long_ago), anybody("manager")
    with transaction.atomic():
        assert shed(now=NOON) == {"access": 1}
        holding = behind(lambda: hold(site))
    assert isinstance(holding.result(20), Hold)


@pytest.mark.parametrize("whole_firm", [False, True])
def test_what_erases_without_the_sites_lock_holds_off_a_hold_too(whole_firm) -> None:
    """A draft quote or a photograph goes under the lock of its own row: asking whether it is held is enough."""
    site, _ = make.make_site(), anybody("manager")
    with transaction.atomic():
        refuse_if_held(None if whole_firm else site.pk)
        holding = behind(lambda: hold(None if whole_firm else site))
    assert isinstance(holding.result(20), Hold)


def test_two_that_erase_do_not_wait_for_each_other() -> None:
    party, _ = make.make_party("Zebedee Quillfeather"), anybody("manager")
    with transaction.atomic():
        no_hold_meanwhile()
        with pytest.raises(AssertionError, match="did not wait"):
            behind(lambda: erase(party))
    assert Party.objects.get(pk=party.pk).erased_at == NOON


def test_a_site_that_went_over_meanwhile_is_not_held_by_itself() -> None:
    gone, manager = make.make_site("Twice"), anybody("manager")
    into = make.make_site("Once", customer=gone.customer)
    with transaction.atomic():
        merge_sites(gone, into=into, names={}, reason="The same door", by=manager, now=NOON)
        holding = behind(lambda: hold(gone))
    with pytest.raises(Refused, match="went over to Once: hold that one"):
        holding.result(20)


def test_a_hold_that_is_being_placed_goes_over_with_its_site() -> None:
    gone, manager = make.make_site("Twice"), anybody("manager")
    into = make.make_site("Once", customer=gone.customer)
    with transaction.atomic():
        hold(gone)
        merging = behind(lambda: merge_sites(gone, into=into, names={}, reason="The same door", by=manager, now=NOON))
    merging.result(20)
    assert Hold.objects.get().site == into.pk
