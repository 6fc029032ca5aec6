"""What the page of reminding shows besides its form: bank holidays to come, who changed what, what is quieter than shipped."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from jobsite.firm.queries import the_firm
from jobsite.ledger.models import Entry
from jobsite.ledger.queries import words_of
from jobsite.ledger.rules import FIRM_CHAIN
from jobsite.people.models import User
from jobsite.premises.choices import Nation
from jobsite.words import weekday, when
from remedials.due.models import Reminding
from remedials.due.rules.quieter import FIELDS, WEEKDAYS, WORDS, quieter
from remedials.due.rules.sorts import Days, Sort
from remedials.due.verbs import Verb
from remedials.visits.rules.days import bank_holidays

A_YEAR = timedelta(days=365)
CHANGES_SHOWN = 5
SAID = {
    "digest_at": "digest at",
    "working_days": "working days",
    "bank_holidays_off": "no digest on bank holidays",
    "quiet_from": "quiet hours from",
    "quiet_until": "quiet hours until",
    "inspection_days": "letters before an inspection, days",
    "inspection_overdue_every": "once overdue every, days",
    "before": "first before",
    "every": "again every",
    "qualified_after": "to a qualified person after",
    "manager_after": "to the managers after",
}


def holidays_to_come(today: date) -> dict[str, Any]:
    """The bank holidays of the firm's nation in the year from `today` on, in words. One statement."""
    nation = the_firm().nation
    days = bank_holidays(nation, today, today + A_YEAR)
    return {
        "nation": Nation(nation).label,
        "days": [{"on": f"{weekday(on)} {on.year}", "name": name} for on, name in days.items()],
    }


def quieter_now(reminding: Reminding, rules: Mapping[Sort, Days]) -> list[str]:
    """Where danger is quieter than shipped by these figures, in sentences."""
    return list(quieter(rules, reminding.working_days).values())


def last_changes() -> list[dict[str, Any]]:
    """Who changed what of reminding last, newest first, with the reason given. At most three statements."""
    entries = list(Entry.objects.filter(chain=FIRM_CHAIN, verb=Verb.REMINDING_SET).order_by("-number")[:CHANGES_SHOWN])
    said = words_of(entry.pk for entry in entries)
    names = dict(User.objects.filter(pk__in={entry.actor for entry in entries}).values_list("pk", "name"))
    return [
        {
            "when": when(entry.at),
            "who": names.get(entry.actor, "somebody whose name is no longer kept"),
            "what": changes_in_words(entry.facts),
            "reason": said.get(entry.pk, {}).get("reason", ""),
        }
        for entry in entries
    ]


def changes_in_words(facts: Mapping[str, Any]) -> list[str]:
    """What an entry of the ledger says was changed: "C2, potentially dangerous: again every 1 → 3"."""
    found = [
        f"{SAID.get(name, name)} {_said(name, old)} → {_said(name, new)}"
        for name, (old, new) in facts["figures"].items()
    ]
    for sort, (old, new) in facts["sorts"].items():
        parts = [
            f"{SAID[name]} {_said(name, before)} → {_said(name, after)}"
            for name, before, after in zip(FIELDS, old, new, strict=True)
            if before != after
        ]
        found.append(f"{WORDS.get(sort, sort)}: {', '.join(parts)}")
    return found


def _said(name: str, value: Any) -> str:
    if value is None:
        return "never"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if name == "working_days":
        return " ".join(WEEKDAYS[number - 1][:3] for number in value)
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)


def shipped_words(value: int | None) -> str:
    """A shipped figure as it stands beside one that the firm changed."""
    return "never" if value is None else str(value)
