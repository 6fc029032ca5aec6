"""The firm's own particulars and limits."""

import pytest

from jobsite.firm.models import Firm
from jobsite.firm.operations import describe_firm
from jobsite.refused import ChangedMeanwhile, NotAllowed
from tests import factories as make
from tests.at_once import at_once
from tests.factories import NOON, recorded

pytestmark = pytest.mark.django_db


def describe(by, version=None, **fields):
    return describe_firm(by=by, now=NOON, version=version, **fields)


def test_the_same_particulars_sent_twice_are_recorded_once(manager) -> None:
    with recorded() as told:
        first = describe(manager, name="One & Sons")
        changed = describe(manager, first.version, name="Two & Sons")
        again = describe(manager, first.version, name="Two & Sons")  # the same form, with the version it was opened at
    assert (changed.version, again.version) == (2, 2)
    assert [(entry.verb, entry.words) for entry in told] == [
        ("firm.described", {"name": "One & Sons"}),
        ("firm.described", {"name": "Two & Sons"}),
    ]


def test_a_change_by_two_managers_is_noticed(manager) -> None:
    describe(manager, name="One & Sons")
    describe(manager, 1, phone="01632 960123")
    with pytest.raises(ChangedMeanwhile) as refused:
        describe(manager, 1, phone="01632 960456")
    assert refused.value.theirs.phone == "01632 960123"


def test_only_a_manager_describes_the_firm(office) -> None:
    with pytest.raises(NotAllowed):
        describe(office, name="Mine")


@pytest.mark.django_db(transaction=True)
def test_two_managers_who_name_a_new_firm_at_once_make_one() -> None:
    manager = make.make_user("Max Manager", "manager")
    results = at_once(lambda: describe(manager, name="One & Sons"), lambda: describe(manager, name="Two & Sons"))
    assert [type(result).__name__ for result in results] == ["Firm", "Firm"]
    assert Firm.objects.count() == 1


def test_several_numbers_are_taken_at_once() -> None:
    from jobsite.firm.operations import take_number, take_numbers

    first = take_number("tried")
    assert list(take_numbers("tried", 3)) == [first + 1, first + 2, first + 3]
    assert (take_number("tried"), list(take_numbers("tried", 0))) == (first + 4, [])
