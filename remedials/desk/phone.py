"""What an engineer's phone fetches before they leave."""

from django.http import JsonResponse
from django.views.decorators.http import require_safe

from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from remedials.desk.queries.phone_pack import pack


@needs(Right.DO_WORK)
@require_safe
def phone_pack(request: Request) -> JsonResponse:
    """The addresses of pages and pictures that belong on this person's phone now, each group with its stamp."""
    return JsonResponse(pack(request.user, now=request.now), headers={"Cache-Control": "no-store"})
