"""Holds: placed and lifted by managers, asked by everything that erases, and kept by the database itself."""

from datetime import timedelta

import pytest
from django.db import DatabaseError, transaction
from django.urls import reverse

from inspections import operations as inspect
from jobsite.ids import new_id
from jobsite.ledger.models import Entry, Hold, Words
from jobsite.premises import operations as premises
from jobsite.refused import NotAllowed, Refused
from remedials.status.bundles.operations import ask_for_bundle
from remedials.status.bundles.operations_holds import lift_hold, place_hold
from remedials.visits.operations.codes import retire_code
from remedials.works import operations as work
from remedials.works.models import ProofPhoto, Remedial
from tests.factories import (
    NOON,
    grant_access,
    make_code,
    make_hold,
    make_inspection,
    make_observation,
    make_qualified,
    make_remedial,
    make_site,
    make_user,
    picture,
    recorded,
    unit_of,
)

pytestmark = pytest.mark.django_db
LATER = NOON + timedelta(hours=1)


def told_of(site, office):
    """A defect whose words stand beside an entry of the site's ledger."""
    return inspect.report_defect(
        site, id=new_id(), unit=unit_of(site), text="It sparks", reported_by="Tina", by=office, now=NOON
    )


def erase_words(site) -> int:
    """What a careless program, or somebody at the database, would do."""
    with transaction.atomic():
        from jobsite.ledger.models import Entry

        return Words.objects.filter(entry__in=Entry.objects.filter(chain=site.pk).values("pk")).delete()[0]


def test_a_hold_and_its_lifting_are_entries_of_the_site(site, manager) -> None:
    key = new_id()
    with recorded() as told:
        hold = place_hold(site, id=key, reason=" A claim ", by=manager, now=NOON)
        assert place_hold(site, id=key, reason="A claim", by=manager, now=NOON) == hold
        lift_hold(hold, why="Settled", by=manager, now=LATER)
        lift_hold(hold, why="Settled twice", by=manager, now=LATER)
    assert [(one.verb, one.words) for one in told] == [
        ("hold.placed", {"reason": "A claim"}),
        ("hold.lifted", {"why": "Settled"}),
    ]
    hold.refresh_from_db()
    assert (hold.placed_by, hold.lifted_by, hold.lifted_at, hold.lifted_why) == (
        manager.pk,
        manager.pk,
        LATER,
        "Settled",
    )


def test_only_a_manager_holds_and_lifts_and_says_why(site, manager, office) -> None:
    hold = make_hold(site)
    with pytest.raises(NotAllowed):
        place_hold(site, id=new_id(), reason="A claim", by=office, now=NOON)
    with pytest.raises(NotAllowed):
        lift_hold(hold, why="Settled", by=office, now=NOON)
    with pytest.raises(Refused, match="Say what for"):
        place_hold(site, id=new_id(), reason=" ", by=manager, now=NOON)
    with pytest.raises(Refused, match="held for just this reason"):
        place_hold(site, id=new_id(), reason=hold.reason, by=manager, now=NOON)
    with pytest.raises(Refused, match="Say why it may be lifted"):
        lift_hold(hold, why="", by=manager, now=NOON)


@pytest.mark.parametrize("whole_firm", [False, True])
def test_the_database_itself_keeps_words_that_are_held(site, office, whole_firm) -> None:
    told_of(site, office)
    hold = make_hold(None if whole_firm else site)
    with pytest.raises(DatabaseError, match="these words are held"):
        erase_words(site)
    with pytest.raises(DatabaseError, match="these words are held"), transaction.atomic():
        Words.objects.update(text="erased")
    Hold.objects.filter(pk=hold.pk).update(lifted_at=LATER, lifted_by=hold.placed_by, lifted_why="Settled")
    assert erase_words(site) == 2


def test_a_hold_on_one_site_leaves_another_alone(site, office) -> None:
    other = make_site("Elsewhere")
    told_of(other, office)
    make_hold(site)
    assert erase_words(other) == 2


def test_words_of_a_site_that_was_recorded_twice_are_held_with_the_other(site, office) -> None:
    twin = make_site("The same once more", customer=site.customer)
    told_of(twin, office)
    premises.merge_sites(twin, into=site, names={}, reason="Twice", by=office, now=NOON)
    make_hold(site)
    with pytest.raises(DatabaseError, match="these words are held"):
        erase_words(twin)


def test_what_deletes_is_refused_while_it_is_held(site, qualified, engineer) -> None:
    """Drafts, items of drafts, photographs before a closing: what a person could throw away otherwise."""
    draft = make_inspection(site, issued=False, by=qualified)
    noted = make_observation(site, "Noted", inspection=draft, draft=True)
    remedial = make_remedial(make_observation(site, code="C2"), stage="approved")
    photo = work.add_proof_photo(remedial, data=picture(), by=engineer, now=NOON)
    hold = make_hold(site)
    acts = (
        lambda: inspect.drop_observation(noted, by=qualified, now=NOON),
        lambda: inspect.delete_draft(draft, reason="Twice", by=qualified, now=NOON),
        lambda: work.remove_proof_photo(photo, by=engineer, now=NOON),
    )
    for act in acts:
        with pytest.raises(Refused, match=r"This is held, .* since a claim of the insurer\. A manager can lift that"):
            act()
    assert ProofPhoto.objects.count() == Remedial.objects.count() == 1
    Hold.objects.filter(pk=hold.pk).update(lifted_at=LATER, lifted_by=hold.placed_by, lifted_why="Settled")
    for act in acts:
        act()
    assert not ProofPhoto.objects.exists()


# --- pages ------------------------------------------------------------------------------------------------------------


def test_the_page_of_a_site_says_that_it_is_held(client, site, office, subcontractor) -> None:
    client.force_login(office)
    where = reverse("desk:site", args=[site.pk])
    assert "Held: nothing" not in client.get(where).content.decode()
    make_hold(site)
    make_hold(None, reason="An accident")
    said = client.get(where).content.decode()
    assert "Held: nothing of it is erased. A claim of the insurer; An accident (the whole firm)." in said
    assert reverse("proof:site_record", args=[site.pk]) in said
    grant_access(site, subcontractor)
    client.force_login(subcontractor)
    assert reverse("proof:site_record", args=[site.pk]) not in client.get(where).content.decode()


def test_a_manager_holds_and_lifts_by_the_pages(client, site, manager) -> None:
    client.force_login(manager)
    where = reverse("proof:hold_site", args=[site.pk])
    empty = client.post(where, {"id": new_id(), "reason": ""})
    assert empty.status_code == 422
    assert "Needed: fill this in." in empty.content.decode()
    answer = client.post(where, {"id": new_id(), "reason": "Claim 12"}, follow=True)
    assert "Claim 12" in answer.content.decode()
    hold = Hold.objects.get(site=site.pk)
    lifted = client.post(reverse("proof:hold_lift", args=[hold.pk]), {"why": "Settled by letter"}, follow=True)
    assert "Nothing is held" in lifted.content.decode()
    client.post(reverse("proof:holds"), {"id": new_id(), "reason": "An accident"})
    listed = client.get(reverse("proof:holds")).content.decode()
    assert "the whole firm" in listed
    assert "Settled by letter" in listed


def test_the_pages_say_what_a_hold_does_not_keep_and_it_is_so(client, site, office, manager) -> None:
    make_hold(site)
    code = make_code(site)
    author = make_qualified()
    draft = make_inspection(site, issued=False, by=author)
    limitation = inspect.add_limitation(draft, id=new_id(), what="The loft", why="Locked", by=author, now=NOON)
    client.force_login(manager)
    for where in (reverse("proof:hold_site", args=[site.pk]), reverse("proof:holds")):
        said = client.get(where).content.decode()
        assert "limitations of a draft report" in said, where
        assert "an alarm code goes when it is retired" in said, where
    retire_code(code, by=office, now=LATER)
    inspect.remove_limitation(limitation, by=author, now=LATER)
    told = {entry.verb: entry for entry in Entry.objects.filter(chain=site.pk, at=LATER)}
    assert set(told) == {"code.retired", "limitation.removed"}
    kept = Words.objects.filter(entry__in=Entry.objects.filter(chain=site.pk, subject=limitation.pk))
    assert set(kept.values_list("text", flat=True)) >= {"The loft", "Locked"}


def test_the_office_sees_holds_and_cannot_lift_them(client, site, office) -> None:
    hold = make_hold(site)
    client.force_login(office)
    said = client.get(reverse("proof:site_record", args=[site.pk])).content.decode()
    assert hold.reason in said
    assert reverse("proof:hold_lift", args=[hold.pk]) not in said
    assert client.get(reverse("proof:hold_lift", args=[hold.pk])).status_code == 403


def test_somebody_else_s_hold_is_not_found_by_its_key(client, site) -> None:
    client.force_login(make_user("Sid Lent", "manager", subcontractor=True))
    assert client.get(reverse("proof:hold_lift", args=[make_hold(site).pk])).status_code == 404


def test_a_site_that_went_over_to_another_is_held_and_drawn_out_there(client, office, manager) -> None:
    gone = make_site("Long House")
    into = make_site("Long House again", customer=gone.customer)
    premises.merge_sites(gone, into=into, names={}, reason="Twice", by=office, now=NOON)
    with pytest.raises(Refused, match="hold that one"):
        place_hold(gone, id=new_id(), reason="A claim", by=manager, now=LATER)
    with pytest.raises(Refused, match="ask there"):
        ask_for_bundle(gone, id=new_id(), instant=LATER, reason="A claim", by=office, now=LATER)
    client.force_login(office)
    answer = client.get(reverse("proof:site_record", args=[gone.pk]))
    assert (answer.status_code, answer["Location"]) == (302, reverse("proof:site_record", args=[into.pk]))
