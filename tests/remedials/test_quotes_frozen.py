"""A version that was sent is frozen by the database: also its owner, who can write any SQL, is refused."""

import pytest
from django.db import IntegrityError, connection, transaction

from remedials.quotes.models import LineRemedial, Offer
from tests import factories as make
from tests.factories import NOON

pytestmark = pytest.mark.django_db
FROZEN = "A quote that was sent is frozen"
OF_OFFER = """
    consumer = NOT consumer | vat_registered = NOT vat_registered | customer_vat_number = 'GB 1' | cis_reportable = TRUE
    | end_user = TRUE | text_before = 'x' | text_after = 'x' | valid_until = valid_until + 1 | work_until = now()::date
    | made_at = now() | sent_at = now() | sent_how = 'printed' | sent_to = 'x' | said = '{}' | fingerprint = 'x'
    | number = number + 1 | quote_id = uuidv7() | state = 'draft' | made_by_id = uuidv7() | sent_by_id = uuidv7() | file_id = 'x'
"""
OF_LINE = """
    offer_id = uuidv7() | key = uuidv7() | position = 9 | kind = 'call-out', visits = 1 | words = 'x' | danger = 'x' | code = 'C1'
    | cost = 1 | price = 1 | treatment = 'reduced' | rate = 5 | vat = 1 | certainty = 'capped' | optional = TRUE | either = 'x'
    | needs = ARRAY[uuidv7()] | made_at = now() | written_in = 7
"""


def cases(text: str) -> list[str]:
    return [case.strip() for case in text.split("|")]


@pytest.fixture
def offer(site) -> Offer:
    return make.make_sent_offer(make.make_remedial(make.make_observation(site)))


def run(sql: str, *parameters: object) -> int:
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(sql, parameters)
        return cursor.rowcount


def refuses(sql: str, *parameters: object) -> None:
    with pytest.raises(IntegrityError, match=FROZEN):
        run(sql, *parameters)


@pytest.mark.parametrize("change", cases(OF_OFFER))
def test_no_column_of_what_was_sent_changes(offer, change) -> None:
    refuses(f"UPDATE quotes_offer SET {change} WHERE id = %s", offer.pk)


@pytest.mark.parametrize("change", cases(OF_LINE))
def test_no_column_of_its_lines_changes(offer, change) -> None:
    refuses(f"UPDATE quotes_line SET {change} WHERE offer_id = %s", offer.pk)


def test_every_column_is_named_above() -> None:
    """A column that is added must say whether it is frozen."""
    free = {"id", "state", "ended_at", "ended_by_id", "end_reason", "version"}
    named = {case.split(" = ")[0] for case in cases(OF_OFFER)} | {"reverse_charge"}
    assert {field.column for field in Offer._meta.concrete_fields} - free == named - {"state"}


def test_the_reverse_charge_of_what_was_sent_stays(site) -> None:
    offer = make.make_sent_offer(
        make.make_remedial(make.make_observation(site)), consumer=False, reverse_charge=True,
        customer_vat_number="GB 999 9999 73", cis_reportable=True, end_user=False,
    )  # fmt: skip
    refuses("UPDATE quotes_offer SET reverse_charge = FALSE WHERE id = %s", offer.pk)


def test_nothing_of_it_is_deleted_and_nothing_added(offer) -> None:
    line = offer.lines.get()
    refuses("DELETE FROM quotes_lineremedial WHERE line_id = %s", line.pk)
    refuses("UPDATE quotes_lineremedial SET line_id = uuidv7() WHERE line_id = %s", line.pk)
    other = make.make_remedial(make.make_observation(line.site or offer.quote.sites.get()))
    refuses("INSERT INTO quotes_lineremedial (line_id, remedial_id) VALUES (%s, %s)", line.pk, other.pk)
    refuses("DELETE FROM quotes_line WHERE id = %s", line.pk)
    refuses("DELETE FROM quotes_offer WHERE id = %s", offer.pk)
    with pytest.raises(IntegrityError, match=FROZEN), transaction.atomic():
        make.make_line(offer)
    assert LineRemedial.objects.filter(line__offer=offer).count() == 1


def test_a_number_is_kept_also_by_a_quote_that_nobody_sent(offer) -> None:
    draft = make.make_offer(sites=[offer.quote.sites.get()])
    for quote in (offer.quote, draft.quote):
        refuses("UPDATE quotes_quote SET number = number + 100 WHERE id = %s", quote.pk)


@pytest.mark.parametrize("state", ["superseded", "withdrawn"])
def test_what_has_ended_stays_so(offer, state) -> None:
    end = "UPDATE quotes_offer SET state = %s, ended_at = %s, end_reason = 'a reason' WHERE id = %s"
    assert run(end, state, NOON, offer.pk) == 1
    for change in ("state = 'sent'", "ended_at = now()", "end_reason = 'another'", "state = 'answered'"):
        refuses(f"UPDATE quotes_offer SET {change} WHERE id = %s", offer.pk)


def test_it_may_be_answered_and_that_taken_back_and_its_line_go_over_with_its_site(offer) -> None:
    assert run("UPDATE quotes_offer SET state = 'answered', version = 9 WHERE id = %s", offer.pk) == 1
    refuses("UPDATE quotes_offer SET state = 'withdrawn', ended_at = now(), end_reason = 'x' WHERE id = %s", offer.pk)
    assert run("UPDATE quotes_offer SET state = 'sent' WHERE id = %s", offer.pk) == 1
    assert run("UPDATE quotes_line SET site_id = %s WHERE offer_id = %s", make.make_site("Into").pk, offer.pk) == 1


def test_a_draft_changes_and_goes_but_is_answered_only_when_it_was_sent(site) -> None:
    offer = make.make_offer(make.make_remedial(make.make_observation(site)))
    refuses("UPDATE quotes_offer SET state = 'withdrawn', ended_at = now(), end_reason = 'x' WHERE id = %s", offer.pk)
    assert run("UPDATE quotes_line SET words = 'x' WHERE offer_id = %s", offer.pk) == 1
    offer.delete()
    assert not Offer.objects.exists()
