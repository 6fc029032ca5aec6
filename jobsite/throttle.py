"""How often something may be tried that anybody can try: counted by client address, and in all, in the cache.

Whoever guards something names a `Limit` and asks `tried` at each attempt that counts (a wrong private link, a file brought to
be checked). It only says how long to wait: what is refused then, and what is never refused, is the caller's.
"""

import ipaddress
import logging
from dataclasses import dataclass

from django.conf import settings
from django.core.cache import cache
from django.http import HttpRequest
from django.utils.crypto import salted_hmac
from redis.exceptions import RedisError

log = logging.getLogger(__name__)
EVERYBODY = "all"
IPV6_NETWORK = 64  # bits: one household or firm has at least so many addresses to choose from (RFC 6177)


@dataclass(frozen=True)
class Limit:
    """So many tries in each stretch of time; `name` stands in the cache's keys.

    The figures are ours, chosen so that no person meets them: no source gives any.
    """

    name: str
    each: int  # from one client address
    together: int | None  # from everybody; None where nobody's tries may shut out another
    seconds: int = 600


def tried(request: HttpRequest, limit: Limit, *, whose: str = "") -> int:
    """Count one more try. 0 while it is within `limit`, else the seconds until counting begins anew (for Retry-After).

    `whose`: what it is counted for, where that is not the client's address.

    Whose address reached its own limit counts no further towards everybody's. Without a cache nothing is counted.
    """
    now = int(request.now.timestamp())  # type: ignore[attr-defined]
    stretch, gone = divmod(now, limit.seconds)
    try:
        within = _count(limit, stretch, whose or client_network(request)) <= limit.each
        if within and not whose:
            everybodys = _count(limit, stretch, EVERYBODY)
            within = limit.together is None or everybodys <= limit.together
    except (RedisError, OSError):
        log.warning("Tries of %s were not counted: the cache does not answer.", limit.name)
        return 0
    return 0 if within else limit.seconds - gone


def tries(limit: Limit, now: float) -> int:
    """How many tries there were in the present stretch, from everybody; `now` in seconds since 1970."""
    try:
        return int(cache.get(_key(limit, int(now) // limit.seconds, EVERYBODY), 0))
    except (RedisError, OSError):
        return 0


def _count(limit: Limit, stretch: int, whose: str) -> int:
    key = _key(limit, stretch, whose)
    try:
        return cache.incr(key)
    except ValueError:
        # Of two who begin at once one adds, the other counts on.
        return 1 if cache.add(key, 1, limit.seconds) else cache.incr(key)


def _key(limit: Limit, stretch: int, whose: str) -> str:
    """No address of a person's device stands in the cache, only what it comes to with our secret."""
    return f"tried:{limit.name}:{stretch}:{salted_hmac('jobsite.throttle', whose, algorithm='sha256').hexdigest()[:32]}"


def client_address(request: HttpRequest) -> str:
    """The address from which a request came, as far as it can be believed.

    Each proxy adds whom it heard to the end of X-Forwarded-For, and what stands before that anybody may have written: so
    with TRUSTED_PROXIES of our own in front it is that entry from the end, and without any the header says nothing.
    """
    trusted = settings.TRUSTED_PROXIES
    told = [part.strip() for part in request.headers.get("X-Forwarded-For", "").split(",") if part.strip()]
    heard = request.META.get("REMOTE_ADDR", "")
    return told[-trusted] if 0 < trusted <= len(told) else heard


def client_network(request: HttpRequest) -> str:
    """Whom tries are counted for: an IPv4 address, or the network of an IPv6 one; one and the same for what is neither."""
    address = client_address(request)
    if address.startswith("[") or address.count(":") == 1:  # some proxies tell the port too
        address = address.removeprefix("[").partition("]" if "]" in address else ":")[0]
    try:
        found = ipaddress.ip_address(address)
    except ValueError:
        return "unknown"
    if isinstance(found, ipaddress.IPv6Address) and found.ipv4_mapped:
        found = found.ipv4_mapped
    if isinstance(found, ipaddress.IPv4Address):
        return str(found)
    return str(ipaddress.ip_network((found, IPV6_NETWORK), strict=False))
