"""How the firm's people are named to customers."""

import pytest
from django.urls import reverse

from inspections.operations import give_danger_notice, make_safe
from inspections.queries.notices import notice_document
from jobsite.firm.models import Firm
from jobsite.firm.operations import describe_firm
from jobsite.ids import new_id
from jobsite.people.names import AsCustomersRead, for_customers, words_as_customers_read
from tests import factories as make
from tests.factories import NOON, TODAY, recorded
from tests.jobsite.papers import words_of
from tests.jobsite.premises import posted, text_of

PEOPLE = ("Mina Vale", "Mina Valentine", "Tam O'Dell", "Cher", "Jean-Luc van der Berg")


@pytest.mark.parametrize(
    ("name", "short"),
    [("Mina Vale", "Mina"), ("Jean-Luc van der Berg", "Jean-Luc"), ("Cher", "Cher"), ("", ""), ("  Tam  O ", "Tam")],
)
def test_a_name_is_shortened_to_its_first_word_unless_the_firm_chooses(name, short) -> None:
    assert for_customers(name, surnames=False) == short
    assert for_customers(name, surnames=True) == name


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("key with Mina Vale", "key with Mina"),
        ("MINA VALE has it", "Mina has it"),
        ("Mina Valentine, not Mina Vale", "Mina, not Mina"),
        ("Mina Valetta lives there", "Mina Valetta lives there"),
        ("Cher and Tam O'Dell's van", "Cher and Tam's van"),
        ("asked Jean-Luc van der Berg.", "asked Jean-Luc."),
        ("nobody", "nobody"),
    ],
)
def test_free_text_names_the_firms_people_shorter_and_nobody_else(text, read) -> None:
    assert AsCustomersRead(False, PEOPLE).words(text) == read
    assert AsCustomersRead(True, PEOPLE).words(text) == text


def test_every_text_of_a_documents_facts_is_read_so_and_nothing_else_changes() -> None:
    facts = {"a": ["Mina Vale", 3, None, {"b": "by Mina Vale", "c": True}], "Mina Vale": ""}
    assert AsCustomersRead(False, PEOPLE).everywhere(facts) == {
        "a": ["Mina", 3, None, {"b": "by Mina", "c": True}],
        "Mina Vale": "",
    }


@pytest.mark.django_db
def test_the_firm_chooses_and_the_ledger_says_so(manager) -> None:
    assert not words_as_customers_read().surnames
    with recorded() as told:
        describe_firm(surnames=True, name="One & Sons", by=manager, now=NOON)
        describe_firm(surnames=True, name="One & Sons", by=manager, now=NOON)
        describe_firm(name="One & Sons", by=manager, now=NOON)
    assert [(entry.verb, entry.facts["surnames"]) for entry in told] == [("firm.described", True)]
    assert words_as_customers_read() == AsCustomersRead(True, (manager.name,))


@pytest.mark.django_db
def test_the_firms_page_says_and_changes_it(client, manager) -> None:
    client.force_login(manager)
    assert "by first name only" in text_of(client.get(reverse("people:firm")))
    where = reverse("people:firm_edit")
    assert client.post(where, posted(client.get(where)) | {"surnames": "on"}).status_code == 302
    assert Firm.objects.get().surnames
    assert "by first name and surname" in text_of(client.get(reverse("people:firm")))
    form = posted(client.get(where))
    form.pop("surnames", None)
    assert client.post(where, form).status_code == 302
    assert not Firm.objects.get().surnames


@pytest.mark.django_db
@pytest.mark.parametrize("surnames", [False, True])
def test_a_danger_notice_keeps_the_names_that_it_was_given_with(site, engineer, manager, surnames) -> None:
    describe_firm(name="One & Sons", surnames=surnames, by=manager, now=NOON)
    row = make.make_observation(site, "Live parts can be touched", code="C1")
    make_safe(
        row, id=new_id(), how="locked", what="way 3 off", lock="L7", key_holder=engineer.name, look_again_on=TODAY,
        agreed_with="Petra Landlady", no_photo="too dark", by=engineer, now=NOON,
    )  # fmt: skip
    notice = give_danger_notice(
        [row], id=new_id(), why="Touch.", advised="Leave it.", given_to="Petra", how="hand", by=engineer, now=NOON
    )
    wanted = engineer.name if surnames else "Edwin"
    words = words_of(notice_document(notice).pdf)
    assert f"By {wanted}, One & Sons" in words
    assert f"key held by {wanted};" in words
    describe_firm(name="One & Sons", surnames=not surnames, by=manager, now=NOON)
    notice.refresh_from_db()
    assert f"By {wanted}, One & Sons" in words_of(notice_document(notice).pdf)
