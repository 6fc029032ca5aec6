"""No two addresses of the API are the same: what stands second in the list would never be reached."""

import re

from django.urls import resolve

from remedials.desk.api_urls import urlpatterns

# One address of each kind of part; a word that no pattern names, so that it meets only parts that take any word.
SAMPLES = {"uuid": "01890a5d-ac96-774b-bcce-b302099a8057", "slug": "some-word", "str": "some.thing", "int": "7"}


def address_of(route: str) -> str:
    """An address that the pattern `route` matches."""
    return "/api/v1/" + re.sub(r"<(\w+):\w+>", lambda part: SAMPLES[part[1]], route)


def test_every_address_reaches_the_view_that_stands_for_it() -> None:
    routes = {str(pattern.pattern): pattern.callback for pattern in urlpatterns}
    assert len(routes) == len(urlpatterns)
    stolen = [route for route, view in routes.items() if resolve(address_of(route)).func is not view]
    assert stolen == []
