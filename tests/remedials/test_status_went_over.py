"""Archives and holds of a site that was recorded twice and went over to another: each is asked for there, and none is lost."""

from datetime import timedelta

import pytest
from django.urls import reverse

from jobsite.ids import new_id
from jobsite.ledger.models import Document, Hold
from jobsite.ledger.queries import faults
from jobsite.premises import operations as premises
from jobsite.refused import Refused
from remedials.status.bundles import as_of, operations
from remedials.status.bundles.operations_holds import place_hold
from remedials.status.models import Bundle
from tests.factories import NOON, make_site

pytestmark = pytest.mark.django_db
LATER = NOON + timedelta(hours=1)


@pytest.fixture
def twin(site):
    return make_site("The same once more", customer=site.customer)


def merge(twin, site, office):
    premises.merge_sites(twin, into=site, names={}, reason="Twice", by=office, now=NOON)


def asked(site, office) -> Bundle:
    return operations.ask_for_bundle(site, id=new_id(), instant=NOON, reason="A claim", by=office, now=LATER)


def test_whoever_asks_too_late_is_told_where(site, twin, office, manager) -> None:
    merge(twin, site, office)  # `twin` is still as the page had it
    went = f"{twin.name} was recorded twice and went over to {site.name}: "
    with pytest.raises(Refused) as no:
        asked(twin, office)
    assert no.value.sentence == f"{went}ask there."
    with pytest.raises(Refused) as no:
        place_hold(twin, id=new_id(), reason="A claim", by=manager, now=LATER)
    assert no.value.sentence == f"{went}hold that one."
    assert not Bundle.objects.exists()
    assert not Hold.objects.exists()


def test_pages_lead_on_and_what_was_typed_stays(client, site, twin, office, manager) -> None:
    merge(twin, site, office)
    client.force_login(manager)
    for name in ("proof:site_record", "proof:hold_site"):
        assert client.get(reverse(name, args=[twin.pk])).url == reverse(name, args=[site.pk])
    held = client.post(reverse("proof:hold_site", args=[twin.pk]), {"id": new_id(), "reason": "Claim 12"})
    form = {"id": new_id(), "instant": "2026-01-05T10:00", "reason": "For the insurer"}
    wanted = client.post(reverse("proof:site_record", args=[twin.pk]), form)
    for answer, typed in ((held, "Claim 12"), (wanted, "For the insurer")):
        said = answer.content.decode()
        assert answer.status_code == 422
        assert f"went over to {site.name}" in said
        assert typed in said


def test_one_that_goes_over_while_it_is_drawn_is_drawn_again_with_both(site, twin, office, monkeypatch) -> None:
    bundle = asked(twin, office)

    def meanwhile(bundle: Bundle) -> tuple[bytes, str]:
        made = as_of.archive(bundle)
        merge(twin, site, office)
        return made

    monkeypatch.setitem(operations.MAKERS, Bundle.Kind.AS_OF, meanwhile)
    operations.draw(bundle.pk, now=LATER)
    monkeypatch.undo()
    bundle.progress.refresh_from_db()
    assert (bundle.progress.state, bundle.progress.sentence) == ("failed", operations.WENT_OVER)
    assert not Document.objects.exists()
    with pytest.raises(Refused, match="open this archive again"):
        operations.ask_again(bundle, by=office, now=LATER)  # as a page from before has it
    bundle = Bundle.objects.get(pk=bundle.pk)
    operations.ask_again(bundle, by=office, now=LATER)
    made = operations.draw(bundle.pk, now=LATER)
    assert made is not None
    assert made.document is not None
    assert made.document.site == site.pk
    assert list(faults()) == []
