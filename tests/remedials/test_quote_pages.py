"""The pages on which a quote is begun and built: what they say and keep, and how many statements they ask for."""

from decimal import Decimal

import pytest

from jobsite.ids import new_id
from remedials.quotes.models import Line, LineRemedial, Offer, Quote
from remedials.quotes.operations.answering import Said, answer_offer
from tests import factories as make
from tests.factories import NOON, TODAY
from tests.remedials.desk import hrefs, statements, text_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def cover(site):
    remedial = make.make_remedial(make.make_observation(site, code="C2", place="Kitchen"), work="Fit a cover")
    make.make_costing(remedial, "120.00", cost="70.00", plain="We fit a cover")
    return remedial


@pytest.fixture
def draft(site, cover, office):
    return make.make_offer(cover, by=office, prices=[{"price": Decimal(120), "cost": Decimal(70)}])


def at(thing: Quote | Offer | Line, name: str = "") -> str:
    if isinstance(thing, Line):
        return f"/quote-lines/{thing.pk}/{name}"
    return f"/quotes/{thing.quote_id if isinstance(thing, Offer) else thing.pk}/{name}"


def values(line: Line, **more):
    found = {"words": line.words, "danger": line.danger, "price": line.price, "cost": line.cost}
    found |= {"treatment": line.treatment, "certainty": line.certainty, "either": "", "version": line.offer.version}
    return found | more


def many(site, count: int, by) -> Offer:
    """A draft of `count` lines, each for a remedial with an observation and a costing."""
    offer = make.make_offer(sites=[site], by=by)
    for number in range(count):
        remedial = make.make_remedial(make.make_observation(site, f"Defect {number}", by=by), by=by)
        make.make_costing(remedial, by=by)
        make.make_line(offer, remedial, position=number + 1)
    return offer


# --- beginning --------------------------------------------------------------------------------------------------------


def test_new_without_a_site_says_what_to_do_first(at_desk):
    assert "Open the site first" in text_of(at_desk.get("/quotes/new/"))


def test_new_shows_what_can_be_offered_by_danger_and_to_whom(at_desk, site, cover):
    agent = make.make_party("Amber Agent")
    make.unit_of(site).parties.create(party=agent, role="approver", limit_pounds=500, since=TODAY)
    declined = make.make_remedial(make.make_observation(site, code="C3"), stage="declined", work="Label it")
    response = at_desk.get("/quotes/new/", {"site": site.pk})
    text = text_of(response)
    assert "Amber Agent, approves work up to £500.00" in text
    assert "Petra Landlady, customer" in text
    assert text.index("C2: potentially dangerous") < text.index("We fit a cover")
    assert "Declined earlier" in text
    assert f"/remedials/{declined.pk}/offer-again/" in hrefs(response)
    assert response.context["form"].initial["party"] == str(agent.pk)
    assert response.context["form"].ticked == {str(cover.pk)}


def test_new_shows_in_which_quote_a_remedial_stands(at_desk, site, draft):
    response = at_desk.get("/quotes/new/", {"site": site.pk})
    assert f"in quote {draft.quote.number}" in text_of(response)
    assert b'name="remedials"' not in response.content


def test_new_begins_a_quote_and_twice_is_one(at_desk, site, cover):
    sent = {"id": new_id(), "party": site.customer_id, "name": "Kitchen", "how": "each", "remedials": [cover.pk]}
    sent |= {"owner": make.anybody("office").pk}
    for _ in range(2):
        response = at_desk.post(f"/quotes/new/?site={site.pk}", sent)
        quote = Quote.objects.get()
        assert response["Location"] == at(quote, "build/")
    assert [line.words for line in Line.objects.all()] == ["We fit a cover"]


def test_new_keeps_what_was_typed_and_says_what_is_wrong(at_desk, site, cover):
    sent = {"id": new_id(), "name": "", "how": "each", "remedials": [cover.pk]}
    response = at_desk.post(f"/quotes/new/?site={site.pk}", sent)
    assert response.status_code == 422
    assert response.context["form"].ticked == {str(cover.pk)}
    assert {"party", "name", "owner"} <= set(response.context["form"].errors)


def test_new_for_a_customer_shows_all_their_sites(at_desk, site, cover):
    other = make.make_site("Other House", customer=site.customer)
    make.make_remedial(make.make_observation(other), work="There too")
    text = text_of(at_desk.get("/quotes/new/", {"party": site.customer_id}))
    assert "We fit a cover" in text
    assert "There too" in text


def test_variation_says_what_was_found_and_stands_at_the_first_quote(at_desk, site, office):
    first = make.make_sent_offer(make.make_remedial(make.make_observation(site)), by=office)
    found = make.make_remedial(make.make_observation(site, "Scorched joint", code="C2"), work="Remake the joint")
    sent = {"id": new_id(), "party": site.customer_id, "name": "Found", "how": "each", "remedials": [found.pk]}
    sent |= {"owner": office.pk, "variation_why": "Scorched joint behind the cooker, found by Edwin"}
    refused = at_desk.post(at(first, "variation/"), sent | {"variation_why": ""})
    assert "variation_why" in refused.context["form"].errors
    at_desk.post(at(first, "variation/"), sent)
    made = Quote.objects.get(variation_of=first.quote)
    assert f"Quote {made.number}: Found" in text_of(at_desk.get(at(first)))
    text = text_of(at_desk.get(at(made)))
    assert f"Variation of Quote {first.quote.number}" in text
    assert "found by Edwin" in text


# --- building ---------------------------------------------------------------------------------------------------------


def test_build_shows_lines_with_cost_and_margin_and_what_to_look_at(at_desk, draft):
    text = text_of(at_desk.get(at(draft, "build/")))
    for words in (
        "Quote 1001, version 1",
        "Line 1 is a C2 that is not made safe: a quote makes nothing safe.",
        "£120.00 £24.00 20 % £70.00 £50.00 (41.7 %)",
        "To pay £144.00",
        "Margin £50.00 (41.7 %)",
    ):
        assert words in text


def test_build_says_where_its_party_may_not_approve_all_of_it(at_desk, site, draft):
    agent = make.make_party("Amber Agent")
    make.unit_of(site).parties.create(party=agent, role="approver", limit_pounds=100, since=TODAY)
    draft.quote.party = agent
    draft.quote.save()
    said = "Amber Agent may approve up to £100.00 at Sample House, and this comes to £144.00"
    assert said in text_of(at_desk.get(at(draft, "build/")))


def test_remedial_of_an_accepted_line_leads_to_a_variation(at_desk, site, cover, office):
    offer = make.make_sent_offer(cover, by=office)
    page = f"/remedials/{cover.pk}/"
    assert at(offer, "variation/") not in hrefs(at_desk.get(page))
    answer_offer(
        offer, id=new_id(), says={offer.lines.get().pk: Said("yes")}, name="Petra", how="phone", given_at=NOON,
        fingerprint=offer.fingerprint, party=offer.quote.party, by=office, now=NOON,
    )  # fmt: skip
    assert at(offer, "variation/") in hrefs(at_desk.get(page))


def test_build_of_what_was_sent_leads_to_its_page(at_desk, site, cover, office):
    sent = make.make_sent_offer(cover, by=office)
    assert at_desk.get(at(sent, "build/"))["Location"] == at(sent)


def test_an_empty_draft_says_what_to_do_first(at_desk, site, office):
    text = text_of(at_desk.get(at(make.make_offer(sites=[site], by=office), "build/")))
    assert "No line yet" in text
    assert "There is nothing to offer yet: add a line." in text


def test_line_is_edited_in_place(at_desk, draft):
    line = draft.lines.get()
    form = at_desk.get(at(line), **HTMX)
    assert form.content.decode().startswith(f'<tr id="l-{line.key}"')
    kept = at_desk.post(at(line), values(line, price="99.99"), **HTMX)
    assert kept.status_code == 200
    assert "£99.99 £20.00" in text_of(kept)
    assert 'id="totals" hx-swap-oob="true"' in kept.content.decode()
    left = at_desk.get(at(line), {"leave": "1"}, **HTMX)
    assert left.content.decode().lstrip().startswith(f'<tr id="l-{line.key}"')


def test_line_is_edited_on_a_page_of_its_own_without_javascript(at_desk, draft):
    line = draft.lines.get()
    assert "Keep the line" in text_of(at_desk.get(at(line)))
    response = at_desk.post(at(line), values(line, price="99.99"))
    assert response["Location"] == f"{at(draft, 'build/')}#l-{line.key}"


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"price": "-1"}, "price"),
        ({"price": "1000000000"}, "price"),
        ({"price": "1.005"}, "price"),
        ({"price": "a lot"}, "price"),
        ({"words": ""}, "words"),
        ({"either": "1"}, "either"),
        ({"treatment": "none"}, "treatment"),
    ],
)
def test_bad_input_is_said_beside_its_field_and_nothing_is_lost(at_desk, draft, typed, field):
    line = draft.lines.get()
    response = at_desk.post(at(line), values(line, danger="Kept: ¿дом? 家", **typed))
    assert response.status_code == 422
    assert field in response.context["form"].errors
    assert "Kept: ¿дом? 家" in text_of(response)
    assert Line.objects.get(pk=line.pk).price == Decimal(120)


def test_html_stays_text(at_desk, draft):
    line = draft.lines.get()
    at_desk.post(at(line), values(line, words="<script>alert(1)</script>"))
    content = at_desk.get(at(draft, "build/")).content.decode()
    assert "&lt;script&gt;alert(1)" in content
    assert "<script>alert" not in content


def test_two_people_edit_one_line_and_the_second_sees_both(at_desk, draft, manager):
    line = draft.lines.get()
    seen = values(line)
    at_desk.post(at(line), seen | {"price": "110.00"})
    response = at_desk.post(at(line), seen | {"price": "90.00"})
    assert response.status_code == 422
    assert response.context["form"]["price"].theirs == "110.00"
    assert "Save mine over theirs" in text_of(response)
    version = response.context["form"]["version"].value()
    assert at_desk.post(at(line), seen | {"price": "90.00", "version": version}).status_code == 302
    assert Line.objects.get(pk=line.pk).price == Decimal(90)


def test_totals_while_somebody_types_and_nothing_is_saved(at_desk, draft):
    line = draft.lines.get()
    typed = at_desk.post(at(line, "sums/"), values(line, price="200", treatment="reduced"), **HTMX)
    assert "To pay £210.00" in text_of(typed)
    wrong = text_of(at_desk.post(at(line, "sums/"), values(line, price="much"), **HTMX))
    assert "To pay £144.00" in wrong
    assert "what is wrong counts as it was kept" in wrong
    assert Line.objects.get(pk=line.pk).price == Decimal(120)


def test_lines_are_moved_taken_out_and_put_in_order_by_buttons(at_desk, site, draft):
    other = make.make_line(draft, make.make_remedial(make.make_observation(site, code="C1")), position=5)
    first = draft.lines.first()
    assert at_desk.post(at(other, "move/"), {"before": first.key}).status_code == 302
    assert [line.code for line in draft.lines.all()] == ["C1", "C2"]
    at_desk.post(at(other, "move/"), {"before": "end"})
    assert "Order by danger" in text_of(at_desk.get(at(draft, "build/")))
    at_desk.post(at(draft, "order/"))
    assert [line.code for line in draft.lines.all()] == ["C1", "C2"]
    at_desk.post(at(other, "remove/"))
    assert [line.code for line in draft.lines.all()] == ["C2"]


def test_lines_are_added_for_remedials_and_without_one(at_desk, site, draft):
    more = make.make_remedial(make.make_observation(site, code="C3"), work="Label it")
    assert "Label it" in text_of(at_desk.get(at(draft, "lines/")))
    nothing = at_desk.post(at(draft, "lines/"), {"id": new_id(), "how": "each"})
    assert nothing.status_code == 422
    assert "Tick at least one." in text_of(nothing)
    at_desk.post(at(draft, "lines/"), {"id": new_id(), "how": "each", "remedials": [more.pk]})
    free = {
        "kind": "free",
        "id": new_id(),
        "words": "Make good",
        "price": "80",
        "treatment": "standard",
        "site": site.pk,
    }
    for _ in range(2):
        assert at_desk.post(at(draft, "lines/"), free).status_code == 302
    assert [line.words for line in draft.lines.all()] == ["Fit a cover", "Label it", "Make good"]
    text = text_of(at_desk.get(at(draft, "build/")))
    assert "Line 3 stands for no remedial" in text
    assert f"Line 2: remedial {more.number} is not priced yet." in text


def test_prices_are_taken_over_from_the_remedials(at_desk, draft, cover):
    cover.costing.set_price, cover.costing.set_why = Decimal(150), "agreed"
    cover.costing.save()
    assert "Line 1 asks £120.00; its remedials are priced at £150.00 now." in text_of(at_desk.get(at(draft, "build/")))
    at_desk.post(at(draft, "prices/"))
    line = draft.lines.get()
    assert (line.price, line.vat) == (Decimal(150), Decimal(30))


def test_particulars_say_each_condition_of_the_reverse_charge(at_desk, draft, office):
    sent = {"version": 1, "name": "Kitchen", "owner": office.pk, "consumer": "no", "valid_until": "2026-03-31"}
    refused = at_desk.post(at(draft, "describe/"), sent | {"reverse_charge": "on"})
    assert set(refused.context["form"].errors) == {"customer_vat_number", "cis_reportable", "end_user"}
    held = {"reverse_charge": "on", "customer_vat_number": "123456789", "cis_reportable": "yes", "end_user": "no"}
    assert at_desk.post(at(draft, "describe/"), sent | held).status_code == 302
    draft.refresh_from_db()
    assert (draft.reverse_charge, draft.cis_reportable, draft.end_user, draft.consumer) == (True, True, False, False)
    assert "the customer accounts for £24.00 VAT" in text_of(at_desk.get(at(draft, "build/")))


# --- versions ---------------------------------------------------------------------------------------------------------


def test_next_version_and_what_changed_in_it(at_desk, site, cover, office):
    sent = make.make_sent_offer(cover, by=office)
    form = new_id()
    for _ in range(2):
        assert at_desk.post(at(sent, "revise/"), {"id": form})["Location"] == at(sent, "build/")
    line = Line.objects.get(offer__number=2)
    at_desk.post(at(line), values(line, price="99.00"))
    text = text_of(at_desk.get(at(sent, "difference/")))
    assert "From version 1 to version 2" in text
    assert "Price without VAT £100.00 £99.00" in text
    page = text_of(at_desk.get(at(sent)))
    assert "Quote 1001, version 1" in page
    assert "Go on with version 2" in page


def test_draft_is_thrown_away_after_a_page_that_says_so(at_desk, draft):
    assert "its number is never used again" in text_of(at_desk.get(at(draft, "drop/")))
    assert at_desk.post(at(draft, "drop/"))["Location"] == "/quotes/"
    assert Quote.objects.count() == 0


def test_page_of_a_quote_says_how_it_stands(at_desk, site, cover, office):
    sent = make.make_sent_offer(cover, by=office, name="Make it safe")
    text = text_of(at_desk.get(at(sent)))
    for words in (
        "Quote 1001, version 1",
        "with the customer",
        "Make it safe",
        "The customer answers, until 5 Mar 2026.",
    ):
        assert words in text
    draft = make.make_offer(make.make_remedial(make.make_observation(site)), by=office)
    assert "To be finished and sent by Olive Deskworth." in text_of(at_desk.get(at(draft)))


# --- statements -------------------------------------------------------------------------------------------------------


def test_pages_ask_for_the_same_statements_however_many_lines(at_desk, site, office):
    asked = []
    for count in (2, 9):
        offer = many(site, count, office)
        line = offer.lines.first()
        for address in (at(offer, "build/"), at(offer), at(line)):
            with statements() as sql:
                assert at_desk.get(address).status_code == 200
            asked.append(len(sql))
        for post, sent in ((at(line), values(line, price=count)), (at(line, "sums/"), values(line))):
            with statements() as sql:
                assert at_desk.post(post, sent, **HTMX).status_code == 200
            asked.append(len(sql))
        Offer.objects.filter(pk=offer.pk).delete()
        LineRemedial.objects.all().delete()
    assert asked[:5] == asked[5:]
    assert asked[:5] == [12, 18, 7, 27, 7]
