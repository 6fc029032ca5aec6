"""The papers that open by themselves, against the words of the rules: the same days as somebody counts from the text.

England: SI 2020/312 regulation 3 in reproductions and council policies that agree ("within 28 days of the inspection and
test", "within 7 days of a written request", "within 28 days of completing the work"). Wales: legislation.gov.uk/wsi/2022/6,
regulation 6 ("before the end of 14 days starting with"). The days were worked out from that wording by hand.
"""

from datetime import UTC, date, datetime

import pytest

from inspections import operations
from inspections.models import Observation, Paper
from jobsite.ids import new_id
from tests import factories as make

pytestmark = pytest.mark.django_db
INSPECTED = date(2026, 12, 1)  # a Tuesday
COMPLETED = date(2026, 12, 15)
NOW = datetime(2026, 12, 20, 12, tzinfo=UTC)


@pytest.fixture
def report(db):
    """A report of a let home in England, inspected on 1 Dec 2026, with a C2."""

    def issue(nation: str = "england"):
        site = make.make_site("Kiln Row", nation=nation, tenure="private-rented")
        draft = make.make_inspection(site, issued=False, inspected_on=INSPECTED)
        make.make_observation(site, code="C2", inspection=draft, draft=True, on=INSPECTED)
        return operations.issue_inspection(draft, by=make.make_qualified(), now=NOW)

    return issue


def last_days(trigger: str) -> set[date]:
    return set(Paper.objects.filter(trigger=trigger).values_list("due_on", flat=True))


def test_england_a_copy_to_each_tenant_by_29_december(report) -> None:
    report()
    assert last_days("inspection") == {date(2026, 12, 29)}


def test_england_confirmations_by_12_january_for_work_completed_on_15_december(report) -> None:
    report()
    seen = Observation.objects.get()
    operations.end_observation(
        seen, ended="remedied", reason="Mended", done_on=COMPLETED, by=make.anybody("office"), now=NOW
    )
    assert last_days("completion") == {date(2027, 1, 12)}


def test_england_the_council_by_8_december_where_it_asked_on_the_first(report) -> None:
    issued = report()
    operations.record_request(
        issued, issued.units.get(), id=new_id(), asked_by="authority-asks", who="The council", asked_on=INSPECTED,
        by=make.anybody("office"), now=NOW,
    )  # fmt: skip
    assert last_days("authority-asks") == {date(2026, 12, 8)}


def test_wales_a_copy_to_the_contract_holder_by_14_december(report) -> None:
    report("wales")
    assert last_days("inspection") == {date(2026, 12, 14)}
