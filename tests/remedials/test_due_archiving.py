"""A site leaves the lists only when nothing dangerous would drop out of sight with it."""

import pytest

from inspections.models import Observation
from jobsite.premises.operations import archive_site
from jobsite.refused import Refused
from remedials.quotes.models import Question
from tests.factories import NOON, Told, make_inspection, make_observation, make_remedial, make_sent_offer, recorded

pytestmark = pytest.mark.django_db


def refusal(site, by) -> str:
    with recorded() as told, pytest.raises(Refused) as refused:
        archive_site(site, by=by, now=NOON)
    site.refresh_from_db()
    assert (told, site.archived_at) == ([], None)
    return refused.value.sentence


@pytest.mark.parametrize(("code", "shown"), [("C1", "C1"), ("C2", "C2"), ("FI", "FI"), ("", "uncoded")])
def test_what_is_dangerous_or_uncoded_keeps_a_site_on_the_lists(site, office, code, shown) -> None:
    open_one = make_observation(site, "Cover missing", code=code)
    assert refusal(site, office).startswith(f"This is still open here ({shown}: Cover missing).")
    Observation.objects.filter(pk=open_one.pk).update(ended="no-code", ended_on=NOON.date())
    with recorded() as told:
        assert archive_site(site, by=office, now=NOON).archived_at == NOON
    assert told == [Told("site.archived", site.pk)]


def test_the_worst_is_named(site, office) -> None:
    for code in ("C2", "C1", "C3"):
        make_observation(site, f"A {code}", code=code)
    assert "(C1: A C1)" in refusal(site, office)


def test_work_declined_keeps_a_site_on_the_lists(site, office) -> None:
    make_remedial(make_observation(site, "Cover missing", code="C2"), stage="declined")
    assert "(C2: Cover missing)" in refusal(site, office)


def test_a_draft_with_something_dangerous_in_it_keeps_a_site_on_the_lists(site, office) -> None:
    draft = make_inspection(site, issued=False)
    make_observation(site, "Live part in reach", code="C1", inspection=draft, draft=True)
    assert "(C1: Live part in reach)" in refusal(site, office)


def test_improvements_do_not(site, office) -> None:
    make_observation(site, code="C3")
    assert archive_site(site, by=office, now=NOON).archived_at == NOON


def test_a_question_that_waits_for_us_keeps_a_site_on_the_lists(site, office) -> None:
    """A quote that is not answered does so by itself; of one that is, a question may still be open."""
    offer = make_sent_offer(sites=[site], prices=[{}], name="New lights", by=office)
    assert f"{offer} was sent and is not answered" in refusal(site, office)
    type(offer).objects.filter(pk=offer.pk).update(state="answered")
    question = Question.objects.create(quote=offer.quote, owner=office, reply_by=NOON.date(), asked_at=NOON)
    assert f"(quote: Quote {offer.quote.number})" in refusal(site, office)
    Question.objects.filter(pk=question.pk).update(open=False)
    assert archive_site(site, by=office, now=NOON).archived_at == NOON
