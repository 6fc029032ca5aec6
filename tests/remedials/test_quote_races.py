"""Two people at the same time: one remedial for two quotes, one line changed twice, one form sent twice."""

from decimal import Decimal

import pytest

from jobsite.ids import new_id
from jobsite.refused import ChangedMeanwhile, Refused
from remedials.quotes.models import Line, Offer, Quote
from remedials.quotes.operations import drafting as ops
from tests import factories as make
from tests.at_once import at_once
from tests.factories import NOON

pytestmark = pytest.mark.django_db(transaction=True)


def begin(remedial, by, **more):
    usual = {"id": new_id(), "party": remedial.site.customer, "name": "Works", "by": by, "now": NOON}
    return lambda: ops.begin_quote(**usual | {"remedials": [remedial]} | more)


def test_a_remedial_goes_into_one_of_two_quotes_begun_at_once(site, office, manager):
    remedial = make.make_remedial(make.make_observation(site))
    made = at_once(begin(remedial, office), begin(remedial, manager))
    assert sorted(type(one).__name__ for one in made) == ["Offer", "Refused"]
    assert (Quote.objects.count(), Line.objects.count()) == (1, 1)


def test_a_remedial_is_added_to_one_of_two_drafts(site, office, manager):
    remedial = make.make_remedial(make.make_observation(site))
    drafts = [make.make_offer(sites=[site], by=who) for who in (office, manager)]
    made = at_once(
        *[lambda draft=draft: ops.add_lines(draft, remedials=[remedial], by=office, now=NOON) for draft in drafts]
    )
    assert sorted(isinstance(one, Refused) for one in made) == [False, True]
    assert Line.objects.filter(remedials=remedial).count() == 1


def test_one_form_sent_twice_at_once_begins_one_quote(site, office):
    remedial, form = make.make_remedial(make.make_observation(site)), new_id()
    first, second = at_once(begin(remedial, office, id=form), begin(remedial, office, id=form))
    assert first == second
    assert Quote.objects.count() == 1


def test_two_drafts_of_a_next_version_are_one(site, office, manager):
    sent = make.make_sent_offer(make.make_remedial(make.make_observation(site)), by=office)
    made = at_once(
        *[lambda who=who: ops.revise_quote(sent.quote, id=new_id(), by=who, now=NOON) for who in (office, manager)]
    )
    assert sorted(type(one).__name__ for one in made) == ["Offer", "Refused"]
    assert Offer.objects.filter(quote=sent.quote).count() == 2


def test_of_two_who_change_a_line_at_once_the_second_sees_the_first(site, office, manager):
    line = make.make_offer(make.make_remedial(make.make_observation(site)), by=office).lines.get()
    acts = [
        lambda who=who, price=price: ops.edit_line(line, version=1, price=Decimal(price), by=who, now=NOON)
        for who, price in ((office, 50), (manager, 60))
    ]
    made = at_once(*acts)
    assert sorted(isinstance(one, ChangedMeanwhile) for one in made) == [False, True]
    saved = next(one for one in made if isinstance(one, Line))
    met = next(one for one in made if isinstance(one, ChangedMeanwhile))
    assert met.theirs.price == saved.price == Line.objects.get().price
