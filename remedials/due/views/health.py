"""The health address."""

from django.db import Error
from django.http import HttpRequest, JsonResponse

from jobsite.people.guard import open_to_all
from remedials.due.queries.clockwork import state_of_clockwork

WELL = {"clockwork": "running", "sending": "running", "messages": "moving"}


@open_to_all
def health(request: HttpRequest) -> JsonResponse:
    """200 while the database answers, the sweep and sending ran within 30 minutes and messages get through, else 503.

    Says nothing else: whoever watches it is not signed in.
    """
    try:
        found = state_of_clockwork(request.now)  # type: ignore[attr-defined]
    except Error:
        return JsonResponse({"database": "down"}, status=503)
    answer = JsonResponse({"database": "up", **found}, status=200 if found == WELL else 503)
    answer["Cache-Control"] = "no-store"
    return answer
