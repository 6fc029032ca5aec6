"""The health address."""

from django.db import Error
from django.http import HttpRequest, JsonResponse

from jobsite.firm.queries import last_beat
from jobsite.people.guard import open_to_all
from remedials.due.queries import STALE_AFTER, SWEEP


@open_to_all
def health(request: HttpRequest) -> JsonResponse:
    """200 while the database answers and the sweep has run within 30 minutes, else 503. Says nothing else."""
    try:
        beat = last_beat(SWEEP)
    except Error:
        return JsonResponse({"database": "down"}, status=503)
    fresh = bool(beat and request.now - beat <= STALE_AFTER)  # type: ignore[attr-defined]
    answer = JsonResponse(
        {"database": "up", "clockwork": "running" if fresh else "stopped"}, status=200 if fresh else 503
    )
    answer["Cache-Control"] = "no-store"
    return answer
