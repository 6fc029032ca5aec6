"""The firm's rates and terms: from a day on, the same day set anew, what can't be."""

from datetime import timedelta
from decimal import Decimal

import pytest

from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.quotes.models import Terms
from remedials.quotes.operations.terms import Charge, set_terms
from remedials.quotes.queries.terms import terms_on
from tests.factories import TODAY, make_terms, recorded

ANY = Charge("", Decimal("30.00"), Decimal("60.00"))
TESTER = Charge("tester", Decimal("40.00"), Decimal("75.50"))


def put(manager, now, **more):
    return set_terms(**{"holds_from": TODAY, "rates": [ANY], "by": manager, "now": now} | more)


def test_terms_hold_from_their_day_on_and_keep_what_is_not_said(manager, now) -> None:
    later = TODAY + timedelta(days=30)
    first = put(manager, now, valid_days=21, markup_percent=Decimal("12.5"))
    with recorded() as told:
        second = put(manager, now, holds_from=later, rates=[ANY, TESTER], reason="dearer")
    assert (second.valid_days, second.markup_percent) == (21, Decimal("12.5"))
    found = [terms_on(day) for day in (TODAY - timedelta(days=1), TODAY, later - timedelta(days=1), later)]
    assert found == [None, first, first, second]
    assert {(rate.skill, rate.price_hour) for rate in second.rates.all()} == {
        ("", Decimal(60)),
        ("tester", Decimal("75.5")),
    }
    (entry,) = told
    assert (entry.verb, entry.subject) == ("terms.set", second.pk)
    assert entry.facts["rates"] == [["30.00", "60.00"], ["40.00", "75.50"]]
    assert entry.words == {"reason": "dearer", "skills": "any other; tester"}


def test_the_same_again_changes_nothing_and_another_for_the_day_needs_its_version(manager, now) -> None:
    put(manager, now, version=0)
    with recorded() as told:
        put(manager, now, version=0)
    assert told == []
    with pytest.raises(ChangedMeanwhile, match="There are terms from"):
        put(manager, now, version=0, rates=[TESTER])
    terms = put(manager, now, version=1, rates=[TESTER])
    assert (terms.version, [rate.skill for rate in terms.rates.all()]) == (2, ["tester"])
    assert Terms.objects.count() == 1


def test_only_a_manager_sets_terms_and_never_for_a_day_past(manager, office, now) -> None:
    with pytest.raises(NotAllowed):
        put(office, now)
    assert put(manager, now, holds_from=TODAY - timedelta(days=400)).holds_from < TODAY  # the first may reach back
    with pytest.raises(Refused, match="This day is past") as refused:
        put(manager, now, holds_from=TODAY - timedelta(days=1))
    assert refused.value.field == "holds_from"


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"rates": []}, None),
        ({"rates": [ANY] * 31}, None),
        ({"rates": [TESTER, TESTER._replace(skill=" TESTER ")]}, "rates-1-skill"),
        ({"rates": [ANY._replace(cost_hour=Decimal(-1))]}, "rates-0-cost_hour"),
        ({"rates": [ANY._replace(price_hour=Decimal(10**9))]}, "rates-0-price_hour"),
        ({"rates": [ANY._replace(price_hour=Decimal("1.005"))]}, "rates-0-price_hour"),
        ({"markup_percent": Decimal(1001)}, "markup_percent"),
        ({"call_out": Decimal(-1)}, "call_out"),
        ({"valid_days": 0}, "valid_days"),
        ({"answer_days": 3651}, "answer_days"),
        ({"vat_number": "nonsense"}, "vat_number"),
    ],
)
def test_what_cannot_be_is_refused_beside_its_field(manager, now, given, field) -> None:
    with recorded() as told, pytest.raises(Refused) as refused:
        put(manager, now, **given)
    assert (refused.value.field, told, Terms.objects.count()) == (field, [], 0)


def test_a_quote_is_not_answered_late_by_default(manager, now) -> None:
    terms = put(manager, now, lapse_notice_days=0, answer_days=0)
    assert (terms.lapse_notice_days, terms.answer_days, make_terms(holds_from=TODAY + timedelta(days=1)).version) == (
        0,
        0,
        1,
    )
