"""The pages of prices: a remedial, the pile of a site, the price book, rates and terms."""

from datetime import timedelta
from decimal import Decimal
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from openpyxl import load_workbook

from jobsite.ids import new_id
from remedials.quotes.models import Costing, StandardJob, Terms
from tests.factories import (
    TODAY,
    make_costing,
    make_item,
    make_job,
    make_observation,
    make_remedial,
    make_sent_offer,
    make_site,
    make_terms,
)
from tests.remedials.desk import text_of
from tests.remedials.work import on_the_way

pytestmark = pytest.mark.usefixtures("at_noon")


def at(name: str, *rows) -> str:
    return reverse(f"quotes:{name}", args=[row.pk for row in rows])


def typed(remedial, *items, **fields):
    """What a browser sends from the pricing page, with a row for each of `items` (what, quantity, cost)."""
    rows = {"items-rows": str(len(items))}
    for number, (what, quantity, cost) in enumerate(items):
        names = {"kind": "material", "what": what, "quantity": quantity, "cost_each": cost}
        rows |= {f"items-{number}-{name}": value for name, value in names.items()}
    usual = {"version": remedial.version, "minutes": "60", "crew": "1", "treatment": "standard", "call_out": "on"}
    return usual | rows | fields


def to_price(**more):
    return on_the_way("C2", stage="to-price", **more)


# --- a remedial -------------------------------------------------------------------------------------------------------


def test_price_a_remedial(at_desk) -> None:
    make_terms()
    remedial = to_price()
    sent = typed(remedial, ("Cover", "2", "10.00"), ("", "1", ""), plain="A new cover.")
    answer = at_desk.post(at("price", remedial), sent)
    assert (answer.status_code, answer.url) == (302, at("price", remedial))
    costing = Costing.objects.get()
    assert (costing.price, costing.cost, costing.plain) == (Decimal("84.00"), Decimal("50.00"), "A new cover.")
    shown = text_of(at_desk.get(at("price", remedial)))
    for words in ("priced at £84.00 without VAT", "Labour £30.00 £60.00", "mark-up of £4.00 £20.00 £24.00"):
        assert words in shown
    assert "Margin 40.5 % of the price £34.00" in shown
    assert at_desk.post(at("price", remedial), sent).status_code == 302  # the same again, from an older page
    assert Costing.objects.get().version == 1


def test_a_price_below_cost_is_warned_of_and_kept(at_desk) -> None:
    make_terms()
    remedial = to_price()
    at_desk.post(at("price", remedial), typed(remedial, set_price="£10.00", set_why="A favour to an old customer"))
    assert Costing.objects.get().price == Decimal("10.00")
    assert "This price is £20.00 below what the work costs." in text_of(at_desk.get(at("price", remedial)))


def test_another_row_and_work_out_lose_nothing_and_save_nothing(at_desk) -> None:
    make_terms()
    remedial = to_price()
    sent = typed(remedial, ("<b>Δοχείο</b>", "x", "1.005"), minutes="an hour", plain="So & so")
    for button in ({"another-row": "yes"}, {"work-out": "yes"}):
        answer = at_desk.post(at("price", remedial), sent | button)
        page = answer.content.decode()
        assert answer.status_code == (200 if "another-row" in button else 422)
        for kept in ("&lt;b&gt;Δοχείο&lt;/b&gt;", 'value="x"', 'value="1.005"', 'value="an hour"', "So &amp; so"):
            assert kept in page
        assert ('name="items-1-what"' in page) == ("another-row" in button)
    assert not Costing.objects.exists()
    worked = at_desk.post(at("price", remedial), typed(remedial, **{"work-out": "yes"}))
    assert (worked.status_code, "Price £60.00" in text_of(worked), Costing.objects.exists()) == (200, True, False)


@pytest.mark.parametrize(
    ("item", "fields", "sentence"),
    [
        (("Cover", "-1", "1"), {}, "Row 1, Quantity : Write a quantity above 0"),
        (("Cover", "1", "1.005"), {}, "Row 1, Cost each : Write whole pence"),
        (("Cover", "1", "1000000000"), {}, "Row 1, Cost each : Write a cost from £0 to £1,000,000."),
        (("", "1", "5.00"), {}, "Row 1, What : Say what it is."),
        (("Cover", "1", "5"), {"set_price": "1000000000", "set_why": "x"}, "The price is more than £1,000,000.00"),
        (("Cover", "1", "5"), {"set_price": "1.005", "set_why": "x"}, "The price has parts of a penny"),
        (("Cover", "1", "5"), {"set_price": "5"}, "Say why this price was set by hand."),
        (("Cover", "1", "5"), {"minutes": "-5"}, "Write 1 or more."),
    ],
)
def test_what_cannot_be_is_said_beside_its_field(at_desk, item, fields, sentence) -> None:
    make_terms()
    remedial = to_price()
    answer = at_desk.post(at("price", remedial), typed(remedial, item, **fields))
    assert answer.status_code == 422
    assert sentence in text_of(answer)
    assert not Costing.objects.exists()


def test_a_row_taken_out_is_gone(at_desk) -> None:
    make_terms()
    remedial = to_price()
    make_item(remedial, "Kept"), make_item(remedial, "Gone")
    sent = typed(remedial, ("Kept", "1", "2.00"), ("Gone", "1", "2.00"), **{"items-1-gone": "on"})
    at_desk.post(at("price", remedial), sent)
    assert [item.what for item in remedial.items.all()] == ["Kept"]


def test_two_people_pricing_at_once(at_desk) -> None:
    make_terms()
    remedial = to_price()
    at_desk.post(at("price", remedial), typed(remedial, ("Theirs", "1", "2.00"), minutes="30"))
    answer = at_desk.post(at("price", remedial), typed(remedial, ("Mine", "1", "3.00"), minutes="45"))
    assert answer.status_code == 422
    shown = text_of(answer)
    assert "Somebody changed remedial" in shown
    assert "Saved by somebody else: 30" in shown
    assert "Items as somebody else saved them: Theirs" in shown
    remedial.refresh_from_db()
    again = typed(remedial, ("Mine", "1", "3.00"), minutes="45")
    assert at_desk.post(at("price", remedial), again).status_code == 302
    assert [item.what for item in remedial.items.all()] == ["Mine"]


def test_sums_as_one_types_save_nothing(at_desk) -> None:
    make_terms()
    remedial = to_price()
    shown = text_of(at_desk.post(at("price_sums", remedial), typed(remedial, minutes="90")))
    assert "Labour £45.00 £90.00" in shown
    assert not Costing.objects.exists()
    assert "once what is wrong above" in text_of(at_desk.post(at("price_sums", remedial), typed(remedial, minutes="x")))


def test_before_rates_are_entered_the_page_leads_there(at_desk, manager) -> None:
    remedial = to_price()
    page = at_desk.get(at("price", remedial))
    assert "The firm's rates are not entered yet" in text_of(page)
    assert at("terms") in page.content.decode()
    answer = at_desk.post(at("price", remedial), typed(remedial))
    assert answer.status_code == 422
    assert "Nothing can be priced by time before the firm's rates are entered" in text_of(answer)
    at_desk.force_login(manager)
    assert at("terms_set") in at_desk.get(at("price", remedial)).content.decode()


def test_fill_from_the_price_book(at_desk) -> None:
    make_terms()
    remedial, job = to_price(), make_job()
    assert "Blank off an open way" in text_of(at_desk.get(at("price", remedial)))
    sent = {"job": job.pk, "times": "3", "version": remedial.version}
    answer = at_desk.post(at("price_fill", remedial), sent)
    assert answer.url == at("price", remedial)
    assert Costing.objects.get().price == Decimal("97.20")
    assert "Filled from Blank off an open way" in text_of(at_desk.get(at("price", remedial)))
    refused = at_desk.post(at("price_fill", remedial), sent | {"times": "0", "version": remedial.version})
    assert (refused.status_code, "For how many of it: Write 1 or more." in text_of(refused)) == (422, True)


def test_what_was_sent_stays(at_desk) -> None:
    make_terms()
    remedial = make_remedial(make_observation(make_site()), stage="quoted")
    offer = make_sent_offer(remedial)
    before = (offer.said, [(line.price, line.cost) for line in offer.lines.all()])
    shown = text_of(at_desk.get(at("price", remedial)))
    assert f"It stands in quote {offer.quote.number}, version 1, which was sent" in shown
    assert at_desk.post(at("price", remedial), typed(remedial, minutes="600")).status_code == 302
    offer.refresh_from_db()
    assert (offer.said, [(line.price, line.cost) for line in offer.lines.all()]) == before


def test_a_change_of_time_elsewhere_is_said(at_desk) -> None:
    make_terms()
    remedial = to_price(minutes=120)
    make_costing(remedial)
    assert (
        "it was worked out at £120.00"
        not in text_of(at_desk.get(at("price", remedial), follow=True)).partition("and now")[2]
    )
    shown = text_of(at_desk.get(at("price", remedial)))
    assert "it was worked out at £120.00, and now comes to £120.00" in shown  # its cost is another
    remedial.minutes = 60
    remedial.save()
    assert "it was worked out at £120.00, and now comes to £60.00" in text_of(at_desk.get(at("price", remedial)))


def test_what_is_done_is_priced_no_more(at_desk) -> None:
    make_terms()
    remedial = on_the_way("C3", stage="done")
    shown = text_of(at_desk.get(at("price", remedial)))
    assert "its price is not changed any more" in shown


@pytest.mark.parametrize("count", [1, 8])
def test_the_price_costs_fourteen_statements_at_any_size(at_desk, django_assert_num_queries, count) -> None:
    make_terms()
    remedial = on_the_way(*["C2"] * count, stage="to-price")
    for number in range(count):
        make_item(remedial, f"Item {number}")
    make_costing(remedial)
    make_job(), make_job("Another")
    at_desk.get(at("price", remedial))
    with django_assert_num_queries(14):
        at_desk.get(at("price", remedial))


# --- the pile of a site -----------------------------------------------------------------------------------------------


def test_the_pile_is_filled_all_or_none(at_desk) -> None:
    make_terms()
    site, job = make_site(), make_job()
    one, two = (on_the_way("C2", "C2", site=site, stage="to-price", work=work) for work in ("One", "Two"))
    on_the_way("C3", site=site, stage="done", work="Not this")
    shown = text_of(at_desk.get(at("pile", site)))
    assert ("One" in shown, "Two" in shown, "Not this" in shown) == (True, True, False)
    sent = {"job": job.pk, "remedial": [one.pk, two.pk], f"times-{one.pk}": "2", f"times-{two.pk}": "0"}
    answer = at_desk.post(at("pile", site), sent)
    assert (answer.status_code, Costing.objects.count()) == (422, 0)
    assert f"Remedial {two.number}: write how many of it" in text_of(answer)
    assert answer.content.decode().count(" checked") == 2
    assert at_desk.post(at("pile", site), sent | {f"times-{two.pk}": "1"}).status_code == 302
    assert sorted(c.price for c in Costing.objects.all()) == [Decimal("32.40"), Decimal("64.80")]
    assert "£64.80" in text_of(at_desk.get(at("pile", site)))
    assert "Tick the remedials to fill." in text_of(at_desk.post(at("pile", site), {"job": job.pk}))


def test_nothing_to_price_says_what_to_do(at_desk) -> None:
    assert "Nothing here is to be priced" in text_of(at_desk.get(at("pile", make_site())))


@pytest.mark.parametrize("count", [1, 8])
def test_the_pile_costs_nine_statements_at_any_size(at_desk, django_assert_num_queries, count) -> None:
    make_terms()
    site = make_site()
    for _ in range(count):
        make_costing(on_the_way("C2", site=site, stage="to-price"))
    with django_assert_num_queries(9):
        at_desk.get(at("pile", site))


# --- the price book ---------------------------------------------------------------------------------------------------


def job_typed(**fields):
    return {"id": new_id(), "name": "Fit a cover", "plain": "We fit it.", "crew": "1", "treatment": "standard"} | fields


def test_a_job_is_added_found_changed_retired_and_brought_back(at_desk) -> None:
    make_terms()
    assert "The price book is empty" in text_of(at_desk.get(at("book")))
    rows = {
        "items-rows": "1",
        "items-0-kind": "fixed",
        "items-0-what": "Cover",
        "items-0-quantity": "1",
        "items-0-cost_each": "2.00",
    }
    answer = at_desk.post(at("job_new"), job_typed(minutes="30", **rows))
    job = StandardJob.objects.get()
    assert answer.url == at("job", job)
    assert "Price £32.00" in text_of(at_desk.get(at("job", job)))
    assert "Fit a cover" in text_of(at_desk.get(at("book") + "?q=COVER"))
    assert "No job here" in text_of(at_desk.get(at("book") + "?q=lamp"))
    change = job_typed(name="Fit a lid", version=1, minutes="30", **rows)
    assert at_desk.post(at("job_edit", job), change).status_code == 302
    late = at_desk.post(at("job_edit", job), change | {"name": "Fit a hat"})
    assert (late.status_code, "Somebody else changed this job meanwhile" in text_of(late)) == (422, True)
    at_desk.post(at("job_retire", job))
    assert "Fit a lid" in text_of(at_desk.get(at("book")))  # what was done is said once
    assert "Fit a lid" not in text_of(at_desk.get(at("book")))
    assert "Fit a lid" in text_of(at_desk.get(at("book") + "?show=retired"))
    at_desk.post(at("job_bring_back", job))
    assert "Fit a lid" in text_of(at_desk.get(at("book")))


def test_a_name_in_use_is_said_beside_it_with_all_that_was_typed(at_desk) -> None:
    make_job("Fit a cover")
    rows = {
        "items-rows": "1",
        "items-0-kind": "access",
        "items-0-what": "<i>Käfig</i>",
        "items-0-quantity": "1",
        "items-0-cost_each": "2.00",
    }
    answer = at_desk.post(at("job_new"), job_typed(name="FIT A COVER", **rows))
    assert answer.status_code == 422
    assert "The price book has a job named “Fit a cover” already." in text_of(answer)
    assert "&lt;i&gt;Käfig&lt;/i&gt;" in answer.content.decode()


@pytest.mark.parametrize("count", [1, 30])
def test_the_book_costs_four_statements_at_any_size(at_desk, django_assert_num_queries, count) -> None:
    for number in range(count):
        make_job(f"Job {number}")
    with django_assert_num_queries(4):
        at_desk.get(at("book"))


def test_the_book_goes_out_is_changed_and_comes_back(at_desk) -> None:
    make_job("Kept"), make_job("Ändert")
    out = at_desk.get(at("book_file"))
    book = load_workbook(BytesIO(out.content))
    names = {cell.value: cell for cell in book["Jobs"]["A"]}
    book["Jobs"].cell(names["Ändert"].row, 3).value = 75
    data = BytesIO()
    book.save(data)
    look = at_desk.post(at("book_take_in"), {"file": SimpleUploadedFile("b.xlsx", data.getvalue())})
    assert "0 new, 1 changed, 1 unchanged, 0 faulty." in text_of(look)
    assert StandardJob.objects.get(name="Ändert").minutes == 30
    sent = {name: look.context[name] for name in ("file", "seen")}
    assert at_desk.post(at("book_take_in"), sent).url == at("book")
    assert StandardJob.objects.get(name="Ändert").minutes == 75
    assert at_desk.post(at("book_take_in"), sent).url == at("book")  # pressed twice
    assert "Everything in this file stands already." in text_of(at_desk.get(at("book")))


def test_a_faulty_file_is_not_taken_in(at_desk) -> None:
    make_job("Kept")
    book = load_workbook(BytesIO(at_desk.get(at("book_file")).content))
    book["Jobs"].append(["New", "We do it.", -5])
    data = BytesIO()
    book.save(data)
    look = at_desk.post(at("book_take_in"), {"file": SimpleUploadedFile("b.xlsx", data.getvalue())})
    assert (look.status_code, "Jobs 3 New Minutes: Write the minutes" in text_of(look)) == (422, True)
    sent = {name: look.context[name] for name in ("file", "seen")}
    assert at_desk.post(at("book_take_in"), sent).status_code == 422
    assert StandardJob.objects.count() == 1
    refused = at_desk.post(at("book_take_in"), {"file": SimpleUploadedFile("b.xlsx", b"%PDF-1.7")})
    assert (refused.status_code, "This is a PDF" in text_of(refused)) == (422, True)


# --- rates and terms --------------------------------------------------------------------------------------------------


def test_terms_are_seen_by_the_office_and_set_by_a_manager(at_desk, manager) -> None:
    assert "before a manager enters them" in text_of(at_desk.get(at("terms")))
    assert at_desk.get(at("terms_set")).status_code == 403
    at_desk.force_login(manager)
    form = at_desk.get(at("terms_set")).context["form"]
    first = {name: form[name].value() for name in form.fields}
    sent = {name: "" if value is None else value for name, value in first.items()} | {
        "vat_registered": "on",
        "call_out": "45",
    }
    rates = {"rates-rows": "2", "rates-0-skill": "", "rates-0-cost_hour": "30", "rates-0-price_hour": "60"}
    wrong = at_desk.post(at("terms_set"), sent | rates | {"rates-1-skill": "tester", "rates-1-cost_hour": "-4"})
    assert wrong.status_code == 422
    assert "Row 2, An hour is charged at : Needed: fill this in." in text_of(wrong)
    assert 'value="tester"' in wrong.content.decode()
    assert at_desk.post(at("terms_set"), sent | rates).url == at("terms")
    assert at_desk.post(at("terms_set"), sent | rates).url == at("terms")  # a second click
    terms = Terms.objects.get()
    assert (terms.call_out, terms.holds_from, terms.rates.get().price_hour) == (Decimal(45), TODAY, Decimal(60))
    make_terms(holds_from=TODAY + timedelta(days=5))
    make_terms(holds_from=TODAY - timedelta(days=5))
    shown = text_of(at_desk.get(at("terms")))
    for words in ("In force since 3 Feb 2026", "To come, from 8 Feb 2026", "Earlier, from 29 Jan 2026", "£60.00"):
        assert words in shown


@pytest.mark.parametrize("count", [1, 4])
def test_the_terms_cost_five_statements_at_any_size(at_desk, django_assert_num_queries, count) -> None:
    for number in range(count):
        make_terms(holds_from=TODAY - timedelta(days=number))
    with django_assert_num_queries(5):
        at_desk.get(at("terms"))
