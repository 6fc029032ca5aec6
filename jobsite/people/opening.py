"""What opens behind a private link, and the one plain answer where nothing does."""

from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string

from jobsite.firm.queries import the_firm
from jobsite.throttle import Limit, tried, tries
from jobsite.words import dialled

# Wrong links in ten minutes. A right one opens however many wrong ones were tried before it, from wherever: 256 bits are
# guessed by nobody, so this only keeps whoever tries from making work, and shows that somebody does.
WRONG_LINKS = Limit("link", each=30, together=600)


def no_such_link(request: HttpRequest) -> HttpResponse:
    """The answer to a link that opens nothing: the same page for a wrong, an expired and a withdrawn one.

    It tells nobody which of them it was, and says whom to ring. After too many it is a 429 that says when to come again.
    """
    # Rendered without the request: no session is read, so no cookie is set.
    page = render_to_string("people/no_such_link.html", {"firm": firm_to_ring()})
    return slowed(request, HttpResponse(page, status=404))


def slowed(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """`response` to a wrong link, counted: after too many of them the same page says 429, and when to come again."""
    if wait := tried(request, WRONG_LINKS):
        response.status_code, response.headers["Retry-After"] = 429, str(wait)
    return response


def wrong_links_tried(*, now: datetime) -> int:
    """How many wrong links were tried in the present ten minutes, where that is more than anybody's mistakes; else 0."""
    count = tries(WRONG_LINKS, now.timestamp())
    return count if count >= WRONG_LINKS.each else 0


def firm_to_ring() -> dict[str, str]:
    """The firm as whoever stands before a closed door needs it. One statement."""
    firm = the_firm()
    return {"name": firm.name, "phone": firm.phone, "email": firm.email, "dial": dialled(firm.phone)}
