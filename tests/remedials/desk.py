"""Small helpers for tests of the desk's pages."""

import re
from contextlib import contextmanager
from html import unescape

from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspections.models import MadeSafe, Review
from remedials.works.models import Waiting
from tests.factories import NOON, TODAY


def text_of(response) -> str:
    """What a person reads: no tags, single spaces."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", response.content.decode())).split())


def read(client, address: str, **query) -> str:
    """The words of the page at `address`, which answers with 200."""
    response = client.get(address, query)
    assert response.status_code == 200
    return text_of(response)


def hrefs(response) -> set[str]:
    """Every address that the page leads to."""
    return set(re.findall(r'href="([^"]+)"', unescape(response.content.decode())))


def acts_of(response) -> list[str]:
    """The labels of the buttons beside the page's heading."""
    found = re.search(r'<span class="acts">(.*?)</span>', response.content.decode(), re.DOTALL)
    return re.findall(r">([^<]+)</a>", unescape(found[1])) if found else []


@contextmanager
def statements():
    """The SQL statements of what happens inside: `with statements() as sql: …` then `len(sql)`."""
    with CaptureQueriesContext(connection) as captured:
        yield captured


def hold(observation, *, by, look_again_on=TODAY, **more):
    """That `observation` was isolated and locked."""
    observation.made_safe = True
    observation.save()
    usual = {"how": "locked", "what": "off at way 3", "agreed_with": "Petra", "key_holder": "Dirk", "at": NOON}
    return MadeSafe.objects.create(observation=observation, by=by, look_again_on=look_again_on, **usual | more)


def decide(observation, code: str, *, by, before: str = "", reason: str = "used outdoors", decision: str = "recode"):
    """A decision on the code of `observation`, which is in force from then on."""
    observation.code = code
    observation.save()
    return Review.objects.create(
        observation=observation, decision=decision, code_before=before, code=code, reason=reason, by=by, at=NOON
    )


def wait_on(by, *, chase_on=TODAY, **of):
    """That an observation or a remedial waits on the network operator."""
    site = next(iter(of.values())).site
    usual = {"on_whom": "network operator", "for_what": "new cut-out", "asked_on": TODAY, "reference": "NO-1"}
    return Waiting.objects.create(site=site, owner=by, recorded_by=by, chase_on=chase_on, **usual | of)
