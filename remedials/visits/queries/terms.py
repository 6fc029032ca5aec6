"""What the firm has decided for its diary, as it holds on a day."""

from datetime import date

from remedials.visits.models import DiaryTerms


def diary_terms(on: date) -> DiaryTerms:
    """The terms that hold on the day `on`; before the firm set any, the defaults, which are in no table. One statement."""
    return DiaryTerms.objects.filter(holds_from__lte=on).order_by("-holds_from").first() or DiaryTerms(holds_from=on)
