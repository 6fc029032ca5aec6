"""What people try with private links: guess them, alter them, keep them, hand them to machines."""

import re
from collections.abc import Iterator
from datetime import date, timedelta
from urllib.parse import urlsplit

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from inspections.models import ObservationPhoto
from jobsite.firm.models import Firm
from jobsite.ids import new_id
from jobsite.ledger.photographs import store_photograph
from jobsite.logs import holds_token, without_tokens
from jobsite.people.links import find_link, new_token
from jobsite.people.models import PrivateLink
from jobsite.people.opening import WRONG_LINKS
from jobsite.premises import operations
from remedials.status.privacy.operations.erasing import erase_customer
from tests import factories as make
from tests.factories import NOON, TODAY
from tests.remedials.work import photo_bytes
from tests.test_routes import ALL, BY_LINK

YEAR = NOON + timedelta(days=365)
PRIVATE_ROUTES = [route for route in ALL if route.needs == BY_LINK]
# Opened by other tokens than those of private links, with a page of their own where they open nothing.
OTHER_TOKENS = {"due:stop", "visits:calendar"}
PLAIN = "This link does not open"


@pytest.fixture(autouse=True)
def at_noon(db) -> Iterator[None]:
    Firm.objects.create(name="Sample Sparks", phone="01632 960123", email="office@example.com")
    with time_machine.travel(NOON, tick=False):
        yield


def address_of(route, token: str) -> str:
    """The address of a private page with `token`, and some key wherever it names a thing."""
    filled = re.sub(r"<str:token>", token, route.pattern)
    filled = re.sub(r"<uuid:\w+>", str(new_id()), filled)
    filled = re.sub(r"<int:\w+>", "2025", filled)
    return "/" + re.sub(r"<\w+:\w+>|<\w+>", "one", filled)


def knock(client, address: str, *, come_from: str = "192.0.2.1", method: str = "get"):
    return getattr(client, method)(address, REMOTE_ADDR=come_from)


def picture_of(observation) -> ObservationPhoto:
    file, cleaned = store_photograph(photo_bytes(), now=NOON)
    size = {"width": cleaned.width, "height": cleaned.height}
    return ObservationPhoto.objects.create(
        observation=observation, file=file, added_by=make.anybody(), added_at=NOON, **size
    )


# --- guessing ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("route", PRIVATE_ROUTES, ids=lambda route: route.name)
def test_every_private_page_answers_a_wrong_link_alike(client, route):
    answer = knock(client, address_of(route, new_token()))
    assert answer.status_code == 404
    assert answer.cookies == {}
    assert (answer["Cache-Control"], answer["Referrer-Policy"]) == ("no-store", "no-referrer")
    assert answer["X-Robots-Tag"] == "noindex, nofollow, noarchive"
    if route.name not in OTHER_TOKENS:
        body = answer.content.decode()
        assert PLAIN in body
        assert 'href="tel:01632960123"' in body
        assert '<meta name="robots" content="noindex, nofollow">' in body


def test_wrong_expired_withdrawn_and_of_another_purpose_are_one_answer_at_one_price(client, site):
    _, expired = make.make_link(site, made_at=NOON - timedelta(days=9), expires_at=NOON - timedelta(days=1))
    _, withdrawn = make.make_link(site, withdrawn_at=NOON, expires_at=YEAR)
    _, quote = make.make_link(site, purpose="quote", thing=new_id(), expires_at=YEAR)
    answers = []
    for n, token in enumerate((new_token(), expired, withdrawn, quote, "short", "x" * 500)):
        come_from = f"192.0.2.{n}"  # none of them is slowed down yet
        knock(client, f"/s/{new_token()}/", come_from=come_from)  # from here on each of them is counted in the same way
        for before in ("s", "q", "v", "t", "p", "copy"):
            if token == quote and before == "q":
                continue  # a link that opens a quote, of which there is none: another thing
            with CaptureQueriesContext(connection) as asked:
                answer = knock(client, f"/{before}/{token}/", come_from=come_from)
            answers.append((answer.status_code, answer.content, len(asked)))
    assert len(set(answers)) == 1
    assert answers[0][0] == 404


@pytest.mark.parametrize("route", PRIVATE_ROUTES, ids=lambda route: route.name)
def test_every_private_page_slows_down_who_guesses(client, site, route):
    for _ in range(WRONG_LINKS.each):
        assert knock(client, f"/s/{new_token()}/").status_code == 404
    answer = knock(client, address_of(route, new_token()))
    assert answer.status_code == 429
    assert 0 < int(answer["Retry-After"]) <= WRONG_LINKS.seconds
    assert route.name in OTHER_TOKENS or PLAIN in answer.content.decode()
    assert answer["Cache-Control"] == "no-store"
    later = NOON + timedelta(seconds=int(answer["Retry-After"]))
    with time_machine.travel(later, tick=False):
        assert knock(client, address_of(route, new_token())).status_code == 404


def test_a_right_link_opens_behind_the_same_address_while_another_there_guesses(client, site):
    link, token = make.make_link(site, expires_at=YEAR)
    for _ in range(WRONG_LINKS.each + 5):
        knock(client, f"/s/{new_token()}/")
    assert knock(client, f"/s/{new_token()}/").status_code == 429
    assert knock(client, f"/s/{token}/").status_code == 200
    assert knock(client, f"/s/{new_token()}/", come_from="192.0.2.2").status_code == 404
    link.refresh_from_db()
    assert link.uses == 1


def test_guessing_from_everywhere_shuts_nobody_out(client, site):
    _, token = make.make_link(site, expires_at=YEAR)
    for n in range(WRONG_LINKS.together):
        knock(client, f"/s/{new_token()}/", come_from=f"198.51.{n // 250}.{n % 250}")
    assert knock(client, f"/s/{new_token()}/", come_from="192.0.2.9").status_code == 429
    assert knock(client, f"/s/{token}/", come_from="192.0.2.9").status_code == 200


def test_the_office_sees_that_somebody_tries(client, office):
    client.force_login(office)
    assert "addresses that open nothing were tried" not in client.get("/private-links/").content.decode()
    for n in range(40):
        knock(Client(), f"/s/{new_token()}/", come_from=f"192.0.2.{n}")
    assert "40 addresses that open nothing were tried" in client.get("/private-links/").content.decode()


# --- another's --------------------------------------------------------------------------------------------------------


def test_a_photograph_of_another_site_or_unit_is_not_below_ones_own_link(client):
    site, other = make.make_site("Mine"), make.make_site("Theirs")
    unit, beside = make.unit_of(site), make.make_unit(site, "Beside")
    site.units.update(whole_site=False)
    mine = picture_of(make.make_observation(site, unit=unit))
    of_beside = picture_of(make.make_observation(site, unit=beside))
    of_other = picture_of(make.make_observation(other))
    _, token = make.make_link(site, unit=unit, expires_at=YEAR)
    _, whole = make.make_link(site, expires_at=YEAR)

    def answers(token: str) -> list[int]:
        return [client.get(f"/s/{token}/photos/{photo.pk}/").status_code for photo in (mine, of_beside, of_other)]

    assert answers(token) == [200, 404, 404]
    assert answers(whole) == [200, 200, 404]
    assert answers(new_token()) == [404, 404, 404]


def test_keys_and_numbers_of_the_office_open_nothing(client):
    site = make.make_site("Mine")
    link, token = make.make_link(site, expires_at=YEAR)
    for tried in (site.pk, link.pk, site.number, make.unit_of(site).pk, bytes(link.token_hash).hex(), f"{token}%00"):
        assert client.get(f"/s/{tried}/").status_code in (400, 404)
    for office_page in (f"/sites/{site.pk}/", f"/sites/{site.pk}/links/", "/private-links/"):
        assert client.get(office_page, headers={"Authorization": f"Bearer {token}"}).status_code in (302, 404)
    assert client.get("/", {"token": token}).status_code == 302


def test_a_link_of_one_customer_says_nothing_of_another(client):
    one, other = make.make_site("Mine"), make.make_site("The Other House")
    make.make_observation(other, text="Burnt socket in the other house")
    _, token = make.make_link(one, expires_at=YEAR)
    body = client.get(f"/s/{token}/?site={other.pk}&unit={make.unit_of(other).pk}&item=1").content.decode()
    assert "other house" not in body.lower()


def test_below_a_link_to_all_sites_there_is_nothing_of_anybody_elses(client):
    """Another customer's unit, one where the customer only lives, one that stands on nobody's list, and keys of other things."""
    ada, other = make.make_party("Ada Agent"), make.make_party("Otto Other")
    mine = make.unit_of(make.make_site("Mine", customer=ada))
    theirs = make.unit_of(make.make_site("Theirs", customer=other))
    lives = make.unit_of(make.make_site("Her own flat", customer=other))
    lives.parties.create(party=ada, role="occupier", since=date(2020, 1, 1))
    was = make.unit_of(make.make_site("Once hers", customer=other))
    was.parties.create(party=ada, role="agent", since=date(2020, 1, 1), until=date(2021, 1, 1))
    picture = picture_of(make.make_observation(theirs.site, unit=theirs))
    link, token = make.make_portfolio_link(ada)
    page = client.get(f"/p/{token}/").content.decode()
    assert "Mine" in page
    assert not any(name in page for name in ("Theirs", "Her own flat", "Once hers"))
    for unit, status in ((mine, 200), (theirs, 404), (lives, 404), (was, 404)):
        assert client.get(f"/p/{token}/units/{unit.pk}/").status_code == status, unit
        if status == 404:
            for below in (f"photos/{picture.pk}/", "documents/status/", "documents/completion/", "no-access/"):
                assert client.get(f"/p/{token}/units/{unit.pk}/{below}").status_code in (404, 429), below
    for key in (mine.site_id, ada.pk, link.pk, picture.pk, new_id()):
        assert client.get(f"/p/{token}/units/{key}/").status_code in (404, 429)
    for before in ("s", "q", "v", "t", "copy"):
        assert client.get(f"/{before}/{token}/").status_code in (404, 429)
    link.refresh_from_db()
    assert link.uses == 1


def test_below_a_link_to_all_sites_a_site_that_was_handed_over_is_gone_at_once(client, site, office):
    _, token = make.make_portfolio_link(site.customer)
    unit = make.unit_of(site)
    assert client.get(f"/p/{token}/units/{unit.pk}/").status_code == 200
    operations.hand_over_site(
        site, to=make.make_party("Nora Newowner"), on=TODAY, reason="Sold", version=1, by=office, now=NOON
    )
    assert client.get(f"/p/{token}/units/{unit.pk}/").status_code == 404
    assert site.name not in client.get(f"/p/{token}/").content.decode()


# --- an old link ------------------------------------------------------------------------------------------------------


def test_once_the_site_changed_hands_the_former_customers_link_is_plain_and_a_tenants_is_not(client, site, office):
    tenant = make.make_party("Tom Tenant")
    make.unit_of(site).parties.create(party=tenant, role="occupier", since=date(2020, 1, 1))
    _, of_former = make.make_link(site, party=site.customer.pk, expires_at=YEAR)
    _, of_nobody = make.make_link(site, expires_at=YEAR)
    _, of_tenant = make.make_link(site, party=tenant.pk, expires_at=YEAR)
    operations.hand_over_site(
        site, to=make.make_party("Nora Newowner"), on=TODAY, reason="Sold", version=1, by=office, now=NOON
    )
    assert [client.get(f"/s/{token}/").status_code for token in (of_former, of_nobody, of_tenant)] == [404, 404, 200]


def test_a_link_to_a_unit_that_went_over_with_its_site_opens_that_unit_there(client, office):
    owner = make.make_party("Ada Owner")
    gone, into = make.make_site("A", customer=owner), make.make_site("B", customer=owner)
    flat = make.make_unit(gone, "Flat 1")
    gone.units.update(whole_site=False)
    make.make_observation(into, text="A fault in the other house")
    make.make_observation(gone, unit=flat, text="A fault in the flat")
    _, token = make.make_link(gone, unit=flat, expires_at=YEAR)
    from jobsite.premises import queries

    names = {row.pk: f"{row} (2)" for row in queries.clashing(gone, into)}
    operations.merge_sites(gone, into=into, names=names, reason="Twice", by=office, now=NOON)
    body = client.get(f"/s/{token}/").content.decode()
    assert "A fault in the flat" in body
    assert "A fault in the other house" not in body


def test_an_archived_site_opens_again_only_when_it_is_back(client, site, office):
    _, token = make.make_link(site, expires_at=YEAR)
    operations.archive_site(site, by=office, now=NOON)
    assert client.get(f"/s/{token}/").status_code == 404
    operations.bring_back_site(site, by=office, now=NOON)
    assert client.get(f"/s/{token}/").status_code == 200


def test_a_unit_that_was_taken_off_is_no_longer_shown(client, site, office):
    unit = make.make_unit(site, "The annexe")
    site.units.update(whole_site=False)
    _, token = make.make_link(site, unit=unit, expires_at=YEAR)
    assert client.get(f"/s/{token}/").status_code == 200
    operations.retire_unit(unit, by=office, now=NOON)
    assert client.get(f"/s/{token}/").status_code == 404


def test_once_a_customer_is_erased_nothing_that_was_given_to_them_opens(client, site, office):
    former = site.customer
    _, own = make.make_link(site, party=former.pk, expires_at=YEAR)
    _, everything = make.make_portfolio_link(former)
    _, quote = make.make_link(site, party=former.pk, purpose="quote", thing=new_id(), expires_at=YEAR)
    new = make.make_party("Nora Newowner")
    operations.hand_over_site(site, to=new, on=TODAY, reason="Sold", version=1, by=office, now=NOON)
    elsewhere, of_site = make.make_link(make.make_site("Elsewhere"), party=former.pk, expires_at=YEAR)
    manager = make.make_user("Mona Manager", "manager")
    erase_customer(former, id=new_id(), asked_on=TODAY, why="asked", by=manager, now=NOON)
    for path in (f"/s/{own}/", f"/s/{of_site}/", f"/p/{everything}/", f"/q/{quote}/"):
        assert client.get(path).status_code == 404, path
    elsewhere.refresh_from_db()
    assert elsewhere.withdrawn_at == NOON


def test_a_link_ends_at_its_instant_and_not_a_moment_later(site):
    _, token = make.make_link(site, expires_at=YEAR)
    assert find_link(token, purpose="status", now=YEAR - timedelta(microseconds=1)) is not None
    assert find_link(token, purpose="status", now=YEAR) is None


# --- machines ---------------------------------------------------------------------------------------------------------


def test_what_looks_at_mail_without_opening_it_is_not_counted(client, site):
    link, token = make.make_link(site, expires_at=YEAR)
    for method in ("head", "head", "options", "post", "put"):
        answer = knock(client, f"/s/{token}/", method=method)
        assert answer.status_code in (200, 405)
    link.refresh_from_db()
    assert (link.uses, link.last_used_at) == (0, None)
    knock(client, f"/s/{token}/")
    link.refresh_from_db()
    assert (link.uses, link.last_used_at) == (1, NOON)
    everything, of_all = make.make_portfolio_link(site.customer)
    for method in ("head", "get", "head"):
        knock(client, f"/p/{of_all}/", method=method)
    everything.refresh_from_db()
    assert everything.uses == 1


def test_a_search_engine_is_told_by_every_answer_and_by_no_robots_txt(client, site, office):
    """RFC 9309, 2.2.2 and 3: robots.txt lists what not to fetch, and is no access control. A crawler that is kept from the page
    never reads its header, and may list the address, which is the token, as it met it.
    """
    _, token = make.make_link(site, expires_at=YEAR)
    assert client.get("/robots.txt").status_code == 404
    for path in (f"/s/{token}/", f"/s/{token}", "/accounts/login/", "/health/", "/not-there/", "/robots.txt"):
        assert client.get(path)["X-Robots-Tag"] == "noindex, nofollow, noarchive", path
    client.force_login(office)
    assert client.get("/due/")["X-Robots-Tag"] == "noindex, nofollow, noarchive"


def test_also_what_no_view_answered_is_kept_nowhere(client, site):
    """The redirect to the slash holds the token, and a browser keeps a 301 for good unless it is told not to."""
    _, token = make.make_link(site, expires_at=YEAR)
    for path, status in ((f"/s/{token}", 301), (f"/s/{token}/nothing/here/", 404), (f"/p/{token}/nothing/here/", 404)):
        answer = client.get(path)
        assert (answer.status_code, answer["Cache-Control"], answer["Referrer-Policy"]) == (
            status,
            "no-store",
            "no-referrer",
        )


def test_an_error_below_a_link_is_kept_nowhere_and_tells_nothing(client, site, monkeypatch):
    _, token = make.make_link(site, expires_at=YEAR)
    client.raise_request_exception = False
    # A table that is not there stands in for whatever may break below the page.
    monkeypatch.setattr("jobsite.firm.models.Firm._meta.db_table", "not_there")
    answer = client.get(f"/s/{token}/")
    assert (answer.status_code, answer["Cache-Control"], answer["Referrer-Policy"]) == (500, "no-store", "no-referrer")
    assert token not in answer.content.decode()
    assert "not_there" not in answer.content.decode()


@pytest.mark.parametrize("route", PRIVATE_ROUTES, ids=lambda route: route.name)
def test_logs_know_every_private_address(route):
    token = new_token()
    path = address_of(route, token)
    assert token not in without_tokens(f'192.0.2.1 "GET {path} HTTP/1.1" 200 "https://works.example.com{path}"')
    assert token[:20] not in without_tokens(f"GET {address_of(route, token[:20])}")  # copied in part
    assert holds_token(path), "the edge must know it too: jobsite.logs"


def test_no_page_of_the_office_is_taken_for_a_private_one():
    """Its forms need the address that they come from (the CSRF check), which a private page never tells."""
    offices = [route for route in ALL if route.needs not in (BY_LINK, "nobody")]
    assert [route.name for route in offices if holds_token("/" + route.pattern)] == []


def test_a_page_names_no_other_host_and_its_token_only_in_its_own_address(client, site):
    picture_of(make.make_observation(site))
    _, token = make.make_link(site, expires_at=YEAR)
    body = client.get(f"/s/{token}/").content.decode()
    assert token not in body
    named = re.findall(r'(?:src|href|action)="([^"]+)"', body)
    assert named
    assert [one for one in named if urlsplit(one).scheme not in ("", "tel", "mailto", "data")] == []


def test_only_the_hash_is_kept(site):
    _, token = make.make_link(site, expires_at=YEAR)
    with connection.cursor() as cursor:
        cursor.execute("SELECT row_to_json(people_privatelink)::text FROM people_privatelink")
        kept = cursor.fetchone()[0]
    assert token not in kept
    assert token.encode().hex() not in kept  # as the database writes bytes
    assert len(token) == 43  # 32 bytes in base64 without padding (RFC 4648, section 5)
    assert PrivateLink._meta.get_field("token_hash").max_length == 32


def test_no_statement_to_the_database_holds_a_token(client, site):
    """So none stands in its log of slow statements either: the lookup is by the hash, whose timing tells nothing of the token."""
    _, token = make.make_link(site, expires_at=YEAR)
    wrong = new_token()
    with CaptureQueriesContext(connection) as asked:
        client.get(f"/s/{token}/")
        client.get(f"/s/{wrong}/")
    said = " ".join(one["sql"] for one in asked)
    assert "token_hash" in said
    assert token not in said
    assert wrong not in said
