"""The list of what stands made safe: whose lock, who holds the key, what is to be looked at first."""

from datetime import timedelta

import pytest

from inspections.models import MadeSafe
from tests import factories as make
from tests.factories import NOON, TODAY
from tests.jobsite.premises import text_of

pytestmark = pytest.mark.django_db


def hold(site, what: str, *, again: int = 3, **fields) -> MadeSafe:
    """Something made safe at `site`, to be looked at again after some days."""
    by = make.anybody("engineer")
    seen = make.make_observation(site, what, code="C1", made_safe=not fields.get("ended"))
    usual = {"how": "locked", "what": f"{what} locked off", "agreed_with": "P", "lock": "14", "key_holder": "Dirk"}
    usual |= {"at": NOON, "by": by, "looker": by, "look_again_on": TODAY + timedelta(days=again)}
    return MadeSafe.objects.create(observation=seen, **usual | fields)


def test_site_lists_its_own_locks_the_first_to_look_at_on_top(as_, engineer, site) -> None:
    hold(site, "Later", again=5)
    hold(site, "Sooner", again=-2)
    hold(site, "Over", ended="remedied", ended_at=NOON)
    hold(make.make_site("Elsewhere"), "Other")
    shown = text_of(as_(engineer).get(f"/sites/{site.pk}/locks/"))
    assert shown.index("Sooner locked off") < shown.index("Later locked off")
    assert "14 Dirk 3 Feb 2026, 12:00, Edwin Wireman" in shown
    assert "Over" not in shown
    assert "Other" not in shown
    assert "the defect stays open until it is remedied" in shown


def test_all_sites_are_listed_with_their_names(as_, office, site) -> None:
    hold(site, "Here")
    hold(make.make_site("Elsewhere"), "There", lock="", how="covered", key_holder="")
    shown = text_of(as_(office).get("/locks/"))
    assert site.name in shown
    assert "Elsewhere C1 made safe There" in shown
    assert "none nobody" in shown


def test_subcontractor_sees_the_locks_of_own_sites_only(as_, site) -> None:
    other = make.make_site("Elsewhere")
    hold(site, "Here")
    hold(other, "There")
    sid = make.make_user("Sid Lent", "engineer", subcontractor=True)
    make.grant_access(other, sid)
    shown = text_of(as_(sid).get("/locks/"))
    assert "There" in shown
    assert "Here" not in shown
    assert as_(sid).get(f"/sites/{site.pk}/locks/").status_code == 404


def test_empty_list_says_what_stands_here(as_, engineer, site) -> None:
    assert "Nothing stands made safe." in text_of(as_(engineer).get(f"/sites/{site.pk}/locks/"))


def test_list_is_taken_away_as_a_file(as_, office, site) -> None:
    hold(site, "=Here")
    lines = as_(office).get("/locks/?as=csv").content.decode("utf-8-sig").splitlines()
    assert lines[0].startswith("Site,Where,Code,How,What,Lock,Key held by")
    assert "'=Here locked off,14,Dirk" in lines[1]


@pytest.mark.parametrize("count", [1, 6])
def test_statements_whatever_the_size(as_, engineer, site, django_assert_num_queries, count) -> None:
    for n in range(count):
        hold(site, f"Lock {n}")
    client = as_(engineer)
    client.get("/locks/")
    with django_assert_num_queries(3):
        client.get("/locks/")


def test_long_list_goes_on_on_its_next_page(as_, office, site) -> None:
    for n in range(52):
        hold(site, f"Lock {n:02}", again=n)
    client = as_(office)
    first = client.get("/locks/")
    second = text_of(client.get(first.context["pager"]["next"]))
    assert "Lock 49" in text_of(first)
    assert "Lock 50" not in text_of(first)
    assert "Lock 51" in second
    assert "Lock 49" not in second
