"""What a customer says on the page in one go: answers to lines, and questions about others."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from jobsite.ids import part_of
from jobsite.ledger.operations import operation
from jobsite.people.models import PrivateLink
from remedials.quotes.models import Answer, Offer
from remedials.quotes.operations.answer_ground import lock_offer
from remedials.quotes.operations.answering import Said, answer_offer
from remedials.quotes.operations.asking import ask_question


@operation
def answer_and_ask(
    offer: Offer,
    *,
    id: UUID,
    says: Mapping[UUID, Said],
    asks: Mapping[UUID, str],
    name: str,
    by: PrivateLink,
    now: datetime,
    **answer: Any,
) -> Answer | None:
    """Take the answers (by the lines' ids) and the questions (by their keys), all or nothing; None where none is answered.

    The same form again: nothing more happens. Raises as `answer_offer` and `ask_question` do.
    """
    offer, _, _ = lock_offer(offer)
    for key, text in asks.items():
        ask_question(offer, id=part_of(id, f"ask {key}"), text=text, name=name, line_key=key, by=by, now=now)
    if asks and not says:
        return None
    return answer_offer(offer, id=id, says=says, name=name, by=by, now=now, **answer)
