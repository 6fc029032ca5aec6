"""Published facts corrected by a qualified person: recorded, from a day on, used in judging, put back."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from inspections import operations
from inspections.models import FactCorrection, Reading
from inspections.queries.facts import fact_groups, facts_on
from inspections.standards import insulation
from inspections.standards.law import rule_in_force
from inspections.standards.places import Nation, Tenure
from inspections.standards.readings import Quantity, read
from inspections.standards.registry import FACTS
from jobsite.ids import new_id
from jobsite.refused import NotAllowed, Refused
from tests import factories as make
from tests.factories import TODAY, Told, recorded
from tests.remedials.desk import read as page_words
from tests.remedials.desk import statements, text_of

pytestmark = pytest.mark.django_db
KEY = "insulation.to-500-v"
TABLE = "BS 7671:2018+A4:2026, Table 64, looked up in the firm's copy"


@pytest.fixture
def correct(qualified, now):
    def one(value="2.0", key=KEY, **fields):
        usual = {
            "id": new_id(),
            "source": TABLE,
            "reason": "Looked up",
            "holds_from": TODAY,
            "by": qualified,
            "now": now,
        }
        return operations.correct_fact(key, value=value, **usual | fields)

    return one


def test_a_correction_is_recorded_once_and_used_from_its_day(correct, qualified) -> None:
    key = new_id()
    with recorded() as told:
        made = correct(id=key)
        assert correct(id=key) == made
    facts = {"value": "2.0", "shipped": "1.0", "fact": KEY, "holds_from": "2026-02-03"}
    assert told == [Told("fact.corrected", key, facts, {"source": TABLE, "reason": "Looked up"})]
    assert facts_on(TODAY).of(insulation.TO_500_V).value == Decimal("2.0")
    assert facts_on(TODAY - timedelta(days=1)).of(insulation.TO_500_V).value == Decimal("1.0")


def test_a_reading_is_judged_by_it_and_earlier_ones_keep_theirs(correct, board, engineer, now) -> None:
    circuit, tool = make.make_circuit(board), make.make_instrument()

    def take():
        value = read(Quantity.INSULATION, "1.5")
        return operations.take_reading(
            circuit, id=new_id(), quantity=Quantity.INSULATION, value=value, instrument=tool, by=engineer, now=now
        )

    before = take()
    correct()
    after = take()
    assert (before.verdict, before.limit_least) == ("warning", Decimal(1))
    assert (after.verdict, after.limit_least) == ("fail", Decimal(2))
    assert "as corrected from BS 7671:2018+A4:2026, Table 64" in after.basis
    before.refresh_from_db()
    assert before.limit_least == Decimal(1)
    assert Reading.objects.count() == 2


def test_a_date_is_counted_by_it(correct, issued) -> None:
    """England's 28 days for rented homes as shipped, and a firm that read otherwise: the day that ends them moves."""
    key = "law.england.private.2025.remedy-days"
    shipped = FACTS[key].value
    assert shipped == 28
    correct(value="14", key=key, holds_from=date(2020, 1, 1), source="the regulation")
    _, [seen] = issued("C2")
    assert seen.remedy_by == date(2026, 1, 20) + timedelta(days=13)
    # The law's name alone would say that the law asks for 14 days.
    assert seen.remedy_basis.endswith(
        "14 days starting with 20 Jan 2026. As the firm corrected it, from the regulation."
    )


def test_where_the_law_gives_no_days_a_number_can_be_put_and_taken_off_again(correct) -> None:
    def law():
        return rule_in_force(Nation.WALES, Tenure.PRIVATE_RENTED, TODAY, facts=facts_on(TODAY))

    key = "law.wales.2022.remedy-days"
    assert (FACTS[key].shown, law().remedy_days) == ("no number of days", None)
    correct("28", key=key, holds_from=TODAY - timedelta(days=1))
    assert (facts_on(TODAY).of(FACTS[key]).shown, law().remedy_days) == ("28 days", 28)
    correct("no number of days", key=key)
    assert (facts_on(TODAY).of(FACTS[key]).shown, law().remedy_days) == ("no number of days", None)


def test_the_latest_holds_and_putting_back_is_another_entry(correct, qualified, now) -> None:
    correct("2.0")
    correct("1.5", holds_from=TODAY + timedelta(days=10))
    assert facts_on(TODAY + timedelta(days=9)).of(insulation.TO_500_V).value == Decimal("2.0")
    assert facts_on(TODAY + timedelta(days=10)).of(insulation.TO_500_V).value == Decimal("1.5")
    with recorded() as told:
        back = operations.put_back_fact(
            KEY, id=new_id(), reason="The table says 1.0", holds_from=TODAY + timedelta(days=20), by=qualified, now=now
        )
    assert [one.verb for one in told] == ["fact.put-back"]
    assert back.puts_back
    assert facts_on(TODAY + timedelta(days=20)).of(insulation.TO_500_V) is insulation.TO_500_V


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"value": "many"}, "value"),
        ({"value": "0"}, "value"),
        ({"value": "-1"}, "value"),
        ({"value": "1e5"}, "value"),
        ({"source": " "}, "source"),
        ({"reason": ""}, "reason"),
        ({"key": "no.such.fact"}, None),
    ],
)
def test_what_cannot_be_is_refused(correct, fields, field) -> None:
    with recorded() as told, pytest.raises(Refused) as refused:
        correct(**fields)
    assert (refused.value.field, told, FactCorrection.objects.count()) == (field, [], 0)


def test_only_a_qualified_person_corrects(correct, office, engineer, qualified, now) -> None:
    for by in (office, engineer):
        with pytest.raises(NotAllowed):
            correct(by=by)
        with pytest.raises(NotAllowed):
            operations.put_back_fact(KEY, id=new_id(), reason="x", holds_from=TODAY, by=by, now=now)
    with pytest.raises(Refused, match="nothing to put back"):
        operations.put_back_fact(KEY, id=new_id(), reason="x", holds_from=TODAY, by=qualified, now=now)


def test_what_a_later_program_cannot_read_is_left_out(correct) -> None:
    made = correct()
    FactCorrection.objects.filter(pk=made.pk).update(value="a page of the table")
    gone = correct(key="insulation.selv")
    FactCorrection.objects.filter(pk=gone.pk).update(fact="no.such.fact")
    assert facts_on(TODAY).of(insulation.TO_500_V) is insulation.TO_500_V


# --- the pages --------------------------------------------------------------------------------------------------------


def test_the_list_tells_how_sure_each_is(as_, office, correct) -> None:
    correct()
    client = as_(office)
    words = page_words(client, reverse("inspections:facts"))
    assert "2.0 MΩ looked up by the firm Quentin Prover, from 3 Feb 2026; the program has 1.0 MΩ" in words
    assert "from memory: look it up" in words
    unsure = {row["key"] for group in fact_groups(TODAY, only="unsure") for row in group["rows"]}
    assert unsure == {key for key, fact in FACTS.items() if not fact.confidence.sure}
    assert [row["key"] for group in fact_groups(TODAY, only="corrected") for row in group["rows"]] == [KEY]
    narrowed = page_words(client, reverse("inspections:facts"), q="insulation SELV")
    assert "Lowest insulation resistance, SELV and PELV" in narrowed
    assert "Earth electrodes" not in narrowed


def test_no_fact_is_shown_as_no_days_of_grace(as_, office, qualified) -> None:
    words = page_words(as_(office), reverse("inspections:facts"), q="remedy Wales")
    assert "starting with the inspection no number of days" in words
    shown = [row["shown"] for group in fact_groups(TODAY) for row in group["rows"]]
    assert "0 days" not in shown
    form = page_words(as_(qualified), reverse("inspections:correct_fact", args=["law.wales.2022.remedy-days"]))
    assert "0 stands for “no number of days”." in form


def test_a_fact_is_corrected_and_put_back_on_its_pages(as_, qualified, at_noon) -> None:
    client = as_(qualified)
    at, correct_at = (reverse(f"inspections:{name}", args=[KEY]) for name in ("fact", "correct_fact"))
    assert "Nothing yet: it stands as the program has it." in page_words(client, at)
    sent = {"id": str(new_id()), "value": "2.0", "source": TABLE, "reason": "Looked up", "holds_from": "2026-02-03"}
    wrong = client.post(correct_at, sent | {"value": "200000"})
    assert (wrong.status_code, "lies outside what can be" in text_of(wrong)) == (422, True)
    said = text_of(client.post(correct_at, sent, follow=True))
    assert "Used today 2.0 MΩ Quentin Prover, from 3 Feb 2026" in said
    assert "The program has 1.0 MΩ" in said
    back = {"id": str(new_id()), "reason": "A slip", "holds_from": "2026-02-03"}
    said = text_of(client.post(reverse("inspections:put_back_fact", args=[KEY]), back, follow=True))
    assert "Used today 1.0 MΩ" in said
    assert "as the program has it from 3 Feb 2026 A slip" in said


def test_others_read_and_are_told_who_corrects(as_, office) -> None:
    client = as_(office)
    assert "Only a qualified person corrects a fact" in page_words(client, reverse("inspections:fact", args=[KEY]))
    assert client.get(reverse("inspections:fact", args=["no.such.fact"])).status_code == 404


@pytest.mark.parametrize("size", [1, 8])
def test_the_list_costs_the_same_at_any_size(as_, office, correct, size) -> None:
    for key in list(FACTS)[:size]:
        correct(FACTS[key].text(FACTS[key].value), key=key)
    client = as_(office)
    with statements() as sql:
        client.get(reverse("inspections:facts"))
    assert len(sql) == 4


def test_every_fact_can_be_corrected_by_its_own_text() -> None:
    for fact in FACTS.values():
        assert fact.read(fact.text(fact.value)) == fact.value, fact.key
