"""Prices by two people at once, on two real connections: one wins, the other hears of it, nothing is written twice."""

import pytest

from jobsite.ids import new_id
from jobsite.ledger.models import Entry
from jobsite.refused import ChangedMeanwhile, Refused
from remedials.quotes.models import Costing, StandardJob
from remedials.quotes.operations.book import Job, add_job
from remedials.quotes.operations.pricing import price_remedial
from remedials.works.models import Item
from remedials.works.operations import Take
from tests import factories as make
from tests.at_once import at_once
from tests.remedials.work import on_the_way

pytestmark = pytest.mark.django_db(transaction=True)


def price(remedial, what, minutes, now):
    return lambda: price_remedial(
        remedial, minutes=minutes, crew=1, skill="", items=[Take(what)], treatment="standard", plain="", call_out=True,
        by=make.anybody("office"), now=now, version=1,
    )  # fmt: skip


def test_two_prices_of_one_remedial(transactional_db, now) -> None:
    make.make_terms()
    make.anybody("office")
    remedial = on_the_way("C2", stage="to-price")
    answers = at_once(price(remedial, "One", 30, now), price(remedial, "Other", 60, now))
    assert sorted(type(answer).__name__ for answer in answers) == ["ChangedMeanwhile", "Costing"]
    (lost,) = (answer for answer in answers if isinstance(answer, ChangedMeanwhile))
    assert lost.theirs.pk == remedial.pk
    assert Costing.objects.get().version == Item.objects.count() == 1
    assert Entry.objects.filter(verb="remedial.priced").count() == 1


def test_the_same_price_sent_twice_at_once(transactional_db, now) -> None:
    make.make_terms()
    make.anybody("office")
    remedial = on_the_way("C2", stage="to-price")
    one, other = at_once(*[price(remedial, "One", 30, now)] * 2)
    assert one == other == Costing.objects.get()
    assert (Item.objects.count(), Entry.objects.filter(verb="remedial.priced").count()) == (1, 1)


def test_one_name_given_twice_at_once(transactional_db, now) -> None:
    by = make.anybody("office")

    def add(name):
        return lambda: add_job(id=new_id(), job=Job(name, "We do it."), by=by, now=now)

    answers = at_once(add("Fit a cover"), add("FIT A COVER"))
    assert sorted(isinstance(answer, Refused) for answer in answers) == [False, True]
    assert StandardJob.objects.count() == 1
