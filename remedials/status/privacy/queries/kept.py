"""What is kept and why: the page of the firm, and the one for anybody. Ready strings."""

from datetime import datetime
from typing import Any

from jobsite import clock
from jobsite.addresses import address
from jobsite.firm.queries import the_firm
from jobsite.ledger.models import Entry, Hold
from jobsite.premises.models import Site
from jobsite.words import day, dialled, london, many, when
from remedials.status.models import Erasure, Retention
from remedials.status.privacy.queries.past import PAST, before_of, held_now
from remedials.status.privacy.rules import ARTICLES, BACKUPS, BY_KEY, FORGOTTEN, SHED, STAYS, VERIFY, period_words
from remedials.status.verbs import Verb

MOST = 20


def kept_page(*, now: datetime) -> dict[str, Any]:
    """What a manager sees: each kind with its months, why, how many rows are past their time; holds, runs, erasures.

    Fourteen statements, whatever the size, and one more for each generation of sites that went over to a held one.
    """
    own = {row.kind: row for row in Retention.objects.all()}
    held, today = held_now(), clock.local_day(now)
    rows = []
    for kind in SHED:
        row = own.get(kind.key)
        months = row.months if row else kind.months
        past = 0 if months is None else PAST[kind.key](before_of(today, months), held).count()
        rows.append(_kind(kind, row, months) | {"past": many(past, "row") if past and not held.everything else ""})
    return {
        "rows": rows,
        "holds": holds_shown(),
        "runs": runs_shown(),
        "erasures": erasures_shown(),
        "stays": STAYS,
        "articles": ARTICLES,
        "backups": BACKUPS,
        "forgotten": FORGOTTEN,
        "verify": VERIFY,
    }


def _kind(kind: Any, row: Retention | None, months: int | None) -> dict[str, Any]:
    return {
        "label": kind.label,
        "holds": kind.holds,
        "sheds": kind.sheds,
        "period": period_words(months),
        "from": f"from {kind.counts_from}" if months is not None else "",
        "why": row.why if row else kind.why,
        "own": bool(row),
        "shipped": "" if not row or row.months == kind.months else f"shipped: {period_words(kind.months)}",
        "href": f"{address('proof:retention')}{kind.key}/",
    }


def retention_of(key: str) -> Retention:
    """How long data of the kind `key` are kept, as a row that may not be saved yet. KeyError for no kind. One statement."""
    kind = BY_KEY[key]
    return Retention.objects.filter(kind=key).first() or Retention(
        kind=key, months=kind.months, why=f"{kind.why} {VERIFY}", version=0
    )


def holds_shown() -> list[dict[str, str]]:
    """The holds in force, of whatever site. Two statements."""
    holds = list(Hold.objects.filter(lifted_at=None).order_by("placed_at", "pk"))
    names = dict(Site.objects.filter(pk__in=[hold.site for hold in holds if hold.site]).values_list("pk", "name"))
    return [
        {
            "where": names.get(hold.site, "a site") if hold.site else "everything",
            "href": address("desk:site", hold.site) if hold.site else "",
            "reason": hold.reason,
            "since": day(london(hold.placed_at).date()),
        }
        for hold in holds
    ]


def runs_shown() -> list[str]:
    """What the last runs erased, the newest first. One statement."""
    entries = Entry.objects.filter(verb=str(Verb.DATA_SHED)).order_by("-at", "-number")[:MOST]
    return [
        f"{when(entry.at)}: "
        + "; ".join(
            f"{BY_KEY[kind].label if kind in BY_KEY else kind}: {rows:,}" for kind, rows in sorted(_rows(entry))
        )
        for entry in entries
    ]


def _rows(entry: Entry) -> Any:
    return entry.facts["rows"].items()


def erasures_shown() -> list[dict[str, str]]:
    """The customers whose data were erased last. One statement."""
    rows = Erasure.objects.select_related("party", "by").order_by("-at")[:MOST]
    return [
        {"name": row.party.name, "href": address("premises:party", row.party_id), "said": f"{when(row.at)}, {row.by}"}
        for row in rows
    ]


WHY = {"asked": "they asked for it", "objected": "they object to its being kept", "not-needed": "no longer needed"}


def erasure_shown(row: Erasure) -> dict[str, Any]:
    """One erasure with what went then and what stayed."""
    return {
        "said": f"{when(row.at)}, by {row.by}",
        "asked": f"asked on {day(row.asked_on)}: {WHY.get(row.erased['why'], '')}",
        "rows": [{"label": label, "rows": rows} for label, rows in sorted(row.erased["rows"].items())],
        "kept": row.kept,
    }


def public_page() -> dict[str, Any]:
    """What anybody may read: what is kept, how long, why, what they may ask for. Two statements."""
    firm, own = the_firm(), {row.kind: row for row in Retention.objects.all()}
    rows = []
    for kind in SHED:
        row = own.get(kind.key)
        period = period_words(row.months if row else kind.months)
        since = "" if row and row.months is None else f" from {kind.counts_from}"
        rows.append({"label": kind.label, "holds": kind.holds, "period": f"{period}{since}", "why": (row or kind).why})
    return {
        "firm": {"name": firm.name, "phone": firm.phone, "email": firm.email, "dial": dialled(firm.phone)},
        "address": firm.address.splitlines(),
        "rows": rows,
        "stays": STAYS,
        "articles": ARTICLES,
        "forgotten": FORGOTTEN,
    }
