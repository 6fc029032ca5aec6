"""Whom of us a customer's word about a quote reaches."""

from jobsite.people.models import User
from jobsite.people.rights import Right
from remedials.quotes.models import Quote


def told_of(quote: Quote) -> list[User]:
    """The quote's owner; where they have left the firm the managers, else whoever may price, in the order of names."""
    if quote.owner.is_active:
        return [quote.owner]
    staff = [user for user in User.objects.filter(is_active=True).order_by("name", "pk") if user.may(Right.PRICE)]
    return [user for user in staff if user.may(Right.KEEP_FIRM)] or staff


def next_owner(quote: Quote) -> User:
    """Who owes what the quote asks for: its owner, or the first of those who are told instead."""
    return next(iter(told_of(quote)), quote.owner)
