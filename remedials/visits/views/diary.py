"""The diary: the week as a drawing, moving a visit, and what fits an empty stretch."""

from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.http import HttpResponse, JsonResponse, QueryDict
from django.shortcuts import get_object_or_404

from jobsite import clock
from jobsite.addresses import address
from jobsite.ids import keys_in
from jobsite.pages import bound, form_page, next_address, page
from jobsite.people.guard import Request, needs
from jobsite.people.models import User
from jobsite.people.rights import Right, Role
from jobsite.refused import Refused
from jobsite.words import london
from remedials.visits import operations
from remedials.visits.choices import Answered
from remedials.visits.forms.diary import DiaryForm, GapForm, MoveForm
from remedials.visits.models import Visit
from remedials.visits.operations.booking import Warned
from remedials.visits.operations.telling import customer_hears
from remedials.visits.queries import diary as of_diary
from remedials.visits.queries.gap import fitting

SAY_WHY = "Say why it is moved there all the same, or change it."


@needs(Right.SEE_WORK)
def diary(request: Request) -> HttpResponse:
    """A day, a week or a fortnight of everybody's visits, as a drawing and as a list."""
    people = of_diary.people_of(request.user)
    today = clock.local_day(request.now)
    asked = {name: request.GET.get(name, "") for name in ("day", "show", "engineer")}
    form = DiaryForm(asked | {"day": asked["day"] or today}, people=people, today=today)
    form.is_valid()
    on: date = form.cleaned_data.get("day") or today
    show = form.cleaned_data.get("show") or "week"
    whom = form.cleaned_data.get("engineer") or ""
    only = next(iter(keys_in([whom])), None)
    shown = of_diary.diary(request.user, people, on=on, show=show, now=request.now, only=only)
    context = {
        "diary": shown,
        "filter": form,
        "around": _around(shown["first"], show, whom, today),
        "moved": _moved(request),
        "ways": _ways(request.user, may_book=shown["may_book"]),
        "here": request.get_full_path(),
    }
    return page(request, "visits/diary.html", context)


def _ways(user: User, *, may_book: bool) -> list[dict[str, str]]:
    """The lists around the diary that `user` may open, in the order in which they are wanted."""
    ways = [
        (may_book, "What fits a gap?", address("visits:gap")),
        (user.may(Right.PLAN_WORK), "Whom work waits on", of_diary.page_of("desk:waits")),
        (True, "To be seen to before work", address("visits:to_see_to")),
        (True, "Keys out", address("visits:keys_out")),
        (may_book, "Plans", address("visits:plans")),
        (may_book, "Calendar addresses", address("visits:calendars")),
        (may_book, "Who is away", address("people:away")),
        (user.may(Right.KEEP_FIRM), "Terms of the diary", address("visits:terms")),
    ]
    return [{"label": label, "href": href} for shown, label, href in ways if shown and href]


def _around(first: date, show: str, whom: str, today: date) -> list[dict[str, Any]]:
    """The ways to the days before and after, and to today, narrowed as now."""
    step = timedelta(days=of_diary.SHOWS[show])
    ways = [(f"The {show} before", first - step), ("Today", today), (f"The {show} after", first + step)]
    kept = {"show": show} | ({"engineer": whom} if whom else {})
    return [{"label": label, "href": address("visits:diary", day=on, **kept)} for label, on in ways]


def _moved(request: Request) -> dict[str, Any] | None:
    """What was moved last, with the way back."""
    keys = keys_in([request.GET.get("moved", "")])
    found = of_diary.moved_lately(keys[0], request.user) if keys else None
    if found is None:
        return None
    move, visit = found["move"], found["visit"]
    back = {
        "start": f"{london(move.from_start):%Y-%m-%dT%H:%M}",
        "minutes": round((move.from_end - move.from_start).total_seconds() / 60),
        "version": visit.version,
        "reason": "Moved back",
        "next": _without_moved(request.get_full_path()),
    }
    return found | {
        "action": address("visits:diary_move", visit.pk),
        "engineers": [str(key) for key in move.from_engineers],
        "back": [{"name": name, "value": value} for name, value in back.items()],
    }


def _without_moved(where: str) -> str:
    path, _, query = where.partition("?")
    kept = QueryDict(query, mutable=True)
    kept.pop("moved", None)
    return f"{path}?{kept.urlencode()}" if kept else path


@needs(Right.BOOK)
def move(request: Request, pk: UUID) -> HttpResponse:
    """Move a visit to another time or to other people: from the drawing, or by this form.

    The drawing asks with the header X-Diary and is answered in JSON: where to go on, or the sentences by field.
    """
    row = get_object_or_404(Visit.objects.visible_to(request.user).select_related("site__customer"), pk=pk)
    people = User.objects.filter(is_active=True, roles__contains=[Role.ENGINEER.value]).order_by("name", "pk")
    initial = {
        "start": row.start,
        "minutes": round((row.end - row.start).total_seconds() / 60),
        "engineers": list(row.attendances.filter(cancelled=False).values_list("engineer", flat=True)),
        "version": row.version,
    }
    form = bound(request, MoveForm, people=people, initial=initial)
    context = {
        "visit": row,
        "confirmed": row.answered == Answered.CONFIRMED,
        "hears": customer_hears(row),
        "back": address("visits:visit", row.pk),
    }
    answer = form_page(
        request,
        "visits/diary_move.html",
        form,
        context,
        do=lambda: _do_move(request, row, form, context),
        then=lambda visit: _after_move(request, visit),
    )
    return _told(form, answer) if "X-Diary" in request.headers else answer


def _do_move(request: Request, row: Visit, form: MoveForm, context: dict[str, Any]) -> Visit:
    """Move it; on the page what it was warned of stands above the form, the drawing takes the whole sentence."""
    try:
        return operations.move_visit(row, by=request.user, now=request.now, **form.moved())
    except Warned as warned:
        if "X-Diary" in request.headers:
            raise
        context["warned"] = [one.sentence for one in warned.findings]
        raise Refused(SAY_WHY, field="despite") from warned


def _after_move(request: Request, visit: Visit) -> str:
    """The diary around its new day, with the way back."""
    where = _without_moved(next_address(request, address("visits:diary", day=london(visit.start).date())))
    last = visit.moves.order_by("-at", "-pk").values_list("pk", flat=True).first()
    return f"{where}{'&' if '?' in where else '?'}moved={last}" if last else where


def _told(form: MoveForm, answer: HttpResponse) -> HttpResponse:
    if 300 <= answer.status_code < 400:
        return JsonResponse({"address": answer["Location"]})
    errors = {name: " ".join(map(str, sentences)) for name, sentences in form.errors.items()}
    return JsonResponse({"errors": errors}, status=422)


@needs(Right.BOOK)
def gap(request: Request) -> HttpResponse:
    """What due work fits an empty stretch of somebody's day, the most dangerous first."""
    people = of_diary.people_of(request.user)
    asked = any(name in request.GET for name in ("who", "start", "until"))
    form = GapForm(request.GET if asked else None, people=people, initial={"day": clock.local_day(request.now)})
    found = None
    if asked and form.is_valid():
        facts = form.cleaned_data
        found = fitting(request.user, form.person, start=facts["start_at"], until=facts["until_at"], now=request.now)
    context = {"form": form, "found": found, "back": address("visits:diary")}
    return page(request, "visits/diary_gap.html", context)
