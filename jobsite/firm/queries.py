"""The firm's own facts, with defaults where nobody has set them yet."""

from datetime import date, datetime

from jobsite.firm.models import Firm, Heartbeat, Policy


def the_firm() -> Firm:
    """The firm, or one with default words where none was entered yet."""
    return Firm.objects.first() or Firm()


def policy_on(day: date) -> Policy:
    """The policy in force on `day`; the defaults before the firm has set one."""
    return Policy.objects.filter(holds_from__lte=day).order_by("-holds_from").first() or Policy(holds_from=day)


def beats(*names: str) -> dict[str, datetime]:
    """When each of `names` last ran to its end, left out where it never did. One statement."""
    return dict(Heartbeat.objects.filter(pk__in=names).values_list("name", "at"))


def last_beat(name: str) -> datetime | None:
    """When `name` last ran to its end."""
    return Heartbeat.objects.filter(pk=name).values_list("at", flat=True).first()
