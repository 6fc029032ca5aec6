"""A message's link opens the very step, and "I have it": whose it is, until when, what ends it, what the record keeps."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse

from inspections.operations import take_on
from jobsite import clock
from jobsite.ledger.models import Entry
from jobsite.refused import NotAllowed, Refused
from remedials.due.models import DueRow, Undertaking
from remedials.due.operations.undertaking import give_back, have_it
from tests.at_once import at_once
from tests.factories import NOON, TODAY, grant_access, make_observation, make_remedial

pytestmark = pytest.mark.django_db
TOMORROW = TODAY + timedelta(days=1)
FRIDAY = TODAY + timedelta(days=3)


def row(kind, ref):
    return DueRow.objects.get(kind=kind, ref=ref)


def entries(verb):
    return Entry.objects.filter(verb=verb).count()


def held(kind, ref, by, until=FRIDAY, reason="Parts come on Thursday", now=NOON):
    return have_it(kind, ref, until=until, reason=reason, by=by, now=now)


def test_whoever_has_it_is_its_owner_until_a_day_and_the_record_keeps_it(site, office, engineer):
    seen = make_observation(site, code="C2", owner=office, step_by=TODAY)
    held("decide", seen.pk, engineer)
    found = row("decide", seen.pk)
    assert (found.owner, found.due, found.in_hand_until, found.in_hand_why) == (
        engineer, TODAY, FRIDAY, "Parts come on Thursday",
    )  # fmt: skip
    assert entries("due.in-hand") == 1
    entry = Entry.objects.get(verb="due.in-hand")
    assert (entry.chain, entry.facts["until"], entry.facts["instead_of"]) == (site.pk, str(FRIDAY), str(office.pk))


def test_the_same_again_is_no_second_entry(site, office):
    seen = make_observation(site, owner=office, step_by=TODAY)
    assert held("decide", seen.pk, office) == held("decide", seen.pk, office)
    assert entries("due.in-hand") == 1


def test_a_loose_end_in_hand_is_loose_no_more(site, engineer):
    seen = make_observation(site, code="C2", owner=None, step_by=None)
    assert row("decide", seen.pk).loose
    held("decide", seen.pk, engineer)
    found = row("decide", seen.pk)
    assert (found.loose, found.owner, found.due) == (False, engineer, FRIDAY)


def test_another_takes_it_over_and_giving_it_back_leads_to_whose_it_was_at_first(site, office, engineer, manager):
    seen = make_observation(site, owner=office, step_by=TODAY)
    held("decide", seen.pk, engineer)
    held("decide", seen.pk, manager, reason="Edwin is ill")
    assert row("decide", seen.pk).owner == manager
    assert Undertaking.objects.filter(ended_at=None).count() == 1
    for _ in range(2):
        give_back("decide", seen.pk, by=office, now=NOON)
    assert (row("decide", seen.pk).owner, row("decide", seen.pk).in_hand_until) == (office, None)
    assert entries("due.given-back") == 1


def test_giving_the_step_to_somebody_afterwards_ends_it(site, office, engineer, qualified):
    seen = make_observation(site, owner=office, step_by=TODAY)
    held("decide", seen.pk, engineer)
    take_on(seen, owner=qualified, step_by=TOMORROW, by=qualified, now=NOON)
    found = row("decide", seen.pk)
    assert (found.owner, found.due, found.in_hand_until) == (qualified, TOMORROW, None)


def test_the_next_step_is_in_nobodys_hand(site, office, engineer):
    seen = make_observation(site, owner=office, step_by=TODAY)
    held("decide", seen.pk, engineer)
    work = make_remedial(seen, owner=office, step_by=TODAY)
    assert not DueRow.objects.filter(kind="decide", ref=seen.pk).exists()
    assert (row("price", work.pk).owner, row("price", work.pk).in_hand_until) == (office, None)


@pytest.mark.parametrize(
    ("code", "until", "reason", "field"),
    [
        ("C2", TODAY - timedelta(days=1), "Soon", "until"),
        ("C2", TODAY + timedelta(days=93), "Soon", "until"),
        ("C1", TODAY + timedelta(days=8), "Soon", "until"),
        ("C2", TODAY, "  ", "reason"),
    ],
)
def test_what_is_refused(site, engineer, code, until, reason, field):
    seen = make_observation(site, code=code, owner=engineer, step_by=TODAY)
    with pytest.raises(Refused) as refused:
        held("decide", seen.pk, engineer, until=until, reason=reason)
    assert refused.value.field == field
    assert not Undertaking.objects.exists()


def test_what_is_no_longer_due_is_refused(engineer):
    with pytest.raises(Refused, match="no longer in the due list"):
        held("decide", uuid4(), engineer)


def test_a_subcontractor_has_only_own_rows(site, office, subcontractor):
    seen = make_observation(site, owner=office, step_by=TODAY)
    grant_access(site, subcontractor)
    with pytest.raises(NotAllowed):
        held("decide", seen.pk, subcontractor)


@pytest.mark.django_db(transaction=True)
def test_two_at_once_one_stands(site, office, engineer):
    seen = make_observation(site, owner=office, step_by=TODAY)
    at_once(lambda: held("decide", seen.pk, office), lambda: held("decide", seen.pk, engineer))
    assert Undertaking.objects.filter(ended_at=None).count() == 1


# --- pages ------------------------------------------------------------------------------------------------------------


def at(name, kind, ref):
    return reverse(f"due:{name}", args=[kind, ref])


def test_the_link_of_a_message_opens_the_very_step(client, site, engineer):
    seen = make_observation(site, code="C1", owner=engineer, step_by=TODAY)
    where = at("step", "decide", seen.pk)
    answer = client.get(where)
    assert answer.status_code == 302
    assert answer.url == f"/accounts/login/?next={where}"  # sign-in, then there
    client.force_login(engineer)
    assert client.get(where).url == reverse("inspections:make_safe", args=[seen.pk])


def test_once_taken_it_leads_to_the_step_that_has_its_place(client, site, office):
    seen = make_observation(site, owner=office, step_by=TODAY)
    work = make_remedial(seen, owner=office, step_by=TODAY)
    client.force_login(office)
    assert client.get(at("step", "decide", seen.pk)).url == reverse("desk:remedial", args=[work.pk])


def test_when_nothing_is_left_it_says_so_and_leads_to_what_became_of_it(client, site, office):
    seen = make_observation(site, owner=office, step_by=TODAY)
    type(seen).objects.filter(pk=seen.pk).update(ended="others", ended_on=TODAY)
    client.force_login(office)
    answer = client.get(at("step", "decide", seen.pk))
    assert answer.status_code == 200
    assert reverse("desk:observation", args=[seen.pk]) in answer.content.decode()
    assert "No longer due" in client.get(at("have_it", "decide", seen.pk)).content.decode()


def test_what_was_never_in_the_list_is_not_found(client, office):
    client.force_login(office)
    assert client.get(at("step", "nonsense", uuid4())).status_code == 404
    assert client.get(at("step", "decide", uuid4())).status_code == 404
    assert client.post(at("give_back", "decide", uuid4())).status_code == 404


def test_i_have_it_by_the_page(client, site, office, engineer):
    seen = make_observation(site, code="C1", owner=office, step_by=TODAY)
    client.force_login(engineer)
    where = at("have_it", "decide", seen.pk)
    assert "makes nothing safe" in client.get(where).content.decode()
    empty = client.post(where, {"until": "", "reason": "On my way"})
    assert empty.status_code == 422
    assert "On my way" in empty.content.decode()
    day = Undertaking.objects.count()
    answer = client.post(where, {"until": clock.local_day(clock.now()).isoformat(), "reason": "On my way"})
    assert (answer.status_code, Undertaking.objects.count() - day) == (302, 1)
    shown = client.get(where).content.decode()
    assert "Edwin Wireman has it until" in shown
    client.post(at("give_back", "decide", seen.pk))
    assert not Undertaking.objects.filter(ended_at=None).exists()


def test_statements(client, site, office, django_assert_num_queries, engineer):
    for several in (1, 30):
        for _ in range(several):
            seen = make_observation(site, owner=office, step_by=TODAY)
        client.force_login(office)
        with django_assert_num_queries(3):
            client.get(at("step", "decide", seen.pk))
