"""At an archived site nothing becomes open or dangerous: nobody would see it. What was done before is answered again."""

from datetime import date

import pytest
from django.db import transaction

from inspections import operations
from inspections.models import MadeSafe, Observation
from jobsite.ids import new_id
from jobsite.premises.models import Site
from jobsite.premises.operations import archive_site
from jobsite.refused import Refused
from tests import factories as make
from tests.at_once import behind
from tests.factories import NOON, recorded

BACK_FIRST = "is archived: bring it back first."


@pytest.fixture
def archived(site):
    """Archive the site, whatever is open there."""

    def do():
        Site.objects.filter(pk=site.pk).update(archived_at=NOON)

    return do


def refused(act) -> None:
    with recorded() as told, pytest.raises(Refused, match=BACK_FIRST):
        act()
    assert told == []


@pytest.mark.django_db
def test_nothing_is_noted_on_a_draft_or_changed_there(start, note, archived, now) -> None:
    draft, key = start(), new_id()
    seen = note(draft, "C3", id=key)
    archived()
    assert note(draft, "C3", id=key) == seen
    refused(lambda: note(draft, "C1"))
    refused(lambda: operations.change_observation(seen, version=1, code="C1", by=draft.recorded_by, now=now))
    seen.refresh_from_db()
    assert (seen.code, Observation.objects.count()) == ("C3", 1)


@pytest.mark.django_db
def test_no_draft_is_edited_and_no_limitation_noted_there(start, archived, now) -> None:
    draft, key = start(), new_id()
    given = {"what": "The loft", "by": draft.recorded_by, "now": now}
    loft = operations.add_limitation(draft, id=key, **given)
    archived()
    assert operations.add_limitation(draft, id=key, **given) == loft
    refused(lambda: operations.add_limitation(draft, id=new_id(), **given))
    refused(lambda: operations.edit_inspection(draft, version=1, extent="More", by=draft.recorded_by, now=now))


@pytest.mark.django_db
def test_no_limitation_is_covered_there(start, qualified, archived, now) -> None:
    first, second = start(), start(inspected_on=date(2026, 2, 1))
    lofts = [
        operations.add_limitation(first, id=new_id(), what=what, by=qualified, now=now) for what in ("Loft", "Cellar")
    ]
    for report in (first, second):
        operations.issue_inspection(report, by=qualified, now=now)
    covered = operations.cover_limitation(lofts[0], covered_by=second, by=qualified, now=now)
    archived()
    assert operations.cover_limitation(covered, covered_by=second, by=qualified, now=now) == covered
    refused(lambda: operations.cover_limitation(lofts[1], covered_by=second, by=qualified, now=now))


@pytest.mark.django_db
def test_nothing_is_made_safe_there(site, engineer, archived, now) -> None:
    seen, other = (make.make_observation(site, code="C1") for _ in range(2))
    given = {"how": "covered", "what": "Taped", "agreed_with": "the owner", "no_photo": "too dark", "by": engineer}
    given |= {"look_again_on": date(2026, 2, 10), "now": now}
    key = new_id()
    made = operations.make_safe(seen, id=key, **given)
    archived()
    assert operations.make_safe(seen, id=key, **given) == made
    refused(lambda: operations.make_safe(other, id=new_id(), **given))


@pytest.mark.django_db(transaction=True)
def test_a_limitation_is_not_covered_by_a_report_that_is_replaced_meanwhile(transactional_db, now) -> None:
    site, by = make.make_site("Kiln Cottage"), make.make_qualified()
    given = {"units": [make.unit_of(site)], "kind": "periodic", "other_firm": False, "edition": "2018+A2:2022"}
    given |= {"by": by, "now": now}
    first, second = (
        operations.start_inspection(site, id=new_id(), inspected_on=on, **given)
        for on in (date(2026, 1, 20), date(2026, 2, 1))
    )
    loft = operations.add_limitation(first, id=new_id(), what="The loft", by=by, now=now)
    for report in (first, second):
        operations.issue_inspection(report, by=by, now=now)
    again = operations.reissue_inspection(second, id=new_id(), reason="the wrong day", by=by, now=now)
    with transaction.atomic():
        operations.issue_inspection(again, by=by, now=now)
        covering = behind(lambda: operations.cover_limitation(loft, covered_by=second, by=by, now=now))
    assert "Both reports must be issued first." in str(covering.exception().sentence)
    loft.refresh_from_db()
    assert loft.covered_by is None


@pytest.mark.django_db
def test_no_code_is_decided_there(site, qualified, archived, now) -> None:
    seen = make.make_observation(site, code="C3")
    given = {"reason": "only old", "by": qualified, "now": now}
    gone = operations.review(seen, decision="no-code", **given)
    archived()
    assert operations.review(seen, decision="no-code", **given) == gone
    refused(lambda: operations.review(seen, decision="recode", code="C1", **given))
    seen.refresh_from_db()
    assert (seen.code, seen.ended) == ("", "no-code")


@pytest.mark.django_db
def test_no_danger_is_found_there(site, qualified, archived, now) -> None:
    seen = make.make_observation(site, code="FI")
    archived()
    refused(lambda: operations.record_finding(seen, id=new_id(), code="C1", text="Bare copper", by=qualified, now=now))
    assert Observation.objects.get().ended == ""


@pytest.mark.django_db
def test_nothing_is_opened_again_there(site, office, archived, now) -> None:
    seen = make.make_observation(site, ended="remedied", ended_on=NOON.date())
    archived()
    refused(lambda: operations.reopen_observation(seen, reason="came loose", by=office, now=now))


@pytest.mark.django_db
def test_nothing_is_reconnected_there(site, engineer, archived, now) -> None:
    seen = make.make_observation(site, code="C3", made_safe=True)
    made = MadeSafe.objects.create(
        observation=seen, how="covered", what="Taped", agreed_with="the owner", at=NOON, by=engineer,
        look_again_on=date(2026, 2, 10), looker=engineer,
    )  # fmt: skip
    archived()
    refused(lambda: operations.reconnect(made, reason="the tenant took it off", by=engineer, now=now))
    seen.refresh_from_db()
    assert (seen.code, seen.made_safe) == ("C3", True)


@pytest.mark.django_db(transaction=True)
def test_a_code_decided_while_the_site_is_archived_hears_of_it(transactional_db, now) -> None:
    site, office, by = make.make_site("Kiln Cottage"), make.anybody("office"), make.make_qualified()
    seen = make.make_observation(site, code="C3")
    with transaction.atomic():
        archive_site(site, by=office, now=now)
        recoding = behind(lambda: operations.review(seen, decision="recode", code="C1", reason="worse", by=by, now=now))
    assert BACK_FIRST in str(recoding.exception().sentence)
    seen.refresh_from_db()
    assert seen.code == "C3"
