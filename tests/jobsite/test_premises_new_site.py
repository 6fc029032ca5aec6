"""Opening a site: what the law's rules rest on is asked, never assumed; and what comes next is a click away."""

import re

import pytest
from django.urls import reverse

from jobsite.premises.models import Site
from tests import factories as make

pytestmark = pytest.mark.django_db


@pytest.fixture
def at_desk(client, office):
    client.force_login(office)
    return client


def body_of(response) -> str:
    return response.content.decode()


@pytest.mark.parametrize("name", ["nation", "tenure", "kind"])
def test_nothing_is_chosen_beforehand(at_desk, name):
    shown = body_of(at_desk.get(reverse("premises:site_new")))
    field = re.search(rf'<select name="{name}".*?</select>', shown, re.DOTALL)[0]
    assert re.search(r'<option value=""[^>]*>choose</option>', field)
    assert re.findall(r'<option value="([^"]*)" selected', field) in ([], [""])


def test_a_site_is_not_opened_without_nation_and_tenure(at_desk):
    party = make.make_party()
    typed = {"name": "Mill", "address": "Mill Lane", "customer": party.pk, "phases": "L1", "earthing": "TT"}
    response = at_desk.post(reverse("premises:site_new"), typed)
    form = response.context["form"]
    assert response.status_code == 422
    assert [form.errors[name] for name in ("nation", "tenure", "kind")] == [["Choose one."]] * 3
    assert Site.objects.count() == 0


def test_the_boards_can_be_taken_in_or_added_from_what_is_there(at_desk, site):
    shown = body_of(at_desk.get(reverse("premises:premises", args=[site.pk])))
    assert f'href="{reverse("premises:board_new", args=[site.pk])}">Add a board</a>' in shown
    take_in = re.search(r'href="([^"]+)">Take in a list of boards<', shown)[1]
    assert at_desk.get(take_in)["Location"] == f"{reverse('intake:new')}?site={site.pk}"
    site.archived_at = make.NOON
    site.save(update_fields=["archived_at"])
    assert "Add a board" not in body_of(at_desk.get(reverse("premises:premises", args=[site.pk])))


def test_an_engineer_is_not_offered_to_take_in(client, engineer, site):
    client.force_login(engineer)
    shown = body_of(client.get(reverse("premises:premises", args=[site.pk])))
    assert "Take in a list of boards" not in shown
    assert "Add a board" in shown
