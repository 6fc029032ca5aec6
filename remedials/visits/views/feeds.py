"""Calendar addresses: kept by the office and by each engineer, read by a phone."""

from hashlib import sha256
from uuid import UUID

from django.conf import settings
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from jobsite.ids import key_in, new_id
from jobsite.pages import act, go, page
from jobsite.people.guard import Request, needs, private
from jobsite.people.models import User
from jobsite.people.opening import slowed
from jobsite.people.rights import Right
from jobsite.refused import NotAllowed, Refused
from remedials.visits import operations, queries
from remedials.visits.models import Feed

CALENDAR = "text/calendar; charset=utf-8"


@private
@require_safe
def read(request: HttpRequest, token: str) -> HttpResponseBase:
    """The calendar as a phone reads it: nothing where it hasn't changed since. No session is read and no cookie set."""
    now = request.now  # type: ignore[attr-defined]
    feed = queries.find_feed(token)
    if feed is None:
        nothing = HttpResponse("There is no calendar at this address.\n", content_type="text/plain", status=404)
        return slowed(request, nothing)
    if request.method == "GET":
        operations.count_feed(feed, now=now)
    body = queries.feed_file(feed, now=now)
    response = HttpResponse(body, content_type=CALENDAR)
    response["ETag"] = etag = quote_etag(sha256(body).hexdigest())
    answer: HttpResponseBase = get_conditional_response(request, etag=etag, response=response) or response
    return answer


@needs(Right.BOOK)
def addresses(request: Request) -> HttpResponse:
    """Who has a calendar address, when it was read last; made, made anew and withdrawn here."""
    return _addresses(request)


def _addresses(request: Request, refused: Refused | None = None) -> HttpResponse:
    return page(request, "visits/calendars.html", queries.feeds_page() | {"refused": refused})


@needs(Right.DO_WORK)
def own(request: Request) -> HttpResponse:
    """One's own calendar address."""
    return _own(request)


def _own(request: Request, refused: Refused | None = None) -> HttpResponse:
    return page(request, "visits/my_calendar.html", {"row": queries.own_feed(request.user), "refused": refused})


def _made(request: Request, user: User | None, back: str) -> HttpResponse:
    """Makes an address and shows it this once, so the answer is no redirect."""
    key = key_in(request.POST.get("id", "")) or new_id()
    try:
        feed, token = operations.make_feed(user=user, id=key, by=request.user, now=request.now)
    except NotAllowed as refused:
        raise PermissionDenied(refused.sentence) from refused
    except Refused as refused:
        return _addresses(request, refused) if back == reverse("visits:calendars") else _own(request, refused)
    where = f"{settings.SITE_ADDRESS.rstrip('/')}{reverse('visits:calendar', args=[token])}" if token else ""
    context = {"address": where, "whose": feed.user, "own": feed.user == request.user, "back": back}
    return page(request, "visits/calendar_made.html", context)


@never_cache
@require_POST
@needs(Right.BOOK)
def make(request: Request, pk: UUID) -> HttpResponse:
    """Make, or make anew, an engineer's address."""
    return _made(request, get_object_or_404(User, pk=pk), reverse("visits:calendars"))


@never_cache
@require_POST
@needs(Right.BOOK)
def make_all(request: Request) -> HttpResponse:
    """Make, or make anew, the address of everybody's visits."""
    return _made(request, None, reverse("visits:calendars"))


@never_cache
@require_POST
@needs(Right.DO_WORK)
def make_own(request: Request) -> HttpResponse:
    """Make, or make anew, one's own address."""
    return _made(request, request.user, reverse("visits:my_calendar"))


@require_POST
@needs(Right.BOOK)
def withdraw(request: Request, pk: UUID) -> HttpResponse:
    """End an address."""
    feed = get_object_or_404(Feed, pk=pk)
    return _withdrawn(request, feed, reverse("visits:calendars"))


@require_POST
@needs(Right.DO_WORK)
def withdraw_own(request: Request) -> HttpResponse:
    """End one's own address."""
    feed = Feed.objects.filter(user=request.user, withdrawn_at=None).first()
    back = reverse("visits:my_calendar")
    return _withdrawn(request, feed, back) if feed else go(request, back)


def _withdrawn(request: Request, feed: Feed, back: str) -> HttpResponse:
    return act(
        request,
        lambda: operations.withdraw_feed(feed, by=request.user, now=request.now),
        then=back,
        said="Calendar address withdrawn: it opens nothing any more.",
    )
