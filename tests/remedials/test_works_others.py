"""Done by others, item by item: by their paper, or looked at by a qualified person of ours."""

from datetime import timedelta

import pytest
from django.urls import reverse

from jobsite.refused import Refused
from remedials.due.models import DueRow
from remedials.works.models import WayOut
from remedials.works.operations import done_by_others
from tests import factories as make
from tests.factories import NOON, TODAY, recorded
from tests.remedials.desk import text_of
from tests.remedials.pages import at, refused

pytestmark = pytest.mark.django_db
PAPER = {"who": "Another Firm", "reference": "MW 12", "on": TODAY}


def test_what_their_paper_does_not_cover_stays_open_with_its_remedial(office, site) -> None:
    one, other = make.make_observation(site, "One"), make.make_observation(site, "Other")
    remedial = make.make_remedial(one, other, stage="approved")
    with recorded() as told:
        for _ in range(2):
            remedial = done_by_others(remedial, items=[one], by=office, now=NOON, **PAPER)
    one.refresh_from_db(), other.refresh_from_db()
    assert (one.ended, one.ended_reason, other.ended, remedial.stage) == (
        "others", "Done by Another Firm: MW 12", "", "approved",
    )  # fmt: skip
    assert [entry.verb for entry in told] == ["remedial.by-others", "observation.ended"]
    assert told[0].facts == {"on": TODAY.isoformat(), "file": None, "items": [one.number]}
    assert DueRow.objects.get(remedial=remedial.pk, kind="book").observation == other.pk
    done_by_others(remedial, items=[other], by=office, now=NOON, **PAPER)
    remedial.refresh_from_db(), other.refresh_from_db()
    assert (remedial.stage, other.ended, WayOut.objects.count()) == ("by-others", "others", 2)


def test_something_that_is_still_open_must_be_chosen(office, site) -> None:
    one, other = make.make_observation(site), make.make_observation(site)
    with pytest.raises(Refused, match="Choose what their paper covers"):
        done_by_others(make.make_remedial(one), items=[other], by=office, now=NOON, **PAPER)


def test_looked_at_by_a_qualified_person_it_says_so(office, qualified, site) -> None:
    seen = make.make_observation(site)
    done_by_others(make.make_remedial(seen), looked_by=qualified, looked_on=TODAY, by=office, now=NOON, **PAPER)
    seen.refresh_from_db()
    assert seen.ended_reason == "Done by Another Firm: MW 12; looked at by Quentin Prover on 3 Feb 2026"


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"looked_on": TODAY}, "or neither"),
        ({"looked_by": "qualified"}, "or neither"),
        ({"looked_by": "office", "looked_on": TODAY}, "was no qualified person"),
        ({"looked_by": "qualified", "looked_on": TODAY - timedelta(days=1)}, "before the work was done"),
        ({"looked_by": "qualified", "looked_on": TODAY + timedelta(days=1)}, "not come yet"),
    ],
)
def test_who_looked_and_when_must_hold(request, office, site, more, sentence) -> None:
    if who := more.get("looked_by"):
        more = more | {"looked_by": request.getfixturevalue(who)}
    with pytest.raises(Refused, match=sentence):
        done_by_others(make.make_remedial(make.make_observation(site)), by=office, now=NOON, **PAPER | more)
    assert not WayOut.objects.exists()


@pytest.mark.parametrize(("looked", "said"), [(False, "We have not inspected it."), (True, "has looked at it since.")])
def test_the_customer_reads_whether_anybody_of_ours_looked(
    client, office, qualified, site, at_noon, looked, said
) -> None:
    more = {"looked_by": qualified, "looked_on": TODAY} if looked else {}
    done_by_others(make.make_remedial(make.make_observation(site)), by=office, now=NOON, **PAPER | more)
    _, token = make.make_link(site)
    assert said in text_of(client.get(reverse("status:site", args=[token])))


def test_the_page_takes_it_item_by_item(at_desk, at_noon, qualified, site) -> None:
    one, other = make.make_observation(site, "One"), make.make_observation(site, "Other")
    remedial = make.make_remedial(one, other)
    data = {"who": "Another Firm", "on": "2026-02-01", "reference": "MW 12"}
    assert refused(at_desk.post(at("by_others", remedial), data), "Choose one.")
    data |= {"items": [str(one.pk)], "looked_by": str(qualified.pk), "looked_on": "2026-02-02"}
    page = text_of(at_desk.post(at("by_others", remedial), data, follow=True))
    assert "Done by others 1 Feb 2026: Another Firm" in page
    assert "looked at by Quentin Prover on 2 Feb 2026" in page
    one.refresh_from_db(), other.refresh_from_db()
    assert (one.ended, other.ended) == ("others", "")


def test_an_investigation_that_was_declined_is_called_unresolved(at_desk, at_noon, site) -> None:
    make.make_remedial(make.make_observation(site, "Signs of heat", code="FI"), stage="declined")
    assert "declined: unresolved investigation" in text_of(at_desk.get(reverse("desk:site", args=[site.pk])))
