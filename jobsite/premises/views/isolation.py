"""The page that says what to switch off for a piece of work, and what should go dead by the record."""

from collections.abc import Callable
from uuid import UUID

from django.http import HttpResponse, QueryDict

from jobsite.pages import page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises.isolation import Work
from jobsite.premises.isolation.words import Locks
from jobsite.premises.queries.isolation import KINDS, isolation_page
from jobsite.premises.views.common import the_site
from jobsite.refused import Refused

CHOOSE = "Choose a board, and what is to be done there."
MOST = 20  # pieces of work at once
TOO_MANY = f"Only the first {MOST} pieces of work are answered here, and not the others: ask for those apart."


@needs(Right.SEE_WORK)
def isolation(
    request: Request,
    pk: UUID,
    *,
    template: str = "premises/isolation.html",
    locks: Callable[[UUID], Locks] | None = None,
) -> HttpResponse:
    """What should go dead for the work named in the address, and the form that asks for it.

    An upper floor shows it in its own `template` with the `locks` that stand at the site.
    """
    site = the_site(request, pk)
    works, board, kind = asked(request.GET)
    too_many = len(works) > MOST
    works = works[:MOST]
    shown = isolation_page(site, works, board=board, kind=kind, locks=locks(site.pk) if locks else {})
    if kind and not board and not shown["refused"]:
        shown["refused"] = Refused(CHOOSE)
    if too_many:
        shown["refused"] = Refused(TOO_MANY)
    return page(request, template, {"site": site} | shown)


def asked(query: QueryDict) -> tuple[list[Work], str, str]:
    """The work that the address names, and a board and kind of work that are chosen so far, "" each where not."""
    works = [
        Work(kind, key)  # type: ignore[arg-type]  # the keys of KINDS are the kinds
        for kind in KINDS
        for key in dict.fromkeys(map(_key, query.getlist(kind)))
    ]
    board, kind = query.get("board", ""), query.get("work", "")
    kind = kind if kind in KINDS else ""
    key = _key(board) if board else ""
    if key and kind in {"inside", "supply"}:
        works.append(Work(kind, key))  # type: ignore[arg-type]  # one of the two, as just seen
    return list(dict.fromkeys(works)), key, kind


def _key(text: str) -> str:
    """The key as it is written in the graph; one that nothing has where the text is no key."""
    try:
        return str(UUID(text))
    except ValueError:
        return str(UUID(int=0))
