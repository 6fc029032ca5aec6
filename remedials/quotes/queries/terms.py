"""The firm's rates and terms on a day."""

from datetime import date

from remedials.quotes.models import Terms


def terms_on(day: date) -> Terms | None:
    """The terms in force on `day`, their rates fetched with them; None before any are entered. Two statements."""
    rows = Terms.objects.filter(holds_from__lte=day).order_by("-holds_from")
    return rows.prefetch_related("rates").first()


def last_terms() -> Terms | None:
    """The terms that begin last, whether in force yet or not: what new ones start from."""
    return Terms.objects.order_by("-holds_from").prefetch_related("rates").first()
