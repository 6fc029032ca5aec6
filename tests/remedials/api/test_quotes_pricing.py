"""The API's verbs on rates, price book and prices: what they do, and why not."""

from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from jobsite.ids import new_id
from remedials.quotes.book.written import written
from remedials.quotes.models import Costing, StandardJob, Terms
from remedials.quotes.operations.book import as_written
from tests.factories import make_costing, make_job, make_site, make_terms, recorded
from tests.remedials.api.verbs import done, said_why_not
from tests.remedials.quoted import remedial_at
from tests.remedials.test_api_verbs import fresh, refusal

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("at_noon")]
RATES = [{"skill": "", "cost_hour": "32.00", "price_hour": "64.00"}]


def test_rates_and_terms_from_a_day_on(client, manager):
    body = {"holds_from": "2026-03-01", "rates": RATES, "call_out": "45.50", "seen": 0}
    shown = done(client, manager, "terms/set", "terms.set", status=201, **body)
    assert (shown["call_out"], shown["currency"], shown["rates"]) == ("45.50", "GBP", RATES)
    done(client, manager, "terms/set", status=201, **body | {"seen": 1})
    assert Terms.objects.get().version == 1
    meanwhile = said_why_not(client, manager, "terms/set", **body | {"call_out": "50"})
    assert meanwhile.startswith("There are terms from 1 Mar 2026 on already")
    past = said_why_not(client, manager, "terms/set", **body | {"holds_from": "2026-01-01"})
    assert past.startswith("This day is past")


def test_only_a_manager_sets_them(client, office):
    said_why_not(client, office, "terms/set", 403, holds_from="2026-03-01", rates=RATES, seen=0)
    assert Terms.objects.count() == 0


def test_a_standard_job_added_changed_retired_and_brought_back(client, office):
    key = str(new_id())
    body = {"id": key, "name": "New socket", "plain": "A new socket.", "minutes": 30}
    body |= {"items": [{"what": "Socket", "cost_each": "6.40"}]}
    shown = done(client, office, "price-book/add", "standard-job.added", status=201, **body)
    assert [(item["what"], item["quantity"], item["cost_each"]) for item in shown["items"]] == [
        ("Socket", "1.000", "6.40")
    ]
    done(client, office, "price-book/add", status=201, **body)
    taken = said_why_not(client, office, "price-book/add", **body | {"id": str(new_id()), "name": "new  SOCKET"})
    assert taken == "The price book has a job named “New socket” already."
    del body["id"]
    where = f"price-book/{key}"
    shown = done(client, office, f"{where}/edit", "standard-job.edited", version=1, **body | {"minutes": 40})
    assert (shown["minutes"], shown["version"]) == (40, 2)
    said_why_not(client, office, f"{where}/edit", 412, version=1, **body | {"minutes": 50})
    assert done(client, office, f"{where}/retire", "standard-job.retired")["retired_at"] is not None
    assert done(client, office, f"{where}/bring-back", "standard-job.brought-back")["retired_at"] is None
    said_why_not(client, office, f"{where}/edit", 409, **body | {"crew": 99})


def test_engineers_keep_no_price_book(client, engineer):
    job = make_job()
    said_why_not(client, engineer, f"price-book/{job.pk}/retire", 403)
    assert StandardJob.objects.get().retired_at is None


def sent_as_file(client, verb: str, data: bytes, **fields):
    file = SimpleUploadedFile("price-book.xlsx", data)
    return client.post(f"/api/v1/price-book/{verb}/", {"file": file, **fields}, headers=fresh())


def test_a_price_book_looked_at_and_taken_in(client, office):
    job = make_job("Blank off an open way")
    said = as_written(job)
    data = written([(said._replace(minutes=25), False), (said._replace(name="Another"), False)])
    client.force_login(office)
    with recorded() as told:
        looked = sent_as_file(client, "look", data).json()
    assert told == []
    assert [(step["name"], step["change"]) for step in looked["steps"]] == [
        ("Blank off an open way", "changed"), ("Another", "new"),
    ]  # fmt: skip
    with recorded() as told:
        answer = sent_as_file(client, "take-in", data, seen=looked["seen"])
    assert answer.status_code == 200, answer.content
    assert [entry.verb for entry in told] == ["standard-job.edited", "standard-job.added", "price-book.taken-in"]
    assert sorted(StandardJob.objects.values_list("name", flat=True)) == ["Another", "Blank off an open way"]


def test_a_price_book_that_changed_since_it_was_looked_at(client, office):
    data = written([(as_written(make_job())._replace(minutes=25), False)])
    client.force_login(office)
    meanwhile = refusal(sent_as_file(client, "take-in", data, seen="another"), 409)
    assert meanwhile["detail"] == "Somebody changed the price book since you looked: look at it again."
    empty = refusal(sent_as_file(client, "take-in", b" ", seen="x"), 409)
    assert empty["detail"] == "This file is empty."


def test_price_a_remedial(client, office, site):
    make_terms(rates=(("", "30.00", "60.00"),))
    remedial = remedial_at(site)
    body = {"minutes": 90, "items": [{"what": "Cover", "cost_each": "3.33", "quantity": "2", "markup_percent": "20"}]}
    where = f"remedials/{remedial.pk}/price"
    shown = done(client, office, where, "remedial.edited", "remedial.priced", version=remedial.version, **body)
    # 1.5 h at £60 and 2 at £3.33 with 20 %: £90.00 and £7.99
    assert (shown["price"], shown["currency"], shown["minutes"]) == ("97.99", "GBP", 90)
    done(client, office, where, version=remedial.version, **body)
    said_why_not(client, office, where, 412, version=remedial.version, **body | {"minutes": 30})
    assert said_why_not(client, office, where, set_price="10") == "Say why this price was set by hand."
    assert said_why_not(client, office, where, 400, set_price="10.005") == (
        "{'set_price': ['Ensure that there are no more than 2 decimal places.']}"
    )
    assert Costing.objects.get().price == Decimal("97.99")


def test_engineers_price_nothing(client, engineer, site):
    said_why_not(client, engineer, f"remedials/{remedial_at(site).pk}/price", 403, minutes=30)
    assert Costing.objects.count() == 0


def test_fill_from_the_price_book_one_and_several(client, office, site):
    make_terms()
    one, two = remedial_at(site), remedial_at(site)
    job = make_job(minutes=30)
    body = {"job": str(job.pk), "times": 2}
    shown = done(client, office, f"remedials/{one.pk}/fill", "remedial.edited", "remedial.priced", **body)
    assert (shown["job"], shown["minutes"], shown["items"][0]["quantity"]) == (str(job.pk), 60, "2.000")
    pile = {"job": str(job.pk), "remedials": [{"remedial": str(two.pk)}]}
    shown = done(client, office, f"sites/{site.pk}/fill-prices", "remedial.edited", "remedial.priced", **pile)
    assert [(row["remedial"], row["minutes"]) for row in shown["costings"]] == [(str(two.pk), 30)]


def test_what_stands_elsewhere_or_is_retired_is_not_filled(client, office, site):
    make_terms()
    elsewhere, here = remedial_at(make_site("Elsewhere")), remedial_at(site)
    job, retired = make_job(), make_job("Old", retired_at="2026-01-01T00:00Z")
    where = f"sites/{site.pk}/fill-prices"
    pile = {"job": str(job.pk), "remedials": [{"remedial": str(elsewhere.pk)}]}
    assert said_why_not(client, office, where, **pile) == "Not all of these stand at this site."
    gone = said_why_not(client, office, f"remedials/{here.pk}/fill", job=str(retired.pk))
    assert gone == "“Old” is retired: choose another job, or bring it back first."
    make_costing(here)
    assert Costing.objects.count() == 1
