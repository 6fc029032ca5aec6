"""What may be looked up about VAT beside the fields where it matters."""

from decimal import Decimal

import pytest
from django.urls import reverse

from inspections import operations as facts
from jobsite.ids import new_id
from remedials.quotes.queries.vat_help import vat_help
from tests import factories as make
from tests.factories import NOON, TODAY
from tests.remedials.desk import statements, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def draft(site, office):
    make.make_terms()
    remedial = make.make_remedial(make.make_observation(site))
    return make.make_offer(remedial, by=office, made_at=NOON)


def test_the_form_of_a_line_says_what_bears_the_energy_saving_rate(draft, at_desk) -> None:
    words = text_of(at_desk.get(reverse("quotes:line_edit", args=[draft.lines.get().pk])))
    for said in (
        "The work is done by 31 Mar 2027.",
        "from 1 Feb 2024 in a building solely for a relevant charitable purpose",
        "electrical storage batteries. Solely to store electricity",
        "charging points for vehicles, remedial works in general.",
        "this is from memory: check it.",
        "Check the current rules on VAT, or ask the firm's adviser.",
    ):
        assert said in words
    assert "storage batteries" in text_of(at_desk.get(reverse("quotes:lines_add", args=[draft.quote_id])))


def test_the_particulars_say_when_the_reverse_charge_applies(draft, at_desk) -> None:
    words = text_of(at_desk.get(reverse("quotes:describe", args=[draft.quote_id])))
    assert "The firm and the customer are both registered for VAT in the UK." in words
    assert "installing electrical systems is. (from memory: check it)" in words
    assert "It never applies to a consumer." in words
    assert "Consumers: days to cancel, after the day of the contract: 14 days SI 2013/3134" in words
    assert "Check the current law on consumers' contracts, or ask the firm's adviser." in words


def test_what_the_firm_put_right_is_said(qualified, now) -> None:
    facts.correct_fact(
        "vat.energy.until", id=new_id(), value="2028-03-31", source="The Act as amended", reason="Looked up",
        holds_from=TODAY, by=qualified, now=now,
    )  # fmt: skip
    with statements() as sql:
        found = vat_help(TODAY)
    assert (found["conditions"][0], len(sql)) == ("The work is done by 31 Mar 2028.", 1)


def test_a_number_whose_check_digits_do_not_agree_is_pointed_out(draft, at_desk) -> None:
    at = reverse("quotes:build", args=[draft.quote_id])
    doubt = "The check digits of this VAT number don't agree: check it."
    assert doubt not in text_of(at_desk.get(at))
    for number, said in (("GB 123 4567 82", False), ("GB 123 4567 83", True)):
        draft.customer_vat_number = number
        draft.save()
        assert (doubt in text_of(at_desk.get(at))) == said


def test_what_a_draft_says_of_the_end_of_the_relief_stands_among_its_warnings(draft, at_desk) -> None:
    make.make_line(draft, words="Fit a battery", treatment="energy-saving", rate=Decimal(0))
    words = text_of(at_desk.get(reverse("quotes:build", args=[draft.quote_id])))
    assert "what is done after 31 Mar 2027 bears 5 %. The rate follows the tax point" in words
