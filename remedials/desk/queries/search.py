"""Finding a site, board, observation, remedial, visit or customer by words or number, in one statement."""

from typing import Any

from django.contrib.postgres.search import TrigramWordSimilarity
from django.db.models import Case, CharField, F, Func, Q, QuerySet, TextField, UUIDField, Value, When
from django.db.models.functions import Cast, Coalesce, Concat

from inspections.models import Inspection, Observation
from jobsite.addresses import address
from jobsite.marks import code_mark
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Board, Party, Site
from jobsite.sorting import sort_key
from remedials.desk.queries.visits import own
from remedials.quotes.models import Quote
from remedials.visits.models import Visit
from remedials.works.models import Remedial
from remedials.works.states import WORDS, Stage

SHOWN = 10
MOST_WORDS = 8
LONGEST = 200
NEAR_ENOUGH = 0.6  # of pg_trgm's word similarity: one letter wrong in a word of six

# kind, heading, page
GROUPS = (
    ("site", "Sites", "desk:site"),
    ("board", "Boards", "premises:board"),
    ("observation", "Observations", "desk:observation"),
    ("remedial", "Remedials", "desk:remedial"),
    ("visit", "Visits", "visits:visit"),
    ("quote", "Quotes", "quotes:quote"),
    ("inspection", "Reports", "inspections:inspection"),
    ("party", "Customers and other parties", "premises:party"),
)


def found(user: User, words: str) -> list[dict[str, Any]]:
    """What `user` may see that says all of `words` (or bears that number), grouped, the likeliest first.

    At most ten of each kind, with `more` where there are others. One statement; none for no words.
    """
    wanted = words.split()[:MOST_WORDS]
    if not wanted:
        return []
    kinds = [_sites, _boards, _observations, _remedials, _inspections]
    parts = [kind(user, wanted) for kind in kinds]
    parts += [_parties(user, wanted)] if user.may(Right.KEEP_CUSTOMERS) and not user.subcontractor else []
    parts += [_quotes(user, wanted)] if user.may(Right.PRICE) and not user.subcontractor else []
    parts += [_visits(user, wanted)] if any(number_in(word) is not None for word in wanted) else []
    rows: dict[str, list[Any]] = {}
    for row in parts[0].union(*parts[1:], all=True):
        rows.setdefault(row[0], []).append(row)
    return [_group(kind, heading, page, rows[kind]) for kind, heading, page in GROUPS if kind in rows]


def number_in(word: str) -> int | None:
    """The number that a word is, as it is spoken ("12", "#12"); None where it is none."""
    digits = word.removeprefix("#")
    return int(digits) if digits.isascii() and digits.isdigit() and len(digits) < 16 else None


def _group(kind: str, heading: str, page: str, rows: list[Any]) -> dict[str, Any]:
    rows = sorted(rows, key=lambda row: (-row[6], row[2]))
    shown = [
        {
            "href": address(page, row[1]),
            "title": row[2],
            "detail": row[3],
            "mark": _mark(kind, row[4]),
            "more": _stage(kind, row[4]),
            "key": row[1],
            "said": row[4],
        }
        for row in rows[:SHOWN]
    ]
    return {"kind": kind, "heading": heading, "rows": shown, "more": len(rows) > SHOWN}


def _mark(kind: str, said: str) -> str:
    if kind != "observation":
        return ""
    code, _, state = said.partition(" ")
    return code_mark(code, held=state == "held", closed=state == "closed", needed=state != "needless")


def _stage(kind: str, said: str) -> str:
    return WORDS[Stage(said)] if kind == "remedial" else ""


def _rows(kind: str, rows: QuerySet[Any], title: Any, detail: Any, said: Any) -> Any:
    """`rows` (from `_that_say`) in the shape that all kinds share, the likeliest ten and one more."""
    return (
        rows.annotate(
            sought=Value(kind, output_field=CharField()),
            title=Cast(title, TextField()),
            detail=Cast(detail, TextField()),
            said=Cast(said, TextField()),
            opens=Cast(F("pk"), UUIDField()),
        )
        .order_by("-near", "pk")
        .values_list("sought", "opens", "title", "detail", "said", "pk", "near")[: SHOWN + 1]
    )


def _that_say(
    rows: QuerySet[Any], wanted: list[str], *columns: str, number: bool = True, fold: str = "", like: str = ""
) -> QuerySet[Any]:
    """Those of `rows` in which each word is in one of `columns`, in the folded column `fold`, or is the number.

    A name in `fold` may also be misspelt a little. `near` says how near the words come to it, or to the column `like`.
    """
    near = TrigramWordSimilarity(sort_key(" ".join(wanted)), fold or like)
    said = Q()
    for word in wanted:
        said &= _says(word, columns, number, fold)
    return rows.annotate(near=near).filter(said | Q(near__gte=NEAR_ENOUGH) if fold else said)


def _says(word: str, columns: tuple[str, ...], number: bool, fold: str) -> Q:
    here = Q(**{f"{fold}__contains": sort_key(word)}) if fold else Q()
    for column in columns:
        here |= Q(**{f"{column}__icontains": word})
    if number and (n := number_in(word)) is not None:
        here |= Q(number=n)
    return here


def _sites(user: User, wanted: list[str]) -> Any:
    # A site that was recorded twice is found by its old name too; its page leads to the other.
    there = Q(archived_at__isnull=True) | Q(merged_into__isnull=False)
    rows: Any = Site.objects.visible_to(user).filter(there)
    rows = _that_say(rows, wanted, "address", "postcode", "customer__name", fold="sort")
    detail = Concat("address", Value(" "), "postcode", Value(" · "), "customer__name", output_field=TextField())
    return _rows("site", rows, F("name"), detail, Value(""))


def _boards(user: User, wanted: list[str]) -> Any:
    rows: Any = Board.objects.visible_to(user).current().filter(site__archived_at__isnull=True)
    rows = _that_say(rows, wanted, "label_found", "place", "site__name", number=False, fold="sort")
    detail = Concat("site__name", Value(" · "), "place", output_field=TextField())
    return _rows("board", rows, F("designation"), detail, Value(""))


def _observations(user: User, wanted: list[str]) -> Any:
    rows: Any = Observation.objects.visible_to(user).filter(draft=False)
    rows = _that_say(rows, wanted, "text", "reported_by", "site__name", "place", "board__designation", like="text")
    detail = Concat(
        Value("observation "), Cast("number", TextField()), Value(" · "), "site__name", Value(" · "),
        Coalesce("board__designation", Value(""), output_field=TextField()), Value(" "), "place", output_field=TextField(),
    )  # fmt: skip
    closed = When(ended="remedied", then=Value(" closed"))
    needless = When(ended="no-code", then=Value(" needless"))
    state = Case(
        closed, needless, When(made_safe=True, then=Value(" held")), default=Value(""), output_field=TextField()
    )
    return _rows("observation", rows, F("text"), detail, Concat("code", state, output_field=TextField()))


def _remedials(user: User, wanted: list[str]) -> Any:
    rows = _that_say(Remedial.objects.visible_to(user), wanted, "work", "site__name", like="work")
    detail = Concat(
        Value("remedial "), Cast("number", TextField()), Value(" · "), "site__name", output_field=TextField()
    )
    return _rows("remedial", rows, F("work"), detail, F("stage"))


def _quotes(user: User, wanted: list[str]) -> Any:
    rows = _that_say(Quote.objects.visible_to(user), wanted, "name", "party__name", like="name")
    detail = Concat(Value("quote "), Cast("number", TextField()), Value(" · "), "party__name", output_field=TextField())
    return _rows("quote", rows, F("name"), detail, Value(""))


def _visits(user: User, wanted: list[str]) -> Any:
    """By its number only: the words of a site lead to the site, which has its visits."""
    rows = _that_say(own(Visit.objects.visible_to(user), user), wanted, "site__name", like="site__name")
    on = Func(
        Func(Value("Europe/London"), F("start"), function="timezone"), Value("FMDD Mon YYYY"), function="to_char",
        output_field=TextField(),
    )  # fmt: skip
    cancelled = Case(When(state="cancelled", then=Value(" · cancelled")), default=Value(""), output_field=TextField())
    title = Concat(Value("Visit "), Cast("number", TextField()), output_field=TextField())
    return _rows(
        "visit", rows, title, Concat("site__name", Value(" · "), on, cancelled, output_field=TextField()), Value("")
    )


def _inspections(user: User, wanted: list[str]) -> Any:
    rows = _that_say(Inspection.objects.visible_to(user), wanted, "reference", like="reference")
    title = Concat(Value("Report "), Cast("number", TextField()), output_field=TextField())
    return _rows("inspection", rows, title, F("site__name"), Value(""))


def _parties(user: User, wanted: list[str]) -> Any:
    rows = _that_say(Party.objects.visible_to(user).current(), wanted, "email", "phone", number=False, fold="sort")
    detail = Concat("phone", Value(" · "), "email", output_field=TextField())
    return _rows("party", rows, F("name"), detail, Value(""))
