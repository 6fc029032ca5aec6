"""VAT of a quote's lines by the facts of the day: as the firm put them right, and once more before it is sent."""

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from inspections import operations as facts
from jobsite.ids import new_id
from jobsite.refused import NotAllowed, Refused
from remedials.quotes.models import Line, Terms
from remedials.quotes.operations.drafting import add_lines, edit_line
from remedials.quotes.operations.reckoning import reckon_anew
from remedials.quotes.operations.sending import send_offer
from remedials.quotes.queries.said import offer_as_said
from remedials.quotes.rules.totals import of_line
from tests import factories as make
from tests.factories import NOON, TODAY, Told, recorded
from tests.remedials.desk import statements
from tests.remedials.quote_sums import line as a_sum

pytestmark = pytest.mark.django_db

AFTER = datetime(2027, 4, 1, 12, 0, tzinfo=UTC)
BATTERY = {"words": "Fit a battery", "treatment": "energy-saving", "rate": Decimal(0)}


@pytest.fixture
def battery(site, office):
    """A draft with a battery at 0 % and a cover at 20 %, that stands beyond the end of the relief."""
    make.make_terms()
    remedials = [make.make_remedial(make.make_observation(site)) for _ in range(2)]
    return make.make_offer(*remedials, by=office, valid_until=date(2027, 6, 30), prices=[BATTERY, {}])


def rates(offer) -> list[tuple[Decimal, Decimal]]:
    return list(offer.lines.values_list("rate", "vat"))


def sent(offer, now):
    return send_offer(offer, id=new_id(), how="printed", to="Petra", version=None, by=offer.made_by, now=now)


def test_a_draft_that_outlived_its_rate_is_reckoned_anew_before_it_is_sent(battery) -> None:
    line = battery.lines.get(treatment="energy-saving")
    with recorded() as told, pytest.raises(Refused, match="The rate of VAT on 1 line is another today") as refused:
        sent(battery, AFTER)
    assert "look at the totals" in str(refused.value)
    battery.refresh_from_db()
    assert (battery.state, rates(battery)) == ("draft", [(Decimal(5), Decimal(5)), (Decimal(20), Decimal(20))])
    about = {"version": 1, "changed": ["vat"], "lines": [str(line.key)]}
    assert told == [Told("quote.line-edited", battery.quote_id, about)]
    offer = sent(battery, AFTER)
    assert (offer.state, offer.said["totals"]["to_pay"], offer.said["energy_note"]) == ("sent", "225.00", "")


def test_the_last_day_of_the_relief_still_has_its_rate(battery) -> None:
    assert reckon_anew(battery, by=battery.made_by, now=datetime(2027, 3, 31, 22, 59, tzinfo=UTC)) == []
    assert len(reckon_anew(battery, by=battery.made_by, now=datetime(2027, 3, 31, 23, 0, tzinfo=UTC))) == 1


def test_a_firm_that_is_registered_no_longer_charges_no_vat(battery) -> None:
    make.make_terms(holds_from=date(2026, 3, 1), vat_registered=False)
    day = datetime(2026, 3, 2, 12, 0, tzinfo=UTC)
    with pytest.raises(Refused, match="The rate of VAT on 1 line is another today"):
        sent(battery, day)
    battery.refresh_from_db()
    assert (battery.vat_registered, rates(battery)) == (False, [(Decimal(0), Decimal(0))] * 2)
    offer = sent(battery, day)
    assert (offer.said["totals"]["vat"], offer.said["vat_registered"]) == ("0.00", False)


def test_vat_is_not_charged_without_the_number_of_the_firm(battery) -> None:
    Terms.objects.update(vat_number="")
    with pytest.raises(Refused, match="name no VAT number"):
        sent(battery, NOON)


def test_nothing_to_reckon_leaves_no_entry(battery) -> None:
    with recorded() as told:
        assert reckon_anew(battery, by=battery.made_by, now=NOON) == []
    battery.refresh_from_db()
    assert (told, battery.version) == ([], 1)


def test_what_was_sent_is_not_reckoned(battery) -> None:
    offer = sent(battery, NOON)
    assert reckon_anew(offer, by=offer.made_by, now=AFTER) == []
    assert rates(offer)[0] == (Decimal(0), Decimal(0))


def test_engineers_reckon_nothing(battery, engineer) -> None:
    with pytest.raises(NotAllowed):
        reckon_anew(battery, by=engineer, now=AFTER)


@pytest.mark.parametrize("size", [1, 6])
def test_it_costs_the_same_at_any_size(site, office, size) -> None:
    remedials = [make.make_remedial(make.make_observation(site)) for _ in range(size)]
    offer = make.make_offer(*remedials, by=office, prices=[BATTERY] * size)
    with statements() as sql:
        assert len(reckon_anew(offer, by=office, now=AFTER)) == size
    assert len([one for one in sql if "inspections_factcorrection" in one["sql"]]) == 1
    assert len([one for one in sql if 'UPDATE "quotes_line"' in one["sql"]]) == 1


# --- as the firm put it right -----------------------------------------------------------------------------------------


@pytest.fixture
def corrected(qualified, now):
    usual = {"source": "The Act as amended", "reason": "Looked up", "holds_from": TODAY, "by": qualified, "now": now}

    def one(key: str, value: str):
        return facts.correct_fact(key, id=new_id(), value=value, **usual)

    return one


def test_lines_bear_the_rate_that_the_firm_put_right(site, office, corrected) -> None:
    remedials = [make.make_remedial(make.make_observation(site)) for _ in range(2)]
    offer = make.make_offer(remedials[0], by=office)
    corrected("vat.standard", "17.5")
    (added,) = add_lines(offer, remedials=remedials[1:], together=False, by=office, now=NOON)
    assert added.rate == Decimal("17.5")
    first = offer.lines.get(remedials=remedials[0])
    offer.refresh_from_db()
    edited = edit_line(first, version=offer.version, price=Decimal(200), by=office, now=NOON)
    assert (edited.rate, edited.vat) == (Decimal("17.5"), Decimal("35.00"))


def test_the_customer_reads_the_days_and_dates_that_the_firm_put_right(battery, corrected) -> None:
    corrected("consumer.cancel-days", "21")
    corrected("vat.energy.until", "2028-03-31")
    said = offer_as_said(battery, now=NOON)
    assert "within 21 days" in said["cancellation"]["words"]
    assert said["lines"][0]["rate_words"] == "0 %, energy-saving materials until 31 Mar 2028"
    assert "until 31 Mar 2028. This work has no date by which it is done" in said["energy_note"]


def test_a_firm_without_vat_says_nothing_of_its_rates(battery) -> None:
    battery.vat_registered = False
    assert offer_as_said(battery, now=NOON)["energy_note"] == ""


def test_a_stored_line_as_the_rules_take_it(site) -> None:
    offer = make.make_offer(sites=[site], prices=[])
    more = {"words": "Fit a cover", "certainty": "capped", "optional": True, "either": "A", "code": "C2"}
    needed = make.make_line(offer)
    stored = Line.objects.get(pk=make.make_line(offer, needs=[needed.key], **more).pk)
    assert of_line(stored) == a_sum(stored.key, needs=(needed.key,), cost=Decimal(60), **more)
