"""Building a quote: begun from remedials, its lines changed, its next version, what is refused."""

from decimal import Decimal
from uuid import uuid4

import pytest

from jobsite.ids import new_id
from jobsite.premises.models import Site
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.quotes.models import Line, Offer, Quote
from remedials.quotes.operations import drafting as ops
from remedials.quotes.operations.sending import send_offer, withdraw_offer
from remedials.quotes.queries.said import offer_as_said
from tests import factories as make
from tests.factories import NOON, TODAY, Told, recorded

pytestmark = pytest.mark.django_db


def begun(site, *remedials, by, **more):
    usual = {"id": new_id(), "party": site.customer, "name": "Remedial works", "by": by, "now": NOON}
    return ops.begin_quote(**usual | {"remedials": remedials, "sites": [site]} | more)


def send(offer, *, by):
    return send_offer(offer, id=new_id(), how="printed", to="Petra", version=None, by=by, now=NOON)


@pytest.fixture
def cover(site):
    remedial = make.make_remedial(make.make_observation(site, code="C2", place="Kitchen"), work="Fit a cover")
    make.make_costing(remedial, "120.00", cost="70.00", plain="We fit a cover")
    return remedial


@pytest.fixture
def joint(site):
    return make.make_remedial(make.make_observation(site, "Loose joint", code="C1"), work="Remake the joint")


def test_begin_quote_makes_a_line_of_each_the_most_dangerous_first(site, cover, joint, office) -> None:
    make.make_terms(call_out="45.00", valid_days=14, text_before="Good day")
    quote_id = new_id()
    with recorded() as told:
        offer = begun(site, cover, joint, by=office, id=quote_id)
    lines = list(offer.lines.all())
    assert [(o.code, o.words, o.price, o.cost, o.rate, o.vat, o.kind) for o in lines] == [
        ("C1", "Remake the joint", Decimal(0), Decimal(0), Decimal(20), Decimal(0), "work"),
        ("C2", "We fit a cover", Decimal(120), Decimal(70), Decimal(20), Decimal(24), "work"),
        ("", "Coming to the site", Decimal(45), Decimal(20), Decimal(20), Decimal(9), "call-out"),
    ]
    assert lines[1].danger == (
        "Potentially dangerous: it can become a danger, for example when something else fails. "
        "Found: Cover missing (Kitchen)."
    )
    assert (offer.state, offer.number, offer.text_before, (offer.valid_until - TODAY).days) == (
        "draft", 1, "Good day", 14,
    )  # fmt: skip
    number = offer.quote.number
    facts = {"number": number, "party": str(site.customer_id), "sites": [str(site.pk)], "variation_of": None}
    facts |= {"remedials": sorted([str(cover.pk), str(joint.pk)])}
    assert told == [Told("quote.begun", quote_id, facts, {"name": "Remedial works"})]


def test_begin_quote_twice_by_one_form_is_one_quote(site, cover, office) -> None:
    key = new_id()
    first = begun(site, cover, by=office, id=key)
    with recorded() as told:
        assert begun(site, cover, by=office, id=key) == first
    assert (told, Quote.objects.count(), Line.objects.count()) == ([], 1, 1)


def test_numbers_go_on_also_after_a_draft_was_thrown_away(site, cover, office) -> None:
    first = begun(site, cover, by=office)
    number = first.quote.number
    with recorded() as told:
        assert ops.drop_draft(first, by=office, now=NOON) is None
    assert [one.verb for one in told] == ["quote.dropped"]
    assert begun(site, cover, by=office).quote.number == number + 1


@pytest.mark.parametrize("stage", ["approved", "booked", "done", "declined", "cancelled", "by-others"])
def test_begin_quote_refuses_what_is_not_to_be_priced(site, office, stage) -> None:
    remedial = make.make_remedial(make.make_observation(site), stage=stage)
    with pytest.raises(Refused) as refused:
        begun(site, remedial, by=office)
    assert f"Remedial {remedial.number} is" in refused.value.sentence
    assert Quote.objects.count() == 0


def test_a_remedial_is_not_offered_in_two_open_quotes(site, cover, joint, office) -> None:
    first = begun(site, cover, by=office)
    with pytest.raises(Refused) as refused:
        begun(site, cover, joint, by=office)
    assert refused.value.sentence == (
        f"Remedial {cover.number} stands in quote {first.quote.number} already: it is not offered twice."
    )
    other = begun(site, joint, by=office)
    with pytest.raises(Refused):
        ops.add_lines(other, remedials=[cover], by=office, now=NOON)


def test_engineers_make_no_quotes(site, cover, engineer) -> None:
    with pytest.raises(NotAllowed):
        begun(site, cover, by=engineer)


def test_a_landlord_is_no_consumer_and_a_householder_is(office) -> None:
    home, let = make.make_site("Home"), make.make_site("Let", tenure="private-rented")
    make.unit_of(let).parties.create(party=let.customer, role="owner", since=TODAY)
    assert begun(home, by=office).consumer
    assert not begun(let, by=office).consumer


def test_like_ones_become_one_line(site, office) -> None:
    blanks = [
        make.make_remedial(make.make_observation(site, "Blank missing", code="C2", place=f"Way {n}"), work=work)
        for n, work in enumerate(("Fit a blank", "fit  a blank", "Remake"), start=1)
    ]
    for blank in blanks:
        make.make_costing(blank, "10.00", cost="4.00")
    offer = begun(site, *blanks, by=office, like=True)
    lines = list(offer.lines.all())
    assert [(line.price, line.cost, line.remedials.count()) for line in lines] == [
        (Decimal(20), Decimal(8), 2),
        (Decimal(10), Decimal(4), 1),
    ]
    assert lines[0].words == "Fit a blank\nfit  a blank" or "2 of them" in lines[0].words


def test_edit_line_reckons_the_vat_anew_and_tells_the_price(site, cover, office) -> None:
    line = begun(site, cover, by=office).lines.get()
    with recorded() as told:
        line = ops.edit_line(line, version=1, price=Decimal("99.99"), either="b", by=office, now=NOON)
    assert (line.price, line.vat, line.either, line.offer.version) == (Decimal("99.99"), Decimal("20.00"), "B", 2)
    facts = {"version": 1, "line": str(line.key), "changed": ["either", "price"], "price": ["120.00", "99.99"]}
    assert told == [Told("quote.line-edited", line.offer.quote_id, facts)]


def test_edit_line_to_what_it_says_already_is_harmless(site, cover, office) -> None:
    line = begun(site, cover, by=office).lines.get()
    with recorded() as told:
        ops.edit_line(line, version=0, price=Decimal(120), by=office, now=NOON)
    assert told == []


def test_two_people_edit_one_line_and_the_second_sees_it(site, cover, joint, office, manager) -> None:
    first, second = begun(site, cover, joint, by=office).lines.all()
    ops.edit_line(first, version=1, price=Decimal(50), by=office, now=NOON)
    ops.edit_line(second, version=1, price=Decimal(60), by=manager, now=NOON)  # another line: no matter
    with pytest.raises(ChangedMeanwhile) as met:
        ops.edit_line(first, version=1, price=Decimal(70), by=manager, now=NOON)
    assert met.value.theirs.price == Decimal(50)


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"price": Decimal(-1)}, "price"),
        ({"price": Decimal(10**9)}, "price"),
        ({"price": Decimal("1.005")}, "price"),
        ({"words": " "}, "words"),
        ({"words": "x" * 2_001}, "words"),
        ({"either": "AB"}, "either"),
        ({"treatment": "none"}, "treatment"),
        ({"needs": [uuid4()]}, "needs"),
    ],
)
def test_edit_line_refuses_beside_the_field(site, cover, office, fields, field) -> None:
    line = begun(site, cover, by=office).lines.get()
    with pytest.raises(Refused) as refused:
        ops.edit_line(line, version=1, by=office, now=NOON, **fields)
    assert refused.value.field == field
    line.refresh_from_db()
    assert (line.price, line.words) == (Decimal(120), "We fit a cover")


def test_call_out_of_two_visits_costs_twice(site, cover, office) -> None:
    make.make_terms(call_out="45.00")
    line = begun(site, cover, by=office).lines.get(kind="call-out")
    line = ops.edit_line(line, version=1, visits=2, by=office, now=NOON)
    assert (line.visits, line.price, line.cost, line.vat) == (2, Decimal(90), Decimal(40), Decimal(18))


def test_call_out_taken_out_stays_out(site, cover, joint, office) -> None:
    make.make_terms()
    offer = begun(site, cover, by=office)
    ops.remove_lines(offer, keys=[offer.lines.get(kind="call-out").key], by=office, now=NOON)
    ops.add_lines(offer, remedials=[joint], by=office, now=NOON)
    assert offer.lines.filter(kind="call-out").count() == 0


def test_call_out_of_each_site_names_its_lines(cover, site, office) -> None:
    make.make_terms()
    other = make.make_site("Other House", customer=site.customer)
    there = make.make_remedial(make.make_observation(other))
    offer = begun(site, cover, there, by=office)
    by_site = {line.site_id: line for line in offer.lines.filter(kind="call-out")}
    works = {line.site_id: line.key for line in offer.lines.filter(kind="work")}
    assert {key: line.needs for key, line in by_site.items()} == {key: [work] for key, work in works.items()}


def two_sites(site, *remedials, office):
    make.make_terms()
    other = make.make_site("Other House", customer=site.customer)
    there = make.make_remedial(make.make_observation(other))
    return begun(site, *remedials, there, by=office), other, there


def test_a_call_out_goes_with_the_last_work_at_its_site_and_so_does_the_site(cover, site, office) -> None:
    offer, other, there = two_sites(site, cover, office=office)
    line = offer.lines.get(remedials=there)
    with recorded() as told:
        ops.remove_lines(offer, keys=[line.key], by=office, now=NOON)
    assert [(one.kind, one.site) for one in offer.lines.all()] == [("work", site), ("call-out", site)]
    assert offer.lines.get(kind="call-out").needs == []
    assert list(offer.quote.sites.all()) == [site]
    assert len(told[0].facts["lines"]) == 2
    ops.add_lines(offer, remedials=[there], by=office, now=NOON)
    assert offer.lines.filter(kind="call-out", site=other).count() == 1


def test_a_call_out_whose_work_another_quote_offers_does_not_go_on(cover, joint, site, office) -> None:
    offer, other, there = two_sites(site, cover, office=office)
    send(offer, by=office)
    withdraw_offer(offer, reason="Dearer now", by=office, now=NOON)
    begun(other, there, by=office)
    second = ops.revise_quote(offer.quote, id=new_id(), by=office, now=NOON)
    assert [(one.kind, one.site, one.needs) for one in second.lines.all()] == [
        ("work", site, []), ("call-out", site, []),
    ]  # fmt: skip
    assert [one["id"] for one in offer_as_said(second, now=NOON)["sites"]] == [str(site.pk)]


def test_a_call_out_for_no_work_that_is_offered_is_not_sent(cover, site, office) -> None:
    offer, _, there = two_sites(site, cover, office=office)
    Line.objects.filter(offer=offer, remedials=there).delete()
    with pytest.raises(Refused, match="is for work that is not offered any more"):
        send(offer, by=office)


def test_alternative_excludes_the_line_that_offers_the_same(site, cover, office) -> None:
    offer = begun(site, cover, by=office)
    with pytest.raises(Refused):
        ops.add_lines(offer, remedials=[cover], by=office, now=NOON)
    ops.add_lines(offer, remedials=[cover], alternative=True, by=office, now=NOON)
    assert [line.either for line in offer.lines.filter(kind="work")] == ["A", "A"]


def test_the_501st_line_is_refused_and_nothing_is_lost(site, cover, office) -> None:
    offer = begun(site, by=office)
    Line.objects.bulk_create(
        Line(offer=offer, position=n, words="x", cost=0, price=1, rate=20, vat=0, made_at=NOON) for n in range(1, 500)
    )
    ops.add_lines(offer, words="The last", by=office, now=NOON)
    with pytest.raises(Refused) as refused:
        ops.add_lines(offer, remedials=[cover], by=office, now=NOON)
    assert refused.value.sentence == "A quote has 500 lines at most: make a second one."
    assert offer.lines.count() == 500


def test_adding_twice_by_one_form_adds_once(site, office) -> None:
    offer, form = begun(site, by=office), new_id()
    for _ in range(2):
        ops.add_lines(offer, words="Make good the plaster", price=Decimal(80), id=form, by=office, now=NOON)
    assert offer.lines.count() == 1


def test_adding_again_by_one_form_after_an_edit_answers_with_the_same_lines(site, cover, office) -> None:
    offer, form = begun(site, cover, by=office), new_id()
    first, (line,) = offer.lines.get(), ops.add_lines(offer, words="A report", id=form, by=office, now=NOON)
    offer.refresh_from_db()
    ops.edit_line(first, version=offer.version, price=Decimal(130), by=office, now=NOON)
    assert ops.add_lines(offer, words="A report", id=form, by=office, now=NOON) == [line]


def test_a_version_that_is_still_to_come_edits_nothing(site, cover, office) -> None:
    offer = begun(site, cover, by=office)
    with pytest.raises(ChangedMeanwhile):
        ops.edit_line(offer.lines.get(), version=offer.version + 1, price=Decimal(1), by=office, now=NOON)


def test_subcontractors_make_no_quotes(site, cover) -> None:
    with pytest.raises(NotAllowed):
        begun(site, cover, by=make.make_user("Sid Sub", "office", subcontractor=True))


def test_at_an_archived_site_no_quote_is_revised_or_withdrawn(site, cover, office) -> None:
    offer = begun(site, cover, by=office)
    send(offer, by=office)
    Site.objects.filter(pk=site.pk).update(archived_at=NOON)
    with pytest.raises(Refused):
        ops.revise_quote(offer.quote, id=new_id(), by=office, now=NOON)
    with pytest.raises(Refused):
        withdraw_offer(offer, reason="Dearer", by=office, now=NOON)


def test_lines_in_order_of_danger_and_moved(site, cover, joint, office) -> None:
    offer = begun(site, cover, by=office)
    ops.add_lines(offer, remedials=[joint], by=office, now=NOON)
    ops.add_lines(offer, words="Plaster", by=office, now=NOON)
    ops.group_by_danger(offer, by=office, now=NOON)
    assert [line.code for line in offer.lines.all()] == ["C1", "C2", ""]
    last, first = offer.lines.last(), offer.lines.first()
    for _ in range(2):  # a double click puts it in the same place
        ops.move_line(last, before=first.key, by=office, now=NOON)
    assert [line.code for line in offer.lines.all()] == ["", "C1", "C2"]


def test_line_taken_out_is_needed_no_more(site, cover, joint, office) -> None:
    offer = begun(site, cover, joint, by=office)
    first, second = offer.lines.all()
    ops.edit_line(second, version=1, needs=[first.key], by=office, now=NOON)
    ops.remove_lines(offer, keys=[first.key], by=office, now=NOON)
    assert offer.lines.get().needs == []


def test_sent_never_changes(site, cover, office) -> None:
    offer = make.make_sent_offer(cover, by=office)
    line = offer.lines.get()
    for change in (
        lambda: ops.edit_line(line, version=1, price=Decimal(1), by=office, now=NOON),
        lambda: ops.add_lines(offer, words="More", by=office, now=NOON),
        lambda: ops.remove_lines(offer, keys=[line.key], by=office, now=NOON),
        lambda: ops.describe_offer(offer, version=1, name="Other", by=office, now=NOON),
        lambda: ops.drop_draft(offer, by=office, now=NOON),
    ):
        with pytest.raises(Refused) as refused:
            change()
        assert "what was sent never changes" in refused.value.sentence


def test_revise_goes_on_with_what_is_unanswered(site, cover, joint, office) -> None:
    sent = make.make_sent_offer(cover, joint, by=office)
    key = new_id()
    with recorded() as told:
        offer = ops.revise_quote(sent.quote, id=key, by=office, now=NOON)
    assert ops.revise_quote(sent.quote, id=key, by=office, now=NOON) == offer
    assert (offer.number, offer.state) == (2, "draft")
    assert [line.key for line in offer.lines.all()] == [line.key for line in sent.lines.all()]
    assert [list(line.remedials.all()) for line in offer.lines.all()] == [[cover], [joint]]
    assert told == [Told("quote.revised", sent.quote_id, {"version": 2, "from": 1, "lines": 2})]
    assert Offer.objects.get(pk=sent.pk).state == "sent"
    with pytest.raises(Refused):
        ops.revise_quote(sent.quote, id=new_id(), by=office, now=NOON)
    assert ops.drop_draft(offer, by=office, now=NOON) == sent.quote


def test_reverse_charge_asks_for_each_condition(site, cover, office) -> None:
    offer = begun(site, cover, by=office, consumer=False)
    with pytest.raises(Refused) as refused:
        ops.describe_offer(offer, version=1, reverse_charge=True, by=office, now=NOON)
    assert refused.value.field == "customer_vat_number"
    said = {"reverse_charge": True, "customer_vat_number": "GB 123 4567 89", "cis_reportable": True, "end_user": False}
    offer = ops.describe_offer(offer, version=1, by=office, now=NOON, **said)
    assert offer.reverse_charge
