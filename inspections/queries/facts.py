"""Published facts as the firm uses them on a day: the shipped rows with what qualified persons corrected."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from inspections.models import FactCorrection
from inspections.standards.confidence import Confidence
from inspections.standards.editions import Edition
from inspections.standards.facts import SHIPPED, Correction, Facts
from inspections.standards.registry import FACTS, GROUPS, faults
from jobsite import words
from jobsite.addresses import address


def corrections_on(day: date) -> dict[str, FactCorrection]:
    """The correction in force on `day` of each fact that has one, by its key; none where the shipped one holds again.

    One statement.
    """
    rows = FactCorrection.objects.filter(holds_from__lte=day).select_related("by")
    latest = rows.order_by("fact", "-holds_from", "-at", "-pk").distinct("fact")
    return {row.fact: row for row in latest if not row.puts_back}


def facts_on(day: date) -> Facts:
    """The facts to judge by on `day`. A correction that a later program cannot read any more is left out.

    One statement.
    """
    found = corrections_on(day)
    return facts_from(found) if found else SHIPPED


def facts_from(rows: Mapping[str, FactCorrection]) -> Facts:
    """The shipped facts with those of `rows` over them that can still be read."""
    read = {key: correction for key, row in rows.items() if (correction := as_correction(row))}
    wrong = faults(read)
    return Facts({key: correction for key, correction in read.items() if key not in wrong})


def as_correction(row: FactCorrection) -> Correction | None:
    """The row as judging takes it; None where its fact is gone or can't have its value any more."""
    try:
        return Correction(FACTS[row.fact].read(row.value), row.source, row.reason)
    except (KeyError, ValueError):
        return None


# --- the page ---------------------------------------------------------------------------------------------------------

UNSURE, CORRECTED = "unsure", "corrected"


def fact_groups(day: date, *, text: str = "", only: str = "") -> list[dict[str, Any]]:
    """All facts under their heads, as they are used on `day`; narrowed to words, unsure ones or corrected ones.

    One statement.
    """
    rows = corrections_on(day)
    used = facts_from(rows)
    groups = []
    for head, facts in GROUPS.items():
        found = [fact_row(fact, used, rows.get(fact.key)) for fact in facts]
        found = [row for row in found if _wanted(row, text, only)]
        if found:
            counts = {name: sum(bool(row[name]) for row in found) for name in (UNSURE, CORRECTED)}
            groups.append({"head": head, "rows": found} | counts)
    return groups


def _wanted(row: dict[str, Any], text: str, only: str) -> bool:
    said = f"{row['title']} {row['key']} {row['source']}".casefold()
    if not all(word in said for word in text.casefold().split()):
        return False
    return not only or bool(row[only])


def fact_row(fact: Any, used: Facts, row: FactCorrection | None) -> dict[str, Any]:
    """One fact of the registry as it is used, with how sure it is."""
    now = used.of(fact)
    return {
        "key": fact.key,
        "href": address("inspections:fact", fact.key),
        "title": fact.title,
        "shown": now.shown,
        "source": now.source,
        "sure": sure_words(now.confidence),
        "unsure": not now.confidence.sure,
        "corrected": used.corrected(fact),
        "was": fact.shown if used.corrected(fact) else "",
        "by": f"{row.by.name}, from {words.day(row.holds_from)}" if row and used.corrected(fact) else "",
        "editions": ", ".join(Edition(edition).label for edition in fact.editions),
    }


def sure_words(confidence: Confidence) -> str:
    """How sure a fact is; of one that the firm looked up, that it did."""
    return "looked up by the firm" if confidence is Confidence.GIVEN else confidence.value


def fact_history(key: str) -> list[dict[str, str]]:
    """What was corrected of a fact, the latest first. One statement."""
    fact = FACTS[key]
    rows = FactCorrection.objects.filter(fact=key).select_related("by").order_by("-holds_from", "-at", "-pk")
    return [
        {
            "value": "as the program has it" if row.puts_back else _value_words(fact, row),
            "from": words.day(row.holds_from),
            "source": row.source,
            "reason": row.reason,
            "by": f"{row.by.name}, {words.when(row.at)}",
        }
        for row in rows
    ]


def _value_words(fact: Any, row: FactCorrection) -> str:
    correction = as_correction(row)
    if correction is None:
        return f"{row.value}, which this fact cannot be any more: not used"
    return Facts({row.fact: correction}).of(fact).shown
