"""What every request meets first: text that no database can hold is turned away, a cookie of another program is not."""

import pytest

from tests.factories import make_site, make_user

pytestmark = pytest.mark.django_db
UNREADABLE = "This address cannot be read."


@pytest.mark.parametrize("address", ["/%00", "/?q=%00", "/%FF", "/?q=%ED%A0%80", "/?%C3=1"])
def test_an_address_that_no_database_can_hold_is_refused(client, address):
    answer = client.get(address)
    assert (answer.status_code, answer.content.decode()) == (400, UNREADABLE)
    told = client.get("/api/v1" + address)
    assert (told.status_code, told.json()["detail"]) == (400, UNREADABLE)


def test_a_nul_in_a_cookie_is_refused_as_its_reader_finds_it(client):
    """A quoted cookie's \\000 is read as the octet (Python's http.cookies)."""
    answer = client.get("/accounts/login/", headers={"cookie": r'seen="a\000b"'})
    assert (answer.status_code, answer.content.decode()) == (400, UNREADABLE)


@pytest.mark.parametrize("value", ["H#.%BAimoH-", "%00", "100%", "\xe9"])
def test_a_cookie_of_another_program_is_its_own_business(client, value):
    """In a cookie a % stands for itself (RFC 6265, section 4.1.1)."""
    make_site(name="Sample House")
    client.force_login(make_user("Olive Deskworth", "office"))
    kept = client.cookies["sessionid"].value
    answer = client.get("/sites/", headers={"cookie": f"theirs={value}; sessionid={kept}"})
    assert "Sample House" in answer.content.decode()
    told = client.get("/api/v1/sites/", headers={"cookie": f"theirs={value}; sessionid={kept}"}).json()
    assert [row["name"] for row in told["results"]] == ["Sample House"]


def test_a_session_that_none_can_be_is_nobodys(client):
    answer = client.get("/api/v1/sites/", headers={"cookie": "sessionid=H#.%BAimoH-"})
    assert (answer.status_code, answer.json()["title"]) == (401, "Not signed in")
