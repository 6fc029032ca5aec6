"""`manage.py start_firm`: it asks on a terminal, says what is missing elsewhere, and its link leads to signing in."""

import re
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db.migrations.executor import MigrationExecutor
from django.urls import reverse

from jobsite.firm.queries import the_firm
from jobsite.people.models import User

pytestmark = pytest.mark.django_db


class Terminal(StringIO):
    """What a person types."""

    def isatty(self) -> bool:
        return True


def started(**options) -> str:
    out = StringIO()
    call_command("start_firm", stdout=out, **options)
    return out.getvalue()


def test_it_asks_for_what_it_is_not_given(monkeypatch, capsys):
    monkeypatch.setattr("sys.stdin", Terminal("Spark Ltd\n\n  max@example.com \nMax First\n"))
    said = started()
    user = User.objects.get()
    assert (the_firm().name, user.email, user.name) == ("Spark Ltd", "max@example.com", "Max First")
    asked = capsys.readouterr().out
    assert asked == (
        "The firm's name: The first manager's e-mail address: The first manager's e-mail address: "
        "The first manager's name: "
    )
    assert said.startswith("Spark Ltd is ready.")


def test_without_a_terminal_it_says_what_is_missing(monkeypatch):
    monkeypatch.setattr("sys.stdin", StringIO("Spark Ltd\n"))
    with pytest.raises(CommandError, match="The first manager's e-mail address is needed: --email"):
        started(name="Spark Ltd")
    assert User.objects.count() == 0


def test_a_mistyped_address_makes_no_account():
    with pytest.raises(CommandError, match="This is no e-mail address: max"):
        started(name="Spark Ltd", email="max", manager="Max First")
    assert User.objects.count() == 0


@pytest.mark.parametrize("given", ["", "http://localhost:8123/"])
def test_the_link_names_where_the_program_runs_and_leads_to_signing_in(client, settings, given):
    settings.SITE_ADDRESS = "http://localhost:8456"
    said = started(name="Spark Ltd", email="max@example.com", manager="Max First", address=given)
    host, path = re.search(r"(http://localhost:\d+)(/accounts/\S+)", said).groups()
    assert host == (given.rstrip("/") or settings.SITE_ADDRESS)
    form = client.get(path, follow=True)
    chosen = {"password1": "lantern-otter-42", "password2": "lantern-otter-42"}
    done = client.post(form.request["PATH_INFO"], chosen, follow=True).content.decode()
    assert f'href="{reverse("account_login")}">Sign in</a>' in done
    signed_in = client.post(reverse("account_login"), {"login": "max@example.com", "password": "lantern-otter-42"})
    assert signed_in.status_code == 302


def test_it_waits_for_the_tables(db, monkeypatch):
    """In a second terminal, while the first start is still making them."""
    monkeypatch.setattr(MigrationExecutor, "migration_plan", lambda *_: [("people", "0001_start")])
    with pytest.raises(CommandError, match="Wait until the program says"):
        call_command("start_firm", name="New Firm", email="nina@example.com", manager="Nina New")
    assert not User.objects.exists()
