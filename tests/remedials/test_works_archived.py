"""At an archived site no remedial is made, opened again or sent back: what is due there is not shown."""

import pytest
from django.db import transaction

from inspections.models import Observation
from jobsite.ids import new_id
from jobsite.premises.models import Site
from jobsite.premises.operations import archive_site
from jobsite.refused import Refused
from remedials.works.models import Remedial
from remedials.works.operations import make_remedial, reopen_remedial, review_proof
from tests.at_once import behind
from tests.factories import NOON, anybody, make_observation, make_qualified, make_site, recorded
from tests.remedials.work import close, on_the_way

BACK_FIRST = "is archived: bring it back first."


def archive(site) -> None:
    """Archived, whatever is open there."""
    Site.objects.filter(pk=site.pk).update(archived_at=NOON)


def refused(act) -> None:
    with recorded() as told, pytest.raises(Refused, match=BACK_FIRST):
        act()
    assert told == []


@pytest.mark.django_db
def test_no_remedial_is_made_there(site, office, now) -> None:
    seen, key = make_observation(site, code="C3"), new_id()
    made = make_remedial([seen], id=key, work="Fit a cover", by=office, now=now)
    archive(site)
    assert make_remedial([seen], id=key, work="Fit a cover", by=office, now=now) == made
    refused(lambda: make_remedial([seen], id=new_id(), work="Fit a cover", by=office, now=now))
    assert Remedial.objects.count() == 1


@pytest.mark.django_db
def test_none_is_opened_again_there(engineer, office, now) -> None:
    remedial = on_the_way("C3")
    close(remedial, by=engineer)
    archive(remedial.site)
    refused(lambda: reopen_remedial(remedial, reason="came loose", by=office, now=now))
    remedial.refresh_from_db()
    assert (remedial.stage, Observation.objects.get().ended) == ("done", "remedied")


@pytest.mark.django_db
@pytest.mark.parametrize("decision", ["accepted", "sent-back"])
def test_no_proof_is_decided_there(engineer, now, decision) -> None:
    proof = close(on_the_way("C2"), by=engineer)
    archive(proof.remedial.site)
    refused(lambda: review_proof(proof, decision=decision, reason="dark", by=make_qualified(), now=now))


@pytest.mark.django_db(transaction=True)
def test_a_remedial_opened_again_while_the_site_is_archived_hears_of_it(transactional_db, now) -> None:
    office = anybody("office")
    remedial = on_the_way("C3", site=make_site("Kiln Cottage"))
    close(remedial)
    with transaction.atomic():
        archive_site(remedial.site, by=office, now=now)
        again = behind(lambda: reopen_remedial(remedial, reason="came loose", by=office, now=now))
    assert BACK_FIRST in again.exception().sentence
    assert Observation.objects.get().ended == "remedied"
