"""The API's verbs on quotes that are being written: begun, described, their lines, thrown away."""

from decimal import Decimal

import pytest

from jobsite.ids import new_id
from remedials.quotes.models import Line, Offer, Quote
from tests.factories import make_costing, make_job, make_line, make_offer, make_site, make_terms
from tests.remedials.api.verbs import done, said_why_not
from tests.remedials.quoted import remedial_at, sent

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]


@pytest.fixture
def draft(site):
    return make_offer(remedial_at(site), remedial_at(site))


def keys(shown: dict) -> list[str]:
    return [line["key"] for line in shown["lines"]]


# --- begun, varied, revised, dropped ----------------------------------------------------------------------------------


def test_begin_a_quote_once(client, office, site):
    remedial = remedial_at(site)
    make_costing(remedial, "120.00")
    body = {"id": str(new_id()), "party": str(site.customer_id), "name": "Works", "remedials": [str(remedial.pk)]}
    shown = done(client, office, "quotes/begin", "quote.begun", status=201, **body)
    assert (shown["quote"], shown["state"], shown["net"], shown["to_pay"], shown["currency"]) == (
        body["id"], "draft", "120.00", "144.00", "GBP",
    )  # fmt: skip
    done(client, office, "quotes/begin", status=201, **body)
    assert Quote.objects.count() == 1
    again = said_why_not(client, office, "quotes/begin", **body | {"id": str(new_id())})
    assert again.startswith(f"Remedial {remedial.number} stands in quote")


def test_begin_refused(client, office, engineer, site):
    body = {"id": str(new_id()), "party": str(site.customer_id), "name": "Works"}
    said_why_not(client, engineer, "quotes/begin", 403, **body)
    assert said_why_not(client, office, "quotes/begin", **body) == "A quote is about a site: choose one."
    unknown = said_why_not(client, office, "quotes/begin", 400, **body | {"party": str(site.pk)})
    assert unknown == "{'party': ['There is no such row.']}"
    assert Quote.objects.count() == 0


def test_begin_a_variation(client, office, site):
    first = sent(remedial_at(site)).quote
    body = {"id": str(new_id()), "name": "Found", "variation_why": "Edwin: a burnt neutral"}
    body |= {"remedials": [str(remedial_at(site).pk)], "how": "each"}
    shown = done(client, office, f"quotes/{first.pk}/vary", "quote.begun", status=201, **body)
    made = Quote.objects.get(pk=shown["quote"])
    assert (made.variation_of, made.party, made.variation_why) == (first, first.party, "Edwin: a burnt neutral")
    why = said_why_not(
        client, office, f"quotes/{first.pk}/vary", 400, **body | {"id": str(new_id()), "variation_why": ""}
    )
    assert why == "{'variation_why': ['This field may not be blank.']}"


def test_revise_and_drop(client, office, site):
    offer = sent(remedial_at(site))
    where, body = f"quotes/{offer.quote_id}/revise", {"id": str(new_id())}
    shown = done(client, office, where, "quote.revised", status=201, **body)
    assert (shown["number"], shown["state"], len(shown["lines"])) == (2, "draft", 1)
    done(client, office, where, status=201, **body)
    draft = said_why_not(client, office, where, id=str(new_id()))
    assert draft.endswith("is still a draft: change that.")
    assert done(client, office, f"offers/{shown['id']}/drop", "quote.dropped") == {"quote": str(offer.quote_id)}
    assert said_why_not(client, office, f"offers/{offer.pk}/drop").endswith("Make the next version instead.")
    assert Offer.objects.get() == offer


def test_drop_a_quote_that_was_never_sent(client, office, draft):
    assert done(client, office, f"offers/{draft.pk}/drop", "quote.dropped") == {"quote": None}
    assert Quote.objects.count() == 0


# --- its particulars and lines ----------------------------------------------------------------------------------------


def test_describe_a_draft_changes_only_what_is_said(client, office, draft):
    Offer.objects.filter(pk=draft.pk).update(text_after="Thank you.")
    where = f"offers/{draft.pk}/describe"
    shown = done(client, office, where, "quote.described", version=1, text_before="Hello.", name="All of it")
    assert (shown["text_before"], shown["text_after"], shown["version"]) == ("Hello.", "Thank you.", 2)
    assert Quote.objects.get().name == "All of it"
    said_why_not(client, office, where, 412, version=1, text_before="No.")
    charge = said_why_not(client, office, where, reverse_charge=True)
    assert charge


def test_without_a_version_nothing_is_described(client, office, draft):
    client.force_login(office)
    answer = client.post(
        f"/api/v1/offers/{draft.pk}/describe/", {}, content_type="application/json",
        headers={"Idempotency-Key": f'"{new_id()}"'},
    )  # fmt: skip
    assert (answer.status_code, answer.json()["type"]) == (428, "urn:problem:versions:missing-if-match")


def test_add_a_line_for_a_remedial_and_one_in_words(client, office, site, draft):
    remedial = remedial_at(site)
    where = f"offers/{draft.pk}/add-lines"
    body = {"id": str(new_id()), "remedials": [str(remedial.pk)]}
    shown = done(client, office, where, "quote.lines-added", **body)
    assert shown["lines"][-1]["remedials"] == [str(remedial.pk)]
    done(client, office, where, **body)
    words = {"id": str(new_id()), "words": "Label every board", "price": "85.00", "cost": "30.00"}
    shown = done(client, office, where, "quote.lines-added", **words)
    assert [(line["words"], line["price"], line["vat"]) for line in shown["lines"][3:]] == [
        ("Label every board", "85.00", "17.00")
    ]
    assert said_why_not(client, office, where, id=str(new_id())) == "Say what is done, in plain words."


def test_edit_a_line(client, office, draft):
    line = draft.lines.first()
    where = f"quote-lines/{line.pk}/edit"
    shown = done(client, office, where, "quote.line-edited", version=1, price="120.00", words="New socket")
    assert (shown["price"], shown["vat"], shown["words"], shown["cost"]) == ("120.00", "24.00", "New socket", "60.00")
    assert shown["version"] == 2
    said_why_not(client, office, where, 412, version=1, price="130.00")
    letter = said_why_not(client, office, where, either="1")
    assert letter == "Write one letter, A to Z: lines with the same letter exclude each other."
    assert Line.objects.get(pk=line.pk).price == Decimal("120.00")


def test_engineers_see_and_change_no_line(client, engineer, draft):
    said_why_not(client, engineer, f"quote-lines/{draft.lines.first().pk}/edit", 403, price="1.00")
    assert {line.price for line in Line.objects.all()} == {Decimal("100.00")}


def test_lines_put_in_order_moved_and_taken_out(client, office, site):
    draft = make_offer(remedial_at(site, "C3"), remedial_at(site, "C1"))
    third = make_line(draft, words="Besides", position=5)
    one, two = (str(line.key) for line in draft.lines.exclude(pk=third.pk))
    last, where = str(third.key), f"offers/{draft.pk}"
    shown = done(client, office, f"{where}/group-by-danger", "quote.lines-ordered")
    assert keys(shown) == [two, one, last]
    shown = done(client, office, f"{where}/order-lines", "quote.lines-ordered", keys=[last, one])
    assert keys(shown) == [last, one, two]
    shown = done(client, office, f"quote-lines/{third.pk}/move", "quote.lines-ordered", before=None)
    assert keys(shown) == [one, two, last]
    done(client, office, f"quote-lines/{third.pk}/move", before=None)
    shown = done(client, office, f"{where}/remove-lines", "quote.line-removed", keys=[one])
    assert keys(shown) == [two, last]
    gone = said_why_not(client, office, f"{where}/remove-lines", 400, keys=[])
    assert gone == "{'keys': ['This list may not be empty.']}"


def test_take_over_what_remedials_are_priced_at_now(client, office, site, draft):
    line = draft.lines.first()
    make_costing(line.remedials.get(), "75.50")
    shown = done(client, office, f"offers/{draft.pk}/take-prices", "quote.line-edited")
    assert [row["price"] for row in shown["lines"]] == ["75.50", "100.00"]
    done(client, office, f"offers/{draft.pk}/take-prices")


def test_what_was_sent_is_not_changed(client, office, site):
    make_terms()
    make_job()
    offer = sent(remedial_at(make_site("Elsewhere")))
    line = offer.lines.get()
    never = "what was sent never changes. Make the next version instead."
    for where, body in (
        (f"offers/{offer.pk}/add-lines", {"id": str(new_id()), "words": "x"}),
        (f"offers/{offer.pk}/remove-lines", {"keys": [str(line.key)]}),
        (f"offers/{offer.pk}/order-lines", {"keys": [str(line.key)]}),
        (f"offers/{offer.pk}/group-by-danger", {}),
        (f"offers/{offer.pk}/take-prices", {}),
        (f"offers/{offer.pk}/describe", {"name": "x"}),
        (f"quote-lines/{line.pk}/edit", {"words": "x"}),
        (f"quote-lines/{line.pk}/move", {"before": None}),
    ):
        assert said_why_not(client, office, where, **body).endswith(never)
