"""By what figures people are reminded: the firm's own, and the shipped ones where it has set none."""

from datetime import date, timedelta

from jobsite.firm.queries import the_firm
from remedials.due.models import ReminderRule, Reminding
from remedials.due.rules.moments import MOST_DAYS, Hours
from remedials.due.rules.sorts import SHIPPED, Days, Sort
from remedials.visits.rules.days import bank_holidays

LOOKS_ROUND = timedelta(
    days=MOST_DAYS
)  # who asks for the working day before or after may look beyond the days asked for


def reminding() -> Reminding:
    """When the firm writes to its people and customers; the shipped figures until it sets its own. One statement."""
    return Reminding.objects.first() or Reminding.shipped()


def hours(first: date, last: date) -> Hours:
    """The firm's hours with the bank holidays of its nation from `first` to `last`, and a year beyond. Two statements."""
    return hours_of(reminding(), the_firm().nation, first, last)


def hours_of(figures: Reminding, nation: str, first: date, last: date) -> Hours:
    """What `hours` gives, by `figures` that need not be saved, in `nation`. No statement."""
    days = bank_holidays(nation, first - LOOKS_ROUND, last + LOOKS_ROUND) if figures.bank_holidays_off else {}
    return Hours(
        digest_at=figures.digest_at,
        working_days=frozenset(figures.working_days),
        quiet_from=figures.quiet_from,
        quiet_until=figures.quiet_until,
        holidays=frozenset(days),
    )


def rules_in_force() -> dict[Sort, Days]:
    """The days of every sort of row: the firm's where it has set any, else the shipped ones. One statement."""
    own = {Sort(rule.sort): days_of(rule) for rule in ReminderRule.objects.all()}
    return SHIPPED | own


def days_of(rule: ReminderRule) -> Days:
    """The figures of `rule`."""
    return Days(rule.before, rule.every, rule.qualified_after, rule.manager_after)
