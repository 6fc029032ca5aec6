"""How often the API may be asked: by each person or token, and from each address. Refused with 429 and Retry-After.

The figures are ours (settings), chosen so that a program which keeps a firm's books in step never meets them: no source gives
any. A person's pages and phone are not counted here.
"""

import json

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from jobsite.throttle import Limit, tried

MINUTE = 60
WRONG_TOKENS = Limit("wrong-token", each=50, together=None)
TOO_MANY = "These are too many requests: go on in {} s."


def refuse(request: HttpRequest, *, wrong: bool = False) -> HttpResponse | None:
    """A problem document where whoever asks has asked too often, None otherwise. `wrong`: they showed a wrong token."""
    waits = [tried(request, WRONG_TOKENS)] if wrong else []
    if most := settings.API_REQUESTS_A_MINUTE:
        if request.user.is_authenticated:
            token = getattr(request, "token", None)
            whose = str(token.pk if token else request.user.pk)
            waits.append(tried(request, Limit("api-person", each=most, together=None, seconds=MINUTE), whose=whose))
        # A whole office stands behind one address.
        waits.append(tried(request, Limit("api-address", each=most * 5, together=None, seconds=MINUTE)))
    return too_many(max(waits)) if any(waits) else None


def too_many(seconds: int) -> HttpResponse:
    """The problem document (RFC 9457) with the seconds to wait (RFC 9110, section 10.2.3)."""
    body = {"type": "about:blank", "title": "Too many requests", "status": 429, "detail": TOO_MANY.format(seconds)}
    answer = HttpResponse(json.dumps(body), status=429, content_type="application/problem+json")
    answer["Retry-After"] = str(seconds)
    return answer
