"""An e-mail to all flats, and 200 phones open their link in the same moment: a real server process, as `make run` starts it."""

import gzip
import http.client
import statistics
import sys
import threading
import time
from dataclasses import dataclass
from datetime import UTC, datetime

import pytest

from jobsite.firm.models import Firm
from jobsite.people.links import new_token
from jobsite.people.models import PrivateLink
from jobsite.people.opening import WRONG_LINKS
from tests import factories as make
from tests.faults.web import Web, serving

PHONES = 200
PATIENCE = 120  # seconds after which a phone gives up; what they waited is printed, and judged by a person
ENDS = datetime(2999, 1, 1, tzinfo=UTC)  # the server reads the real clock

pytestmark = pytest.mark.django_db(transaction=True)


@dataclass
class Answer:
    status: int
    body: str
    seconds: float


def all_at_once(web: Web, paths: list[str]) -> list[Answer | Exception]:
    """Each path asked for by a phone of its own, all of them let go in one moment."""
    begin = threading.Barrier(len(paths))
    answers: list[Answer | Exception] = [RuntimeError("not asked")] * len(paths)

    def ask(number: int, path: str) -> None:
        phone = http.client.HTTPConnection("127.0.0.1", web.port, timeout=PATIENCE)
        begin.wait()
        began = time.monotonic()
        try:
            phone.request("GET", path, headers={"Accept-Encoding": "gzip", "Host": "localhost"})
            answer = phone.getresponse()
            body = answer.read()
            text = gzip.decompress(body) if answer.headers.get("Content-Encoding") == "gzip" else body
            answers[number] = Answer(answer.status, text.decode(), time.monotonic() - began)
        except Exception as error:  # noqa: BLE001 - whatever a phone meets is what the test tells
            answers[number] = error
        finally:
            phone.close()

    threads = [threading.Thread(target=ask, args=one) for one in enumerate(paths)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return answers


def told(what: str, answers: list[Answer]) -> str:
    waited = sorted(answer.seconds for answer in answers)
    middle, last = statistics.median(waited), waited[-1]
    return f"{what}: {len(waited)} phones at once, half within {middle:.2f} s, all within {last:.2f} s"


def test_two_hundred_phones_open_their_links_at_once(capsys):
    Firm.objects.create(name="Sample Sparks", phone="01632 960123")
    site = make.make_site("Long House")
    site.units.update(whole_site=False)
    tokens = {}
    for n in range(PHONES):
        flat = make.make_unit(site, f"Flat {n + 1:03}")
        tokens[flat.name] = make.make_link(site, unit=flat, expires_at=ENDS)[1]
        if n % 10 == 0:
            make.make_observation(site, unit=flat, text=f"Loose socket in {flat.name}")
    shared, of_all = make.make_link(site, expires_at=ENDS)

    with serving() as web:
        (warm,) = all_at_once(web, [f"/s/{tokens['Flat 001']}/"])
        assert isinstance(warm, Answer)
        own = all_at_once(web, [f"/s/{token}/" for token in tokens.values()])
        wrong = [f"/s/{new_token()}/" for _ in range(2 * WRONG_LINKS.each)]
        mixed = all_at_once(web, [*[f"/s/{of_all}/"] * (PHONES - len(wrong)), *wrong])
        said = web.said()

    assert [one for one in (*own, *mixed) if isinstance(one, Exception)] == []
    with capsys.disabled():
        lines = told("each its own flat", own), told("one address for all, wrong ones among them", mixed)
        sys.stdout.write("".join(f"\n  {line}" for line in lines) + "\n")
    assert {one.status for one in own} == {200}
    assert all(name in one.body for name, one in zip(tokens, own, strict=True))
    # No phone sees another flat: what each page names is its own.
    assert all(
        f"Loose socket in {name}" in one.body
        and one.body.count("Loose socket") == one.body.count(f"Loose socket in {name}")
        for number, (name, one) in enumerate(zip(tokens, own, strict=True))
        if number % 10 == 0
    )
    right, guessed = mixed[: -len(wrong)], mixed[-len(wrong) :]
    assert {one.status for one in right} == {200}
    assert sorted(one.status for one in guessed) == [404] * WRONG_LINKS.each + [429] * WRONG_LINKS.each
    assert sorted(PrivateLink.objects.exclude(pk=shared.pk).values_list("uses", flat=True)) == [1] * (PHONES - 1) + [2]
    shared.refresh_from_db()
    assert shared.uses == len(right)
    assert set(said.splitlines()) <= {"Not Found: /s/…/", "Too Many Requests: /s/…/"}


def test_no_token_stands_in_what_the_server_writes_about_requests():
    """Also with the log of all requests that somebody may ask the server for."""
    Firm.objects.create(name="Sample Sparks")
    site = make.make_site()
    _, token = make.make_link(site, expires_at=ENDS)
    with serving("--access-logfile", "-", "--access-logformat", '%(r)s %(s)s "%(f)s" %(U)s') as web:
        all_at_once(web, [f"/s/{token}/", f"/s/{token}", f"/s/{token}/nothing/", f"/q/{token}/"])
        deadline = time.monotonic() + PATIENCE
        while web.said().count("HTTP/1.1") < 4 and time.monotonic() < deadline:
            time.sleep(0.05)  # the line of a request is written after its answer
        said = web.said()
    written = [line for line in said.splitlines() if "HTTP/1.1" in line]
    assert sorted(line.split(" HTTP/1.1 ")[0] for line in written) == [
        "GET /q/…/",
        "GET /s/…",
        "GET /s/…/",
        "GET /s/…/nothing/",
    ]
    assert token not in said
