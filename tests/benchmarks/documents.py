"""What a completion record of 60 items with 120 photographs costs: at most 3 s and 15 MB.

Photographs of 2048 × 1536 pixels as a phone's are after cleaning (large shapes, textures and the grain of a small sensor),
each another. Handed out again on the same day it is the file that is kept.
"""

import random
import resource
import time
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import timedelta
from io import BytesIO

from django.db import connection
from django.test.utils import CaptureQueriesContext
from PIL import Image, ImageChops
from pypdf import PdfReader

from jobsite.ledger.files import read_file
from remedials.status.facts import scope_at
from remedials.status.proof.done import completion
from remedials.status.proof.making import document_for
from tests import factories as make
from tests.remedials.proven import photo_after, photo_before, put_right

ITEMS = 60
LIMIT_SECONDS, LIMIT_MB = 3, 15


@dataclass
class Figure:
    """What one making cost: statements, seconds on the clock and of a processor (the setting too), megabytes, pages."""

    what: str
    statements: int
    seconds: float
    processor: float
    megabytes: float
    pages: int


def photograph(seed: int, size: tuple[int, int] = (2048, 1536)) -> bytes:
    """A JPEG with as much in it as a photograph of a board: shapes, textures, grain."""
    chance = random.Random(seed)
    layers = []
    for part, weight in ((40, 1.0), (6, 0.35)):
        small = (size[0] // part, size[1] // part)
        noise = Image.frombytes("RGB", small, chance.randbytes(small[0] * small[1] * 3))
        layers.append(noise.resize(size, Image.Resampling.BICUBIC).point(lambda value, w=weight: int(value * w)))
    grain = Image.effect_noise(size, 12).convert("RGB")
    out = BytesIO()
    Image.blend(ImageChops.add(layers[0], layers[1]), grain, 0.2).save(out, "JPEG", quality=85)
    return out.getvalue()


def make_large_record() -> object:
    """A site with ITEMS items put right, each with a photograph before and after, and a reading."""
    site = make.make_site("Heron Wharf")
    board = make.make_board(site)
    report = make.make_inspection(site)
    instrument = make.make_instrument("D-60")
    for at in range(ITEMS):
        circuit = make.make_circuit(board, at + 1)
        text = f"Socket {at} cracked and loose on the wall, live parts can be touched with a finger"
        observation, proof = put_right(site, text, circuit=circuit, inspection=report, pictures=False)
        photo_before(observation, photograph(2 * at), caption="as found")
        photo_after(proof, observation, photograph(2 * at + 1))
        proof.readings.add(make.make_reading(circuit, instrument=instrument))
    return site


def figures() -> list[Figure]:
    """Of a record made in the database at hand: the first time, with its pictures kept small, and handed out once more."""
    scope = scope_at(make_large_record().pk)  # type: ignore[attr-defined]
    assert scope is not None
    with CaptureQueriesContext(connection) as told:
        completion(scope, now=make.NOON)
    found = [_made("the first time", scope, 0)]
    found += [_made("another day", scope, 1), _made("handed out again", scope, 1)]
    return [Figure("what it says, gathered", len(told), 0.0, 0.0, 0.0, 0), *found]


def _made(what: str, scope: object, days: int) -> Figure:
    with CaptureQueriesContext(connection) as told:
        began, used = time.perf_counter(), _processor()
        now = make.NOON + timedelta(days=days)
        document = document_for("completion", scope, by=make.anybody(), now=now)  # type: ignore[arg-type]
        seconds, busy = time.perf_counter() - began, _processor() - used
    pdf = read_file(document.file)
    return Figure(
        what, len(told), round(seconds, 2), round(busy, 2), round(len(pdf) / 1e6, 1), len(PdfReader(BytesIO(pdf)).pages)
    )


def _processor() -> float:
    """Seconds that this process and those that it waited for have computed."""
    return sum(sum(resource.getrusage(who)[:2]) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))


def table(found: Iterable[Figure]) -> str:
    """The figures for reading."""
    head = f"{f'{ITEMS} items, {2 * ITEMS} photographs':<28}{'statements':>11}{'seconds':>10}{'processor':>11}{'MB':>8}{'pages':>7}"
    rows = [
        f"{f.what:<28}{f.statements:>11}{f.seconds:>10}{f.processor:>11}{f.megabytes:>8}{f.pages:>7}" for f in found
    ]
    return "\n".join([head, *rows, f"It is to take at most {LIMIT_SECONDS} s and {LIMIT_MB} MB."])


def as_facts(found: Iterable[Figure]) -> list[dict[str, object]]:
    """The figures for bench.json."""
    return [asdict(each) for each in found]
