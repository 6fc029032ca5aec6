"""The document of a quote: what it must say for a consumer, a business, under the reverse charge; whatever was typed."""

from decimal import Decimal
from io import BytesIO

import pytest
from pypdf import PdfReader

from jobsite.firm.models import Firm
from remedials.quotes.models import Offer
from remedials.quotes.queries.document import quote_document
from remedials.quotes.queries.said import offer_as_said
from tests import factories as make
from tests.factories import NOON

pytestmark = pytest.mark.django_db


@pytest.fixture
def firm(db) -> Firm:
    make.make_terms(vat_number="GB 999 9999 73", rates=())
    return Firm.objects.create(
        name="Sample Electrical", address="2 Trade Road\nSampleton", phone="01632 960555", email="office@sample.example"
    )


def made(offer: Offer, **more):
    return quote_document(offer_as_said(offer, now=NOON), heads=(), now=NOON, **more)


def text_of(offer: Offer, **more) -> str:
    pages = PdfReader(BytesIO(made(offer, **more).pdf)).pages
    return " ".join("\n".join(one.extract_text() for one in pages).split())


def lines(*some: dict) -> list[dict]:
    return [{"words": "Fit a cover", "danger": "Live parts can be touched.", "code": "C1"} | one for one in some]


def in_order(text: str, *words: str) -> bool:
    at = -1
    for word in words:
        at = text.find(word, at + 1)
        if at < 0:
            raise AssertionError(f"{word!r} is missing, or not after what stands before it in: {text}")
    return True


def test_a_consumer_reads_sums_with_vat_first_and_their_rights(firm, site) -> None:
    text = text_of(make.make_offer(sites=[site], prices=lines({}), name="After the inspection"))
    assert in_order(
        text, "Quote 1001, version 1", "After the inspection", "Petra Landlady", "Sample House, 1 Sample Street",
        "Stands until 5 Mar 2026, that day included", "VAT number GB 999 9999 73", "This is a quotation, not a VAT invoice.",
        "What is marked C1 or C2 stays dangerous until it is put right", "With VAT VAT Without", "Danger present",
        "Fit a cover", "Live parts can be touched.", "£120.00", "£20.00 20 %", "£100.00", "Total with VAT £120.00",
        "VAT at 20 % of £100.00 £20.00", "Total without VAT £100.00", "How to answer", "01632 960555",
        "Your right to cancel", "within 14 days", "Cancellation form", "Sample Electrical, 2 Trade Road",
        "If you want the work to begin at once", "I ask you expressly", "Answer slip to quote 1001, version 1", "Signature",
    )  # fmt: skip


def test_a_business_reads_net_first_and_no_rights_of_consumers(firm, site) -> None:
    text = text_of(make.make_offer(sites=[site], prices=lines({}), consumer=False))
    assert in_order(
        text, "Without VAT VAT With VAT", "£100.00", "£120.00", "Total without VAT £100.00", "Total with VAT"
    )
    assert "cancel" not in text.lower()
    assert "begin" not in text


def test_the_reverse_charge_says_what_the_customer_accounts_for(firm, site) -> None:
    charge = {
        "reverse_charge": True,
        "customer_vat_number": "GB 888 8888 62",
        "cis_reportable": True,
        "end_user": False,
    }
    text = text_of(make.make_offer(sites=[site], prices=lines({}), consumer=False, **charge))
    assert in_order(
        text, "Total to pay to us £100.00", "VAT that you account for to the tax authority £20.00",
        "Reverse charge: VAT Act 1994 Section 55A applies",
    )  # fmt: skip
    assert "£120.00" not in text


def test_a_firm_that_charges_no_vat_speaks_of_none(firm, site) -> None:
    plain = {"rate": Decimal(0), "vat": Decimal(0)}
    offer = make.make_offer(sites=[site], prices=lines(plain), vat_registered=False)
    text = text_of(offer)
    assert in_order(text, "What is done Price", "£100.00", "Total £100.00")
    assert "with VAT" not in text
    assert "GB 999" not in text


def test_how_lines_hang_together_is_said_in_words(firm, site) -> None:
    offer = make.make_offer(
        sites=[site], prices=lines({"either": "a"}, {"either": "a", "price": Decimal(300)}, {"certainty": "provisional"}),
    )  # fmt: skip
    first = offer.lines.first()
    make.make_line(offer, words="And paint it", needs=[first.key], certainty="capped", optional=True)
    make.make_line(offer, words="Call-out", kind="call-out", visits=1)
    text = text_of(offer)
    assert in_order(
        text, "Either this or line 2: choose one of them.", "Either this or line 1: choose one of them.",
        "Provisional: charged by what it takes", "Charged once with whatever is accepted.", "Optional, besides",
        "Only together with line 1.", "Charged by what it takes, and not more than this.", "of alternatives the dearest",
    )  # fmt: skip
    slip = text[text.index("Answer slip") :]
    assert ("And paint it" in slip, "Call-out" in slip) == (True, False)


def test_lines_of_a_kind_stand_together_and_mixed_ones_without_heads(firm, site) -> None:
    both = lines({}, {"code": "C3"})
    heads = "Danger present", "Improvement recommended"
    text = text_of(make.make_offer(sites=[site], prices=both))
    assert in_order(text, *heads)
    text = text_of(make.make_offer(sites=[site], prices=[*both, *lines({})]))
    assert not any(head in text for head in heads)


def test_whatever_was_typed_is_printed_and_never_obeyed(firm, site) -> None:
    typed = '<b>bold</b> & <script>alert(1)</script> #let x = 1 *star* _under_ @ref $x$ \\ "quoted" [[Łódź] Ελλάδα Привет 配電盤 \U0001f600'
    offer = make.make_offer(
        sites=[site], prices=lines({"words": typed, "danger": typed}), text_before=typed, name=typed
    )
    text = text_of(offer)
    shown = " ".join(typed.replace("配電盤", "[?][?][?]").replace("\U0001f600", "[?]").split())
    assert text.replace(" ", "").count(shown.replace(" ", "")) >= 4


def test_the_same_words_make_the_same_document_and_other_words_another_fingerprint(firm, site) -> None:
    offer = make.make_offer(sites=[site], prices=lines({}))
    first, second = made(offer), made(offer)
    assert (first.pdf, first.fingerprint) == (second.pdf, second.fingerprint)
    offer.lines.update(price=Decimal("100.01"))
    assert made(offer).fingerprint != first.fingerprint


def test_each_page_bears_the_fingerprint_and_its_number(firm, site) -> None:
    document = made(make.make_offer(sites=[site], prices=lines(*[{}] * 60)))
    pages = [" ".join(one.extract_text().split()) for one in PdfReader(BytesIO(document.pdf)).pages]
    mark = " ".join(document.fingerprint[at : at + 4] for at in range(0, 16, 4))
    assert len(pages) > 3
    for number, text in enumerate(pages, 1):
        assert f"fingerprint {mark}" in text
        assert f"page {number} of {len(pages)}" in text


def test_a_draft_says_that_it_is_one(firm, site) -> None:
    offer = make.make_offer(sites=[site], prices=lines({}))
    assert "(draft, not sent)" in text_of(offer, draft=True)
    assert "(draft" not in text_of(offer)


def test_no_address_of_a_private_page_stands_in_it(firm, site) -> None:
    """The document is kept and may be handed on: who has it must not be able to answer."""
    offer = make.make_sent_offer(sites=[site], prices=lines({}))
    _, token = make.make_quote_link(offer)
    text = text_of(offer)
    assert token not in text
    assert "/q/" not in text


def test_what_is_said_stands_in_sums_of_two_decimals_that_add_up(firm, site) -> None:
    some = (
        {"price": Decimal("0.01")},
        {"price": Decimal("999999.99")},
        {"price": Decimal("33.33"), "rate": Decimal(5)},
    )
    said = offer_as_said(make.make_offer(sites=[site], prices=lines(*some)), now=NOON)
    pays = [Decimal(line["to_pay"]) for line in said["lines"]]
    assert Decimal(said["totals"]["to_pay"]) == sum(pays)
    assert all(value == f"{Decimal(value):.2f}" for line in said["lines"] for value in (line["price"], line["vat"]))
