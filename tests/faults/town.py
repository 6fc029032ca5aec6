"""A small firm with something due: customers to write to, a danger that nobody made safe. And the reckoning afterwards."""

from dataclasses import dataclass
from datetime import timedelta
from typing import Any

from inspections.models import InspectionDue, Observation
from jobsite.messages.models import Message
from jobsite.people.models import User
from jobsite.premises.models import Site
from tests.factories import TODAY, make_inspection, make_observation, make_party, make_site, make_user, unit_of
from tests.faults.stack import STATE, Stack

FOR_GOOD_REASON = ["A newer digest has what it said.", "It was written while the clock was ahead."]


@dataclass(frozen=True)
class Town:
    """Each house has a customer of its own and an inspection that comes due; the first may have a danger as well."""

    manager: User
    engineer: User
    houses: list[Site]
    danger: Observation | None

    @property
    def addresses(self) -> list[str]:
        return [house.customer.email for house in self.houses]


def make_town(houses: int = 3, *, danger: bool = True, days: int = 30) -> Town:
    """Inspections are due in `days`; at 30 the customer is to hear of it."""
    manager, engineer = make_user("Mabel Ledgerton", "manager"), make_user("Edwin Wireman", "engineer")
    sites = [make_house(number, days=days) for number in range(1, houses + 1)]
    seen = make_observation(sites[0], code="C1", owner=engineer, by=engineer) if danger else None
    return Town(manager, engineer, sites, seen)


def make_house(number: int, *, days: int = 30, **fields: Any) -> Site:
    """A house with a customer of its own, last inspected a year ago, whose report asks for the next in `days`."""
    customer = make_party(f"Customer {number}", email=f"customer{number}@example.com")
    site = make_site(f"House {number}", customer=customer, address=f"{number} Sample Street, Sampleton", **fields)
    next_due_on = TODAY + timedelta(days=days)
    report = make_inspection(site, inspected_on=TODAY - timedelta(days=365), next_due_on=next_due_on)
    InspectionDue.objects.create(
        unit=unit_of(site), due_on=next_due_on, basis="as recommended", shows_from=TODAY, after=report
    )
    return site


def all_went_once(stack: Stack, *addresses: str, unknown: int = 0) -> int:
    """Every message is settled, what was sent is in the mailbox once, and each of `addresses` has one mail.

    But for what the next digest says too, what was written while the clock was ahead, and at most as many as are `unknown`:
    those may be there once or not at all. Returns how many those are.
    """
    mailed = stack.mailed()
    assert [name for name, times in mailed.items() if times > 1] == []
    states = stack.states()
    dropped = Message.objects.filter(state=STATE.DROPPED, error__in=FOR_GOOD_REASON)
    overtaken = set(dropped.values_list("occasion", flat=True))
    left_behind = {name for name, state in states.items() if state not in (STATE.SENT, STATE.UNKNOWN)}
    assert left_behind - overtaken == set(), stack.told()
    assert {name for name, state in states.items() if state == STATE.SENT} - set(mailed) == set()
    left = sum(state == STATE.UNKNOWN for state in states.values())
    assert left <= unknown, states
    not_known = set(Message.objects.filter(state=STATE.UNKNOWN).values_list("address", flat=True))
    for address in addresses:
        assert Message.objects.filter(address=address).exists(), f"nothing was written to {address}"
        if address not in not_known:
            assert len(stack.mails_to(address)) == 1, address
    return left
